package figure

import (
	"strings"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// overlay lays curves of force (kN, upwards) over each other. Figures fill it.
type overlay struct {
	Frame
	what   string // first sentence of the description
	across string // title of the horizontal axis
	x, y   scale  // values only; places are set here
	limits []limitLine
	beyond []limitLine
	curves []curve
	cut    bool // the data go on below the plot
}

// curve is one record of an overlay. Places are values of the axes.
type curve struct {
	name     string
	outcome  drop.Outcome
	peak     quantity.Force
	expanded quantity.Force
	peakAt   point
	end      point // where the sign of the end stands, NaN = not shown
	color    string
	thin     func(x, y scale) [][]point
	Known
	shades []shade
}

const forceTitle = "Force (kN)"

// mostLed is the largest number of curves whose peaks are led to their letters.
const mostLed = 14

func (o *overlay) svg(id string) []byte {
	p := o.open()
	depth := o.depth(p.width)
	marks := o.fitForce(depth)
	letter := len(o.curves) > 1 && len(o.curves) <= mostLed

	p.y += bodySize*leading + 1
	p.root.text(0, p.y-descent*bodySize, o.In.Say(forceTitle), bodySize, left)
	p.y += 4
	names := nameLimits(o.limits, p.width, depth)
	plot := box{widest(marks) + tickGap + 1, p.y, p.width - max(9, names.margin), p.y + depth}
	o.y.a, o.y.b, o.x.a, o.x.b = plot.y1, plot.y0, plot.x0, plot.x1

	forceAxis(&p.root, plot, o.y, marks)
	if o.x.lo < 0 && o.x.hi > 0 {
		p.root.line(pen{hair, 0.5, nil}, point{o.x.at(0), plot.y0}, point{o.x.at(0), plot.y1})
	}
	names.across(&p.root, plot, o.y)
	o.drawShades(&p.root, plot)
	for i := range o.curves {
		o.draw(&p.root, plot, i)
	}
	if letter {
		o.lead(&p.root, plot)
	}
	for _, c := range o.curves {
		if at, ok := o.place(c.peakAt); ok {
			o.rebuilt(&p.root, at, c)
			glyph(&p.root, at, c.glyph(), c.color, upward)
		}
	}
	if len(o.curves) == 0 {
		p.root.text((plot.x0+plot.x1)/2, (plot.y0+plot.y1)/2, o.In.Say("no record to show"), bodySize, middle).color = soft
	}
	p.y = flatAxis(&p.root, plot, o.x, flatTicks(o.x.lo, o.x.hi, plot.w()), o.across) + 3
	p.list(o.entries())
	p.key(o.shadeKey())
	names.list(p)
	note := beyondNote(o.In, o.beyond)
	if o.cut {
		note = strings.TrimSpace(note + " " + o.In.Say(cutNote))
	}
	p.close(o.Frame, note, o.describe())
	return p.svg(id)
}

func (f Frame) depth(width float64) float64 {
	if f.Depth > 0 && drawable(f.Depth) {
		return max(f.Depth, 60)
	}
	return min(max(0.47*width, 100), 230)
}

// setForce takes the range of the data in kN and a wished upper end, and sorts the limits by it.
func (o *overlay) setForce(bottom, top float64, wished quantity.Force, all []Limit) {
	if t := wished.SI() * kilo; drawable(t) && t > top {
		top = t
	}
	if top < speck {
		top = max(1, -bottom)
	}
	o.limits, o.beyond = sortLimits(all, top)
	if n := len(o.limits); n > 0 {
		top = max(top, o.limits[n-1].value)
	}
	o.y = scale{lo: bottom, hi: top}
}

// below is the largest share of the force axis's upper end that is shown below zero.
const below = 0.15

const cutNote = "The swing below zero goes on beyond the lower edge."

// fitForce ends the force axis a little above the data and limits. It starts at zero, or below the data when
// they go well below zero; the swing of the rig after a break is cut off, and a note says so.
func (o *overlay) fitForce(depth float64) []tick {
	hi, lo := o.y.hi*1.07, 0.0
	if o.y.lo < -0.03*hi {
		lo = o.y.lo - 0.02*hi
	}
	if lo < -below*hi {
		lo, o.cut = -below*hi, true
	}
	o.y = scale{lo: lo, hi: hi}
	return ticks(lo, hi, int(max(3, min(8, depth/19))))
}

func (o *overlay) draw(g *group, plot box, i int) {
	c := o.curves[i]
	_, dash := lookOf(c.outcome)
	s := g.sub(letters(i) + ": " + c.words(o.In))
	s.clip = &box{plot.x0, plot.y0 - 8, plot.x1 + 3, plot.y1 + 3}
	runs := c.thin(o.x, o.y)
	for _, run := range runs {
		if len(run) == 1 {
			s.add(disc{run[0], 0.9, pen{}, c.color})
		}
	}
	if len(runs) > 0 {
		s.add(outline{runs: runs, pen: pen{c.color, 1.15, dash}})
	}
	at, ok := o.place(c.end)
	if peak, has := o.place(c.peakAt); has && c.outcome == drop.Broke && abs(at.x-peak.x)+abs(at.y-peak.y) < 9 {
		ok = false // the glyph of the peak stands there and says the same
	}
	if ok {
		ending(g, at, c.outcome, c.color)
	}
}

// place is where a pair of values stands, if it does.
func (o *overlay) place(v point) (point, bool) {
	if !drawable(v.x) || !drawable(v.y) || !o.x.holds(v.x) || v.y > o.y.hi {
		return point{}, false
	}
	return point{o.x.at(v.x), o.y.at(max(v.y, o.y.lo))}, true
}

// lead sets the letters in a row above the plot and draws hair lines from them to the peaks.
func (o *overlay) lead(g *group, plot box) {
	var want, half []float64
	var peaks []point
	var which []int
	for i, c := range o.curves {
		if at, ok := o.place(c.peakAt); ok {
			want, half = append(want, at.x), append(half, textWidth(letters(i), bodySize, true)/2)
			peaks, which = append(peaks, at), append(which, i)
		}
	}
	for k, at := range spread(want, half, 3.5, textWidth(o.In.Say(forceTitle), bodySize, false)+6, plot.x1) {
		g.line(pen{soft, 0.45, nil}, point{at, plot.y0 - 3}, peaks[k])
		l := g.text(at, plot.y0-4.5, letters(which[k]), bodySize, middle)
		l.bold, l.color = true, o.curves[which[k]].color
	}
}

// glyph is the outcome whose glyph stands at the peak: the bar with its arrow where the peak is only a bound.
func (c curve) glyph() drop.Outcome {
	if c.AtLeast && c.outcome == drop.Held {
		return drop.Broke
	}
	return c.outcome
}

// rebuilt draws the interval of a rebuilt peak as a whisker above the place of the largest force that was measured.
func (o *overlay) rebuilt(g *group, at point, c curve) {
	if c.Rebuilt == nil {
		return
	}
	lo, hi := c.Rebuilt[0].SI()*kilo, c.Rebuilt[1].SI()*kilo
	if !drawable(lo) || !drawable(hi) || hi < o.y.lo || lo > o.y.hi {
		return
	}
	thin := pen{color: c.color, width: 0.9}
	a, b := o.y.at(max(lo, o.y.lo)), o.y.at(min(hi, o.y.hi))
	g.line(thin, point{at.x, a}, point{at.x, b})
	for _, y := range []float64{a, b} {
		g.line(thin, point{at.x - 3, y}, point{at.x + 3, y})
	}
}

// words is a curve in words: "D07 broke, peak at least 14.20 kN".
func (c curve) words(in message.Locale) string {
	if c.Rebuilt != nil {
		return in.Say("%s %s, peak %s to %s, rebuilt from momentum; at least %s was measured", c.name, word(c.outcome, in), fixed(c.Rebuilt[0].SI()*kilo, 2), kN(c.Rebuilt[1]), kN(c.peak))
	}
	if c.outcome == drop.Broke || c.AtLeast {
		return in.Say("%s %s, peak at least %s", c.name, word(c.outcome, in), kN(c.peak))
	}
	return in.Say("%s %s, peak %s", c.name, word(c.outcome, in), kN(c.peak))
}

func (o *overlay) entries() []entry {
	out := make([]entry, len(o.curves))
	for i, c := range o.curves {
		out[i] = entry{letters(i), clean(c.name) + " " + word(c.outcome, o.In), amount(o.In, c), c.glyph(), c.color}
	}
	return out
}

// amount is the peak of a curve in the list below the plot.
func amount(in message.Locale, c curve) string {
	if !drawable(c.peak.SI()) {
		return in.Say("no peak")
	}
	s := kN(c.peak)
	if c.expanded > 0 && drawable(c.expanded.SI()) {
		s = quantity.WithU(c.peak, c.expanded)
	}
	if c.Rebuilt != nil && drawable(c.Rebuilt[0].SI()) && drawable(c.Rebuilt[1].SI()) {
		return in.Say("%s to %s, rebuilt", fixed(c.Rebuilt[0].SI()*kilo, 2), kN(c.Rebuilt[1])) + " (≥ " + s + ")"
	}
	if c.outcome == drop.Broke || c.AtLeast {
		s = "≥ " + s
	}
	return s
}

func (o *overlay) describe() string {
	if len(o.curves) == 0 {
		return o.what + " " + o.In.Say("No record.")
	}
	parts := make([]string, len(o.curves))
	for i, c := range o.curves {
		parts[i] = c.words(o.In)
	}
	return o.what + " " + strings.Join(parts, "; ") + "." + limitWords(o.In, o.limits)
}

func limitWords(in message.Locale, lines []limitLine) string {
	if len(lines) == 0 {
		return ""
	}
	parts := make([]string, len(lines))
	for i, l := range lines {
		parts[i] = l.text
	}
	return " " + in.Say("Limit lines: %s.", strings.Join(parts, "; "))
}

// colorOf is the colour of the i-th curve.
func colorOf(i int, o drop.Outcome) string {
	if o == drop.Void {
		return slate
	}
	return series[i%len(series)]
}
