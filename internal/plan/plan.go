// Package plan lays out a campaign: cells, run order, and what each drop is likely to do to the bench.
package plan

import (
	"strings"

	"github.com/hardcatch/hardcatch/internal/arrest"
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// Plan is a campaign before the first drop.
type Plan struct {
	Name         string           `json:"name" yaml:"name"`
	Question     string           `json:"question" yaml:"question"`
	Notes        string           `json:"notes,omitempty" yaml:"notes"`
	Invented     bool             `json:"invented,omitempty" yaml:"invented"`
	Rig          drop.Rig         `json:"rig" yaml:"rig"`
	Tower        Tower            `json:"tower" yaml:"tower"`
	Factors      []Factor         `json:"factors"` // in the order written
	Fixed        []Factor         `json:"fixed"`   // conditions that are the same for all, one level each
	Skip         []Combination    `json:"skip,omitempty" yaml:"skip"`
	Only         []Combination    `json:"only,omitempty" yaml:"only"`
	Builds       map[string]Build `json:"specimens" yaml:"specimens"` // by material
	Effects      []Effect         `json:"effects,omitempty"`
	Questions    []drop.Question  `json:"questions,omitempty"` // with what counts as yes
	Replicates   int              `json:"replicates" yaml:"replicates"`
	Spare        quantity.Ratio   `json:"spare" yaml:"spare"` // share of spare specimens proposed
	Days         int              `json:"days"`
	Dates        []string         `json:"dates,omitempty"` // of the days, yyyy-mm-dd
	Batches      []string         `json:"batches,omitempty"`
	Operators    []string         `json:"operators,omitempty"`
	Check        *CheckDrop       `json:"check_drop,omitempty"`
	Conditioning Conditioning     `json:"conditioning" yaml:"conditioning"`
	Spread       Spread           `json:"spread" yaml:"spread"`
	Simulations  int              `json:"simulations" yaml:"simulations"` // of each cell
	Seed         uint64           `json:"seed" yaml:"seed"`
}

// The factors that the simulation knows; any other factor is kept and compared by, but not simulated except
// through its Effects.
const (
	Material    = "material"
	Length      = "length"
	Knot        = "knot"
	Fall        = "fall"
	FallFactor  = "fall factor"
	Mass        = "mass"
	Conditioned = "conditioning"
)

// Factor is what is varied, with its levels as written.
type Factor struct {
	Name   string   `json:"name"`
	Levels []string `json:"levels"`
	// Reference is the level that the others are compared with; empty where the plan leaves it to the comparison.
	Reference string `json:"reference,omitempty"`
}

// Combination names levels that go together: factor to level.
type Combination map[string]string

// Tower is what the bench may be asked for. A zero is a limit that is not stated.
type Tower struct {
	Height        quantity.Length `json:"height_m,omitempty" yaml:"height"`                       // of the highest release above the floor
	AnchorHeight  quantity.Length `json:"anchor_height_m,omitempty" yaml:"anchor_height"`         // of the anchor above the floor
	Rigging       quantity.Length `json:"rigging_m,omitempty" yaml:"rigging"`                     // load cell and connectors between anchor and specimen
	MassHeight    quantity.Length `json:"mass_height_m,omitempty" yaml:"mass_height"`             // of the mass below its attachment
	Clearance     quantity.Length `json:"clearance_m,omitempty" yaml:"clearance"`                 // to stay free above the floor
	Connectors    quantity.Force  `json:"connectors_N,omitempty" yaml:"connectors"`               // rating of the weakest connector
	Anchor        quantity.Force  `json:"anchor_limit_N,omitempty" yaml:"anchor_limit"`           // of the anchor
	Energy        quantity.Energy `json:"energy_limit_J,omitempty" yaml:"energy_limit"`           // that floor, pad and catch can take
	LeastCellPart quantity.Ratio  `json:"least_cell_share,omitempty" yaml:"least_cell_share"`     // of the load cell's capacity that a peak should use
	MostCellPart  quantity.Ratio  `json:"largest_cell_share,omitempty" yaml:"largest_cell_share"` // beyond which the cell is at risk
}

// Build is how the specimens of a material are made and modelled.
type Build struct {
	Construction string                    `json:"construction,omitempty" yaml:"construction"`
	Rating       quantity.Force            `json:"rating_N,omitempty" yaml:"rating"`
	Batch        string                    `json:"batch,omitempty" yaml:"batch"`
	Diameter     quantity.Length           `json:"diameter_m,omitempty" yaml:"diameter"`
	Standard     string                    `json:"standard,omitempty" yaml:"standard"`
	Textile      arrest.Textile            `json:"textile" yaml:",inline" keys:"E1 E2 E3 maxwell friction friction_stiffness strength material=set set=permanent_set"` // without length
	Knots        map[string]quantity.Ratio `json:"knots,omitempty" yaml:"knots"`
}

// UnmarshalYAML fills in the starting set where the build names one.
func (b *Build) UnmarshalYAML(read func(any) error) error {
	type plain Build
	return b.Textile.Over(func() error { return read((*plain)(b)) })
}

// Effect is what a level of a factor does to strength and stiffness, as shares of what they would be.
type Effect struct {
	Factor    string         `json:"factor"`
	Level     string         `json:"level"`
	Strength  quantity.Ratio `json:"strength" yaml:"strength"`
	Stiffness quantity.Ratio `json:"stiffness" yaml:"stiffness"`
}

// UnmarshalYAML leaves what is not written as it would be.
func (e *Effect) UnmarshalYAML(read func(any) error) error {
	type plain Effect
	e.Strength, e.Stiffness = 1, 1
	return read((*plain)(e))
}

// CheckDrop is a drop on a reference element at the start and end of each day.
type CheckDrop struct {
	Specimen string          `json:"specimen" yaml:"specimen"`
	Material string          `json:"material,omitempty" yaml:"material"`
	Length   quantity.Length `json:"length_m,omitempty" yaml:"length"`
	Fall     quantity.Length `json:"fall_m" yaml:"fall"`
	Mass     quantity.Mass   `json:"mass_kg,omitempty" yaml:"mass"` // 0 = the rig's
	Prior    int             `json:"prior,omitempty" yaml:"prior"`
	Textile  *arrest.Textile `json:"textile,omitempty"` // its model, nil = is not simulated
}

// Conditioning is the state that specimens are brought to.
type Conditioning struct {
	Temperature string `json:"temperature,omitempty" yaml:"temperature"`
	Humidity    string `json:"humidity,omitempty" yaml:"humidity"`
	Wet         bool   `json:"wet,omitempty" yaml:"wet"`
	Text        string `json:"text,omitempty" yaml:"text"`
}

// Spread is how far the parameters of the simulation vary. Strength, Stiffness, RigStiffness, KnotSlip and
// Mass are coefficients of variation, Knot and Fall standard deviations; 0 = does not vary.
type Spread struct {
	Strength     quantity.Ratio  `json:"strength" yaml:"strength"`
	Stiffness    quantity.Ratio  `json:"stiffness" yaml:"stiffness"`
	RigStiffness quantity.Ratio  `json:"rig_stiffness" yaml:"rig_stiffness"`
	Knot         quantity.Ratio  `json:"knot" yaml:"knot"` // of the efficiency
	KnotSlip     quantity.Ratio  `json:"knot_slip" yaml:"knot_slip"`
	Mass         quantity.Ratio  `json:"mass" yaml:"mass"`
	Fall         quantity.Length `json:"fall_m" yaml:"fall"`
}

// StartingSpread is used for what a plan leaves out. The knot's is that of published slow pulls (n = 2 each);
// the others are common practice, no source.
func StartingSpread() Spread {
	return Spread{Strength: 0.08, Stiffness: 0.10, RigStiffness: 0.10, Knot: 0.08, KnotSlip: 0.10, Mass: 0.001, Fall: 0.005}
}

// Bounds and defaults. Common practice, no source.
const (
	MaxCells         = 2000
	MaxDrops         = 20000
	MaxDays          = 366
	MaxSimulations   = 100000
	MinSimulations   = 200
	StartSimulations = 2000
	StartSpare       = 0.10
	StartLeastCell   = 0.10
	StartMostCell    = 0.90
	StartRigSpread   = 1.0 // of a rig stiffness that is a starting value, 2 MN/m with 0.2 to 20 seen
)

// IsTied tells that a level of the factor knot is tied, so that it slips and weakens: all but those that begin with sewn
// or spliced, and none.
func IsTied(knot string) bool {
	k := strings.ToLower(strings.TrimSpace(knot))
	return k != "" && k != "none" && !strings.HasPrefix(k, "sewn") && !strings.HasPrefix(k, "spliced")
}

// DropMass is the mass of a cell that does not say its own.
func (p *Plan) DropMass() quantity.Mass { return p.Rig.Mass }

// String says the conditioning in words, "" when nothing is said.
func (c Conditioning) String() string {
	s := c.Text
	add := func(t string) {
		if t == "" {
			return
		}
		if s != "" {
			s += ", "
		}
		s += t
	}
	add(c.Temperature)
	if c.Humidity != "" {
		add(c.Humidity + " humidity")
	}
	if c.Wet {
		add("wet")
	}
	return s
}
