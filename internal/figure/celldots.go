package figure

import (
	"fmt"
	"math"
	"sort"
	"strings"

	"github.com/hardcatch/hardcatch/internal/drop"
)

// Dot is one drop: its value, and whether it is only known to be at least that.
type Dot struct {
	Name    string
	Outcome drop.Outcome // as drawn: a drop that broke but shows the value whole is drawn as held
	Value   float64      // in the unit of the axis, NaN = none
}

// DotCell is the drops that stand over one place of the axis in one colour.
type DotCell struct {
	Place, Series int // into Places and Series
	Dots          []Dot
	// Mean, Lo and Hi are of the values that are seen, NaN = none. AtLeast tells that others of the cell are bounds.
	Mean, Lo, Hi float64
	AtLeast      bool
}

// CellDots shows every drop of a part of a campaign: the levels of one factor along the axis, those of another side by side over each of
// them, told apart by a letter and a colour. A value that is only a lower bound is a bar with an open arrow head upward.
type CellDots struct {
	Frame
	Axis   string   // of the values: "Peak force (kN)"
	Along  string   // name of the factor along the axis
	Places []string // its levels
	Series []string // levels of the other factor; none or one = no letters
	By     string   // its name
	Cells  []DotCell
	Lines  []Limit // drawn when their values are forces in the unit of the axis
	Bottom float64 // of the axis of values; give panels that are compared the same
	Top    float64
}

type dotLayout struct {
	y     scale
	plot  box
	lane  float64
	group float64
}

// SVG draws the figure.
func (f CellDots) SVG(id string) []byte {
	p := f.open()
	depth := f.Depth
	if !(depth > 0) {
		depth = 190
	}
	lo, hi := f.span()
	lines, beyond, hi := limitsWithin(f.Lines, lo, hi, 1.02)
	hi = niceTop(0, hi, 6)
	marks := ticks(lo, hi, 6)
	names := nameLimits(lines, p.width, depth)
	p.y += 2
	p.root.text(0, p.y+ascent*small, f.Axis, small, left).color = soft
	p.y += small*leading + 5
	l := dotLayout{plot: box{widest(marks) + tickGap + 3, p.y, p.width - names.margin, p.y + depth}}
	if names.margin == 0 {
		l.plot.x1 -= 2
	}
	l.y = scale{lo: lo, hi: hi, a: l.plot.y1, b: l.plot.y0}
	l.group = l.plot.w() / float64(max(1, len(f.Places)))
	l.lane = 0.92 * l.group / float64(max(1, len(f.Series)))
	forceAxis(&p.root, l.plot, l.y, marks)
	if lo != 0 {
		p.root.line(pen{color: ink, width: 0.8}, point{l.plot.x0, l.plot.y1}, point{l.plot.x1, l.plot.y1})
	}
	names.across(&p.root, l.plot, l.y)
	for i := range f.Places {
		if i > 0 {
			at := l.plot.x0 + float64(i)*l.group
			p.root.line(pen{color: hair, width: 0.5}, point{at, l.plot.y0}, point{at, l.plot.y1 + 4})
		}
	}
	for _, c := range f.Cells {
		f.cell(&p.root, l, c)
	}
	f.places(p, l)
	f.key(p)
	names.list(p)
	p.close(f.Frame, beyondNote(f.In, beyond), f.describe())
	return p.svg(id)
}

// middleOf is the middle of the lane of a cell.
func (f CellDots) middleOf(l dotLayout, place, series int) float64 {
	n := float64(max(1, len(f.Series)))
	return l.plot.x0 + (float64(place)+0.5)*l.group + (float64(series)-(n-1)/2)*l.lane
}

func (f CellDots) colorOf(i int) string { return series[i%len(series)] }

func (f CellDots) cell(g *group, l dotLayout, c DotCell) {
	mid := f.middleOf(l, c.Place, c.Series)
	color := f.colorOf(c.Series)
	f.mean(g, l, c, mid)
	order := make([]int, 0, len(c.Dots))
	for i, d := range c.Dots {
		if drawable(d.Value) && d.Value >= l.y.lo && d.Outcome != drop.Void {
			order = append(order, i)
		}
	}
	sort.SliceStable(order, func(a, b int) bool { return c.Dots[order[a]].Value < c.Dots[order[b]].Value })
	var set []point
	reach := max(0, l.lane/2-4.2)
	for _, i := range order {
		d := c.Dots[i]
		at := point{mid, l.y.at(d.Value)}
		at.x += aside(set, at, reach)
		set = append(set, at)
		glyph(g.sub(d.words(f)), at, d.Outcome, color, upward)
	}
}

// aside is how far a dot moves to the side so that it does not cover another, within the reach given: right, left, farther right and so on.
func aside(set []point, at point, reach float64) float64 {
	const clear = 6.4
	for k := 0; ; k++ {
		step := float64((k+1)/2) * clear * float64(1-2*(k%2))
		if math.Abs(step) > reach {
			return 0
		}
		free := true
		for _, o := range set {
			if math.Hypot(o.x-at.x-step, o.y-at.y) < clear {
				free = false
			}
		}
		if free {
			return step
		}
	}
}

// mean is a stroke at the mean of what is seen, with its interval as a thin bar; an arrow head upward where others are bounds.
func (f CellDots) mean(g *group, l dotLayout, c DotCell, mid float64) {
	if !drawable(c.Mean) || c.Mean < l.y.lo {
		return
	}
	half := min(0.42*l.lane, 12)
	line := pen{color: soft, width: 0.9}
	at := l.y.at(c.Mean)
	top := at
	if drawable(c.Lo) && drawable(c.Hi) {
		a, b := l.y.at(max(c.Lo, l.y.lo)), l.y.at(min(c.Hi, l.y.hi))
		g.add(outline{runs: [][]point{{{mid - half, a}, {mid + half, a}, {mid + half, b}, {mid - half, b}}}, fill: slate, tint: 0.16, closed: true})
		top = b
	}
	g.line(pen{color: ink, width: 1.3}, point{mid - half, at}, point{mid + half, at})
	if c.AtLeast {
		g.line(line, point{mid + half, at}, point{mid + half, top - 7})
		g.line(line, point{mid + half - 2.2, top - 4}, point{mid + half, top - 7}, point{mid + half + 2.2, top - 4})
	}
}

// places names the lanes and the levels below the axis.
func (f CellDots) places(p *page, l dotLayout) {
	p.y = l.plot.y1 + 2
	if len(f.Series) > 1 {
		for i := range f.Places {
			for s := range f.Series {
				t := p.root.text(f.middleOf(l, i, s), p.y+ascent*small, letters(s), small, middle)
				t.bold, t.color = true, f.colorOf(s)
			}
		}
		p.y += small * leading
	}
	deepest := 0
	for i, name := range f.Places {
		lines := wrap(name, bodySize, false, l.group-3, 3)
		for k, line := range lines {
			p.root.text(l.plot.x0+(float64(i)+0.5)*l.group, p.y+ascent*bodySize+float64(k)*bodySize*leading, line, bodySize, middle)
		}
		deepest = max(deepest, len(lines))
	}
	p.y += float64(deepest)*bodySize*leading + 1
	if f.Along != "" {
		p.root.text((l.plot.x0+l.plot.x1)/2, p.y+ascent*small, f.Along, small, middle).color = soft
		p.y += small * leading
	}
}

// span is the range of values to show.
func (f CellDots) span() (lo, hi float64) {
	if f.Top > f.Bottom {
		return f.Bottom, f.Top
	}
	for _, c := range f.Cells {
		for _, d := range c.Dots {
			if drawable(d.Value) && d.Outcome != drop.Void {
				hi = max(hi, d.Value)
			}
		}
		if drawable(c.Hi) {
			hi = max(hi, c.Hi)
		}
	}
	if hi < speck {
		hi = 1
	}
	return 0, hi * 1.04
}

func (d Dot) words(f CellDots) string {
	s := d.Name + ", " + word(d.Outcome, f.In)
	at := ""
	if d.Outcome == drop.Broke || d.Outcome == drop.Slipped {
		at = f.In.Say("at least") + " "
	}
	return fmt.Sprintf("%s, %s%s", s, at, trimmed(math.Round(d.Value*1000)/1000))
}

func (f CellDots) key(p *page) {
	var items []keyItem
	if len(f.Series) > 1 {
		for i, s := range f.Series {
			items = append(items, keyItem{text: s, kind: keyLetter, letter: letters(i), pen: pen{color: f.colorOf(i)}})
		}
		p.key(items)
		items = nil
	}
	seen := map[drop.Outcome]bool{}
	other, mean := false, false
	for _, c := range f.Cells {
		mean = mean || drawable(c.Mean)
		for _, d := range c.Dots {
			if drawable(d.Value) {
				seen[d.Outcome] = true
				other = other || !known(d.Outcome)
			}
		}
	}
	for _, k := range []struct {
		use  bool
		item keyItem
	}{
		{seen[drop.Held], keyItem{text: f.In.Say("held"), outcome: drop.Held, kind: keyUp}}, {seen[drop.Broke], keyItem{text: f.In.Say("broke: at least this"), outcome: drop.Broke, kind: keyUp}},
		{seen[drop.Slipped], keyItem{text: f.In.Say("slipped: at least this"), outcome: drop.Slipped, kind: keyUp}}, {other, keyItem{text: f.In.Say("not decided"), kind: keyUp}},
		{mean, keyItem{text: f.In.Say("mean and t interval of those that held"), kind: keyBand}},
	} {
		if k.use {
			items = append(items, k.item)
		}
	}
	p.key(items)
}

func (f CellDots) describe() string {
	var b strings.Builder
	b.WriteString(f.In.Say("%s of every drop.", f.Axis))
	for _, c := range f.Cells {
		n := map[drop.Outcome]int{}
		lo, hi := math.Inf(1), math.Inf(-1)
		for _, d := range c.Dots {
			if drawable(d.Value) && d.Outcome != drop.Void {
				n[d.Outcome]++
				lo, hi = min(lo, d.Value), max(hi, d.Value)
			}
		}
		if !drawable(lo) {
			continue
		}
		b.WriteString(" ")
		if c.Place < len(f.Places) {
			b.WriteString(f.Places[c.Place])
		}
		if len(f.Series) > 1 && c.Series < len(f.Series) {
			b.WriteString(", " + f.Series[c.Series])
		}
		b.WriteString(": " + f.In.Say("%d held, %d broke, %d slipped, from %s to %s.", n[drop.Held], n[drop.Broke], n[drop.Slipped], trimmed(math.Round(lo*100)/100), trimmed(math.Round(hi*100)/100)))
	}
	return b.String()
}
