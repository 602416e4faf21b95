// Package limits holds rated strengths and arrest-force limits of published standards with their sources.
package limits

import (
	"fmt"
	"math"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// Kind tells what a limit bounds.
type Kind string

// The kinds.
const (
	Strength Kind = "strength"     // a component's least strength: more force may part it
	Arrest   Kind = "arrest force" // the most force that a standard's own test allows
)

// Limit is one figure of a standard.
type Limit struct {
	Name    string         `json:"name"`
	Value   quantity.Force `json:"value_N"`
	Kind    Kind           `json:"kind"`
	Edition string         `json:"edition"` // standard with its year where it is known
	Current bool           `json:"current"` // false: an older edition kept selectable, or one known to be replaced
	Terms   string         `json:"terms,omitempty"`
	Source  string         `json:"source"`
}

// Verdict is how the next specimen of some drops, or one peak of a model, stands to a limit.
type Verdict string

// The verdicts: Sample.Judge and Limit.Judge say when each holds.
const (
	Exceeds     Verdict = "exceeds"
	WithinReach Verdict = "within reach"
	Below       Verdict = "stays below"
	// CannotTell is said of specimens only: too few were dropped, or they show bounds.
	CannotTell Verdict = "cannot be told"
	// BrokeBelow is for the specimen's own rating: a specimen parted below it.
	BrokeBelow Verdict = "broke below"
)

// Judge holds one peak, such as a model's, with its expanded uncertainty against a limit, and says nothing of other specimens: it exceeds when all of the interval
// lies above, stays below when all of it lies below, and is within reach otherwise. A peak that is a lower
// bound (the specimen let go, or the record is cut off) stays below nothing: a whole arrest would ask for
// more. A peak or an uncertainty that is not a number is within reach of everything.
func (l Limit) Judge(peak, expanded quantity.Force, lowerBound bool) Verdict {
	p, u := peak.SI(), math.Abs(expanded.SI())
	switch {
	case p-u > l.Value.SI():
		return Exceeds
	case p+u < l.Value.SI() && !lowerBound:
		return Below
	}
	return WithinReach
}

// Cord is the least strength of accessory cord of diameter d by EN 564: 0.2 d^2 kN with d in mm. It fails
// outside the standard's 4 mm to 8 mm.
func Cord(d quantity.Length) (Limit, error) {
	mm := math.Round(d.SI()*1e4) / 10
	if mm < 4 || mm > 8 {
		return Limit{}, fmt.Errorf("cord of %s: EN 564 covers 4 mm to 8 mm; use the maker's figure", d)
	}
	return Limit{
		Name: fmt.Sprintf("accessory cord %g mm", mm), Value: quantity.Force(math.Round(0.2*mm*mm*1e4) / 10), Kind: Strength,
		Edition: "EN 564", Current: true, Source: "published product tables (printed)",
	}, nil
}

// Rating is the name of the limit that is the specimen's own rated strength.
const Rating = "rating of the specimen"

// For lists the limits that bear on a drop: the whole current table, the cord's own strength when its
// diameter is given, and the specimen's stated rating.
func For(d drop.Drop) []Limit {
	out := Current()
	if d.Specimen.Diameter > 0 {
		if l, err := Cord(d.Specimen.Diameter); err == nil {
			out = append(out, l)
		}
	}
	if d.Specimen.Rating > 0 {
		out = append(out, Limit{Name: Rating, Value: d.Specimen.Rating, Kind: Strength, Edition: d.Specimen.Standard, Current: true, Source: "stated in the drop list"})
	}
	return out
}

// Current is the table without replaced editions, in order of value.
func Current() []Limit {
	var out []Limit
	for _, l := range Table() {
		if l.Current {
			out = append(out, l)
		}
	}
	return out
}
