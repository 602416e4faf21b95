package view

import (
	"context"
	"math"

	"github.com/hardcatch/hardcatch/internal/compare"
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/foresee"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/plan"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// powerAsked is what a report's sentence on the number of specimens is for; a plan states none.
const (
	powerAsked = 0.8
	alphaAsked = 0.05
)

// plan holds what was planned against what was taken, and forecasts the cells again as the plan did.
func (d *Report) plan(ctx context.Context, a *look.Access, c *look.Entered) error {
	l := c.Plan
	if l == nil {
		return nil
	}
	p := &PlanReport{Plan: l.Plan, PlanProgress: *look.ProgressOf(l, c.Taken())}
	forecasts, err := forecastCells(ctx, a, l, p)
	if err != nil {
		return err
	}
	byID := map[string]drop.Drop{}
	for _, x := range c.Taken() {
		byID[x.ID] = x
	}
	for i, cell := range l.Cells {
		p.Cells = append(p.Cells, PlannedCell{Number: cell.Number, Name: cell.Label(l.Plan.Factors), Forecast: forecasts[i]})
	}
	seen := make([]counted, len(p.Cells))
	for _, run := range l.Runs {
		if run.Role == drop.Check {
			p.Checks++
			continue
		}
		cell := &p.Cells[run.Cell-1]
		cell.Planned++
		if _, ok := byID[run.Drop]; ok {
			cell.Taken++
			outcome, _ := look.Standing(c.Reduction[run.Drop], c.Decisions[run.Drop])
			if outcome == drop.Void {
				cell.Void++
			}
			seen[run.Cell-1].add(outcome)
		}
	}
	for i, f := range forecasts {
		if w := seen[i].against(f, p.Cells[i].Name); w != nil {
			p.Warnings = append(p.Warnings, w)
		}
	}
	r := &foresee.PlanResult{Forecasts: made(forecasts)}
	r.Gather()
	p.Warnings = append(p.Warnings, r.Warnings...)
	if cv := math.Ceil(1000*supposedScatter(r.Forecasts)) / 1000; cv > 0 && l.Plan.Replicates >= 2 {
		if p.CanShow, err = (plan.PeakTest{CV: cv, Alpha: alphaAsked}).CanShow(l.Plan.Replicates, powerAsked); err != nil {
			p.Warnings = append(p.Warnings, message.Why(err))
		}
	}
	d.Plan = p
	return nil
}

// counted is how many of the drops of a cell broke.
type counted struct{ broke, n int }

func (k *counted) add(o drop.Outcome) {
	switch o {
	case drop.Broke:
		k.broke++
		k.n++
	case drop.Held, drop.Slipped:
		k.n++
	}
}

// against says where a count contradicts the break probability that the plan's spread gave; nil where it does not, or nothing was forecast.
func (k counted) against(f *plan.Forecast, name string) message.Sentence {
	if f == nil || f.Simulations == 0 {
		return nil
	}
	p := compare.CountP(k.broke, k.n, []float64{f.BreakLo, f.BreakHi}) // the simulations leave it open between these
	if !compare.CountContradicts(p) {
		return nil
	}
	return message.Say("%s: %d of %d broke, where the plan's spread let %s %% to %s %% break (p = %s): the strengths and forces supposed in the plan are not those of these specimens, and its break probabilities are not to be used",
		message.Names(name), k.broke, k.n, compare.RoundOutward(100*f.BreakLo, math.Floor), compare.RoundOutward(100*f.BreakHi, math.Ceil), quantity.Significant(p, 2))
}

// A report forecasts up to so many cells by so many simulations each, so that it does not keep a reader waiting.
const (
	maxForecastCells = 200
	mostSimulations  = 2000
)

// forecastCells makes the forecasts again; where that is not possible the report says why and goes without.
func forecastCells(ctx context.Context, a *look.Access, l *plan.Layout, p *PlanReport) ([]*plan.Forecast, error) {
	none := make([]*plan.Forecast, len(l.Cells))
	if len(l.Cells) > maxForecastCells {
		p.Warnings = append(p.Warnings, message.Say("%d cells are too many to be predicted in a report; hardcatch plan does it", len(l.Cells)))
		return none, nil
	}
	few := *l
	few.Plan.Simulations = min(few.Plan.Simulations, mostSimulations)
	out, err := foresee.Forecasts(ctx, a, &few)
	switch {
	case ctx.Err() != nil:
		return nil, err
	case err != nil:
		p.Warnings = append(p.Warnings, message.Why(err))
		return none, nil
	}
	return out, nil
}

func made(all []*plan.Forecast) []*plan.Forecast {
	var out []*plan.Forecast
	for _, f := range all {
		if f != nil {
			out = append(out, f)
		}
	}
	return out
}

// supposedScatter is the mean relative scatter of the peaks that the plan's spread gives when nothing parts: the 5th to the
// 95th percentile of a normal distribution spans 3.29 standard deviations.
func supposedScatter(all []*plan.Forecast) float64 {
	sum, n := 0.0, 0
	for _, f := range all {
		if f.Demand.P05 > 0 && f.Demand.P95 > f.Demand.P05 {
			sum += math.Log(f.Demand.P95.SI()/f.Demand.P05.SI()) / 3.29
			n++
		}
	}
	if n == 0 {
		return 0
	}
	return sum / float64(n)
}
