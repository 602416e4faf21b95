package element

import (
	"fmt"
	"math"

	"github.com/hardcatch/hardcatch/internal/quantity"
)

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

func absorberOf(e *Element) *Absorber { return e.Absorber }

var absorber = Description{
	Kind: KindAbsorber,
	Law:  "slips at force (1 + ripple sin(2 pi s/pitch)) until s = travel, then locks",
	Keys: []Key{
		number("force", quantity.DimForce, absorberOf, func(a *Absorber) *quantity.Force { return &a.Force }, above("it must be more than 0"), spreads),
		number("ripple", quantity.DimRatio, absorberOf, func(a *Absorber) *quantity.Ratio { return &a.Ripple }, below(1, "it lies from 0 to below 1"), zero("0; with one a `pitch` must be given", "")),
		number("pitch", quantity.DimLength, absorberOf, func(a *Absorber) *quantity.Length { return &a.Pitch }, upTo(1e3, "it must be more than 0"), zero("no ripple", "")),
		number("travel", quantity.DimLength, absorberOf, func(a *Absorber) *quantity.Length { return &a.Travel }, aboveTo(1e4, "it must be more than 0"), spreads),
		number("backing", quantity.DimStiffness, absorberOf, func(a *Absorber) *quantity.Stiffness { return &a.Backing }, from("it must be more than 0"), start(lockStiff, "3 MN/m", common)),
		number("strength", quantity.DimForce, absorberOf, func(a *Absorber) *quantity.Force { return &a.Strength }, from("it must be 0 (never parts) or more"), all(spreads, zero("never parts", ""))),
		number("state", quantity.DimLength, absorberOf, func(a *Absorber) *quantity.Length { return &a.State }, within(func(e *Element) float64 { return e.Absorber.Travel.SI() }, "it lies from 0 to the travel"), zero("0: unslipped", "")),
	},
	given: func(e *Element) bool { return e.Absorber != nil },
	clone: func(e *Element) { x := *e.Absorber; e.Absorber = &x },
	gives: func(*Element) Gives { return Slips },
	check: func(e *Element) error {
		if e.Absorber.Ripple > 0 && e.Absorber.Pitch == 0 {
			return fmt.Errorf("pitch: a ripple needs one, for example 15 mm")
		}
		return nil
	},
	strength: func(chain []Element, i int) quantity.Force { return chain[i].Absorber.Strength },
}

// Curve is the absorber's law.
func (a *Absorber) Curve() TearCurve {
	c := TearCurve{F0: a.Force.SI(), Ripple: a.Ripple.SI()}
	if c.Ripple < 1e-9 { // less than a millionth of a newton
		c.Ripple = 0
	} else {
		c.Wave = 2 * math.Pi / a.Pitch.SI()
	}
	return c
}

// Behind is the stiffness of the backing that it locks onto, N/m.
func (a *Absorber) Behind() float64 { return orDefault(a.Backing.SI(), lockStiff) }

// TearCurve is the force at which an absorber tears or slips: F0 (1 + Ripple sin(Wave s)).
type TearCurve struct{ F0, Ripple, Wave float64 }

// Force is the yield force at slip s, in N.
func (c *TearCurve) Force(s float64) float64 { return c.F0 * (1 + c.Ripple*math.Sin(c.Wave*s)) }

// Polynomial is the curve as c0 + c1 s + c2 s^2, where it has no ripple.
func (c *TearCurve) Polynomial() (c0, c1, c2 float64, ok bool) { return c.F0, 0, 0, c.Ripple == 0 }

// Work is the integral of Force from 0 to s, in J.
func (c *TearCurve) Work(s float64) float64 {
	if c.Ripple == 0 {
		return c.F0 * s
	}
	half := math.Sin(c.Wave * s / 2)
	return c.F0 * (s + c.Ripple/c.Wave*2*half*half)
}

// StartingAbsorber is a tearing or slipping absorber of the fall-arrest lanyard kind: common practice, no source.
func StartingAbsorber() Absorber {
	return Absorber{Force: 4500, Ripple: 0.1, Pitch: 0.015, Travel: 1, Backing: lockStiff, Strength: 15e3}
}
