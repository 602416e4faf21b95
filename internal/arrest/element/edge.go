package element

import (
	"errors"
	"math"

	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// Edge is a fixed edge, bar or connector over which the chain runs: what stands before it in the chain lies on the anchor's side, what
// follows on the mass's. While the chain runs towards the mass the force on the mass's side is exp(Friction Angle) times that on
// the anchor's (capstan equation); while it runs back, the other way round; between the two it is held.
type Edge struct {
	Friction  quantity.Ratio  `yaml:"friction"`  // mu >= 0
	Angle     quantity.Angle  `yaml:"angle"`     // wrapped, 0 < theta <= 4 pi
	Radius    quantity.Length `yaml:"radius"`    // of the edge
	Thickness quantity.Length `yaml:"thickness"` // of what runs over it
	Strength  quantity.Ratio  `yaml:"strength"`  // factor on the strength of the textile after it; 0 = by radius over thickness, 1 without these
}

// Ratio is the larger force over the smaller while the chain runs over the edge.
func (e *Edge) Ratio() float64 { return math.Exp(e.Friction.SI() * e.Angle.SI()) }

// Load is the force on the edge itself for the forces on both sides: they pull at the angle that the wrap leaves.
func (e *Edge) Load(anchor, mass float64) float64 {
	return math.Sqrt(max(0, anchor*anchor+mass*mass-2*anchor*mass*math.Cos(e.Angle.SI())))
}

// edgeFactors are the shares of strength left over an edge by its radius over the thickness: sharp 0.1 to 0.4, about 1 0.5 to 0.8, from 3 on
// nothing is lost. From memory, no source; the middle of each range, straight lines between.
var edgeFactors = [][2]float64{{0.1, 0.25}, {1, 0.65}, {3, 1}}

// Factor is the share of strength that the edge leaves.
func (e *Edge) Factor() float64 {
	if e.Strength > 0 {
		return e.Strength.SI()
	}
	if e.Radius == 0 && e.Thickness == 0 {
		return 1
	}
	q := e.Radius.SI() / e.Thickness.SI()
	last := edgeFactors[0]
	if q <= last[0] {
		return last[1]
	}
	for _, f := range edgeFactors[1:] {
		if q < f[0] {
			return last[1] + (f[1]-last[1])*(q-last[0])/(f[0]-last[0])
		}
		last = f
	}
	return last[1]
}

// Doubts are what is to be said of the edge, with the largest force on it.
func (e *Edge) Doubts(name string, load quantity.Force) []message.Sentence {
	out := []message.Sentence{message.Say("%s: the force is %.3g times as large on the mass's side while the chain runs out; the edge itself carries up to %s", message.Names(name), e.Ratio(), load)}
	if e.Strength == 0 && e.Radius > 0 {
		out = append(out, message.Say("%s: a radius of %.2g times the thickness is taken to leave %.0f %% of the strength (from memory, no source: sharp 10 to 40 %%, as thick as the radius 50 to 80 %%)", message.Names(name), e.Radius.SI()/e.Thickness.SI(), 100*e.Factor()))
	}
	return out
}

func edgeOf(e *Element) *Edge { return e.Edge }

var edge = Description{
	Kind: KindEdge,
	Law:  "runs over: F_mass = exp(mu theta) F_anchor running out, exp(-mu theta) running back, held between",
	Keys: []Key{
		number("friction", quantity.DimRatio, edgeOf, func(e *Edge) *quantity.Ratio { return &e.Friction }, upTo(2, "it lies from 0 to 2; a rope over a round connector has about 0.15 to 0.25"), all(spreads, zero("0", ""))),
		number("angle", quantity.DimAngle, edgeOf, func(e *Edge) *quantity.Angle { return &e.Angle }, aboveTo(4*math.Pi, "it is how far the chain is wrapped, above 0 and at most two turns, for example 180 deg"), spreads),
		number("radius", quantity.DimLength, edgeOf, func(e *Edge) *quantity.Length { return &e.Radius }, upTo(10, "it must be 0 or more"), zero("nothing is lost", "")),
		number("thickness", quantity.DimLength, edgeOf, func(e *Edge) *quantity.Length { return &e.Thickness }, upTo(1, "it must be more than 0"), zero("only with a `radius`", "")),
		number("strength", quantity.DimRatio, edgeOf, func(e *Edge) *quantity.Ratio { return &e.Strength }, upTo(1, "it is the share of strength left, above 0 and at most 1"), all(share, zero("by radius over thickness; without these 1", "memory, no source"))),
	},
	given: func(e *Element) bool { return e.Edge != nil },
	clone: func(e *Element) { x := *e.Edge; e.Edge = &x },
	gives: func(*Element) Gives { return Redirects },
	check: func(e *Element) error {
		switch x := e.Edge; {
		case x.Radius > 0 && x.Thickness == 0, x.Radius == 0 && x.Thickness > 0 && x.Strength == 0:
			return errors.New("radius: the share of strength goes by radius over thickness; give both, or strength")
		case x.Strength > 0 && x.Radius > 0:
			return errors.New("strength: the radius says it too; leave one out")
		}
		return nil
	},
	strength: func(chain []Element, i int) quantity.Force {
		if j := TextileOf(chain, i); j >= 0 && chain[i].Edge.Factor() < 1 {
			return quantity.Force(chain[j].Textile.Left() * chain[i].Edge.Factor())
		}
		return 0
	},
}
