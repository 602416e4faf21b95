package app

import (
	"context"
	"errors"
	"math"

	"github.com/hardcatch/hardcatch/internal/compare"
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/plan"
	"github.com/hardcatch/hardcatch/internal/quantity"
	"github.com/hardcatch/hardcatch/internal/reduce"
	"github.com/hardcatch/hardcatch/internal/store"
)

// confidence of intervals over a cell.
const confidence = 0.95

// campaign is a campaign's latest state, read once.
type campaign struct {
	info      store.Campaign
	rig       drop.Rig
	rigSeq    int64
	drops     []drop.Drop
	reduction map[string]*reduce.Reduction
	redSeq    map[string]int64
	trace     map[string]store.Trace
	decisions map[string][]drop.Decision
	decidedAt map[string][]string
	head      store.Head
	plan      *plan.Layout // nil when the campaign was not planned
}

func load(ctx context.Context, s store.Reader) (*campaign, error) {
	return loadWith(ctx, s, func(r store.Revision[store.Reduction]) (*reduce.Reduction, error) { return readReduction(r.Value) })
}

// loadWith reads a campaign; parse may give back a reduction that it has read before.
func loadWith(ctx context.Context, s store.Reader, parse func(store.Revision[store.Reduction]) (*reduce.Reduction, error)) (*campaign, error) {
	c := &campaign{reduction: map[string]*reduce.Reduction{}, redSeq: map[string]int64{}, trace: map[string]store.Trace{}, decisions: map[string][]drop.Decision{}, decidedAt: map[string][]string{}}
	info, err := s.Campaign(ctx)
	if err != nil {
		return nil, err
	}
	c.info = info.Value
	rig, err := s.Rig(ctx)
	if err != nil && !errors.Is(err, store.ErrNotFound) {
		return nil, err
	}
	c.rig, c.rigSeq = rig.Value, rig.Seq
	drops, err := s.Drops(ctx)
	if err != nil {
		return nil, err
	}
	for _, d := range drops {
		c.drops = append(c.drops, d.Value)
		hist, err := s.DecisionHistory(ctx, d.Value.ID)
		if err != nil {
			return nil, err
		}
		for _, h := range hist {
			c.decisions[d.Value.ID] = append(c.decisions[d.Value.ID], h.Value)
			c.decidedAt[d.Value.ID] = append(c.decidedAt[d.Value.ID], h.At.UTC().Format("2006-01-02 15:04 UTC"))
		}
	}
	rs, err := s.Reductions(ctx)
	if err != nil {
		return nil, err
	}
	for _, r := range rs {
		red, err := parse(r)
		if err != nil {
			return nil, err
		}
		c.reduction[r.Value.Drop], c.redSeq[r.Value.Drop] = red, r.Seq
	}
	ts, err := s.Traces(ctx)
	if err != nil {
		return nil, err
	}
	for _, t := range ts {
		c.trace[t.Value.Drop] = t.Value
	}
	if c.plan, err = readPlan(ctx, s); err != nil {
		return nil, err
	}
	c.head, err = s.Head(ctx)
	return c, err
}

// view loads a campaign for reading.
func (a *App) view(ctx context.Context, path string, fn func(*campaign, store.Reader) error) error {
	s, err := a.Files.OpenReadOnly(ctx, path)
	return within(s, err, func(s store.Store) error {
		return s.View(ctx, func(r store.Reader) error {
			c, err := load(ctx, r)
			if err != nil {
				return err
			}
			return fn(c, r)
		})
	})
}

func (c *campaign) planned(d drop.Drop) bool {
	_, traced := c.trace[d.ID]
	return planned(d, traced, c.decisions[d.ID])
}

// taken is the drops that are not merely planned.
func (c *campaign) taken() []drop.Drop {
	var out []drop.Drop
	for _, d := range c.drops {
		if !c.planned(d) {
			out = append(out, d)
		}
	}
	return out
}

func (c *campaign) entry(d drop.Drop) compare.Entry {
	r := c.reduction[d.ID]
	e := compare.Entry{Drop: d, Peak: quantity.Force(math.NaN()), Trusted: true, Planned: c.planned(d)}
	e.Outcome, e.Decided = standing(r, c.decisions[d.ID])
	if n := len(c.decisions[d.ID]); e.Decided {
		e.Reason = c.decisions[d.ID][n-1].Reason
	}
	if r != nil {
		e.Peak, e.Expanded, e.Audit, e.Trusted, e.CutOff = r.Peak, r.PeakExpanded, string(r.AuditVerdict), r.AuditVerdict != reduce.Disagrees, r.Clipped
		e.NoScale = !r.ScaleKnown
	}
	return e
}

// cells are the cells of the trial drops.
func (c *campaign) cells() ([]compare.Cell, error) { return compare.Cells(c.entries(), confidence) }

func (c *campaign) entries() []compare.Entry {
	entries := make([]compare.Entry, len(c.drops))
	for i, d := range c.drops {
		entries[i] = c.entry(d)
	}
	return entries
}
