package element

import (
	"math"

	"github.com/hardcatch/hardcatch/internal/quantity"
)

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

func knotOf(e *Element) *Knot { return e.Knot }

// What stands where a knot does not say: common practice, no source.
const (
	knotPower = 2
	lockStiff = 3e6 // N/m
)

var knot = Description{
	Kind: KindKnot,
	Law:  "slips when the force would pass F0 + (FL - F0)(s/slip)^power, locks at s = slip onto a spring; the slip never comes back",
	Keys: []Key{
		number("FL", quantity.DimForce, knotOf, func(k *Knot) *quantity.Force { return &k.FL }, above("it must be more than 0"), spreads),
		number("F0", quantity.DimForce, knotOf, func(k *Knot) *quantity.Force { return &k.F0 }, within(func(e *Element) float64 { return e.Knot.FL.SI() }, "it lies from 0 to FL"), all(spreads, zero("0", ""))),
		number("slip", quantity.DimLength, knotOf, func(k *Knot) *quantity.Length { return &k.Slip }, aboveTo(1e3, "it must be more than 0"), spreads),
		number("power", quantity.DimRatio, knotOf, func(k *Knot) *quantity.Ratio { return &k.Power }, upTo(20, "it lies above 0 and up to 20"), start(knotPower, "2", common)),
		number("lock", quantity.DimStiffness, knotOf, func(k *Knot) *quantity.Stiffness { return &k.Lock }, from("it must be more than 0"), all(spreads, start(lockStiff, "3 MN/m", common))),
		number("efficiency", quantity.DimRatio, knotOf, func(k *Knot) *quantity.Ratio { return &k.Efficiency }, upTo(1, "it lies above 0 and up to 1"), all(share, zero("1", ""))),
		number("state", quantity.DimLength, knotOf, func(k *Knot) *quantity.Length { return &k.State }, within(func(e *Element) float64 { return e.Knot.Slip.SI() }, "it lies from 0 to the slip"), zero("0: unslipped", "")),
	},
	given: func(e *Element) bool { return e.Knot != nil },
	clone: func(e *Element) { x := *e.Knot; e.Knot = &x },
	gives: func(*Element) Gives { return Slips },
	strength: func(chain []Element, i int) quantity.Force {
		if j := TextileOf(chain, i); j >= 0 {
			return quantity.Force(chain[j].Textile.Left() * orDefault(chain[i].Knot.Efficiency.SI(), 1))
		}
		return 0
	},
}

// Curve is the knot's law.
func (k *Knot) Curve() KnotCurve {
	c := KnotCurve{F0: k.F0.SI(), DF: (k.FL - k.F0).SI(), Travel: k.Slip.SI(), Power: orDefault(k.Power.SI(), knotPower)}
	if c.F0 < 1e-4 { // below what forces are told apart by
		c.F0 = 0
	}
	return c
}

// Behind is the stiffness of the spring that a locked knot stretches, N/m.
func (k *Knot) Behind() float64 { return orDefault(k.Lock.SI(), lockStiff) }

// KnotCurve is the force at which a knot slips: F0 + DF (s/Travel + Shift)^Power. Shift is 0, or a billionth where the curve
// would start without room for a series.
type KnotCurve struct{ F0, DF, Travel, Power, Shift float64 }

// Whole tells that the curve is a polynomial of low degree, which a Taylor series follows from s = 0 on.
func (c *KnotCurve) Whole() bool { return c.Power == 1 || c.Power == 2 || c.Power == 3 }

// Force is the yield force at slip s, in N.
func (c *KnotCurve) Force(s float64) float64 {
	y := s / c.Travel
	switch {
	case c.Shift > 0:
		return c.F0 + c.DF*math.Pow(max(y+c.Shift, c.Shift/2), c.Power)
	case c.Power == 1:
		return c.F0 + c.DF*y
	case c.Power == 2:
		return c.F0 + c.DF*y*y
	}
	return c.F0 + c.DF*y*y*y
}

// Polynomial is the curve as c0 + c1 s + c2 s^2, where it is of so low a degree.
func (c *KnotCurve) Polynomial() (c0, c1, c2 float64, ok bool) {
	switch {
	case c.Shift != 0:
	case c.Power == 1:
		return c.F0, c.DF / c.Travel, 0, true
	case c.Power == 2:
		return c.F0, 0, c.DF / (c.Travel * c.Travel), true
	}
	return 0, 0, 0, false
}

// Work is the integral of Force from 0 to s, in J.
func (c *KnotCurve) Work(s float64) float64 {
	y, p := s/c.Travel, c.Power
	if c.Shift > 0 {
		w := (math.Pow(max(y+c.Shift, c.Shift/2), p+1) - math.Pow(c.Shift, p+1)) / (p + 1)
		return c.Travel * (c.F0*y + c.DF*w)
	}
	return c.Travel * (c.F0*y + c.DF*math.Pow(y, p+1)/(p+1))
}

// StartingKnot is a knot to start from: common practice, no source.
func StartingKnot() Knot {
	return Knot{F0: 500, FL: 8500, Slip: 0.045, Power: knotPower, Lock: lockStiff}
}

// KnotEfficiency is a starting value of the strength that a knot leaves, with the spread (standard
// deviation) to give it. Published slow pulls, n = 2 each.
type KnotEfficiency struct {
	Material   string // generic name and size
	Knot       string
	Efficiency quantity.Ratio
	Spread     quantity.Ratio
}

// KnotEfficiencies lists the starting values.
func KnotEfficiencies() []KnotEfficiency {
	return []KnotEfficiency{
		{"HMPE 8 mm", "overhand", 0.57, 0.08}, {"HMPE 8 mm", "figure-eight", 0.60, 0.08}, {"HMPE 8 mm", "girth hitch", 0.69, 0.08},
		{"HMPE 11 mm", "overhand", 0.46, 0.08}, {"HMPE 11 mm", "figure-eight", 0.48, 0.08}, {"HMPE 11 mm", "girth hitch", 0.52, 0.08},
		{"polyamide 16 mm", "overhand", 0.64, 0.08}, {"polyamide 16 mm", "figure-eight", 0.59, 0.08}, {"polyamide 16 mm", "girth hitch", 0.79, 0.08},
	}
}
