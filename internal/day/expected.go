package day

import (
	"context"
	"time"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/plan"
	"github.com/hardcatch/hardcatch/internal/quantity"
	"github.com/hardcatch/hardcatch/internal/store"
)

// Expected is what the campaign's plan foresees for the next drop, by the starting assumptions that the plan states: the same figures as
// the command plan prints of its cell.
type Expected struct {
	P05         quantity.Force `json:"p05_N"` // as it would be recorded, specimens that part included
	P50         quantity.Force `json:"p50_N"`
	P95         quantity.Force `json:"p95_N"`
	BreakProb   float64        `json:"break_probability"`
	BreakLo     float64        `json:"break_lo"` // exact 95 % interval of the simulations, for the spread assumed
	BreakHi     float64        `json:"break_hi"`
	Simulations int            `json:"simulations"`
}

// foreseeTime is how long a forecast may take: a drop is prepared in minutes.
const foreseeTime = 5 * time.Minute

// layout is the plan of the campaign, nil when it has none.
func layout(ctx context.Context, a *look.Access, path string) (l *plan.Layout, err error) {
	return l, a.Read(ctx, path, func(r store.Reader) error {
		l, err = look.PlanOf(ctx, r)
		return err
	})
}

// ExpectedOf is the plan's forecast for a drop; nil where the plan does not have it, or has no model of it.
func ExpectedOf(ctx context.Context, l *plan.Layout, id string) (*Expected, error) {
	for _, run := range l.Runs {
		if run.Drop != id {
			continue
		}
		p, cell, ok := l.CellOf(run)
		if !ok {
			return nil, nil
		}
		f, err := p.Forecast(ctx, cell)
		if err != nil {
			return nil, err
		}
		return &Expected{P05: f.Peak.P05, P50: f.Peak.P50, P95: f.Peak.P95, BreakProb: f.BreakProb, BreakLo: f.BreakLo, BreakHi: f.BreakHi, Simulations: f.Simulations}, nil
	}
	return nil, nil
}

// answer lets the program answer what it can, while the checklist is asked.
func (d *Day) answer(ctx context.Context) error {
	if d.state.Phase != Preparing || d.state.Entering {
		return nil
	}
	return d.propose(ctx)
}

// foresee has the forecast for the next drop worked out beside the day, which does not wait for it.
func (d *Day) foresee(ctx context.Context, next drop.Drop) error {
	d.state.Expected = nil
	if e, known := d.foreseen[next.ID]; known {
		d.state.Expected = e
		return nil
	}
	l, err := layout(ctx, d.a, d.file)
	if err != nil || l == nil {
		return err
	}
	ctx, stop := context.WithTimeout(context.WithoutCancel(ctx), foreseeTime)
	d.unforesee()
	d.unforesee = stop
	go func() {
		defer stop()
		e, err := ExpectedOf(ctx, l, next.ID)
		d.mu.Lock()
		defer d.mu.Unlock()
		if ctx.Err() != nil {
			return
		}
		if err != nil {
			d.trouble("the plan's forecast cannot be made: " + err.Error())
		} else {
			d.foreseen[next.ID] = e
		}
		if n := d.state.Next.Drop; n != nil && n.ID == next.ID {
			d.state.Expected = e
			if err := d.answer(ctx); err != nil {
				d.state.Message = message.Why(err)
			}
		}
		d.changed()
	}()
	return nil
}
