package plan

import (
	"context"
	"fmt"
	"slices"

	"github.com/hardcatch/hardcatch/internal/arrest"
	"github.com/hardcatch/hardcatch/internal/arrest/ensemble"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// Pool is what the drops of a cell do, as often as simulated, on one rig: its stiffness may not be known, but is the same in every drop of a campaign.
type Pool struct {
	Peaks  []float64 // N, of each simulated drop, up to the break where it broke
	Broke  []bool    // of each
	Demand []float64 // N, the peaks had nothing parted, sorted
	// Strength are forces at which such specimens part, N, sorted; nil where they have no strength that is known.
	Strength []float64
}

// hardestFall bounds the fall by which strengths are drawn, m.
const hardestFall = 1000

// Pool simulates n drops of a cell.
func (p *Plan) Pool(ctx context.Context, c Cell, n int) (*Pool, error) {
	e, _, err := p.Ensemble(c)
	if err != nil {
		return nil, fmt.Errorf("cell %d (%s): %w", c.Number, c.Label(p.Factors), err)
	}
	e.Spreads = slices.DeleteFunc(slices.Clone(e.Spreads), func(s ensemble.Spread) bool { return s.Parameter == rigName+".stiffness" })
	out, err := run(ctx, e, n, nil)
	if err != nil {
		return nil, err
	}
	pool := &Pool{Peaks: make([]float64, n), Broke: make([]bool, n)}
	for i, o := range out {
		pool.Peaks[i], pool.Broke[i] = o.Peak, o.Broke >= 0
	}
	whole, err := drawWhole(ctx, e, n)
	if err != nil {
		return nil, err
	}
	pool.Demand = whole.demand
	pool.Strength, err = strengths(ctx, e, n)
	return pool, err
}

// strengths drops ever farther until every specimen parts: what it parted at is what a strength is.
func strengths(ctx context.Context, e *ensemble.Plan, n int) ([]float64, error) {
	if !slices.ContainsFunc(e.Case.Chain, func(x arrest.Element) bool { return x.Textile != nil && x.Textile.Strength > 0 }) {
		return nil, nil
	}
	x := *e
	for fall := max(1, e.Case.Fall.SI()); fall <= hardestFall; fall *= 4 {
		x.Case.Fall = quantity.Length(fall)
		x.Case.Until = until(&x.Case)
		out, err := run(ctx, &x, n, nil)
		if err != nil {
			return nil, err
		}
		if !slices.ContainsFunc(out, func(o ensemble.Outcome) bool { return o.Broke < 0 }) {
			return sortedPeaks(out), nil
		}
	}
	return nil, nil
}
