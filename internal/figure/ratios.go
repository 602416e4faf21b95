package figure

import (
	"math"
	"strings"
)

// Ratio is one comparison: how many times as large one thing is as another.
type Ratio struct {
	Name   string
	Value  float64 // above 0
	Lo, Hi float64 // interval; NaN = the data do not bound that side
}

// Ratios shows ratios with their intervals, one to a row, on a logarithmic axis with a line at 1, where nothing
// differs. A side that the data do not bound runs to the edge with an open arrow head.
type Ratios struct {
	Frame
	Across string // title of the axis
	Rows   []Ratio
}

const ratioRow = 15.0

// SVG draws the figure.
func (f Ratios) SVG(id string) []byte {
	p := f.open()
	lo, hi := f.span()
	name := 0.0
	for _, r := range f.Rows {
		name = max(name, textWidth(clean(r.Name), bodySize, false))
	}
	name = min(name, 0.45*p.width)
	amount := textWidth("0.000 (0.000–0.000)", bodySize, false) + 8
	plot := box{name + 14, p.y + 4, p.width - amount, p.y + 4 + ratioRow*float64(max(1, len(f.Rows)))}
	x := scale{lo: math.Log(lo), hi: math.Log(hi), a: plot.x0, b: plot.x1}
	marks := ratioTicks(lo, hi, plot.w())
	for _, t := range marks {
		g := pen{color: hair, width: 0.5}
		if t.v == 0 {
			g = pen{color: ink, width: 0.9}
		}
		p.root.line(g, point{x.at(t.v), plot.y0}, point{x.at(t.v), plot.y1})
	}
	words := make([]string, len(f.Rows))
	for i, r := range f.Rows {
		y := plot.y0 + ratioRow*(float64(i)+0.5)
		p.root.text(0, y+0.35*bodySize, fit(clean(r.Name), bodySize, false, name), bodySize, left)
		text := r.words()
		p.root.text(plot.x1+8, y+0.35*bodySize, text, bodySize, left)
		words[i] = clean(r.Name) + " " + text
		if r.Value > 0 && drawable(r.Value) {
			r.draw(p.root.sub(words[i]), x, y)
		}
	}
	p.y = flatAxis(&p.root, plot, x, marks, f.Across) + 2
	p.close(f.Frame, "", strings.Join(words, "; ")+".")
	return p.svg(id)
}

func (r Ratio) draw(g *group, x scale, y float64) {
	line := pen{color: navy, width: 1.1}
	a, b := x.a, x.b
	if r.Lo > 0 && drawable(r.Lo) {
		a = x.at(math.Log(r.Lo))
		g.line(line, point{a, y - 2.4}, point{a, y + 2.4})
	} else {
		g.line(line, point{a + 4, y - 2.4}, point{a, y}, point{a + 4, y + 2.4})
	}
	if r.Hi > 0 && drawable(r.Hi) {
		b = x.at(math.Log(r.Hi))
		g.line(line, point{b, y - 2.4}, point{b, y + 2.4})
	} else {
		g.line(line, point{b - 4, y - 2.4}, point{b, y}, point{b - 4, y + 2.4})
	}
	g.line(line, point{a, y}, point{b, y})
	g.add(disc{point{x.at(math.Log(r.Value)), y}, 2.6, pen{}, navy})
}

// words is the ratio with its interval in three digits.
func (r Ratio) words() string {
	if !(r.Value > 0) || !drawable(r.Value) {
		return "–"
	}
	side := func(v float64) string {
		if !(v > 0) || !drawable(v) {
			return "?"
		}
		return threeDigits(v)
	}
	return threeDigits(r.Value) + " (" + side(r.Lo) + "–" + side(r.Hi) + ")"
}

func threeDigits(v float64) string {
	return fixed(v, int(min(6, max(0, 2-math.Floor(math.Log10(v))))))
}

// span is the range of the axis: it holds 1, every ratio and every side of an interval that is within a factor of ten of
// the ratios.
func (f Ratios) span() (lo, hi float64) {
	lo, hi = 0.9, 1.1
	for _, r := range f.Rows {
		if !(r.Value > 0) || !drawable(r.Value) {
			continue
		}
		for _, v := range []float64{r.Value, r.Lo, r.Hi} {
			if v > r.Value/10 && v < 10*r.Value {
				lo, hi = min(lo, v), max(hi, v)
			}
		}
	}
	room := math.Pow(hi/lo, 0.05)
	return lo / room, hi * room
}

// ratioTicks marks 1 and round ratios on both sides, as many as have room; the places are logarithms.
func ratioTicks(lo, hi, width float64) []tick {
	var all []tick
	for _, v := range []float64{0.01, 0.02, 0.05, 0.1, 0.2, 0.3, 0.5, 0.7, 0.8, 0.9, 1, 1.1, 1.2, 1.5, 2, 3, 5, 10, 20, 50, 100} {
		if v >= lo && v <= hi {
			all = append(all, tick{math.Log(v), strings.TrimSuffix(strings.TrimRight(fixed(v, 2), "0"), ".")})
		}
	}
	x := scale{lo: math.Log(lo), hi: math.Log(hi), a: 0, b: width}
	var out []tick
	clear := func(t tick) bool {
		for _, o := range out {
			if abs(x.at(o.v)-x.at(t.v)) < 24 {
				return false
			}
		}
		return true
	}
	for _, t := range all { // 1 first: its line is the one that means something
		if t.v == 0 {
			out = append(out, t)
		}
	}
	for _, t := range all {
		if t.v != 0 && clear(t) {
			out = append(out, t)
		}
	}
	return out
}
