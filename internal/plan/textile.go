package plan

import (
	"github.com/hardcatch/hardcatch/internal/arrest"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// Textile is the model of a material in the form in which a campaign keeps it; see arrest.Textile.
type Textile struct {
	E1                quantity.Force `json:"E1_N"`
	E2                quantity.Force `json:"E2_N"`
	E3                quantity.Force `json:"E3_N"`
	Maxwell           []Branch       `json:"maxwell,omitempty"`
	Friction          quantity.Ratio `json:"friction"`
	FrictionStiffness quantity.Force `json:"friction_stiffness_N"`
	Set               quantity.Ratio `json:"permanent_set"`
	Strength          quantity.Force `json:"strength_N"` // 0 = never parts
	StartingSet       string         `json:"starting_values,omitempty"`
}

// Branch is a spring and dashpot in series.
type Branch struct {
	E   quantity.Force    `json:"E_N"`
	Tau quantity.Duration `json:"tau_s"`
}

// TextileOf takes over the parameters of a textile, without its length.
func TextileOf(t arrest.Textile) Textile {
	out := Textile{E1: t.E1, E2: t.E2, E3: t.E3, Friction: t.Friction, FrictionStiffness: t.FrictionStiffness, Set: t.Set, Strength: t.Strength, StartingSet: t.StartingSet}
	for _, b := range t.Maxwell {
		out.Maxwell = append(out.Maxwell, Branch(b))
	}
	return out
}

// Of is the textile of a specimen of that length.
func (t Textile) Of(length quantity.Length) arrest.Textile {
	out := arrest.Textile{Length: length, E1: t.E1, E2: t.E2, E3: t.E3, Friction: t.Friction, FrictionStiffness: t.FrictionStiffness, Set: t.Set, Strength: t.Strength, StartingSet: t.StartingSet}
	for _, b := range t.Maxwell {
		out.Maxwell = append(out.Maxwell, arrest.Branch(b))
	}
	return out
}
