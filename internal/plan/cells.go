package plan

import (
	"fmt"
	"math"
	"strings"

	"github.com/hardcatch/hardcatch/internal/quantity"
)

// Cell is one combination of levels.
type Cell struct {
	Number       int               `json:"number"` // from 1
	Levels       map[string]string `json:"levels"` // by factor, fixed ones among them
	Material     string            `json:"material"`
	Knot         string            `json:"knot"`
	Length       quantity.Length   `json:"length_m"`
	Fall         quantity.Length   `json:"fall_m"`
	Mass         quantity.Mass     `json:"mass_kg"`
	Conditioning string            `json:"conditioning,omitempty"`
}

// Label names the cell by the levels of the factors given, in their order.
func (c Cell) Label(factors []Factor) string {
	var parts []string
	for _, f := range factors {
		l := c.Levels[f.Name]
		switch f.Name {
		case FallFactor:
			l = "fall factor " + l
		case Fall:
			l += " fall"
		}
		parts = append(parts, l)
	}
	return strings.Join(parts, ", ")
}

// Cells crosses the levels of all factors, the last varying fastest, and keeps what skip and only allow: a
// combination of Skip that fits takes a cell out, and when there is an Only at least one of them must fit.
func (p *Plan) Cells() ([]Cell, error) {
	factors := append(append([]Factor(nil), p.Factors...), p.Fixed...)
	total := 1
	for _, f := range factors {
		if total *= len(f.Levels); total == 0 || total > MaxCells {
			return nil, fmt.Errorf("factors: their levels make %s cells; a plan takes from 1 to %d", manyOrNone(total), MaxCells)
		}
	}
	var cells []Cell
	place := make([]int, len(factors))
	for n := range total {
		for i, rest := len(factors)-1, n; i >= 0; i-- {
			place[i] = rest % len(factors[i].Levels)
			rest /= len(factors[i].Levels)
		}
		levels := map[string]string{}
		for i, f := range factors {
			levels[f.Name] = f.Levels[place[i]]
		}
		if p.leftOut(levels) {
			continue
		}
		c, err := p.cell(levels)
		if err != nil {
			return nil, err
		}
		c.Number = len(cells) + 1
		cells = append(cells, c)
	}
	if len(cells) == 0 {
		return nil, fmt.Errorf("skip: skip and only leave no cell of %d; remove one of them", total)
	}
	return cells, nil
}

func manyOrNone(n int) string {
	if n == 0 {
		return "no"
	}
	return fmt.Sprintf("more than %d", MaxCells)
}

func (p *Plan) leftOut(levels map[string]string) bool {
	for _, s := range p.Skip {
		if s.fits(levels) {
			return true
		}
	}
	for _, o := range p.Only {
		if o.fits(levels) {
			return false
		}
	}
	return len(p.Only) > 0
}

func (c Combination) fits(levels map[string]string) bool {
	for f, l := range c {
		if levels[f] != l {
			return false
		}
	}
	return true
}

func (p *Plan) cell(levels map[string]string) (Cell, error) {
	c := Cell{Levels: levels, Material: levels[Material], Knot: levels[Knot], Mass: p.DropMass(), Conditioning: levels[Conditioned]}
	if c.Conditioning == "" {
		c.Conditioning = p.Conditioning.String()
	}
	if err := c.Length.UnmarshalText([]byte(levels[Length])); err != nil {
		return c, fmt.Errorf("factors: length: %w", err)
	}
	if m := levels[Mass]; m != "" {
		if err := c.Mass.UnmarshalText([]byte(m)); err != nil {
			return c, fmt.Errorf("factors: mass: %w", err)
		}
	}
	if h := levels[Fall]; h != "" {
		if err := c.Fall.UnmarshalText([]byte(h)); err != nil {
			return c, fmt.Errorf("factors: fall: %w", err)
		}
		return c, nil
	}
	var factor quantity.Ratio
	if err := factor.UnmarshalText([]byte(levels[FallFactor])); err != nil {
		return c, fmt.Errorf("factors: fall factor: %w", err)
	}
	// To the micrometre, so that 1.1 times 0.6 m is 0.66 m.
	c.Fall = quantity.Length(math.Round(factor.SI()*c.Length.SI()*1e6) / 1e6)
	return c, nil
}
