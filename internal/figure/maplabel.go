package figure

import (
	"fmt"
	"math"
	"strings"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/message"
)

// labels writes forces and letters on their lines: each where it is farthest from what is written already and from the drops.
func (d *mapDrawing) labels() {
	for _, m := range d.Drops {
		at := d.placeOf(m.X, m.Y)
		d.taken = append(d.taken, box{at.x - 5, at.y - 6, at.x + 5, at.y + 5})
	}
	if d.Asked != nil {
		at := d.placeOf(d.Asked[0], d.Asked[1])
		d.taken = append(d.taken, box{at.x - 10, at.y - 10, at.x + 10, at.y + 10})
	}
	for _, l := range d.wanted {
		w := textWidth(l.text, small, l.bold) + 3.5
		best, room := point{}, -1.0
		for _, run := range l.runs {
			for _, p := range along(run, 5) {
				b := labelBox(p, w)
				if b.x0 < d.plot.x0+2 || b.x1 > d.plot.x1-2 || b.y0 < d.plot.y0+2 || b.y1 > d.plot.y1-2 {
					if !l.bold {
						continue
					}
					// A limit is named in any case: near the border beside its line, and touching it.
					p.x = max(d.plot.x0+w/2, min(d.plot.x1-w/2, p.x))
					p.y = max(d.plot.y0+0.62*small, min(d.plot.y1-0.62*small, p.y))
					b = labelBox(p, w)
				}
				// Far is far enough; of equal places the one nearer to the middle.
				r := math.Min(d.clear(b), 34) - 0.02*math.Hypot(p.x-(d.plot.x0+d.plot.x1)/2, p.y-(d.plot.y0+d.plot.y1)/2)
				if d.clear(b) > 1.5 && r > room {
					best, room = p, r
				}
			}
		}
		if room < 0 {
			continue
		}
		b := labelBox(best, w)
		d.taken = append(d.taken, b)
		frame := pen{}
		if l.bold {
			frame = pen{color: teal, width: 0.8}
		}
		d.p.root.add(outline{runs: [][]point{{{b.x0, b.y0}, {b.x1, b.y0}, {b.x1, b.y1}, {b.x0, b.y1}}}, fill: paper, pen: frame, closed: true})
		d.p.root.text(best.x, best.y+0.35*small, l.text, small, middle).bold = l.bold
	}
}

func labelBox(p point, w float64) box {
	return box{p.x - w/2, p.y - 0.62*small, p.x + w/2, p.y + 0.62*small}
}

// clear is the distance from what is written already.
func (d *mapDrawing) clear(b box) float64 {
	least := math.Inf(1)
	for _, t := range d.taken {
		dx := math.Max(0, math.Max(t.x0-b.x1, b.x0-t.x1))
		dy := math.Max(0, math.Max(t.y0-b.y1, b.y0-t.y1))
		least = math.Min(least, math.Hypot(dx, dy))
	}
	return least
}

// along is places on a run, about step apart.
func along(run []point, step float64) []point {
	var out []point
	next := step / 2
	for i := 1; i < len(run); i++ {
		a, b := run[i-1], run[i]
		l := math.Hypot(b.x-a.x, b.y-a.y)
		for ; next < l; next += step {
			out = append(out, point{a.x + (b.x-a.x)*next/l, a.y + (b.y-a.y)*next/l})
		}
		next -= l
	}
	return out
}

func (d *mapDrawing) placeOf(x, y float64) point {
	return point{d.x.at(d.Across.to(x)), d.y.at(d.Up.to(y))}
}

// asked points at the fall asked for: a ring with four strokes.
func (d *mapDrawing) asked() {
	if d.Asked == nil {
		return
	}
	p := d.placeOf(d.Asked[0], d.Asked[1])
	if p.x < d.plot.x0-0.5 || p.x > d.plot.x1+0.5 || p.y < d.plot.y0-0.5 || p.y > d.plot.y1+0.5 {
		return
	}
	g := d.p.root.sub(d.In.Say("The fall asked for"))
	cross(g, p)
}

func cross(g *group, p point) {
	for _, k := range []pen{{color: paper, width: 3.4}, {color: ink, width: 1.3}} {
		for _, s := range [][2]float64{{1, 0}, {-1, 0}, {0, 1}, {0, -1}} {
			g.line(k, point{p.x + 4*s[0], p.y + 4*s[1]}, point{p.x + 10*s[0], p.y + 10*s[1]})
		}
	}
}

// glyphs draws the drops, those at one place side by side.
func (d *mapDrawing) glyphs() {
	if len(d.Drops) == 0 {
		return
	}
	g := d.p.root.sub(d.In.Say("Drops"))
	for _, c := range d.clusters() {
		n := float64(len(c.drops))
		columns := math.Ceil(math.Sqrt(n * 2))
		rows := math.Ceil(n / columns)
		const gap = 9.0
		for i, m := range c.drops {
			p := point{c.at.x + (float64(i%int(columns))-(math.Min(columns, n)-1)/2)*gap, c.at.y + (float64(i/int(columns))-(rows-1)/2)*gap}
			s := g.sub(fmt.Sprintf("%s %s, %s", m.Name, word(m.Outcome, d.In), kN(m.Peak)))
			s.add(disc{p, 4.6, pen{}, paper})
			if m.Outcome == drop.Broke {
				p.y += 2.5
			}
			color, _ := lookOf(m.Outcome)
			glyph(s, p, m.Outcome, color, upward)
		}
	}
}

type mapCluster struct {
	at    point
	drops []MapDrop
}

// clusters gathers drops whose glyphs would cover each other.
func (d *mapDrawing) clusters() []*mapCluster {
	var out []*mapCluster
next:
	for _, m := range d.Drops {
		p := d.placeOf(m.X, m.Y)
		for _, c := range out {
			if math.Hypot(c.at.x-p.x, c.at.y-p.y) < 6 {
				c.drops = append(c.drops, m)
				continue next
			}
		}
		out = append(out, &mapCluster{p, []MapDrop{m}})
	}
	return out
}

// legend explains the signs and lists the limits by their letters.
func (d *mapDrawing) legend() {
	items := []keyItem{{text: d.In.Say("peak force in kN, if nothing parts"), kind: keyIso}}
	if d.Parts > 0 {
		items = append(items, keyItem{text: d.In.Say("predicted to part, above %s kN", short(d.Parts)), kind: keyHatch})
	}
	if d.Known != nil {
		items = append(items, keyItem{text: d.In.Say("extrapolation: not dropped"), kind: keyDots})
	}
	if d.Asked != nil {
		items = append(items, keyItem{text: d.In.Say("the fall asked for"), kind: keyCross})
	}
	seen := map[drop.Outcome]bool{}
	for _, m := range d.Drops {
		if !seen[m.Outcome] {
			seen[m.Outcome] = true
			items = append(items, keyItem{text: word(m.Outcome, d.In), kind: keyGlyph, outcome: m.Outcome})
		}
	}
	for _, c := range d.clusters() {
		if len(c.drops) > 1 {
			items = append(items, keyItem{text: d.In.Say("drops of one fall stand side by side"), kind: keyNothing})
			break
		}
	}
	d.p.key(items)
	d.p.y += 2
	for i, l := range d.shown {
		at := d.p.y + small*leading - descent*small
		d.p.root.text(0, at, strings.ToUpper(letters(i)), small, left).bold = true
		d.p.root.line(l.mapPen(), point{11, at - 0.35*small}, point{11 + sampleWidth, at - 0.35*small})
		for _, line := range wrap(l.text, small, false, d.p.width-11-sampleWidth-7, 0) {
			d.p.y += small * leading
			d.p.root.text(11+sampleWidth+6, d.p.y-descent*small, line, small, left).color = soft
		}
	}
}

func (d *mapDrawing) note() string {
	var notes []string
	if len(d.below) > 0 {
		notes = append(notes, d.In.Say("Passed everywhere on this map: %s.", limitList(d.below)))
	}
	if len(d.beyond) > 0 {
		notes = append(notes, d.In.Say("Not reached on this map: %s.", limitList(d.beyond)))
	}
	return strings.Join(notes, " ")
}

func (d *mapDrawing) describe() string {
	s := d.In.Say("Map of the peak force over %s and %s, from %s kN to %s kN.", lowerFirst(d.In, d.Across.Title), lowerFirst(d.In, d.Up.Title), fixed(d.lo*kilo, 1), fixed(d.hi*kilo, 1))
	if d.Parts > 0 {
		s += " " + d.In.Say("The specimen is predicted to part above %s kN.", short(d.Parts))
	}
	s += limitWords(d.In, d.shown)
	count := map[drop.Outcome]int{}
	for _, m := range d.Drops {
		count[m.Outcome]++
	}
	for _, o := range []drop.Outcome{drop.Held, drop.Broke, drop.Slipped} {
		if count[o] > 0 {
			s += " " + d.In.Say("Drops that %s: %d.", word(o, d.In), count[o])
		}
	}
	return s
}

// lowerFirst begins a name within a sentence; German names keep their capital.
func lowerFirst(in message.Locale, s string) string {
	if s == "" || in.Is("de") {
		return s
	}
	return strings.ToLower(s[:1]) + s[1:]
}
