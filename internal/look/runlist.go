package look

import (
	"context"
	"errors"
	"sort"

	"github.com/hardcatch/hardcatch/internal/compare"
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/reduce"
	"github.com/hardcatch/hardcatch/internal/store"
)

// Next is what is to be dropped next.
type Next struct {
	Drop  *drop.Drop `json:"drop"`  // null when nothing planned is left
	Left  int        `json:"left"`  // drops planned and not taken, this one included
	Taken int        `json:"taken"` // drops with a record
}

// RunList is what tells planned drops from taken ones, without any reduction.
type RunList struct {
	Drops    []drop.Drop
	Traced   map[string]store.Trace
	At       map[string]int64         // entry of the logbook that holds a drop's record
	Decision map[string]drop.Decision // latest
}

func ReadRunList(ctx context.Context, r store.Reader) (*RunList, error) {
	l := &RunList{Traced: map[string]store.Trace{}, At: map[string]int64{}, Decision: map[string]drop.Decision{}}
	drops, err := r.Drops(ctx)
	if err != nil {
		return nil, err
	}
	for _, d := range drops {
		l.Drops = append(l.Drops, d.Value)
	}
	traces, err := r.Traces(ctx)
	if err != nil {
		return nil, err
	}
	for _, t := range traces {
		l.Traced[t.Value.Drop], l.At[t.Value.Drop] = t.Value, t.Seq
	}
	decisions, err := r.Decisions(ctx)
	for _, d := range decisions {
		l.Decision[d.Value.Drop] = d.Value
	}
	return l, err
}

func (l *RunList) Planned(d drop.Drop) bool {
	_, traced := l.Traced[d.ID]
	var decisions []drop.Decision
	if last, ok := l.Decision[d.ID]; ok {
		decisions = []drop.Decision{last}
	}
	return Planned(d, traced, decisions)
}

// Next is the first planned drop in run order that is not left for later; when all are, the first of them.
func (l *RunList) Next(later map[string]bool) Next {
	n := Next{Taken: len(l.Traced)}
	for _, d := range InRunOrder(l.Drops) {
		if !l.Planned(d) {
			continue
		}
		if n.Drop == nil || later[n.Drop.ID] && !later[d.ID] {
			n.Drop = &d
		}
		n.Left++
	}
	return n
}

// InRunOrder sorts a copy by the place in the run order; drops without one keep their order at the end.
func InRunOrder(drops []drop.Drop) []drop.Drop {
	out := append([]drop.Drop(nil), drops...)
	sort.SliceStable(out, func(i, j int) bool {
		a, b := out[i].Order, out[j].Order
		if a == 0 || b == 0 {
			return a != 0
		}
		return a < b
	})
	return out
}

func CountPlanned(ctx context.Context, r store.Reader) (int, error) {
	l, err := ReadRunList(ctx, r)
	if err != nil {
		return 0, err
	}
	return l.Next(nil).Left, nil
}

// Entry reads one drop of a cell. red is the reduction of the drop named fresh, which need not be read again.
func (l *RunList) Entry(ctx context.Context, r store.Reader, d drop.Drop, red *reduce.Reduction, fresh string) (compare.Entry, error) {
	c := Entered{Reduction: map[string]*reduce.Reduction{}, Trace: l.Traced, Decisions: map[string][]drop.Decision{}}
	if last, ok := l.Decision[d.ID]; ok {
		c.Decisions[d.ID] = []drop.Decision{last}
	}
	if d.ID == fresh {
		c.Reduction[d.ID] = red
		return c.Entry(d), nil
	}
	if _, traced := l.Traced[d.ID]; traced {
		stored, err := r.Reduction(ctx, d.ID)
		switch {
		case err == nil:
			if c.Reduction[d.ID], err = ReadReduction(stored.Value); err != nil {
				return compare.Entry{}, err
			}
		case !errors.Is(err, store.ErrNotFound):
			return compare.Entry{}, err
		}
	}
	return c.Entry(d), nil
}
