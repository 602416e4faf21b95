package look

import (
	"context"
	"errors"
	"math"
	"time"

	"github.com/hardcatch/hardcatch/internal/compare"
	"github.com/hardcatch/hardcatch/internal/doctor"
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/jobs"
	"github.com/hardcatch/hardcatch/internal/plan"
	"github.com/hardcatch/hardcatch/internal/quantity"
	"github.com/hardcatch/hardcatch/internal/question"
	"github.com/hardcatch/hardcatch/internal/reduce"
	"github.com/hardcatch/hardcatch/internal/store"
)

// Confidence of intervals over a cell.
const Confidence = 0.95

// Entered is a campaign's latest state, read once.
type Entered struct {
	Info      store.Campaign
	Rig       drop.Rig
	RigSeq    int64
	Drops     []drop.Drop
	Reduction map[string]*reduce.Reduction
	RedSeq    map[string]int64
	Trace     map[string]store.Trace
	Decisions map[string][]drop.Decision
	DecidedAt map[string][]string
	Head      store.Head
	Plan      *plan.Layout // nil when the campaign was not planned
	Asked     []question.Asked
	TakenBy   question.Taken
	Findings  []doctor.Finding // what would make a number wrong, what leaves drops out first
	leftOut   map[string]string
}

func load(ctx context.Context, s store.Reader) (*Entered, error) {
	return loadWith(ctx, s, func(r store.Revision[store.Reduction]) (*reduce.Reduction, error) { return ReadReduction(r.Value) })
}

// loadWith reads a campaign; parse may give back a reduction that it has read before, and is called on all cores at once.
func loadWith(ctx context.Context, s store.Reader, parse func(store.Revision[store.Reduction]) (*reduce.Reduction, error)) (*Entered, error) {
	c := &Entered{Reduction: map[string]*reduce.Reduction{}, RedSeq: map[string]int64{}, Trace: map[string]store.Trace{}, Decisions: map[string][]drop.Decision{}, DecidedAt: map[string][]string{}}
	info, err := s.Campaign(ctx)
	if err != nil {
		return nil, err
	}
	c.Info = info.Value
	rig, err := s.Rig(ctx)
	if err != nil && !errors.Is(err, store.ErrNotFound) {
		return nil, err
	}
	c.Rig, c.RigSeq = rig.Value, rig.Seq
	entered := entryDays{rig: dayOf(rig.At), drops: map[string]string{}}
	drops, err := s.Drops(ctx)
	if err != nil {
		return nil, err
	}
	latest, err := s.Decisions(ctx)
	if err != nil {
		return nil, err
	}
	decided := map[string]bool{}
	for _, d := range latest {
		decided[d.Value.Drop] = true
	}
	for _, d := range drops {
		c.Drops = append(c.Drops, d.Value)
		entered.drops[d.Value.ID] = dayOf(d.At)
		if !decided[d.Value.ID] {
			continue
		}
		hist, err := s.DecisionHistory(ctx, d.Value.ID)
		if err != nil {
			return nil, err
		}
		for _, h := range hist {
			c.Decisions[d.Value.ID] = append(c.Decisions[d.Value.ID], h.Value)
			c.DecidedAt[d.Value.ID] = append(c.DecidedAt[d.Value.ID], h.At.UTC().Format("2006-01-02 15:04 UTC"))
		}
	}
	rs, err := s.Reductions(ctx)
	if err != nil {
		return nil, err
	}
	reds := make([]*reduce.Reduction, len(rs))
	err = jobs.Local(ctx, len(rs), func() func(context.Context, int) error {
		return func(_ context.Context, i int) (err error) {
			reds[i], err = parse(rs[i])
			return err
		}
	}, nil)
	if err != nil {
		return nil, err
	}
	for i, r := range rs {
		c.Reduction[r.Value.Drop], c.RedSeq[r.Value.Drop] = reds[i], r.Seq
	}
	ts, err := s.Traces(ctx)
	if err != nil {
		return nil, err
	}
	for _, t := range ts {
		c.Trace[t.Value.Drop] = t.Value
	}
	c.Info.Invented = c.invented()
	var planned time.Time
	if c.Plan, planned, err = planSince(ctx, s); err != nil {
		return nil, err
	}
	if c.Plan != nil {
		entered.plan = dayOf(planned)
	}
	if c.Asked, c.TakenBy, err = readAsked(ctx, s); err != nil {
		return nil, err
	}
	settled, err := settledIn(ctx, s)
	if err != nil {
		return nil, err
	}
	c.examine(entered, settled)
	c.Head, err = s.Head(ctx)
	return c, err
}

// View loads a campaign for reading.
func (a *Access) View(ctx context.Context, path string, fn func(*Entered, store.Reader) error) error {
	return a.Read(ctx, path, func(r store.Reader) error {
		c, err := load(ctx, r)
		if err != nil {
			return err
		}
		return fn(c, r)
	})
}

func (c *Entered) Planned(d drop.Drop) bool {
	_, traced := c.Trace[d.ID]
	return Planned(d, traced, c.Decisions[d.ID])
}

// Taken is the drops that are not merely planned.
func (c *Entered) Taken() []drop.Drop {
	var out []drop.Drop
	for _, d := range c.Drops {
		if !c.Planned(d) {
			out = append(out, d)
		}
	}
	return out
}

func (c *Entered) Entry(d drop.Drop) compare.Entry {
	r := c.Reduction[d.ID]
	e := compare.Entry{Drop: d, Peak: quantity.Force(math.NaN()), Trusted: true, Planned: c.Planned(d), LeftOut: c.leftOut[d.ID]}
	e.Outcome, e.Decided = Standing(r, c.Decisions[d.ID])
	if n := len(c.Decisions[d.ID]); e.Decided {
		e.Reason = c.Decisions[d.ID][n-1].Reason
	}
	if r != nil {
		e.Peak, e.Expanded, e.Audit, e.Trusted, e.CutOff = r.Peak, r.PeakExpanded, string(r.AuditVerdict), r.AuditVerdict != reduce.Disagrees, r.PeakHidden
		e.Rebuilt = r.PeakInterval
		e.NoScale = !r.ScaleKnown
	}
	return e
}

// cells are the cells of the trial drops.
func (c *Entered) cells() ([]compare.Cell, error) { return compare.Cells(c.Entries(), Confidence) }

func (c *Entered) Entries() []compare.Entry {
	entries := make([]compare.Entry, len(c.Drops))
	for i, d := range c.Drops {
		entries[i] = c.Entry(d)
	}
	return entries
}
