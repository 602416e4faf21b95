package element

import (
	"errors"
	"math"

	"github.com/hardcatch/hardcatch/internal/quantity"
)

// Damage is what a drop that is held leaves behind in a textile. With r the largest force of the drop over the strength that
// the textile, its knots in it, had before it:
//
//	strength    falls by Loss r^Exponent of the strength of the first drop
//	stiffness   the factor k grows towards 1 + Stiffening by the share Rate r of what is missing
//	set         the strain up to which it is set grows by the share SetGrowth r
//	friction    falls by the share FrictionLoss r
type Damage struct {
	Exponent     quantity.Ratio `json:"exponent" yaml:"exponent"`
	Loss         quantity.Ratio `json:"loss" yaml:"loss"`
	Stiffening   quantity.Ratio `json:"stiffening" yaml:"stiffening"`
	Rate         quantity.Ratio `json:"rate" yaml:"rate"`
	SetGrowth    quantity.Ratio `json:"set_growth" yaml:"set_growth"`
	FrictionLoss quantity.Ratio `json:"friction_loss" yaml:"friction_loss"`
}

// StartingDamage is a law to start from, to be replaced by that of a series of one's own: starting values, no source. A dynamic rope
// gets peaks from it that rise as published series do, and falls held of the order that its standard asks for.
func StartingDamage() Damage {
	return Damage{Exponent: 10, Loss: 0.5, Stiffening: 1.2, Rate: 0.7, SetGrowth: 0.05, FrictionLoss: 0.1}
}

// UnmarshalYAML reads the word starting, or values over the starting ones.
func (d *Damage) UnmarshalYAML(read func(any) error) error {
	*d = StartingDamage()
	var word string
	if read(&word) == nil {
		if word != "starting" {
			return errors.New("say starting for starting values, or give exponent, loss, stiffening, rate, set_growth and friction_loss")
		}
		return nil
	}
	type plain Damage
	return read((*plain)(d))
}

// Starts tells that some value is a starting one.
func (d Damage) Starts() bool {
	s := StartingDamage()
	return d.Exponent == s.Exponent || d.Loss == s.Loss || d.Stiffening == s.Stiffening || d.Rate == s.Rate || d.SetGrowth == s.SetGrowth || d.FrictionLoss == s.FrictionLoss
}

func (d *Damage) validate(t *Textile) error {
	if d == nil {
		return nil
	}
	if t.Strength == 0 {
		return errors.New("damage: it goes by force over strength; give the textile a strength")
	}
	return Check(
		Value{"damage: exponent", d.Exponent.SI(), aboveTo(100, "it lies above 0 and up to 100")},
		Value{"damage: loss", d.Loss.SI(), upTo(1, "it lies from 0 to 1")},
		Value{"damage: stiffening", d.Stiffening.SI(), upTo(20, "it lies from 0 to 20")},
		Value{"damage: rate", d.Rate.SI(), upTo(1, "it lies from 0 to 1")},
		Value{"damage: set_growth", d.SetGrowth.SI(), upTo(1, "it lies from 0 to 1")},
		Value{"damage: friction_loss", d.FrictionLoss.SI(), upTo(1, "it lies from 0 to 1")},
	)
}

// Worn is what is left of a textile with a law of damage, as shares of what it had before the first drop.
type Worn struct {
	Left, Stiffness, Friction float64
}

// Next is the state after a drop that was held at r.
func (d *Damage) Next(w Worn, r float64) Worn {
	w.Left = max(0, w.Left-d.Loss.SI()*math.Pow(r, d.Exponent.SI()))
	w.Stiffness += d.Rate.SI() * r * (1 + d.Stiffening.SI() - w.Stiffness)
	w.Friction *= 1 - d.FrictionLoss.SI()*r
	return w
}
