package figure

import (
	"math"
	"strings"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// Specimen is one drop in a strip.
type Specimen struct {
	Name     string // drop
	Outcome  drop.Outcome
	Peak     quantity.Force // NaN when there is none
	Expanded quantity.Force // 0 = not given
	Known
}

// Strip is the peaks of one cell.
type Strip struct {
	Name      string // the cell's levels
	Specimens []Specimen
	// Mean, Lo and Hi are of the peaks of those that held, with the t interval; NaN = none.
	Mean, Lo, Hi quantity.Force
	// AtLeast tells that others of the cell broke, so that the cell's arrest force is at least the mean.
	AtLeast bool
}

// StripPlot shows every peak of a campaign, a row for each cell: force to the right. Held is a filled disc;
// broke is a bar with an open arrow head to the right, for its peak is the least that the arrest force could
// have been; slipped is an open diamond. Void drops are crosses in a column of their own, off the scale.
// Whiskers are the expanded uncertainty. Below the glyphs of a row stand the mean of those that held and
// its interval.
type StripPlot struct {
	Frame
	Strips   []Strip
	Limits   []Limit
	Coverage string // words for whiskers and interval: "95 %"
}

const (
	glyphStep = 5.4 // between glyphs that stand below each other
	meanLane  = 9.0
	rowPad    = 5.0
)

// stripLayout is where things stand.
type stripLayout struct {
	x       scale
	plot    box
	names   [][]string
	rows    []float64 // upper edges
	heights []float64
	offsets [][]float64 // of the glyphs, from the upper edge of a row's glyphs
	lanes   []float64   // heights of the rows' glyphs
	void    float64     // middle of the column of void drops
	count   float64     // left edge of the counts
}

// SVG draws the figure.
func (f StripPlot) SVG(id string) []byte {
	p := f.open()
	top := f.top()
	bottom := f.bottom(top)
	lines, beyond := sortLimits(f.Limits, top)
	for len(lines) > 0 && lines[0].value < bottom {
		beyond, lines = append(beyond, lines[0]), lines[1:]
	}
	if n := len(lines); n > 0 {
		top = max(top, lines[n-1].value)
	}
	l, marks := f.layOut(p, bottom, top, lines)
	f.limits(&p.root, l, lines)
	for i, s := range f.Strips {
		f.row(&p.root, l, i, s)
	}
	if len(f.Strips) == 0 {
		p.root.text((l.plot.x0+l.plot.x1)/2, l.plot.y1-8, f.In.Say("no cell to show"), bodySize, middle).color = soft
	}
	p.y = flatAxis(&p.root, l.plot, l.x, marks, f.In.Say("Peak force (kN)")) + 4
	f.key(p)
	p.close(f.Frame, beyondNote(f.In, beyond), f.describe(lines))
	return p.svg(id)
}

// top is the largest force that must be shown, kN.
func (f StripPlot) top() float64 {
	top := 0.0
	for _, s := range f.Strips {
		for _, v := range []quantity.Force{s.Mean, s.Hi} {
			if drawable(v.SI()) {
				top = max(top, v.SI()*kilo)
			}
		}
		for _, d := range s.Specimens {
			if v := (d.Peak.SI() + reachOf(d)) * kilo; drawable(v) && d.Outcome != drop.Void {
				top = max(top, v)
				if _, hi, ok := d.whisker(); ok {
					top = max(top, hi)
				}
			}
		}
	}
	if top < speck {
		return 1
	}
	return top
}

func reachOf(d Specimen) float64 {
	if u := d.Expanded.SI(); u > 0 && drawable(u) {
		return u
	}
	return 0
}

func (f StripPlot) layOut(p *page, bottom, top float64, lines []limitLine) (stripLayout, []tick) {
	l := stripLayout{}
	nameWidth := 0.2 * p.width
	for _, s := range f.Strips {
		n := wrap(s.Name, bodySize, false, p.width*0.3, 4)
		l.names = append(l.names, n)
		for _, line := range n {
			nameWidth = max(nameWidth, textWidth(line, bodySize, false))
		}
	}
	voidWidth := textWidth(f.In.Say("void"), small, false)
	for _, s := range f.Strips {
		voidWidth = max(voidWidth, 7*float64(s.count(drop.Void)))
	}
	countWidth := max(textWidth(f.In.Say("held of"), small, false), textWidth(f.In.Say("valid"), small, false))
	l.plot.x0 = nameWidth + 12
	l.count = p.width - countWidth
	l.void = l.count - 8 - voidWidth/2
	l.plot.x1 = l.void - voidWidth/2 - 14
	hi := niceTop(0, top*1.02, 8)
	l.x = scale{lo: bottom, hi: hi, a: l.plot.x0, b: l.plot.x1}

	p.y += 3
	if len(lines) == 0 {
		p.y += small * leading // the head of the counts has two lines
	}
	p.y += nameDown(&p.root, l.x, lines, p.y)
	p.root.text(l.void, p.y+ascent*small, f.In.Say("void"), small, middle).color = soft
	p.root.text(l.count, p.y+ascent*small-small*leading, f.In.Say("held of"), small, left).color = soft
	p.root.text(l.count, p.y+ascent*small, f.In.Say("valid"), small, left).color = soft
	p.y += small*leading + 2
	l.plot.y0 = p.y
	for i := range f.Strips {
		offsets, lane := f.Strips[i].offsets(l.x)
		l.offsets, l.lanes = append(l.offsets, offsets), append(l.lanes, lane)
		h := max(lane+f.Strips[i].meanHeight(), bodySize*leading*float64(len(l.names[i]))) + rowPad
		l.rows, l.heights = append(l.rows, p.y), append(l.heights, h)
		p.y += h
	}
	if len(f.Strips) == 0 {
		p.y += 30
	}
	l.plot.y1 = p.y
	return l, flatTicks(bottom, hi, l.plot.w())
}

func (f StripPlot) limits(g *group, l stripLayout, lines []limitLine) {
	for i := range f.Strips {
		if i > 0 {
			g.line(pen{color: hair, width: 0.5}, point{0, l.rows[i]}, point{l.count + 30, l.rows[i]})
		}
	}
	if l.x.lo == 0 {
		g.line(pen{color: ink, width: 0.8}, point{l.plot.x0, l.plot.y0}, point{l.plot.x0, l.plot.y1})
	}
	for _, n := range lines {
		g.line(n.pen(), point{l.x.at(n.value), l.plot.y0}, point{l.x.at(n.value), l.plot.y1})
	}
}

func (s Strip) count(o drop.Outcome) int {
	n := 0
	for _, d := range s.Specimens {
		if d.Outcome == o {
			n++
		}
	}
	return n
}

func (f StripPlot) row(g *group, l stripLayout, i int, s Strip) {
	y0, h := l.rows[i], l.heights[i]
	mid := y0 + h/2
	first := mid - bodySize*leading*float64(len(l.names[i])-1)/2
	for k, line := range l.names[i] {
		g.text(0, first+float64(k)*bodySize*leading+0.35*bodySize, line, bodySize, left)
	}
	lane := mid - (l.lanes[i]+s.meanHeight())/2
	valid := len(s.Specimens) - s.count(drop.Void)
	g.text(l.count, mid+0.35*bodySize, f.In.Say("%d of %d", s.count(drop.Held), valid), bodySize, left)
	voids, k := s.count(drop.Void), 0
	for _, d := range s.Specimens {
		if d.Outcome == drop.Void {
			glyph(g.sub(d.words(f.In)), point{l.void + 7*(float64(k)-float64(voids-1)/2), mid}, drop.Void, slate, rightward)
			k++
		}
	}
	for j, off := range l.offsets[i] {
		d := s.Specimens[j]
		v := d.Peak.SI() * kilo
		if d.Outcome == drop.Void || !drawable(v) || v < 0 {
			continue
		}
		color, _ := lookOf(d.Outcome)
		at := point{l.x.at(v), lane + off}
		sub := g.sub(d.words(f.In))
		if lo, hi, ok := d.whisker(); ok {
			a, b := l.x.at(max(l.x.lo, lo)), l.x.at(hi)
			sub.line(pen{color: color, width: 0.7}, point{a, at.y}, point{b, at.y})
			for _, e := range []float64{a, b} {
				sub.line(pen{color: color, width: 0.7}, point{e, at.y - 1.4}, point{e, at.y + 1.4})
			}
		}
		glyph(sub, at, d.glyph(), color, rightward)
	}
	s.drawMean(f.In, g, l.x, lane+l.lanes[i]+meanLane/2+1)
}

// offsets sets the glyphs of a row below each other where they would cover each other, the same for the
// same data, and gives the height they need.
func (s Strip) offsets(x scale) (offsets []float64, lane float64) {
	offsets = make([]float64, len(s.Specimens))
	floor := make([]int, len(s.Specimens))
	most := 0
	for j, d := range s.Specimens {
		a, b, ok := d.reach(x)
		if !ok {
			continue
		}
		taken := map[int]bool{}
		for i, o := range s.Specimens[:j] {
			if c, e, ok := o.reach(x); ok && a < e && c < b {
				taken[floor[i]] = true
			}
		}
		for taken[floor[j]] {
			floor[j]++
		}
		most = max(most, floor[j])
		offsets[j] = 4.5 + glyphStep*float64(floor[j])
	}
	return offsets, 9 + glyphStep*float64(most)
}

// reach is how far a specimen's glyph and whisker go to the left and right.
func (d Specimen) reach(x scale) (a, b float64, ok bool) {
	v := d.Peak.SI() * kilo
	if d.Outcome == drop.Void || !drawable(v) {
		return 0, 0, false
	}
	a, b = x.at(v)-4, x.at(v)+4
	if d.glyph() == drop.Broke {
		b += 4
	}
	if lo, hi, ok := d.whisker(); ok {
		a, b = min(a, x.at(lo)-1), max(b, x.at(hi)+1)
	}
	return a, b, true
}

// meanHeight is the room for the mean, none when the cell has none.
func (s Strip) meanHeight() float64 {
	if !drawable(s.Mean.SI()) {
		return 0
	}
	return meanLane
}

// bottom is where the force axis starts: at zero, unless the peaks stand far from it.
func (f StripPlot) bottom(top float64) float64 {
	low := top
	for _, s := range f.Strips {
		for _, d := range s.Specimens {
			if v := (d.Peak.SI() - reachOf(d)) * kilo; drawable(v) && d.Outcome != drop.Void {
				low = min(low, v)
			}
		}
		if v := s.Lo.SI() * kilo; drawable(v) {
			low = min(low, v)
		}
	}
	if low < 0.4*top {
		return 0
	}
	step, _ := niceStep(top / 8)
	return math.Floor(0.97*low/step) * step
}

// drawMean draws the interval of the mean as a bar with a stroke at the mean. A cell in which specimens
// broke has an open arrow head at the right end instead of an edge.
func (s Strip) drawMean(in message.Locale, g *group, x scale, y float64) {
	m, lo, hi := s.Mean.SI()*kilo, s.Lo.SI()*kilo, s.Hi.SI()*kilo
	if !drawable(m) || m < 0 {
		return
	}
	g = g.sub(in.Say("mean of those that held %s", kN(s.Mean)))
	line := pen{color: ink, width: 0.9}
	right := x.at(m)
	if drawable(lo) && drawable(hi) {
		a, b := x.at(max(x.lo, lo)), min(x.at(hi), x.b+6)
		g.line(line, point{a, y}, point{b, y})
		if lo >= x.lo {
			g.line(line, point{a, y - 2}, point{a, y + 2})
		}
		if !s.AtLeast {
			g.line(line, point{b, y - 2}, point{b, y + 2})
		}
		right = b
	}
	if s.AtLeast {
		g.line(line, point{right, y}, point{right + 6, y})
		g.line(line, point{right + 3, y - 2.4}, point{right + 6, y}, point{right + 3, y + 2.4})
	}
	g.line(pen{color: ink, width: 2}, point{x.at(m), y - 3.4}, point{x.at(m), y + 3.4})
}

func (d Specimen) words(in message.Locale) string {
	return d.curve().words(in)
}

func (d Specimen) curve() curve {
	return curve{name: d.Name, outcome: d.Outcome, peak: d.Peak, Known: d.Known}
}

// glyph is the outcome whose glyph stands for it.
func (d Specimen) glyph() drop.Outcome { return d.curve().glyph() }

// whisker is the interval of a rebuilt peak, else the expanded uncertainty, kN.
func (d Specimen) whisker() (lo, hi float64, ok bool) {
	if d.Rebuilt != nil && drawable(d.Rebuilt[0].SI()) && drawable(d.Rebuilt[1].SI()) {
		return d.Rebuilt[0].SI() * kilo, d.Rebuilt[1].SI() * kilo, true
	}
	v, u := d.Peak.SI()*kilo, reachOf(d)*kilo
	return v - u, v + u, u > 0 && drawable(v)
}

// key explains the glyphs that occur.
func (f StripPlot) key(p *page) {
	seen := map[drop.Outcome]bool{}
	other, mean, least, whisker, bound, rebuilt := false, false, false, false, false, false
	for _, s := range f.Strips {
		mean = mean || drawable(s.Mean.SI())
		least = least || s.AtLeast && drawable(s.Mean.SI())
		for _, d := range s.Specimens {
			seen[d.Outcome] = true
			other = other || !known(d.Outcome)
			whisker = whisker || d.Rebuilt == nil && reachOf(d) > 0
			bound = bound || d.AtLeast && d.Outcome == drop.Held
			rebuilt = rebuilt || d.Rebuilt != nil && d.Outcome != drop.Void
		}
	}
	coverage := f.Coverage
	if coverage != "" {
		coverage = ", " + coverage
	}
	var items []keyItem
	add := func(use bool, text string, o drop.Outcome, kind keyKind) {
		if use {
			items = append(items, keyItem{text: text, outcome: o, kind: kind})
		}
	}
	add(seen[drop.Held], f.In.Say("held"), drop.Held, keyGlyph)
	add(seen[drop.Broke], f.In.Say("broke: the arrest force is at least this"), drop.Broke, keyGlyph)
	add(seen[drop.Slipped], f.In.Say("slipped"), drop.Slipped, keyGlyph)
	add(other, f.In.Say("not decided"), "", keyGlyph)
	add(seen[drop.Void], f.In.Say("void, not counted"), drop.Void, keyGlyph)
	add(bound, f.In.Say("held, the record does not show the peak: at least this"), drop.Broke, keyHeldBound)
	add(whisker, f.In.Say("expanded uncertainty")+coverage, "", keyWhisker)
	add(rebuilt, f.In.Say("interval of a peak that was rebuilt from momentum"), "", keyWhisker)
	add(mean, f.In.Say("mean of those that held, t interval")+coverage, "", keyMean)
	add(least, f.In.Say("others broke: at least this"), "", keyLeast)
	p.key(items)
}

func (f StripPlot) describe(lines []limitLine) string {
	var b strings.Builder
	b.WriteString(f.In.Say("Peak forces, a row for each cell."))
	for _, s := range f.Strips {
		b.WriteString(" " + f.In.Say("%s: %d held, %d broke, %d slipped, %d void", s.Name, s.count(drop.Held), s.count(drop.Broke), s.count(drop.Slipped), s.count(drop.Void)))
		if drawable(s.Mean.SI()) {
			b.WriteString("; " + f.In.Say("mean of those that held %s", kN(s.Mean)))
		}
		b.WriteString(".")
	}
	return b.String() + limitWords(f.In, lines)
}
