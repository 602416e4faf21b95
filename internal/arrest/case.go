package arrest

import (
	"github.com/hardcatch/hardcatch/internal/arrest/element"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// Case is one fall, or several falls of the same mass on the same specimen.
type Case struct {
	Mass    quantity.Mass         `yaml:"mass"`    // falling mass
	Fall    quantity.Length       `yaml:"fall"`    // free fall before the chain comes taut, >= 0
	Speed   quantity.Speed        `yaml:"speed"`   // speed at first taut where it is measured; 0 = sqrt(2 g h)
	Gravity quantity.Acceleration `yaml:"gravity"` // 0 = standard gravity
	Until   quantity.Duration     `yaml:"until"`   // end of the run, counted from first taut; 0 = 1.5 s, and on until the first arrest is over
	Drops   int                   `yaml:"drops"`   // number of falls on the same specimen; 0 = 1
	Rest    quantity.Duration     `yaml:"rest"`    // unloaded time between falls; 0 = long enough to relax fully
	Floor   quantity.Length       `yaml:"floor"`   // depth of the floor below the place of first taut; 0 = none
	Chain   []Element             `yaml:"chain"`   // from anchor to mass

	AtLeast  bool `json:"-" yaml:"-"` // Until is a least: the run goes on until the first arrest is over, as without an Until
	Unbroken bool `json:"-" yaml:"-"` // nothing parts, whatever the strengths: the peak is what the fall asks for
}

// The elements, as package element describes them.
type (
	Kind       = element.Kind
	Element    = element.Element
	Rig        = element.Rig
	Textile    = element.Textile
	Branch     = element.Branch
	Condition  = element.Condition
	Conditions = element.Conditions
	Damage     = element.Damage
	Knot       = element.Knot
	Absorber   = element.Absorber
	Body       = element.Body
	Edge       = element.Edge

	KnotEfficiency = element.KnotEfficiency
)

// The kinds of element.
const (
	KindRig      = element.KindRig
	KindTextile  = element.KindTextile
	KindKnot     = element.KindKnot
	KindAbsorber = element.KindAbsorber
	KindBody     = element.KindBody
	KindEdge     = element.KindEdge
)

// Starting values.
var (
	StartingSet      = element.StartingSet
	StartingSetNames = element.StartingSetNames
	StartingDamage   = element.StartingDamage
	StartingKnot     = element.StartingKnot
	StartingAbsorber = element.StartingAbsorber
	StartingRig      = element.StartingRig
	KnotEfficiencies = element.KnotEfficiencies
)

// Label names element i of the chain in messages, results and parameters: see element.Label.
func (c *Case) Label(i int) string { return element.Label(c.Chain, i) }

// StrengthOf is the force in the chain at which element i parts, 0 where it never does.
func (c *Case) StrengthOf(i int) quantity.Force { return element.StrengthOf(c.Chain, i) }

// TextileOf is the place of the textile that knot i is tied in, -1 where the chain has none.
func (c *Case) TextileOf(i int) int { return element.TextileOf(c.Chain, i) }

// Copy is a case that shares nothing with c.
func (c *Case) Copy() Case {
	d := *c
	d.Chain = make([]Element, len(c.Chain))
	for i := range c.Chain {
		d.Chain[i] = c.Chain[i].Clone()
	}
	return d
}

func orDefault[T ~float64](v, d T) T {
	if v == 0 {
		return d
	}
	return v
}
