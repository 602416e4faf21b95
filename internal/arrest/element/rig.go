package element

import (
	"fmt"
	"math"

	"github.com/hardcatch/hardcatch/internal/quantity"
)

// Rig is the anchor with its load cell: a spring and damper to ground. With NodeMass 0 the spring is
// massless and Damping stands parallel to it: F = k_r x_c + c_r x_c'. With a node mass
// the node accelerates by (F - k_r x_c - c_r x_c')/m_c, and the load cell shows k_r x_c + c_r x_c'.
type Rig struct {
	Stiffness    quantity.Stiffness `yaml:"stiffness"`     // k_r > 0
	DampingRatio quantity.Ratio     `yaml:"damping_ratio"` // zeta of the node alone: c_r = 2 zeta sqrt(k_r m_c); needs a node mass
	Damping      quantity.Damping   `yaml:"damping"`       // c_r; give this or DampingRatio
	NodeMass     quantity.Mass      `yaml:"node_mass"`     // m_c >= 0
}

func rigOf(e *Element) *Rig { return e.Rig }

var rig = Description{
	Kind:  KindRig,
	Law:   "m_c x_c'' = F - k_r x_c - c_r x_c'; with `node_mass: 0` a massless spring (and damper) in series",
	Place: AtAnchor, Wrong: "the rig stands at the anchor; put it first",
	Keys: []Key{
		number("stiffness", quantity.DimStiffness, rigOf, func(r *Rig) *quantity.Stiffness { return &r.Stiffness }, above("it must be more than 0, for example 2 MN/m"), spreads),
		number("damping_ratio", quantity.DimRatio, rigOf, func(r *Rig) *quantity.Ratio { return &r.DampingRatio }, upTo(10, "it lies from 0 to 10"), all(spreads, zero("0", ""))),
		number("damping", quantity.DimDamping, rigOf, func(r *Rig) *quantity.Damping { return &r.Damping }, from("it must be 0 or more"), zero("0; not beside `damping_ratio`", "")),
		number("node_mass", quantity.DimMass, rigOf, func(r *Rig) *quantity.Mass { return &r.NodeMass }, upTo(1e5, "it must be 0 or more"), all(spreads, zero("0: a massless spring", ""))),
	},
	given: func(e *Element) bool { return e.Rig != nil },
	clone: func(e *Element) { x := *e.Rig; e.Rig = &x },
	gives: func(e *Element) Gives {
		if e.Rig.NodeMass > 0 {
			return Swings
		}
		return Stretches
	},
	check: func(e *Element) error {
		r := e.Rig
		if r.Damping > 0 && r.DampingRatio > 0 {
			return fmt.Errorf("damping and damping_ratio are both given; leave one out")
		}
		if r.DampingRatio > 0 && r.NodeMass == 0 {
			return fmt.Errorf("a damping_ratio means nothing without a node mass; give node_mass, or damping in N s/m")
		}
		return nil
	},
}

// Damper is c_r (N s/m), whichever way it is given.
func (r *Rig) Damper() float64 {
	return r.Damping.SI() + 2*r.DampingRatio.SI()*math.Sqrt(r.Stiffness.SI()*r.NodeMass.SI())
}

// StartingRig is a stiff tower with a load cell: starting values, common practice, no source.
func StartingRig() Rig {
	return Rig{Stiffness: 2e6, DampingRatio: 0.03, NodeMass: 0.5}
}
