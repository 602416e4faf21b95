package plan

import (
	"encoding/json"
	"fmt"
	"math"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// Layout is a plan with its cells and run order: what is kept of it in a campaign.
type Layout struct {
	Version int    `json:"version"` // of this form: 1
	Plan    Plan   `json:"plan"`
	Cells   []Cell `json:"cells"`
	Runs    []Run  `json:"runs"`
}

// layoutVersion is the form in which a campaign keeps its layout.
const layoutVersion = 1

// ReadLayout reads a layout as a campaign keeps it.
func ReadLayout(text []byte) (*Layout, error) {
	var l Layout
	if err := json.Unmarshal(text, &l); err != nil {
		return nil, fmt.Errorf("the plan cannot be read: %w", err)
	}
	if l.Version != layoutVersion {
		return nil, fmt.Errorf("the plan has the form %d, this program knows %d; update this program", l.Version, layoutVersion)
	}
	for _, r := range l.Runs {
		if r.Cell < 0 || r.Cell > len(l.Cells) {
			return nil, fmt.Errorf("the plan cannot be read: drop %s is of cell %d of %d", r.Drop, r.Cell, len(l.Cells))
		}
	}
	return &l, nil
}

// NewLayout makes the cells and the run order of a plan.
func NewLayout(p *Plan) (*Layout, error) {
	cells, err := p.Cells()
	if err != nil {
		return nil, err
	}
	runs, err := p.Order(cells)
	if err != nil {
		return nil, err
	}
	return &Layout{Version: layoutVersion, Plan: *p, Cells: cells, Runs: runs}, nil
}

// Drops are the runs as a drop list has them, without record and date: those are known when the drop was taken.
func (l *Layout) Drops() []drop.Drop {
	out := make([]drop.Drop, len(l.Runs))
	for i, r := range l.Runs {
		out[i] = l.drop(r)
	}
	return out
}

func (l *Layout) drop(r Run) drop.Drop {
	d := drop.Drop{ID: r.Drop, Order: r.Order, Role: r.Role, Operator: r.Operator, Specimen: drop.Specimen{ID: r.Specimen}}
	if l.Plan.Invented {
		d.Scenario = "invented"
	}
	if r.Cell == 0 {
		if c := l.Plan.Check; c != nil {
			d.Specimen.Material, d.Specimen.Length, d.Specimen.Conditioning, d.Fall, d.Mass, d.Prior = c.Material, c.Length, "reference", c.Fall, c.Mass, c.Prior
			for _, before := range l.Runs {
				if before.Order < r.Order && before.Cell == 0 {
					d.Prior++
				}
			}
		}
		return d
	}
	c := l.Cells[r.Cell-1]
	b := l.Plan.Builds[c.Material]
	d.Specimen = drop.Specimen{
		ID: r.Specimen, Material: c.Material, Construction: b.Construction, Length: c.Length, Knot: c.Knot, Batch: r.Batch, Conditioning: c.Conditioning,
		Rating: b.Rating, Diameter: b.Diameter, Standard: b.Standard,
	}
	d.Fall = c.Fall
	if c.Mass != l.Plan.DropMass() {
		d.Mass = c.Mass
	}
	d.Factors = map[string]string{}
	for f, v := range c.Levels {
		switch f {
		case Material, Length, Knot, Fall, FallFactor, Conditioned, "construction":
		default:
			d.Factors[f] = v
		}
	}
	if len(d.Factors) == 0 {
		d.Factors = nil
	}
	return d
}

// Stock is how many specimens of one make a campaign needs.
type Stock struct {
	Material string          `json:"material"`
	Length   quantity.Length `json:"length_m"`
	Knot     string          `json:"knot"`
	Planned  int             `json:"planned"`
	Spare    int             `json:"spare"`
}

// Stocks counts the specimens by make, with the spares proposed: the plan's share, rounded up.
func (l *Layout) Stocks() []Stock {
	var out []Stock
	at := map[Stock]int{}
	for _, c := range l.Cells {
		key := Stock{Material: c.Material, Length: c.Length, Knot: c.Knot}
		i, ok := at[key]
		if !ok {
			i = len(out)
			at[key] = i
			out = append(out, key)
		}
		out[i].Planned += l.Plan.Replicates
	}
	for i := range out {
		out[i].Spare = int(math.Ceil(l.Plan.Spare.SI()*float64(out[i].Planned) - 1e-9))
	}
	return out
}

// DayOrder is the first and last place in the run order of each day.
func (l *Layout) DayOrder() [][2]int {
	out := make([][2]int, max(1, l.Plan.Days))
	for _, r := range l.Runs {
		d := &out[r.Day-1]
		if d[0] == 0 {
			d[0] = r.Order
		}
		d[1] = r.Order
	}
	return out
}
