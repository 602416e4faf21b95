package figure

import (
	"math"

	"github.com/hardcatch/hardcatch/internal/quantity"
)

// ShareStep is a step of the share that holds: from Force on it is Share, with its interval; NaN = no interval.
type ShareStep struct {
	Force         quantity.Force
	Share, Lo, Hi float64 // 0 to 1
}

// StrengthCurve shows how strong the specimens of one kind were: the product-limit estimate (Kaplan-Meier) of the share
// that holds a force as steps with its interval, a fitted distribution as a dashed line, and each specimen below: one that
// broke at its strength, one that held at the force that it held at least.
type StrengthCurve struct {
	Frame
	Steps       []ShareStep // in order of force
	Fit         func(quantity.Force) float64
	Broke, Held []quantity.Force
}

// SVG draws the figure.
func (f StrengthCurve) SVG(id string) []byte {
	p := f.open()
	lo, hi := f.span()
	p.y += bodySize*leading + 1
	p.root.text(0, p.y-descent*bodySize, f.In.Say("Share that holds"), bodySize, left)
	p.y += 5
	marks := ticks(0, 100, 4)
	for i := range marks {
		marks[i].text += "\u00a0%"
	}
	const lanes = 20.0
	depth := f.depth(p.width) * 0.75
	plot := box{widest(marks) + tickGap + 3, p.y, p.width - 8, p.y + depth}
	y := scale{lo: 0, hi: 100, a: plot.y1, b: plot.y0}
	x := scale{lo: lo, hi: hi, a: plot.x0, b: plot.x1}
	forceAxis(&p.root, plot, y, marks)
	f.draw(&p.root, x, y)
	for i, lane := range [][]quantity.Force{f.Broke, f.Held} {
		o := []Outcome{Broke, Held}[i]
		color, _ := lookOf(o)
		at := plot.y1 + 6 + 9*float64(i)
		for _, v := range lane {
			if !x.holds(v.SI() * kilo) {
				continue
			}
			g, to := p.root.sub(o.word(f.In)+" "+kN(v)), point{x.at(v.SI() * kilo), at}
			if o == Broke { // here the strength is seen: no arrow
				ending(g, to, o, color)
				continue
			}
			glyph(g, to, o, color, rightward)
			g.line(pen{color: color, width: 0.8}, to, point{to.x + 8, to.y})
			g.line(pen{color: color, width: 0.8}, point{to.x + 5.5, to.y - 2}, point{to.x + 8, to.y}, point{to.x + 5.5, to.y + 2})
		}
	}
	plot.y1 += lanes
	p.y = flatAxis(&p.root, plot, x, flatTicks(lo, hi, plot.w()), f.In.Say("Force (kN)")) + 2
	p.close(f.Frame, "", f.In.Say("%d broke, %d held.", len(f.Broke), len(f.Held)))
	return p.svg(id)
}

func (f StrengthCurve) draw(g *group, x, y scale) {
	steps := func(of func(ShareStep) float64, p pen) {
		var run []point
		last := 1.0
		run = append(run, point{x.a, y.at(100)})
		for _, s := range f.Steps {
			v := of(s)
			if !(v >= 0 && v <= 1) || !x.holds(s.Force.SI()*kilo) {
				continue
			}
			at := x.at(s.Force.SI() * kilo)
			run = append(run, point{at, y.at(100 * last)}, point{at, y.at(100 * v)})
			last = v
		}
		run = append(run, point{x.b, y.at(100 * last)})
		g.line(p, run...)
	}
	steps(func(s ShareStep) float64 { return s.Lo }, pen{slate, 0.6, []float64{1, 1.8}})
	steps(func(s ShareStep) float64 { return s.Hi }, pen{slate, 0.6, []float64{1, 1.8}})
	steps(func(s ShareStep) float64 { return s.Share }, pen{color: navy, width: 1.3})
	if f.Fit == nil {
		return
	}
	var run []point
	for i := range 81 {
		v := x.lo + (x.hi-x.lo)*float64(i)/80
		if share := f.Fit(quantity.Force(v / kilo)); drawable(share) {
			run = append(run, point{x.at(v), y.at(100 * min(1, max(0, share)))})
		}
	}
	if len(run) > 1 {
		g.line(pen{rust, 1, []float64{4, 2}}, run...)
	}
}

// span is the range of force, kN: all specimens with room at both ends.
func (f StrengthCurve) span() (lo, hi float64) {
	lo, hi = math.Inf(1), 0
	for _, lane := range [][]quantity.Force{f.Broke, f.Held} {
		for _, v := range lane {
			if k := v.SI() * kilo; drawable(k) {
				lo, hi = min(lo, k), max(hi, k)
			}
		}
	}
	if hi <= 0 {
		return 0, 1
	}
	room := max(0.15*(hi-lo), 0.03*hi, speck)
	return max(0, lo-room), hi + room
}
