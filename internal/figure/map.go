package figure

import (
	"math"
	"strings"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/num/contour"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// MapAxis is a direction of a map.
type MapAxis struct {
	Title string  // with the unit: "Length (m)"
	Log   bool    // logarithmic; the ends are then above 0
	Scale float64 // places are shown times this; 0 = 1
}

// MapDrop is a drop at its place on a map.
type MapDrop struct {
	Name    string
	Outcome drop.Outcome
	X, Y    float64
	Peak    quantity.Force
}

// Map shows the peak force over two quantities: tinted bands between iso-lines that carry their force in kN, lines where limits
// are reached, the region where the specimen is predicted to part (hatched), and dotted what no drop has tried.
type Map struct {
	Frame
	Across, Up MapAxis
	X, Y       []float64 // places of the grid, increasing
	PeakN      []float64 // N: a row of X for each Y
	Levels     []quantity.Force
	Parts      quantity.Force // force at which the specimen parts; 0 = it does not
	Limits     []Limit
	Drops      []MapDrop
	Known      func(x, y float64) bool // whether a place lies among the dropped falls; nil = everywhere
	Asked      *[2]float64             // a place to point at
}

// MapPlot is where the plot of a map stands on its drawing, pt from the left and upper edge.
type MapPlot struct{ Width, Height, Left, Top, Right, Bottom float64 }

// SVG draws the map.
func (m Map) SVG(id string) []byte {
	svg, _ := m.Draw(id)
	return svg
}

// Draw draws the map and says where its plot stands.
func (m Map) Draw(id string) ([]byte, MapPlot) {
	d := m.start()
	d.bands()
	d.isoLines()
	d.dots()
	d.hatch()
	d.limitLines()
	d.parting()
	d.labels()
	d.asked()
	d.glyphs()
	d.legend()
	at := MapPlot{Left: d.plot.x0, Top: d.plot.y0, Right: d.plot.x1, Bottom: d.plot.y1, Width: d.p.width}
	d.p.close(m.Frame, d.note(), d.describe())
	at.Height = d.p.height
	return d.p.svg(id), at
}

// mapDrawing is a map under way.
type mapDrawing struct {
	Map
	p      *page
	g      *group // clipped to the plot
	plot   box
	x, y   scale
	grid   contour.Grid
	lo, hi float64 // N, of the grid
	shown  []limitLine
	below  []limitLine // lower than every peak of the map
	beyond []limitLine
	taken  []box // by labels
	wanted []mapLabel
}

// mapLabel is a force to be written on one of some lines.
type mapLabel struct {
	text string
	bold bool
	runs [][]point
}

func (a MapAxis) to(v float64) float64 {
	if a.Scale != 0 {
		v *= a.Scale
	}
	if a.Log {
		return math.Log10(v)
	}
	return v
}

// ticks marks the axis; on a logarithmic one at 1, 2 and 5 times powers of ten.
func (a MapAxis) ticks(s scale, room float64, most int) []tick {
	if !a.Log {
		if most > 0 {
			return ticks(s.lo, s.hi, most)
		}
		return flatTicks(s.lo, s.hi, room)
	}
	var out []tick
	for e := math.Floor(s.lo); e <= s.hi; e++ {
		for _, m := range []float64{1, 2, 5} {
			if v := e + math.Log10(m); v >= s.lo-1e-9 && v <= s.hi+1e-9 {
				out = append(out, tick{v, fixed(m*math.Pow(10, e), int(math.Max(0, -e)))})
			}
		}
	}
	return out
}

func (m Map) start() *mapDrawing {
	d := &mapDrawing{Map: m, p: m.open()}
	d.grid = contour.Grid{X: placed(m.X, m.Across), Y: placed(m.Y, m.Up), V: m.PeakN}
	d.lo, d.hi = math.Inf(1), math.Inf(-1)
	for _, v := range m.PeakN {
		d.lo, d.hi = math.Min(d.lo, v), math.Max(d.hi, v)
	}
	last := func(v []float64) float64 { return v[len(v)-1] }
	d.x, d.y = scale{lo: d.grid.X[0], hi: last(d.grid.X)}, scale{lo: d.grid.Y[0], hi: last(d.grid.Y)}
	depth := min(max(0.6*d.p.width, 200), 290)
	if m.Depth > 0 && drawable(m.Depth) {
		depth = max(m.Depth, 60)
	}
	marks := m.Up.ticks(d.y, 0, int(max(3, min(8, depth/22))))
	d.p.y += bodySize*leading + 1
	d.p.root.text(0, d.p.y-descent*bodySize, fit(m.Up.Title, bodySize, false, d.p.width), bodySize, left)
	d.p.y += 5
	across := m.Across.ticks(d.x, d.p.width-40, 0)
	margin := 6.0
	if n := len(across); n > 0 {
		margin = max(margin, textWidth(across[n-1].text, bodySize, false)/2+1)
	}
	d.plot = box{widest(marks) + tickGap + tickLength + 2, d.p.y, d.p.width - margin, d.p.y + depth}
	d.x.a, d.x.b, d.y.a, d.y.b = d.plot.x0, d.plot.x1, d.plot.y1, d.plot.y0
	d.g = d.p.root.sub("")
	clip := d.plot
	d.g.clip = &clip
	for _, t := range marks {
		at := d.y.at(t.v)
		d.p.root.line(pen{color: ink, width: 0.8}, point{d.plot.x0 - tickLength, at}, point{d.plot.x0, at})
		d.p.root.text(d.plot.x0-tickGap-tickLength, at+bodySize*0.35, t.text, bodySize, right)
	}
	d.p.y = flatAxis(&d.p.root, d.plot, d.x, across, m.Across.Title) + 4
	d.sortLimits()
	return d
}

func placed(v []float64, a MapAxis) []float64 {
	out := make([]float64, len(v))
	for i, x := range v {
		out[i] = a.to(x)
	}
	return out
}

func (d *mapDrawing) sortLimits() {
	all, beyond := sortLimits(d.Limits, d.hi*kilo/reach)
	d.beyond = beyond
	for _, l := range all {
		if l.value < d.lo*kilo {
			d.below = append(d.below, l)
		} else {
			d.shown = append(d.shown, l)
		}
	}
}

// runs places lines of the grid on the drawing.
func (d *mapDrawing) runs(lines []contour.Line) [][]point {
	var out [][]point
	for _, l := range lines {
		run := make([]point, len(l))
		for i, p := range l {
			run[i] = point{d.x.at(p.X), d.y.at(p.Y)}
		}
		out = append(out, simplify(run))
	}
	return out
}

// darkest is how dark all bands together are at most: text stands on them.
const darkest = 0.34

func (d *mapDrawing) bands() {
	g := d.g.sub("")
	corner := []point{{d.plot.x0, d.plot.y0}, {d.plot.x1, d.plot.y0}, {d.plot.x1, d.plot.y1}, {d.plot.x0, d.plot.y1}}
	g.add(outline{runs: [][]point{corner}, fill: paper, closed: true})
	// Each band lies on those below it, so that they darken evenly.
	each := 1 - math.Pow(1-darkest, 1/float64(max(1, len(d.Levels))))
	for _, f := range d.Levels {
		if runs := d.runs(d.grid.Above(f.SI())); len(runs) > 0 {
			g.add(outline{runs: runs, fill: ochre, tint: each, closed: true})
		}
	}
}

func (d *mapDrawing) isoLines() {
	g := d.g.sub(d.In.Say("Lines of equal peak force"))
	for _, f := range d.Levels {
		runs := d.runs(d.grid.Lines(f.SI()))
		if len(runs) == 0 {
			continue
		}
		g.add(outline{runs: runs, pen: pen{color: ink, width: 0.55}})
		limit := false
		for _, l := range d.shown {
			limit = limit || l.value == f.SI()*kilo
		}
		if !limit {
			d.wanted = append(d.wanted, mapLabel{short(f), false, runs})
		}
	}
}

// dotStep is the distance of the dots of a row, pt.
const dotStep = 8.0

// dots marks what no drop has tried: staggered rows, each a dashed line over the stretches that are not known.
func (d *mapDrawing) dots() {
	if d.Known == nil {
		return
	}
	var runs [][]point
	for row, y := 0, d.plot.y0+dotStep/2; y < d.plot.y1; row, y = row+1, y+dotStep*0.75 {
		from := math.NaN()
		x := d.plot.x0 + dotStep/4 + dotStep/2*float64(row%2)
		for ; x < d.plot.x1; x += dotStep {
			switch known := d.Known(d.back(x, y)); {
			case known && !math.IsNaN(from):
				runs = append(runs, []point{{from, y}, {x - dotStep/2, y}})
				from = math.NaN()
			case !known && math.IsNaN(from):
				from = x
			}
		}
		if !math.IsNaN(from) {
			runs = append(runs, []point{{from, y}, {d.plot.x1, y}})
		}
	}
	if len(runs) > 0 {
		d.g.sub(d.In.Say("Extrapolation: no drop has tried these falls")).add(outline{runs: runs, pen: pen{soft, 0.9, []float64{0.9, dotStep - 0.9}}})
	}
}

// back is the place on the axes of a place on the drawing.
func (d *mapDrawing) back(x, y float64) (across, up float64) {
	from := func(a MapAxis, s scale, at float64) float64 {
		v := s.lo + (at-s.a)/(s.b-s.a)*(s.hi-s.lo)
		if a.Log {
			v = math.Pow(10, v)
		}
		if a.Scale != 0 {
			v /= a.Scale
		}
		return v
	}
	return from(d.Across, d.x, x), from(d.Up, d.y, y)
}

// read is the force at a place on the drawing, between the values of the grid.
func (d *mapDrawing) read(x, y float64) float64 {
	i, s := d.find(d.grid.X, d.x.lo+(x-d.x.a)/(d.x.b-d.x.a)*(d.x.hi-d.x.lo))
	j, t := d.find(d.grid.Y, d.y.lo+(y-d.y.a)/(d.y.b-d.y.a)*(d.y.hi-d.y.lo))
	low := d.grid.At(i, j)*(1-s) + d.grid.At(i+1, j)*s
	high := d.grid.At(i, j+1)*(1-s) + d.grid.At(i+1, j+1)*s
	return low*(1-t) + high*t
}

func (d *mapDrawing) find(v []float64, at float64) (i int, share float64) {
	lo, hi := 0, len(v)-1
	for hi-lo > 1 {
		if mid := (lo + hi) / 2; v[mid] <= at {
			lo = mid
		} else {
			hi = mid
		}
	}
	return lo, math.Max(0, math.Min(1, (at-v[lo])/(v[lo+1]-v[lo])))
}

// hatchGap is the distance of hatch lines and hatchStep that of the places tried along them, pt.
const hatchGap, hatchStep = 6.5, 1.5

// hatch lays slanting lines over the region where the specimen parts.
func (d *mapDrawing) hatch() {
	if d.Parts <= 0 {
		return
	}
	var runs [][]point
	w, h := d.plot.w(), d.plot.h()
	for c := hatchGap / 2; c < w+h; c += hatchGap {
		var run []point
		last := math.NaN()
		end := func() {
			if len(run) > 1 {
				runs = append(runs, []point{run[0], run[len(run)-1]})
			}
			run = nil
		}
		for t := math.Max(0, c-w); t <= math.Min(h, c); t += hatchStep {
			p := point{d.plot.x0 + c - t, d.plot.y1 - h + t}
			v := d.read(p.x, p.y) - d.Parts.SI()
			if v*last < 0 {
				s := last / (last - v) * hatchStep
				run = append(run, point{p.x + hatchStep - s, p.y - hatchStep + s})
			}
			if v < 0 {
				end()
			} else {
				run = append(run, p)
			}
			last = v
		}
		end()
	}
	if len(runs) > 0 {
		d.g.sub(d.In.Say("Predicted to part")).add(outline{runs: runs, pen: hatchPen})
	}
}

var (
	hatchPen = pen{color: iron, width: 0.6}
	partPen  = pen{color: iron, width: 1.8, dash: []float64{6, 2.5}}
)

func (d *mapDrawing) parting() {
	if d.Parts <= 0 {
		return
	}
	if runs := d.runs(d.grid.Lines(d.Parts.SI())); len(runs) > 0 {
		d.g.sub(d.In.Say("Above this line the specimen is predicted to part")).add(outline{runs: runs, pen: partPen})
	}
}

func (l limitLine) mapPen() pen {
	if l.arrest {
		return pen{teal, 1.7, []float64{1.4, 2.4}}
	}
	return pen{color: teal, width: 1.5}
}

func (d *mapDrawing) limitLines() {
	var labels []mapLabel
	for i := 0; i < len(d.shown); {
		l, names := d.shown[i], ""
		// Limits of one value are one line with several letters.
		for ; i < len(d.shown) && d.shown[i].value == l.value; i++ {
			names += strings.ToUpper(letters(i))
		}
		runs := d.runs(d.grid.Lines(l.value / kilo))
		if len(runs) == 0 {
			continue
		}
		d.g.sub(l.text).add(outline{runs: runs, pen: l.mapPen()})
		labels = append(labels, mapLabel{names + " " + short(quantity.Force(l.value/kilo)), true, runs})
	}
	// The letters come first: they say which limit it is.
	d.wanted = append(labels, d.wanted...)
}
