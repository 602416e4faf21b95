// Package plan lays out a campaign: cells, run order, and what each drop is likely to do to the bench.
package plan

import (
	"strings"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// Plan is a campaign before the first drop.
type Plan struct {
	Name         string           `json:"name"`
	Question     string           `json:"question"`
	Notes        string           `json:"notes,omitempty"`
	Invented     bool             `json:"invented,omitempty"`
	Rig          drop.Rig         `json:"rig"`
	Tower        Tower            `json:"tower"`
	Factors      []Factor         `json:"factors"` // in the order written
	Fixed        []Factor         `json:"fixed"`   // conditions that are the same for all, one level each
	Skip         []Combination    `json:"skip,omitempty"`
	Only         []Combination    `json:"only,omitempty"`
	Builds       map[string]Build `json:"specimens"` // by material
	Effects      []Effect         `json:"effects,omitempty"`
	Replicates   int              `json:"replicates"`
	Spare        quantity.Ratio   `json:"spare"` // share of spare specimens proposed
	Days         int              `json:"days"`
	Dates        []string         `json:"dates,omitempty"` // of the days, yyyy-mm-dd
	Batches      []string         `json:"batches,omitempty"`
	Operators    []string         `json:"operators,omitempty"`
	Check        *CheckDrop       `json:"check_drop,omitempty"`
	Conditioning Conditioning     `json:"conditioning"`
	Spread       Spread           `json:"spread"`
	Simulations  int              `json:"simulations"` // of each cell
	Seed         uint64           `json:"seed"`
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
}

// Combination names levels that go together: factor to level.
type Combination map[string]string

// Tower is what the bench may be asked for. A zero is a limit that is not stated.
type Tower struct {
	Height        quantity.Length `json:"height_m,omitempty"`           // of the highest release above the floor
	AnchorHeight  quantity.Length `json:"anchor_height_m,omitempty"`    // of the anchor above the floor
	Rigging       quantity.Length `json:"rigging_m,omitempty"`          // load cell and connectors between anchor and specimen
	MassHeight    quantity.Length `json:"mass_height_m,omitempty"`      // of the mass below its attachment
	Clearance     quantity.Length `json:"clearance_m,omitempty"`        // to stay free above the floor
	Connectors    quantity.Force  `json:"connectors_N,omitempty"`       // rating of the weakest connector
	Anchor        quantity.Force  `json:"anchor_limit_N,omitempty"`     // of the anchor
	Energy        quantity.Energy `json:"energy_limit_J,omitempty"`     // that floor, pad and catch can take
	LeastCellPart quantity.Ratio  `json:"least_cell_share,omitempty"`   // of the load cell's capacity that a peak should use
	MostCellPart  quantity.Ratio  `json:"largest_cell_share,omitempty"` // beyond which the cell is at risk
}

// Build is how the specimens of a material are made and modelled.
type Build struct {
	Construction string                    `json:"construction,omitempty"`
	Rating       quantity.Force            `json:"rating_N,omitempty"`
	Batch        string                    `json:"batch,omitempty"`
	Diameter     quantity.Length           `json:"diameter_m,omitempty"`
	Standard     string                    `json:"standard,omitempty"`
	Textile      Textile                   `json:"textile"`
	Knots        map[string]quantity.Ratio `json:"knots,omitempty"`
}

// Effect is what a level of a factor does to strength and stiffness, as shares of what they would be.
type Effect struct {
	Factor    string         `json:"factor"`
	Level     string         `json:"level"`
	Strength  quantity.Ratio `json:"strength"`
	Stiffness quantity.Ratio `json:"stiffness"`
}

// CheckDrop is a drop on a reference element at the start and end of each day.
type CheckDrop struct {
	Specimen string          `json:"specimen"`
	Material string          `json:"material,omitempty"`
	Length   quantity.Length `json:"length_m,omitempty"`
	Fall     quantity.Length `json:"fall_m"`
	Mass     quantity.Mass   `json:"mass_kg,omitempty"` // 0 = the rig's
	Prior    int             `json:"prior,omitempty"`
	Textile  *Textile        `json:"textile,omitempty"` // its model, nil = is not simulated
}

// Conditioning is the state that specimens are brought to.
type Conditioning struct {
	Temperature string `json:"temperature,omitempty"`
	Humidity    string `json:"humidity,omitempty"`
	Wet         bool   `json:"wet,omitempty"`
	Text        string `json:"text,omitempty"`
}

// Spread is how far the parameters of the simulation vary. Strength, Stiffness, RigStiffness, KnotSlip and
// Mass are coefficients of variation, Knot and Fall standard deviations; 0 = does not vary.
type Spread struct {
	Strength     quantity.Ratio  `json:"strength"`
	Stiffness    quantity.Ratio  `json:"stiffness"`
	RigStiffness quantity.Ratio  `json:"rig_stiffness"`
	Knot         quantity.Ratio  `json:"knot"` // of the efficiency
	KnotSlip     quantity.Ratio  `json:"knot_slip"`
	Mass         quantity.Ratio  `json:"mass"`
	Fall         quantity.Length `json:"fall_m"`
}

// StartingSpread is used for what a plan leaves out. The knot's is that of published slow pulls (n = 2 each);
// the others are common practice, no source.
func StartingSpread() Spread {
	return Spread{Strength: 0.08, Stiffness: 0.10, RigStiffness: 0.10, Knot: 0.08, KnotSlip: 0.10, Mass: 0.001, Fall: 0.005}
}

// Bounds and defaults. Common practice, no source.
const (
	MostCells        = 2000
	MostDrops        = 20000
	MostDays         = 366
	MostSimulations  = 100000
	LeastSimulations = 200
	StartSimulations = 2000
	StartSpare       = 0.10
	StartLeastCell   = 0.10
	StartMostCell    = 0.90
	StartRigSpread   = 1.0 // of a rig stiffness that is a starting value, 2 MN/m with 0.2 to 20 seen
)

// Tied tells that a level of the factor knot is tied, so that it slips and weakens: all but those that begin with sewn
// or spliced, and none.
func Tied(knot string) bool {
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
