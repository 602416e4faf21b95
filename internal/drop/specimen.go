package drop

import (
	"fmt"
	"maps"
	"slices"
	"sort"
	"strings"

	"github.com/hardcatch/hardcatch/internal/quantity"
)

// Specimen is one physical item.
type Specimen struct {
	ID           string          `json:"id"`
	Material     string          `json:"material"`               // generic name: polyamide, HMPE, polyester, aramid
	Construction string          `json:"construction,omitempty"` // webbing, cord, sewn sling, rope
	Length       quantity.Length `json:"length_m"`               // working length L
	Knot         string          `json:"knot,omitempty"`         // termination: sewn, figure-eight, overhand, ...
	Batch        string          `json:"batch,omitempty"`
	Conditioning string          `json:"conditioning,omitempty"` // new, wet, aged, ...
	Rating       quantity.Force  `json:"rating_N,omitempty"`     // rated static strength, 0 = not given
	Diameter     quantity.Length `json:"diameter_m,omitempty"`   // cord diameter, 0 = not given
	Standard     string          `json:"standard,omitempty"`     // product standard the item is sold under
}

// Drop is one release of the mass on one specimen, as entered in the drop list.
type Drop struct {
	ID       string            `json:"id"`
	Specimen Specimen          `json:"specimen"`
	Fall     quantity.Length   `json:"fall_m"`              // free fall h before the specimen comes taut
	Slack    quantity.Length   `json:"slack_m,omitempty"`   // slack, for information
	Mass     quantity.Mass     `json:"mass_kg,omitempty"`   // 0 = the rig's mass
	Record   string            `json:"record"`              // record file name in the records folder
	Channel  string            `json:"channel,omitempty"`   // force channel, empty = the only one that fits
	Order    int               `json:"order,omitempty"`     // place in the run order, 0 = not given
	Taken    string            `json:"taken,omitempty"`     // date of the drop, yyyy-mm-dd
	Operator string            `json:"operator,omitempty"`  // initials or role
	Role     Role              `json:"role,omitempty"`      // trial or check
	Prior    int               `json:"prior,omitempty"`     // earlier drops of this specimen
	Factors  map[string]string `json:"factors,omitempty"`   // further factors of the campaign
	Entered  Decision          `json:"entered,omitzero"`    // outcome as written in the drop list, if any
	Scenario string            `json:"scenario,omitempty"`  // "invented" for demonstration data
	ListLine int               `json:"list_line,omitempty"` // line of the drop list
}

// InventedScenario is the scenario of a drop that did not happen.
const InventedScenario = "invented"

// Invented tells that the drop did not happen: a rehearsal, the simulated rig or the demonstration made it.
func (d Drop) Invented() bool { return d.Scenario == InventedScenario }

// Role tells trial drops from check drops.
type Role string

// The roles.
const (
	Trial Role = "trial"
	Check Role = "check"
)

// FallFactor is h / L, or 0 when the length is not known.
func (d Drop) FallFactor() quantity.Ratio {
	if d.Specimen.Length <= 0 {
		return 0
	}
	return quantity.Ratio(d.Fall.SI() / d.Specimen.Length.SI())
}

// Levels returns the drop's level of every factor that has one.
func (d Drop) Levels() map[string]string {
	l := map[string]string{
		"material":     d.Specimen.Material,
		"construction": d.Specimen.Construction,
		"knot":         d.Specimen.Knot,
		"conditioning": d.Specimen.Conditioning,
		"fall":         d.Fall.Text(3),
	}
	if d.Specimen.Length > 0 {
		l["length"] = d.Specimen.Length.Text(3)
		l["fall factor"] = d.FallFactor().Text(3)
	}
	if d.Mass > 0 {
		l["mass"] = d.Mass.Text(3)
	}
	for k, v := range d.Factors {
		l[k] = v
	}
	for k, v := range l {
		if v == "" {
			delete(l, k)
		}
	}
	return l
}

// Validate reports what makes a drop impossible to use, naming the field.
func (d Drop) Validate() error {
	switch {
	case strings.TrimSpace(d.ID) == "":
		return fmt.Errorf("the drop has no name; fill the column drop")
	case strings.TrimSpace(d.Specimen.ID) == "":
		return fmt.Errorf("drop %s has no specimen; fill the column specimen", d.ID)
	case d.Fall < 0:
		return fmt.Errorf("drop %s: the fall height %s is negative; it is the free fall before the specimen comes taut", d.ID, d.Fall)
	case d.Fall > 200:
		return fmt.Errorf("drop %s: a fall height of %s is not believed; a bare number is metres, write for example 900 mm", d.ID, d.Fall)
	case d.Specimen.Length < 0 || d.Specimen.Length > 500:
		return fmt.Errorf("drop %s: a specimen length of %s is not believed; a bare number is metres, write for example 900 mm", d.ID, d.Specimen.Length)
	case d.Mass < 0 || d.Mass > 5000:
		return fmt.Errorf("drop %s: a mass of %s is not believed; a bare number is kilograms", d.ID, d.Mass)
	}
	return nil
}

// PlainName is a name as a person may write it, in small letters with single spaces, underscores and hyphens as spaces: the form in which factors, columns and
// what may be asked are known.
func PlainName(text string) string {
	return strings.ToLower(strings.Join(strings.FieldsFunc(text, func(r rune) bool { return r == '_' || r == ' ' || r == '-' }), " "))
}

// factorRank puts first what a reader would name first; factors not listed follow in alphabetical order.
var factorRank = map[string]int{"material": -9, "knot": -8, "conditioning": -7, "fall": -6, "length": -5, "fall factor": -4, "mass": -3, "construction": 1}

// Factors are those that any of the rows has a level of, in the order in which they are shown.
func Factors(rows ...map[string]string) []string {
	all := map[string]bool{}
	for _, levels := range rows {
		for f := range levels {
			all[f] = true
		}
	}
	factors := slices.Collect(maps.Keys(all))
	sort.Slice(factors, func(i, j int) bool {
		if a, b := factorRank[factors[i]], factorRank[factors[j]]; a != b {
			return a < b
		}
		return factors[i] < factors[j]
	})
	return factors
}

// VaryingFactors lists the factors that have more than one level among the drops, a missing level
// counting as one. Of factors that tell the same drops apart (a construction that goes with each
// material, a fall factor that goes with each fall) only the first is kept.
func VaryingFactors(drops []Drop) []string {
	levels := make([]map[string]string, len(drops))
	for i, d := range drops {
		levels[i] = d.Levels()
	}
	seen := map[string]bool{}
	var out []string
	for _, f := range Factors(levels...) {
		// Drops numbered by first appearance of their level: equal strings mean equal partitions.
		number := map[string]int{}
		var key strings.Builder
		for _, l := range levels {
			n, ok := number[l[f]]
			if !ok {
				n = len(number)
				number[l[f]] = n
			}
			fmt.Fprintf(&key, "%d,", n)
		}
		if len(number) > 1 && !seen[key.String()] {
			out = append(out, f)
		}
		seen[key.String()] = true
	}
	return out
}
