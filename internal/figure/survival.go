package figure

import (
	"math"
	"strings"

	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// CurvePoint is the share that is stronger than a force by a fit, with its interval; NaN ends leave the band out there.
type CurvePoint struct {
	Force         quantity.Force
	Share, Lo, Hi float64
}

// Step is a step of the estimate without a family: the share that is stronger than Force.
type Step struct {
	Force quantity.Force
	Share float64
}

// Strength is the strength of one kind of specimen.
type Strength struct {
	Name   string // with its numbers
	Steps  []Step // by force; the share is 1 before the first
	Fit    []CurvePoint
	Broke  []quantity.Force
	Held   []quantity.Force // known to be at least this
	Amount string
}

// StrengthCurves shows what share of each kind is stronger than a force: the product-limit estimate as steps, the fit as a smooth line in its
// band. A tick on the steps stands for a specimen that held, of which no more is known.
type StrengthCurves struct {
	Frame
	Kinds  []Strength
	Lines  []Limit
	Lo, Hi quantity.Force // of the axis; both 0 = from the values
	// Coverage are the words for the band: "95 %".
	Coverage string
}

var strengthDash = [][]float64{nil, {5, 2}, {1.4, 1.8}, {7, 2, 1.4, 2}, {3, 1.2}, {9, 2}}

// SVG draws the figure.
func (f StrengthCurves) SVG(id string) []byte {
	p := f.open()
	depth := f.Depth
	if !(depth > 0) {
		depth = 150
	}
	lo, hi := f.span()
	lines, beyond, hi := limitsWithin(f.Lines, lo, hi, 1.01)
	p.y += 2
	p.root.text(0, p.y+ascent*small, f.In.Say("Share that is stronger"), small, left).color = soft
	p.y += small*leading + 3
	share := []tick{{0, "0 %"}, {0.25, "25 %"}, {0.5, "50 %"}, {0.75, "75 %"}, {1, "100 %"}}
	plot := box{x0: widest(share) + tickGap + 3, x1: p.width - 6}
	x := scale{lo: lo, hi: hi, a: plot.x0, b: plot.x1}
	p.y += nameDown(&p.root, x, lines, p.y)
	if len(lines) > 0 {
		p.y += small*leading + 2
	}
	plot.y0, plot.y1 = p.y+3, p.y+3+depth
	y := scale{lo: 0, hi: 1, a: plot.y1, b: plot.y0}
	forceAxis(&p.root, plot, y, share)
	for _, l := range lines {
		p.root.line(l.pen(), point{x.at(l.value), plot.y0 - 3}, point{x.at(l.value), plot.y1})
	}
	for i, k := range f.Kinds {
		k.band(p.root.sub(""), x, y, series[i%len(series)])
	}
	for i, k := range f.Kinds {
		k.draw(p.root.sub(k.words(f.In)), x, y, series[i%len(series)], strengthDash[i%len(strengthDash)])
	}
	if len(f.Kinds) == 0 {
		p.root.text((plot.x0+plot.x1)/2, (plot.y0+plot.y1)/2, f.In.Say("no specimen to show"), bodySize, middle).color = soft
	}
	p.y = flatAxis(&p.root, plot, x, flatTicks(lo, hi, plot.w()), f.In.Say("Strength (kN)")) + 2
	f.key(p)
	p.close(f.Frame, beyondNote(f.In, beyond), f.describe())
	return p.svg(id)
}

func (f StrengthCurves) span() (lo, hi float64) {
	if f.Hi > f.Lo {
		return f.Lo.SI() * kilo, f.Hi.SI() * kilo
	}
	lo, hi = math.Inf(1), math.Inf(-1)
	take := func(v quantity.Force) {
		if x := v.SI() * kilo; drawable(x) && x >= 0 {
			lo, hi = min(lo, x), max(hi, x)
		}
	}
	for _, k := range f.Kinds {
		for _, v := range append(append([]quantity.Force{}, k.Broke...), k.Held...) {
			take(v)
		}
		for _, c := range k.Fit {
			take(c.Force)
		}
	}
	if !drawable(lo) || !drawable(hi) {
		return 0, 1
	}
	room := max(0.04*(hi-lo), 0.02*hi, speck)
	return max(0, lo-room), hi + room
}

func (k Strength) band(g *group, x, y scale, color string) {
	var up, down []point
	for _, c := range k.Fit {
		at := c.Force.SI() * kilo
		if !drawable(at) || at < x.lo || at > x.hi || !drawable(c.Lo) || !drawable(c.Hi) {
			continue
		}
		up = append(up, point{x.at(at), y.at(min(max(c.Hi, 0), 1))})
		down = append(down, point{x.at(at), y.at(min(max(c.Lo, 0), 1))})
	}
	if len(up) < 2 {
		return
	}
	ring := append([]point{}, up...)
	for i := len(down) - 1; i >= 0; i-- {
		ring = append(ring, down[i])
	}
	g.add(outline{runs: [][]point{ring}, fill: color, tint: 0.13, closed: true})
	for _, edge := range [][]point{up, down} {
		g.line(pen{color: color, width: 0.5, dash: []float64{1, 1.6}}, edge...)
	}
}

func (k Strength) draw(g *group, x, y scale, color string, dash []float64) {
	var smooth []point
	for _, c := range k.Fit {
		if at := c.Force.SI() * kilo; drawable(at) && at >= x.lo && at <= x.hi {
			smooth = append(smooth, point{x.at(at), y.at(c.Share)})
		}
	}
	if len(smooth) > 1 {
		g.line(pen{color: color, width: 1.7, dash: dash}, smooth...)
	}
	at, share := x.a, 1.0
	steps := []point{{at, y.at(1)}}
	for _, s := range k.Steps {
		v := s.Force.SI() * kilo
		if !drawable(v) || s.Share == share {
			continue
		}
		to := x.at(min(max(v, x.lo), x.hi))
		steps = append(steps, point{to, y.at(share)}, point{to, y.at(s.Share)})
		share = s.Share
	}
	last := x.a
	for _, v := range append(append([]quantity.Force{}, k.Broke...), k.Held...) {
		if at := v.SI() * kilo; drawable(at) {
			last = max(last, x.at(min(at, x.hi)))
		}
	}
	steps = append(steps, point{last, y.at(share)})
	g.line(pen{color: color, width: 0.9}, steps...)
	for _, h := range k.Held {
		v := h.SI() * kilo
		if !drawable(v) || v < x.lo || v > x.hi {
			continue
		}
		c := point{x.at(v), y.at(k.at(h))}
		g.line(pen{color: color, width: 1.1}, point{c.x, c.y - 3}, point{c.x, c.y + 3})
	}
}

// at is the share by the steps at a force.
func (k Strength) at(v quantity.Force) float64 {
	s := 1.0
	for _, p := range k.Steps {
		if p.Force > v {
			break
		}
		s = p.Share
	}
	return s
}

func (k Strength) words(in message.Locale) string {
	s := in.Say("%s: %d broke, %d held", k.Name, len(k.Broke), len(k.Held))
	if k.Amount != "" {
		s += ", " + k.Amount
	}
	return s
}

func (f StrengthCurves) key(p *page) {
	fit, held := false, false
	for i, k := range f.Kinds {
		text := k.words(f.In)
		color := series[i%len(series)]
		line := pen{color: color, width: 1.7, dash: strengthDash[i%len(strengthDash)]}
		if len(k.Fit) < 2 {
			line = pen{color: color, width: 0.9}
		}
		p.entryLine(line, text)
		fit, held = fit || len(k.Fit) > 1, held || len(k.Held) > 0
	}
	var items []keyItem
	if fit {
		items = append(items, keyItem{text: f.In.Say("fit, in its %s band", f.Coverage), kind: keyLine, pen: pen{color: ink, width: 1.7}})
	}
	items = append(items, keyItem{text: f.In.Say("steps: no family assumed"), kind: keyLine, pen: pen{color: ink, width: 0.9}})
	if held {
		items = append(items, keyItem{text: f.In.Say("held: at least this strong"), kind: keyTick})
	}
	p.key(items)
}

// entryLine sets a line with its meaning, wrapped.
func (p *page) entryLine(line pen, text string) {
	const sign = 24.0
	for i, t := range wrap(text, small, false, p.width-sign-1, 3) {
		p.y += small*leading + 1
		base := p.y - descent*small
		if i == 0 {
			p.root.line(line, point{0, base - 0.35*small}, point{sign - 5, base - 0.35*small})
		}
		p.root.text(sign, base, t, small, left)
	}
}

func (f StrengthCurves) describe() string {
	var b strings.Builder
	b.WriteString(f.In.Say("Share of specimens that is stronger than a force."))
	for _, k := range f.Kinds {
		b.WriteString(" " + k.words(f.In) + ".")
	}
	return b.String()
}
