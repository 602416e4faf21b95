package arrest

import (
	"fmt"

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

// Kind is the sort of an element.
type Kind string

// The kinds of element.
const (
	KindRig      Kind = "rig"
	KindTextile  Kind = "textile"
	KindKnot     Kind = "knot"
	KindAbsorber Kind = "absorber"
	KindBody     Kind = "body"
	KindEdge     Kind = "edge"
)

// Element is one link of the chain. Exactly the pointer that belongs to Kind is set.
type Element struct {
	Kind     Kind
	Name     string // empty = the kind, numbered where it occurs more than once
	Rig      *Rig
	Textile  *Textile
	Knot     *Knot
	Absorber *Absorber
	Body     *Body
	Edge     *Edge
}

// Rig is the anchor with its load cell: a spring and damper to ground. With NodeMass 0 the spring is
// massless and Damping stands parallel to it: F = k_r x_c + c_r x_c'. With a node mass
// the node accelerates by (F - k_r x_c - c_r x_c')/m_c, and the load cell shows k_r x_c + c_r x_c'.
type Rig struct {
	Stiffness    quantity.Stiffness `yaml:"stiffness"`     // k_r > 0
	DampingRatio quantity.Ratio     `yaml:"damping_ratio"` // zeta of the node alone: c_r = 2 zeta sqrt(k_r m_c); needs a node mass
	Damping      quantity.Damping   `yaml:"damping"`       // c_r; give this or DampingRatio
	NodeMass     quantity.Mass      `yaml:"node_mass"`     // m_c >= 0
}

// Textile is a sling, lanyard, cord or rope, described per unit strain so that the parameters carry
// over to another length:
//
//	e    = d/L - Set max(d/L)
//	T_el = E1 e + E2 e^2 + E3 e^3
//	T    = T_el + sum q_j + q_f,  q_j' = E_j e' - q_j/tau_j,  q_f' = K_f e', |q_f| <= Friction T_el
//
// with d the elongation and L the length; the largest d/L so far grows along with the first loading,
// and is kept from drop to drop. It carries no compression.
type Textile struct {
	Length            quantity.Length   `json:"length_m,omitempty" yaml:"length"`               // working length L > 0
	E1                quantity.Force    `json:"E1_N" yaml:"E1"`                                 // E1, E2, E3 >= 0, at least one > 0
	E2                quantity.Force    `json:"E2_N" yaml:"E2"`                                 //
	E3                quantity.Force    `json:"E3_N" yaml:"E3"`                                 //
	Maxwell           []Branch          `json:"maxwell,omitempty" yaml:"maxwell"`               // rate-dependent branches
	Friction          quantity.Ratio    `json:"friction" yaml:"friction"`                       // mu, 0 <= mu < 1
	FrictionStiffness quantity.Force    `json:"friction_stiffness_N" yaml:"friction_stiffness"` // K_f; 0 = five times E1 + E2 + E3
	Set               quantity.Ratio    `json:"permanent_set" yaml:"set"`                       // alpha, 0 <= alpha < 1
	Strength          quantity.Force    `json:"strength_N" yaml:"strength"`                     // F_b, 0 = never parts
	Degradation       quantity.Ratio    `json:"degradation,omitempty" yaml:"degradation"`       // strength factor of age, wet, sun, edge, 0 < f <= 1; 0 = 1
	BreakRamp         quantity.Duration `json:"break_ramp_s,omitempty" yaml:"break_ramp"`       // t_b: the force falls linearly to zero in this time; below 1 ns = at once
	Condition         Conditions        `json:"condition,omitempty" yaml:"condition"`           // wet, aged: changes the values above as they are read
	Damage            *Damage           `json:"damage,omitempty" yaml:"damage"`                 // what a drop leaves behind for the next
	StartingSet       string            `json:"starting_values,omitempty" yaml:"material"`      // name of the starting set the values come from, if any
}

// Branch is a spring and dashpot in series: q' = E e' - q/Tau.
type Branch struct {
	E   quantity.Force    `json:"E_N" yaml:"E"`     // >= 0
	Tau quantity.Duration `json:"tau_s" yaml:"tau"` // > 0
}

// Knot slips when the force would pass F0 + (FL - F0)(s/Slip)^Power and locks at s = Slip onto a
// spring of stiffness Lock that carries what exceeds FL. The slip never comes back. A knot weakens
// the textile it is tied in (the one before it in the chain, else the one after it): the chain parts
// at the knot at Efficiency times that textile's strength.
type Knot struct {
	F0         quantity.Force     `yaml:"F0"`         // force at first slip, 0 <= F0 <= FL
	FL         quantity.Force     `yaml:"FL"`         // force at locking, > 0
	Slip       quantity.Length    `yaml:"slip"`       // s_L > 0
	Power      quantity.Ratio     `yaml:"power"`      // p > 0; 0 = 2
	Lock       quantity.Stiffness `yaml:"lock"`       // k_lock; 0 = 3 MN/m
	Efficiency quantity.Ratio     `yaml:"efficiency"` // 0 < eta <= 1; 0 = 1
	State      quantity.Length    `yaml:"state"`      // slip it starts with, 0 <= State <= Slip
}

// Absorber tears or slips at the force Force (1 + Ripple sin(2 pi s/Pitch)) until s = Travel, then
// locks onto a backing spring.
type Absorber struct {
	Force    quantity.Force     `yaml:"force"`    // F_a > 0
	Ripple   quantity.Ratio     `yaml:"ripple"`   // r, 0 <= r < 1
	Pitch    quantity.Length    `yaml:"pitch"`    // lambda, needed where Ripple > 0
	Travel   quantity.Length    `yaml:"travel"`   // s_max > 0
	Backing  quantity.Stiffness `yaml:"backing"`  // 0 = 3 MN/m
	Strength quantity.Force     `yaml:"strength"` // 0 = never parts
	State    quantity.Length    `yaml:"state"`    // slip it starts with, 0 <= State <= Travel
}

// Body makes the falling mass two masses: the torso, on which the chain acts, and the rest of the
// body on a spring and damper from it, c = 2 zeta sqrt(k m_rest).
type Body struct {
	Stiffness    quantity.Stiffness `yaml:"stiffness"`     // k > 0
	DampingRatio quantity.Ratio     `yaml:"damping_ratio"` // zeta >= 0
	TorsoShare   quantity.Ratio     `yaml:"torso_share"`   // share of the mass in the torso, 0 < share < 1; 0 = 0.85
}

// Label names element i of the chain in messages, results and parameters: its name, or its kind,
// numbered where several elements of that kind have no name ("textile 2").
func (c *Case) Label(i int) string {
	e := &c.Chain[i]
	if e.Name != "" {
		return e.Name
	}
	same, rank := 0, 0
	for j := range c.Chain {
		if c.Chain[j].Kind == e.Kind && c.Chain[j].Name == "" {
			same++
			if j <= i {
				rank++
			}
		}
	}
	if same > 1 {
		return fmt.Sprintf("%s %d", e.Kind, rank)
	}
	return string(e.Kind)
}

func orDefault[T ~float64](v, d T) T {
	if v == 0 {
		return d
	}
	return v
}
