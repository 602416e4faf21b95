package figure

import (
	"math"
	"strconv"

	"github.com/hardcatch/hardcatch/internal/quantity"
)

// CheckDrops is a control chart: the peaks of the check drops in the order they were made, between their limits, with the
// exponentially weighted moving average.
type CheckDrops struct {
	Frame
	Names   []string
	Peaks   []quantity.Force
	Average []quantity.Force // the moving average, as many as Peaks or none
	Centre  quantity.Force   // 0 = no chart could be made
	Lower   quantity.Force
	Upper   quantity.Force
}

// SVG draws the figure.
func (f CheckDrops) SVG(id string) []byte {
	p := f.open()
	lo, hi := f.span()
	depth := f.depth(p.width) * 0.6
	p.y += bodySize*leading + 1
	p.root.text(0, p.y-descent*bodySize, f.In.Say("Peak force (kN)"), bodySize, left)
	p.y += 5
	marks := ticks(lo, hi, 5)
	side := max(textWidth(f.In.Say("upper limit"), small, false), textWidth(f.In.Say("lower limit"), small, false), textWidth(f.In.Say("centre"), small, false)) + 8
	plot := box{widest(marks) + tickGap + 3, p.y, p.width - side, p.y + depth}
	y := scale{lo: lo, hi: hi, a: plot.y1, b: plot.y0}
	n := max(1, len(f.Peaks))
	x := scale{lo: 0.5, hi: float64(n) + 0.5, a: plot.x0, b: plot.x1}
	forceAxis(&p.root, plot, y, marks)
	if f.Centre > 0 {
		for _, l := range []struct {
			at   quantity.Force
			name string
			p    pen
		}{{f.Lower, f.In.Say("lower limit"), pen{rust, 0.9, []float64{5, 2.2}}}, {f.Centre, f.In.Say("centre"), pen{color: ink, width: 0.9}}, {f.Upper, f.In.Say("upper limit"), pen{rust, 0.9, []float64{5, 2.2}}}} {
			if v := l.at.SI() * kilo; y.holds(v) {
				p.root.line(l.p, point{plot.x0, y.at(v)}, point{plot.x1, y.at(v)})
				p.root.text(plot.x1+5, y.at(v)+0.35*small, l.name, small, left).color = soft
			}
		}
	}
	var peaks, average []point
	for i, v := range f.Peaks {
		if y.holds(v.SI() * kilo) {
			peaks = append(peaks, point{x.at(float64(i + 1)), y.at(v.SI() * kilo)})
		}
		if i < len(f.Average) && y.holds(f.Average[i].SI()*kilo) {
			average = append(average, point{x.at(float64(i + 1)), y.at(f.Average[i].SI() * kilo)})
		}
	}
	if len(average) > 1 {
		p.root.line(pen{plum, 1, []float64{1.5, 1.8}}, average...)
	}
	if len(peaks) > 1 {
		p.root.line(pen{color: navy, width: 0.7}, peaks...)
	}
	for i, v := range f.Peaks {
		if y.holds(v.SI() * kilo) {
			p.root.sub(f.name(i) + ": " + kN(v)).add(disc{point{x.at(float64(i + 1)), y.at(v.SI() * kilo)}, 2.4, pen{}, navy})
		}
	}
	p.y = flatAxis(&p.root, plot, x, f.places(plot.w()), f.In.Say("Check drops in their order")) + 2
	p.close(f.Frame, "", f.In.Say("Peaks of %d check drops.", len(f.Peaks)))
	return p.svg(id)
}

func (f CheckDrops) name(i int) string {
	if i < len(f.Names) {
		return clean(f.Names[i])
	}
	return strconv.Itoa(i + 1)
}

// places are the names of the drops, or of every so many where they have no room.
func (f CheckDrops) places(width float64) []tick {
	widest := 0.0
	for i := range f.Peaks {
		widest = max(widest, textWidth(f.name(i), bodySize, false)+8)
	}
	every := max(1, int(math.Ceil(widest*float64(len(f.Peaks))/width)))
	var out []tick
	for i := 0; i < len(f.Peaks); i += every {
		out = append(out, tick{float64(i + 1), f.name(i)})
	}
	return out
}

// span is the range of force, kN, with room at both ends.
func (f CheckDrops) span() (lo, hi float64) {
	lo, hi = math.Inf(1), math.Inf(-1)
	for _, list := range [][]quantity.Force{f.Peaks, f.Average, {f.Lower, f.Upper}} {
		for _, v := range list {
			if k := v.SI() * kilo; drawable(k) && k > 0 {
				lo, hi = min(lo, k), max(hi, k)
			}
		}
	}
	if hi < lo {
		return 0, 1
	}
	room := max(0.12*(hi-lo), 0.0005*hi, speck)
	return lo - room, hi + room
}
