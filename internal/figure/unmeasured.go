package figure

import (
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// Known is how a peak is known that the record does not show. The zero value is a peak that it shows.
type Known struct {
	AtLeast bool               // the peak is a lower bound, whatever became of the specimen
	Rebuilt *[2]quantity.Force // it lies between these, rebuilt from the motion of the mass
}

// Unmeasured is a stretch of a record that was not measured.
type Unmeasured struct {
	Is       drop.Evidence
	From, To quantity.Duration // after taut
}

// shade is a stretch of the horizontal axis, in values.
type shade struct {
	is     drop.Evidence
	lo, hi float64
}

// leastShade is the least width of a shaded stretch, pt: a single sample must be seen.
const leastShade = 0.9

// shadePen is how the edges of a shaded stretch are drawn: its kind is not told by colour alone.
func shadePen(e drop.Evidence) pen {
	switch e {
	case drop.Saturated:
		return pen{iron, 0.7, nil}
	case drop.OutOfRange:
		return pen{plum, 0.7, []float64{4, 1.5, 1, 1.5}}
	case drop.Lost:
		return pen{slate, 0.7, []float64{3, 1.5}}
	}
	return pen{slate, 0.7, []float64{0.8, 1.4}} // bridged
}

const shadeTint = 0.14

// shadeWords are what a key says of a kind.
func shadeWords(e drop.Evidence, in message.Locale) string {
	switch e {
	case drop.Saturated:
		return in.Say("not measured: saturated")
	case drop.OutOfRange:
		return in.Say("not measured: out of range")
	case drop.Lost:
		return in.Say("not measured: lost")
	}
	return in.Say("not measured: bridged")
}

// shades draws what was not measured behind the curves. What lies closer together than can be seen is drawn as one.
func (o *overlay) drawShades(g *group, plot box) {
	for _, c := range o.curves {
		for i := 0; i < len(c.shades); i++ {
			s := c.shades[i]
			for i+1 < len(c.shades) && c.shades[i+1].is == s.is && o.x.at(c.shades[i+1].lo)-o.x.at(s.hi) < leastShade {
				i++
				s.hi = c.shades[i].hi
			}
			if s.hi < o.x.lo || s.lo > o.x.hi {
				continue
			}
			a, b := o.x.at(max(s.lo, o.x.lo)), o.x.at(min(s.hi, o.x.hi))
			if b-a < leastShade {
				a, b = (a+b-leastShade)/2, (a+b+leastShade)/2
			}
			p := shadePen(s.is)
			in := g.sub(c.name + ": " + shadeWords(s.is, o.In))
			in.add(outline{runs: [][]point{{{a, plot.y0}, {b, plot.y0}, {b, plot.y1}, {a, plot.y1}}}, fill: p.color, tint: shadeTint, closed: true})
			in.line(p, point{a, plot.y0}, point{a, plot.y1})
			in.line(p, point{b, plot.y0}, point{b, plot.y1})
		}
	}
}

// shadeKey explains the kinds that are drawn.
func (o *overlay) shadeKey() []keyItem {
	seen := map[drop.Evidence]bool{}
	for _, c := range o.curves {
		for _, s := range c.shades {
			seen[s.is] = seen[s.is] || s.hi >= o.x.lo && s.lo <= o.x.hi
		}
	}
	var items []keyItem
	for _, e := range []drop.Evidence{drop.Bridged, drop.Saturated, drop.Lost, drop.OutOfRange} {
		if seen[e] {
			items = append(items, keyItem{text: shadeWords(e, o.In), kind: keyShade, pen: shadePen(e)})
		}
	}
	return items
}
