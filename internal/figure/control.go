package figure

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// CheckPoint is one check drop, in the order they were made.
type CheckPoint struct {
	Name string
	Day  string // yyyy-mm-dd, "" = not known: the axis then is the order
	Peak quantity.Force
}

// BrokenRule marks the points of a pattern that a steady rig rarely makes.
type BrokenRule struct {
	First, Last int // points
	Text        string
	Chart       int // 0 single values, 1 moving range, 2 weighted average
}

// ControlChart shows check drops over days in three plots under each other: single values between their limits, the moving range, and the
// weighted average between its limits, with the end of the load cell's certificate on the same axis. Limits that are NaN, and averages that are missing, are left out.
type ControlChart struct {
	Frame
	Points               []CheckPoint
	Centre, Lower, Upper quantity.Force
	Ranges               []float64 // N, one fewer than the points
	RangeUpper           quantity.Force
	Average              []float64 // N, of each point
	AverageLo, AverageHi []float64
	Broken               []BrokenRule
	From, Until          string // of the certificate, yyyy-mm-dd, "" = not known
	Unlisted             bool   // the rules are not named below: their numbers lead to a list elsewhere
}

// timeAxis places points by day, with a stretch for a certificate that ends far away.
type timeAxis struct {
	byOrder    bool
	days       scale
	at         []float64
	until      float64 // place of the end of the certificate, NaN = none
	far        int     // 1 = the end stands beyond a break at the right, -1 = at the left
	untilText  string
	from       float64 // place of the day of calibration, NaN = not among the days shown
	first      time.Time
	x0, x1     float64 // of the whole
	breakPlace float64
}

const (
	chartMargin = 66.0 // for the names of limits
	farWidth    = 58.0
)

// SVG draws the figure.
func (f ControlChart) SVG(id string) []byte {
	p := f.open()
	deep := []float64{108, 50, 78}
	if len(f.Average) == 0 {
		deep[2] = 0
	}
	if len(f.Ranges) == 0 {
		deep[1] = 0
	}
	values := make([]float64, len(f.Points))
	for i, v := range f.Points {
		values[i] = v.Peak.SI() * kilo
	}
	kiloOf := func(x []float64) []float64 {
		out := make([]float64, len(x))
		for i, v := range x {
			out[i] = v * kilo
		}
		return out
	}
	single := f.plotOf(f.In.Say("Peak force (kN)"), values, 0, []named{{f.Upper.SI() * kilo, f.In.Say("upper limit")}, {f.Centre.SI() * kilo, f.In.Say("centre")}, {f.Lower.SI() * kilo, f.In.Say("lower limit")}})
	moving := f.plotOf(f.In.Say("Moving range (kN)"), append([]float64{math.NaN()}, kiloOf(f.Ranges)...), 1, []named{{f.RangeUpper.SI() * kilo, f.In.Say("upper limit")}})
	average := f.plotOf(f.In.Say("Weighted average (kN)"), kiloOf(f.Average), 2, []named{{f.Centre.SI() * kilo, f.In.Say("centre")}})
	average.lo, average.hi = kiloOf(f.AverageLo), kiloOf(f.AverageHi)
	labels := 0.0
	plots := []*chartPlot{&single, &moving, &average}
	for i, c := range plots {
		if deep[i] > 0 {
			c.fit(deep[i])
			labels = max(labels, widest(c.marks))
		}
	}
	x := f.axis(labels+tickGap+4, p.width-chartMargin)
	for i, c := range plots {
		if deep[i] == 0 {
			continue
		}
		p.y += 3
		p.root.text(0, p.y+ascent*small, c.title, small, left).color = soft
		p.y += small*leading + 4
		if i == 0 {
			p.y += x.heads(&p.root, p.y)
		}
		c.box = box{x.x0, p.y, x.x1, p.y + deep[i]}
		c.draw(&p.root, x, f, deep[i])
		p.y = c.box.y1 + 3
	}
	p.y = x.draw(&p.root, f.In, p.y) + 2
	if !f.Unlisted {
		f.list(p)
	}
	if drawable(x.from) {
		p.entryLine(pen{color: slate, width: 0.9, dash: []float64{1, 1.8}}, f.In.Say("calibrated %s", f.From))
	}
	p.close(f.Frame, "", f.describe())
	return p.svg(id)
}

// named is a value with its name in the margin.
type named struct {
	v    float64
	name string
}

type chartPlot struct {
	title  string
	values []float64
	lines  []named
	lo, hi []float64 // limits that change from point to point
	y      scale
	marks  []tick
	box    box
	which  int
}

func (f ControlChart) plotOf(title string, values []float64, which int, lines []named) chartPlot {
	c := chartPlot{title: title, values: values, which: which}
	for _, l := range lines {
		if drawable(l.v) && l.v > 0 {
			c.lines = append(c.lines, l)
		}
	}
	return c
}

// fit sets the axis of values.
func (c *chartPlot) fit(depth float64) {
	lo, hi := math.Inf(1), math.Inf(-1)
	take := func(v float64) {
		if drawable(v) {
			lo, hi = min(lo, v), max(hi, v)
		}
	}
	for _, set := range [][]float64{c.values, c.lo, c.hi} {
		for _, v := range set {
			take(v)
		}
	}
	for _, l := range c.lines {
		take(l.v)
	}
	if !drawable(lo) || !drawable(hi) {
		lo, hi = 0, 1
	}
	if c.which == 1 {
		lo = 0
	}
	room := max(0.08*(hi-lo), 0.0005*hi, speck)
	if lo != 0 {
		lo -= room
	}
	c.y = scale{lo: lo, hi: hi + room}
	c.marks = ticks(c.y.lo, c.y.hi, max(3, int(depth/16)))
}

func (c *chartPlot) draw(g *group, x timeAxis, f ControlChart, depth float64) {
	c.y.a, c.y.b = c.box.y1, c.box.y0
	for _, t := range c.marks {
		at := c.y.at(t.v)
		g.line(pen{color: hair, width: 0.5}, point{c.box.x0, at}, point{c.box.x1, at})
		g.text(c.box.x0-tickGap-1, at+bodySize*0.35, t.text, bodySize, right)
	}
	g.line(pen{color: ink, width: 0.8}, point{c.box.x0, c.box.y1}, point{c.box.x1, c.box.y1})
	x.certificate(g, c.box)
	var want, half []float64
	for _, l := range c.lines {
		want, half = append(want, c.y.at(l.v)), append(half, small*0.59)
	}
	at := spread(want, half, 1, c.box.y0-4, c.box.y1+4)
	for i, l := range c.lines {
		line := pen{color: iron, width: 0.9, dash: []float64{4, 2}}
		if l.name == f.In.Say("centre") {
			line = pen{color: ink, width: 0.8}
		}
		y := c.y.at(l.v)
		g.line(line, point{c.box.x0, y}, point{c.box.x1, y})
		g.line(pen{color: slate, width: 0.6}, point{c.box.x1 + 2, y}, point{c.box.x1 + 6, at[i]})
		g.text(c.box.x1+8, at[i]+0.35*small, l.name, small, left).color = soft
	}
	c.limits(g, x)
	var run []point
	flush := func() {
		if len(run) > 1 {
			g.line(pen{color: teal, width: 0.9}, run...)
		}
		run = nil
	}
	for i, v := range c.values {
		if i >= len(x.at) || !drawable(v) {
			flush()
			continue
		}
		run = append(run, point{x.at[i], c.y.at(v)})
	}
	flush()
	for i, v := range c.values {
		if i >= len(x.at) || !drawable(v) {
			continue
		}
		s := g.sub(fmt.Sprintf("%s, %s kN", f.Points[i].Name, trimmed(v)))
		at := point{x.at[i], c.y.at(v)}
		s.add(disc{at, 2.5, pen{paper, 0.6, nil}, teal})
		if n := f.rulesAt(i, c.which); n != "" {
			s.add(disc{at, 5, pen{color: iron, width: 1.5}, ""})
			dy := -7.5
			if at.y-16 < c.box.y0 {
				dy = 7.5 + ascent*small
			}
			t := s.text(at.x, at.y+dy, n, small, middle)
			t.bold, t.color = true, iron
		}
	}
}

// limits draws the limits of the average, which widen from point to point, as steps.
func (c *chartPlot) limits(g *group, x timeAxis) {
	for _, set := range [][]float64{c.lo, c.hi} {
		var steps []point
		for i, v := range set {
			if i >= len(x.at) || !drawable(v) {
				continue
			}
			a, b := c.box.x0, x.x1
			if i > 0 {
				a = (x.at[i-1] + x.at[i]) / 2
			}
			if i+1 < len(x.at) {
				b = (x.at[i] + x.at[i+1]) / 2
			} else {
				b = min(b, x.at[i]+6)
			}
			steps = append(steps, point{a, c.y.at(v)}, point{b, c.y.at(v)})
		}
		if len(steps) > 0 {
			g.line(pen{color: iron, width: 0.9, dash: []float64{4, 2}}, steps...)
		}
	}
}

// rulesAt are the numbers of the rules that a point completed in a plot.
func (f ControlChart) rulesAt(i, which int) string {
	var n []string
	for k, b := range f.Broken {
		if b.Last == i && b.Chart == which {
			n = append(n, strconv.Itoa(k+1))
		}
	}
	return strings.Join(n, ",")
}

func dayOf(text string) (time.Time, bool) {
	d, err := time.Parse(time.DateOnly, text)
	return d, err == nil
}

// axis places the points: each day is as wide as another, and the drops of one day stand side by side in it.
func (f ControlChart) axis(x0, x1 float64) timeAxis {
	x := timeAxis{x0: x0, x1: x1, until: math.NaN(), from: math.NaN(), breakPlace: math.NaN()}
	days := make([]float64, len(f.Points))
	perDay := map[float64]int{}
	for i, p := range f.Points {
		d, ok := dayOf(p.Day)
		if !ok {
			x.byOrder = true
			break
		}
		if i == 0 {
			x.first = d
		}
		days[i] = d.Sub(x.first).Hours() / 24
		perDay[days[i]]++
	}
	if x.byOrder || len(f.Points) == 0 {
		x.days = scale{lo: 0, hi: float64(max(1, len(f.Points))), a: x0, b: x1}
		for i := range f.Points {
			x.at = append(x.at, x.days.at(float64(i)+0.5))
		}
		x.byOrder = true
		if f.Until != "" {
			x.untilText = f.In.Say("certificate ends %s", f.Until)
		}
		return x
	}
	last := days[len(days)-1] + 1
	lo, hi := 0.0, last
	a, b := x0, x1
	if end, ok := dayOf(f.Until); ok {
		x.untilText = f.In.Say("certificate ends %s", f.Until)
		u := end.Sub(x.first).Hours()/24 + 1 // it holds to the end of that day
		switch {
		case u > last+0.6*last+1:
			x.far, b, x.breakPlace = 1, x1-farWidth, x1-0.72*farWidth
			x.until = x1 - 0.3*farWidth
		case u < 0:
			x.far, a, x.breakPlace = -1, x0+farWidth, x0+0.72*farWidth
			x.until = x0 + 0.3*farWidth
		default:
			hi = max(hi, u+0.2)
			x.until = u
		}
	}
	x.days = scale{lo: lo, hi: hi, a: a, b: b}
	if x.far == 0 && drawable(x.until) {
		x.until = x.days.at(x.until)
	}
	if d, ok := dayOf(f.From); ok {
		if v := d.Sub(x.first).Hours() / 24; v > 0 && v < hi {
			x.from = x.days.at(v)
		}
	}
	nth := map[float64]int{}
	for _, d := range days {
		nth[d]++
		x.at = append(x.at, x.days.at(d+(float64(nth[d])-0.5)/float64(perDay[d])))
	}
	return x
}

// heads names the end of the certificate, and its beginning where it falls among the days, above the plots, and returns the height used.
func (x timeAxis) heads(g *group, y float64) float64 {
	if x.untilText == "" {
		return 0
	}
	at := x.until
	if !drawable(at) {
		at = x.x1
	}
	wide := textWidth(x.untilText, small, false)
	l := g.text(min(max(at+4, x.x0+wide), x.x1+chartMargin), y+ascent*small-2, x.untilText, small, right)
	l.color = soft
	return small*leading + 2
}

// certificate draws where the certificate ends, and shades what lies after it.
func (x timeAxis) certificate(g *group, b box) {
	if drawable(x.breakPlace) {
		for _, s := range []float64{-2, 2} {
			g.line(pen{color: slate, width: 0.9}, point{x.breakPlace + s - 2, b.y1 + 3}, point{x.breakPlace + s + 2, b.y1 - 3})
		}
	}
	if drawable(x.until) {
		g.add(outline{runs: [][]point{{{x.until, b.y0}, {b.x1, b.y0}, {b.x1, b.y1}, {x.until, b.y1}}}, fill: iron, tint: 0.09, closed: true})
		g.line(pen{color: ink, width: 1.3, dash: []float64{6, 2, 1, 2}}, point{x.until, b.y0 - 4}, point{x.until, b.y1})
	}
	if drawable(x.from) {
		g.line(pen{color: slate, width: 0.9, dash: []float64{1, 1.8}}, point{x.from, b.y0}, point{x.from, b.y1})
	}
}

// draw sets the days below the lowest plot and returns the lower edge.
func (x timeAxis) draw(g *group, in message.Locale, y float64) float64 {
	title := in.Say("Day")
	base := y + tickGap + ascent*bodySize
	if x.byOrder {
		title = in.Say("Check drop in the order made (days are not given for all)")
		for _, i := range everyFew(len(x.at), x.x1-x.x0, textWidth("000", bodySize, false)+6) {
			g.text(x.at[i], base, strconv.Itoa(i+1), bodySize, middle)
		}
	} else {
		room := textWidth("2026-00-00", bodySize, false) + 8
		n := int(math.Ceil(x.days.hi))
		free := x.x0 - 20
		for _, d := range everyFew(n, x.days.b-x.days.a, room) {
			at := x.days.at(float64(d) + 0.5)
			if at-room/2 < free || at > x.days.b {
				continue
			}
			free = at + room/2
			g.line(pen{color: ink, width: 0.8}, point{at, y - 3}, point{at, y - 3 + tickLength})
			g.text(at, base, x.first.AddDate(0, 0, d).Format(time.DateOnly), bodySize, middle)
		}
	}
	y = base + descent*bodySize + 2
	g.text((x.x0+x.x1)/2, y+ascent*small, title, small, middle).color = soft
	return y + small*leading
}

// everyFew picks evenly from 0 to n-1 so that each has the room given.
func everyFew(n int, width, room float64) []int {
	step := 1
	for _, s := range []int{1, 2, 5, 7, 14, 28, 56, 91, 182, 364, 1820} {
		step = s
		if float64((n+s-1)/s)*room <= width {
			break
		}
	}
	var out []int
	for i := 0; i < n; i += step {
		out = append(out, i)
	}
	return out
}

// list names the broken rules by their numbers.
func (f ControlChart) list(p *page) {
	for i, b := range f.Broken {
		who := ""
		if b.Last >= 0 && b.Last < len(f.Points) {
			who = f.Points[b.Last].Name + ": "
		}
		for k, line := range wrap(who+b.Text, small, false, p.width-20, 2) {
			p.y += small*leading + 1
			if k == 0 {
				l := p.root.text(0, p.y-descent*small, strconv.Itoa(i+1), small, left)
				l.bold, l.color = true, iron
			}
			p.root.text(18, p.y-descent*small, line, small, left)
		}
	}
}

func (f ControlChart) describe() string {
	var b strings.Builder
	b.WriteString(f.In.Say("Peaks of %d check {drop|drops} in the order made.", len(f.Points)))
	for _, c := range f.Points {
		fmt.Fprintf(&b, " %s %s %s;", c.Name, c.Day, kN(c.Peak))
	}
	if drawable(f.Upper.SI()) && f.Upper > 0 {
		b.WriteString(" " + f.In.Say("centre %s, limits %s and %s.", kN(f.Centre), kN(f.Lower), kN(f.Upper)))
	}
	for i, r := range f.Broken {
		b.WriteString(" " + f.In.Say("Broken rule %d, %s.", i+1, r.Text))
	}
	if f.Until != "" {
		b.WriteString(" " + f.In.Say("The certificate of the load cell ends %s.", f.Until))
	}
	return b.String()
}
