// Package textile reads the model parameters of a textile as files write them.
package textile

import (
	"fmt"
	"strings"

	"github.com/hardcatch/hardcatch/internal/arrest"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// Written is what a file says of a textile, as keys of the struct around it. Pointers tell "not written" from zero, so
// that a starting set fills only what is left out.
type Written struct {
	E1                *quantity.Force `yaml:"E1"`
	E2                *quantity.Force `yaml:"E2"`
	E3                *quantity.Force `yaml:"E3"`
	Maxwell           []Branch        `yaml:"maxwell"` // empty, but written, takes those of the starting set away
	Friction          *quantity.Ratio `yaml:"friction"`
	FrictionStiffness *quantity.Force `yaml:"friction_stiffness"`
	Strength          *quantity.Force `yaml:"strength"`
}

// Branch is a Maxwell branch.
type Branch struct {
	E   quantity.Force    `yaml:"E"`
	Tau quantity.Duration `yaml:"tau"`
}

// Over is the starting set of that name, none when it is empty, with what is written in its place.
func (w Written) Over(set string) (arrest.Textile, error) {
	t := arrest.Textile{}
	if set != "" {
		var ok bool
		if t, ok = arrest.StartingSet(set); !ok {
			return arrest.Textile{}, fmt.Errorf("there are no starting values for material %q; known are %s", set, strings.Join(arrest.StartingSetNames(), ", "))
		}
	}
	Fill(&t.E1, w.E1)
	Fill(&t.E2, w.E2)
	Fill(&t.E3, w.E3)
	Fill(&t.Friction, w.Friction)
	Fill(&t.FrictionStiffness, w.FrictionStiffness)
	Fill(&t.Strength, w.Strength)
	if w.Maxwell != nil {
		t.Maxwell = nil
		for _, b := range w.Maxwell {
			t.Maxwell = append(t.Maxwell, arrest.Branch{E: b.E, Tau: b.Tau})
		}
	}
	return t, nil
}

// Fill sets what was written.
func Fill[T any](to, written *T) {
	if written != nil {
		*to = *written
	}
}
