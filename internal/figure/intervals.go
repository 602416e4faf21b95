package figure

import (
	"math"
	"strings"

	"github.com/hardcatch/hardcatch/internal/message"
)

// Certainty is what a test allows to be said of an interval. It is drawn by the mark and the line.
type Certainty int

// The certainties.
const (
	NoTest   Certainty = iota // a bare interval
	Sure                      // more than chance would explain: filled mark, heavy line
	Unsure                    // chance alone may explain it: open mark
	Hopeless                  // so few could not have shown it: open mark, dashed line
)

// Interval is one row of Intervals.
type Interval struct {
	Group  string // heading above the row, "" = that of the row before
	Name   string
	Amount string // the numbers, as written at the right
	// Value is the estimate, NaN = none. Lo and Hi are the ends; NaN or infinite = open on that side.
	Value, Lo, Hi float64
	// Seen is a second mark (a share that was counted), NaN = none.
	Seen      float64
	Certainty Certainty
	Missing   string // stands in place of an interval that there is none of
}

// Intervals shows estimates with their intervals against a line of no difference. Each row has its name and its numbers above
// its interval, so that the drawing may be narrow.
type Intervals struct {
	Frame
	Rows []Interval
	Axis string
	Log  bool
	// Same is where there is no difference, NaN = no such line. Below and Above say what lies on either side.
	Same         float64
	Below, Above string
	Lo, Hi       float64 // of the axis; both 0 = from the rows
	Percent      bool    // the axis in per cent of values 0 to 1
	SeenMeans    string  // key of the second mark
	// Means are keys of certainties in place of the usual ones.
	Means map[Certainty]string
}

const (
	laneHeight = 13.0
	markSize   = 3.1
)

// SVG draws the figure.
func (f Intervals) SVG(id string) []byte {
	p := f.open()
	x := f.scale(p.width)
	if f.Below != "" || f.Above != "" {
		p.y += 2
		base := p.y + ascent*small
		at := x.place(f.Same)
		below, above := "← "+f.Below, f.Above+" →"
		wideBelow, wideAbove := textWidth(below, small, false), textWidth(above, small, false)
		end := min(max(at-7, wideBelow), p.width-wideAbove-14)
		p.root.text(end, base, below, small, right).color = soft
		p.root.text(min(max(at+7, end+14), p.width-wideAbove), base, above, small, left).color = soft
		p.y += small * leading
	}
	top := p.y
	var lanes []box
	for _, r := range f.Rows {
		lanes = append(lanes, f.heading(p, r, x))
	}
	if len(f.Rows) == 0 {
		p.root.text(p.width/2, p.y+14, f.In.Say("nothing to compare"), bodySize, middle).color = soft
		p.y += 24
	}
	plot := box{x.a, top, x.b, p.y + 2}
	marks := f.ticks(x)
	for i, r := range f.Rows {
		for _, m := range marks {
			p.root.line(pen{color: hair, width: 0.5}, point{x.at(m.v), lanes[i].y0}, point{x.at(m.v), lanes[i].y1})
		}
		if drawable(f.Same) && r.Missing == "" {
			p.root.line(pen{color: ink, width: 0.9}, point{x.place(f.Same), lanes[i].y0 + 1}, point{x.place(f.Same), lanes[i].y1 + 1})
		}
		r.draw(p.root.sub(r.words(f.In)), x, lanes[i])
	}
	p.y = flatAxis(&p.root, plot, x, marks, f.Axis) + 2
	f.key(p)
	p.close(f.Frame, "", f.describe())
	return p.svg(id)
}

// heading sets group, name and numbers of a row and gives the lane of its interval.
func (f Intervals) heading(p *page, r Interval, x scale) box {
	if r.Group != "" {
		p.y += 5
		for _, line := range wrap(r.Group, bodySize, true, p.width, 2) {
			p.y += bodySize * leading
			p.root.text(0, p.y-descent*bodySize, line, bodySize, left).bold = true
		}
	}
	amount := textWidth(r.Amount, bodySize, false)
	room := p.width - amount - 10
	lines := wrap(r.Name, bodySize, false, room, 2)
	apart := room < 60 || len(lines) == 0
	if apart {
		lines = wrap(r.Name, bodySize, false, p.width, 2)
	}
	p.y += 2
	for _, line := range lines {
		p.y += bodySize * leading
		p.root.text(0, p.y-descent*bodySize, line, bodySize, left)
	}
	if apart {
		p.y += bodySize * leading
	}
	p.root.text(p.width, p.y-descent*bodySize, r.Amount, bodySize, right)
	lane := box{x.a, p.y + 1, x.b, p.y + 1 + laneHeight}
	p.y = lane.y1
	return lane
}

func (r Interval) draw(g *group, x scale, lane box) {
	mid := (lane.y0 + lane.y1) / 2
	if r.Missing != "" {
		g.text(lane.x0, mid+0.35*small, fit(r.Missing, small, false, lane.w()), small, left).color = soft
		return
	}
	line := pen{color: ink, width: 1.1}
	switch r.Certainty {
	case Sure:
		line.width = 2.2
	case Hopeless:
		line.dash = []float64{2.4, 1.8}
	}
	lo, hi := r.Lo, r.Hi
	has := drawable(lo) || drawable(hi)
	if has {
		a, b := x.a, x.b
		openA, openB := true, true
		if drawable(lo) && lo >= x.low() {
			a, openA = x.place(lo), false
		}
		if drawable(hi) && hi <= x.high() {
			b, openB = x.place(hi), false
		}
		g.line(line, point{a, mid}, point{b, mid})
		end := pen{color: ink, width: 1.1}
		for _, e := range []struct {
			at   float64
			open bool
			to   float64
		}{{a, openA, 1}, {b, openB, -1}} {
			if e.open {
				g.line(end, point{e.at + 4*e.to, mid - 3}, point{e.at, mid}, point{e.at + 4*e.to, mid + 3})
			} else {
				g.line(end, point{e.at, mid - 2.6}, point{e.at, mid + 2.6})
			}
		}
	}
	if drawable(r.Value) && r.Value >= x.low() && r.Value <= x.high() {
		c := x.place(r.Value)
		fill := paper
		if r.Certainty == Sure || r.Certainty == NoTest {
			fill = ink
		}
		g.add(outline{runs: [][]point{{{c - markSize, mid - markSize}, {c + markSize, mid - markSize}, {c + markSize, mid + markSize}, {c - markSize, mid + markSize}}}, pen: pen{color: ink, width: 1.1}, fill: fill, closed: true})
	}
	if drawable(r.Seen) && r.Seen >= x.low() && r.Seen <= x.high() {
		g.add(disc{point{x.place(r.Seen), mid}, 2.4, pen{color: iron, width: 1.2}, paper})
	}
}

// axisScale is a scale that may be of logarithms.
func (f Intervals) scale(width float64) scale {
	lo, hi := f.Lo, f.Hi
	if lo == 0 && hi == 0 {
		lo, hi = f.span()
	}
	return scale{lo: f.onAxis(lo), hi: f.onAxis(hi), a: 13, b: width - 13, log: f.Log}
}

func (f Intervals) onAxis(v float64) float64 {
	if f.Log {
		return math.Log(v)
	}
	return v
}

// reachBeyond is how far beyond the estimates and the line of no difference an interval may stretch a logarithmic axis; longer ones end in an arrow.
const reachBeyond = 6.0

func (f Intervals) span() (lo, hi float64) {
	least, most := math.Inf(1), math.Inf(-1) // of estimates
	lo, hi = math.Inf(1), math.Inf(-1)
	take := func(v float64, point bool) {
		if !drawable(v) || f.Log && v <= 0 {
			return
		}
		lo, hi = min(lo, v), max(hi, v)
		if point {
			least, most = min(least, v), max(most, v)
		}
	}
	take(f.Same, true)
	for _, r := range f.Rows {
		take(r.Value, true)
		take(r.Seen, true)
		take(r.Lo, !drawable(r.Value))
		take(r.Hi, !drawable(r.Value))
	}
	if !drawable(lo) || !drawable(hi) {
		return 0.5, 2
	}
	if f.Log {
		lo, hi = max(lo, least/reachBeyond), min(hi, most*reachBeyond)
		if hi/lo < 1.2 {
			lo, hi = lo/1.1, hi*1.1
		}
		room := math.Pow(hi/lo, 0.05)
		return lo / room, hi * room
	}
	room := max(0.05*(hi-lo), speck)
	return lo - room, hi + room
}

// ticks of a linear axis, or of a logarithmic one: even steps where it spans little, 1, 2 and 5 where it spans much.
func (f Intervals) ticks(x scale) []tick {
	name := func(v float64) string {
		if f.Percent {
			return minus(trimmed(100*v)) + " %"
		}
		return minus(trimmed(v))
	}
	var out []tick
	if !f.Log {
		for most := 6; most > 1; most-- {
			out = ticks(x.lo, x.hi, most)
			for i := range out {
				out[i].text = name(out[i].v)
			}
			if (widest(out)+9)*float64(len(out)) <= x.b-x.a {
				break
			}
		}
		return out
	}
	lo, hi := math.Exp(x.lo), math.Exp(x.hi)
	if hi/lo < 5 {
		for most := 8; most > 1; most-- {
			out = out[:0]
			for _, t := range ticks(lo, hi, most) {
				if t.v > 0 {
					out = append(out, tick{math.Log(t.v), name(t.v)})
				}
			}
			if x.apart(out) {
				break
			}
		}
		return out
	}
	for _, steps := range [][]float64{{1, 2, 5}, {1, 3}, {1}} {
		out = out[:0]
		for e := math.Floor(math.Log10(lo)); e <= math.Ceil(math.Log10(hi)); e++ {
			for _, s := range steps {
				if v := s * math.Pow(10, e); v >= lo && v <= hi {
					out = append(out, tick{math.Log(v), name(v)})
				}
			}
		}
		if x.apart(out) {
			break
		}
	}
	return out
}

// apart tells that the labels of ticks do not touch.
func (s scale) apart(marks []tick) bool {
	for i := 1; i < len(marks); i++ {
		a, b := marks[i-1], marks[i]
		if s.at(b.v)-s.at(a.v) < (textWidth(a.text, bodySize, false)+textWidth(b.text, bodySize, false))/2+5 {
			return false
		}
	}
	return true
}

// trimmed prints a number of an axis with at most four decimals.
func trimmed(v float64) string {
	s := fixed(v, 4)
	if strings.Contains(s, ".") {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	return s
}

func (r Interval) words(in message.Locale) string {
	s := r.Name
	if r.Group != "" {
		s = r.Group + ": " + s
	}
	if r.Amount != "" {
		s += ": " + r.Amount
	}
	if r.Missing != "" {
		s += ": " + r.Missing
	}
	switch r.Certainty {
	case Sure:
		s += ", " + in.Say("more than chance would explain")
	case Unsure:
		s += ", " + in.Say("chance alone may explain it")
	case Hopeless:
		s += ", " + in.Say("so few could not have shown a difference")
	}
	return s
}

func (f Intervals) describe() string {
	var b strings.Builder
	b.WriteString(f.In.Say("%s, estimates with intervals.", f.Axis))
	group := ""
	for _, r := range f.Rows {
		if r.Group == "" && group != "" {
			r.Group = group
		}
		group = r.Group
		b.WriteString(" " + r.words(f.In) + ".")
	}
	return b.String()
}

// key explains the marks that occur.
func (f Intervals) key(p *page) {
	seen := map[Certainty]bool{}
	second := false
	for _, r := range f.Rows {
		if drawable(r.Value) || drawable(r.Lo) || drawable(r.Hi) {
			seen[r.Certainty] = true
		}
		second = second || drawable(r.Seen)
	}
	var items []keyItem
	for _, k := range []struct {
		c    Certainty
		text string
	}{{Sure, f.In.Say("more than chance would explain")}, {Unsure, f.In.Say("chance alone may explain it")}, {Hopeless, f.In.Say("too few to have shown it")}, {NoTest, f.In.Say("estimate and interval")}} {
		if own := f.Means[k.c]; own != "" {
			k.text = own
		}
		if seen[k.c] {
			items = append(items, keyItem{text: k.text, kind: keyCertainty, certainty: k.c})
		}
	}
	if second {
		items = append(items, keyItem{text: f.SeenMeans, kind: keySeen})
	}
	p.key(items)
}
