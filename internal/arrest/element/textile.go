package element

import (
	"fmt"
	"strings"

	"github.com/hardcatch/hardcatch/internal/quantity"
)

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

func textileOf(e *Element) *Textile { return e.Textile }

// stiffer is how many times E1 + E2 + E3 the friction branch is stiff where nothing is said: common practice, no source.
const stiffer = 5

var textile = Description{
	Kind: KindTextile,
	Law:  "e = d/L - set e_max; T_el = E1 e + E2 e^2 + E3 e^3; Maxwell branches q' = E e' - q/tau; friction q_f' = K_f e', |q_f| <= mu T_el",
	Keys: []Key{
		{Name: "name", Zero: "textile, numbered where there are several"},
		number("length", quantity.DimLength, textileOf, func(t *Textile) *quantity.Length { return &t.Length }, aboveTo(1e4, "it must be more than 0 and at most 10 km"), spreads),
		number("E1", quantity.DimForce, textileOf, func(t *Textile) *quantity.Force { return &t.E1 }, from("it must be 0 or more"), all(spreads, zero("0; one of E1, E2, E3 is given", ""))),
		number("E2", quantity.DimForce, textileOf, func(t *Textile) *quantity.Force { return &t.E2 }, from("it must be 0 or more"), all(spreads, zero("0", ""))),
		number("E3", quantity.DimForce, textileOf, func(t *Textile) *quantity.Force { return &t.E3 }, from("it must be 0 or more"), all(spreads, zero("0", ""))),
		{Name: "maxwell", Writes: "maxwell: [{E, tau}]", Zero: "no branch", Spreads: true},
		number("friction", quantity.DimRatio, textileOf, func(t *Textile) *quantity.Ratio { return &t.Friction }, below(1, "it lies from 0 to below 1"), all(spreads, zero("0", ""))),
		number("friction_stiffness", quantity.DimForce, textileOf, func(t *Textile) *quantity.Force { return &t.FrictionStiffness }, from("it must be 0 or more"), zero(fmt.Sprintf("%s times E1 + E2 + E3, with a warning", numeral(stiffer)), common)),
		number("set", quantity.DimRatio, textileOf, func(t *Textile) *quantity.Ratio { return &t.Set }, below(1, "it lies from 0 to below 1"), all(spreads, zero("0", ""))),
		number("strength", quantity.DimForce, textileOf, func(t *Textile) *quantity.Force { return &t.Strength }, from("it must be 0 (never parts) or more"), all(spreads, zero("never parts", ""))),
		number("degradation", quantity.DimRatio, textileOf, func(t *Textile) *quantity.Ratio { return &t.Degradation }, upTo(1, "it is the share of strength left, above 0 and at most 1"), all(share, zero("1", ""))),
		{Name: "condition", Zero: "new and dry"},
		{Name: "damage", Zero: "none: only set and slips stay from drop to drop, with a warning"},
		number("break_ramp", quantity.DimDuration, textileOf, func(t *Textile) *quantity.Duration { return &t.BreakRamp }, upTo(10, "it lies from 0 to 10 s"), zero("parts at once", "")),
		{Name: "material", Zero: "no starting values"},
	},
	given: func(e *Element) bool { return e.Textile != nil },
	clone: func(e *Element) {
		x := *e.Textile
		x.Maxwell = append([]Branch(nil), x.Maxwell...)
		e.Textile = &x
	},
	gives:    func(*Element) Gives { return Stretches },
	more:     branchKeys,
	check:    func(e *Element) error { return e.Textile.validate() },
	strength: func(chain []Element, i int) quantity.Force { return quantity.Force(chain[i].Textile.Left()) },
}

func numeral(n int) string { return [...]string{"no", "one", "two", "three", "four", "five"}[n] }

// branchKeys are the keys of the Maxwell branches: maxwell.E, maxwell.tau, maxwell2.E and so on.
func branchKeys(e *Element) []Key {
	var list []Key
	for j := range e.Textile.Maxwell {
		tag := "maxwell"
		if j > 0 {
			tag = fmt.Sprintf("%s%d", tag, j+1)
		}
		branch := func(e *Element) *Branch { return &e.Textile.Maxwell[j] }
		list = append(list,
			number(tag+".E", quantity.DimForce, branch, func(b *Branch) *quantity.Force { return &b.E }, from("it must be 0 or more"), spreads),
			number(tag+".tau", quantity.DimDuration, branch, func(b *Branch) *quantity.Duration { return &b.Tau }, above("it must be more than 0"), spreads))
	}
	return list
}

// validate is what no range of a single value says.
func (t *Textile) validate() error {
	if err := Check(Value{"E1 + E2 + E3", (t.E1 + t.E2 + t.E3).SI(), above("it must be more than 0")}); err != nil {
		return err
	}
	for j, b := range t.Maxwell {
		if err := Check(Value{"E", b.E.SI(), from("it must be 0 or more")}, Value{"tau", b.Tau.SI(), above("it must be more than 0")}); err != nil {
			return fmt.Errorf("maxwell branch %d: %w", j+1, err)
		}
	}
	return t.Damage.validate(t)
}

// Left is what is left of the textile's strength, without knots, in N.
func (t *Textile) Left() float64 {
	return t.Strength.SI() * orDefault(t.Degradation.SI(), 1)
}

// Elastic is the rate-free law of a textile, T_el over the strain e.
func (t *Textile) Elastic() Elastic { return Elastic{t.E1.SI(), t.E2.SI(), t.E3.SI()} }

// Slider is K_f, the stiffness of the friction branch.
func (t *Textile) Slider() float64 {
	return orDefault(t.FrictionStiffness.SI(), stiffer*(t.E1+t.E2+t.E3).SI())
}

// Elastic is T_el = E1 e + E2 e^2 + E3 e^3.
type Elastic struct{ E1, E2, E3 float64 }

// Force is T_el at strain e, in N.
func (l *Elastic) Force(e float64) float64 { return e * (l.E1 + e*(l.E2+e*l.E3)) }

// Slope is dT_el/de.
func (l *Elastic) Slope(e float64) float64 { return l.E1 + e*(2*l.E2+3*l.E3*e) }

// Energy is the integral of T_el from 0 to e, per length, in N.
func (l *Elastic) Energy(e float64) float64 { return e * e * (l.E1/2 + e*(l.E2/3+e*l.E3/4)) }

// Over reads a textile: what read fills in stands over the starting set that it names, if any. read is called again
// once the set is known, so that it stands below what is written, zeros and empty lists too. What its condition changes is changed last.
func (t *Textile) Over(read func() error) error {
	if err := t.over(read); err != nil {
		return err
	}
	return t.Expose()
}

func (t *Textile) over(read func() error) error {
	if err := read(); err != nil || t.StartingSet == "" {
		return err
	}
	set, ok := StartingSet(t.StartingSet)
	if !ok {
		return fmt.Errorf("there are no starting values for material %q; known are %s", t.StartingSet, strings.Join(StartingSetNames(), ", "))
	}
	*t = set
	return read()
}
