package plan

import (
	"fmt"
	"math/rand/v2"

	"github.com/hardcatch/hardcatch/internal/arrest"
	"github.com/hardcatch/hardcatch/internal/arrest/ensemble"
)

// CellOf is the cell of a run, with the plan that forecasts it: that of the check drop alone for a check drop, with false where its reference element has
// no model.
func (l *Layout) CellOf(r Run) (*Plan, Cell, bool) {
	if r.Cell == 0 {
		return l.Plan.checkCell()
	}
	return &l.Plan, l.Cells[r.Cell-1], true
}

// Play gives for each of the runs a fall as the plan takes it to be, each parameter drawn from its spread: what a simulated rig drops in their
// stead. The same seed gives the same falls. A check drop whose reference element has no model is refused.
func (l *Layout) Play(runs []Run, seed uint64) ([]arrest.Case, error) {
	rng := rand.New(rand.NewPCG(seed, 23))
	var out []arrest.Case
	for _, r := range runs {
		p, cell, ok := l.CellOf(r)
		if !ok {
			return nil, fmt.Errorf("drop %s: nothing is known of what the check drops fall on; give check_drops a set, for example set: steel-wire", r.Drop)
		}
		e, _, err := p.Ensemble(cell)
		if err != nil {
			return nil, fmt.Errorf("drop %s: %w", r.Drop, err)
		}
		c := e.Case
		c.Chain = make([]arrest.Element, len(e.Case.Chain))
		for i := range c.Chain {
			c.Chain[i] = e.Case.Chain[i].Clone()
		}
		u := map[string]float64{}
		for _, s := range e.Spreads {
			u[s.Parameter] = rng.Float64()
			for _, together := range e.Correlations { // the parts of a textile's stiffness go together wholly
				if first, drawn := u[together.Between[0]]; drawn && together.Between[1] == s.Parameter && together.R == 1 {
					u[s.Parameter] = first
				}
			}
			x, err := ensemble.Find(&c, s.Parameter)
			if err != nil {
				return nil, fmt.Errorf("drop %s: %w", r.Drop, err)
			}
			v, err := s.Draw(x.Get(&c), u[s.Parameter])
			if err != nil {
				return nil, fmt.Errorf("drop %s: %s: %w", r.Drop, s.Parameter, err)
			}
			x.Set(&c, v)
		}
		out = append(out, c)
	}
	return out, nil
}
