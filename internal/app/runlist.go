package app

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

// runList is what tells planned drops from taken ones, without any reduction.
type runList struct {
	drops    []drop.Drop
	traced   map[string]store.Trace
	decision map[string]drop.Decision // latest
}

func readRunList(ctx context.Context, r store.Reader) (*runList, error) {
	l := &runList{traced: map[string]store.Trace{}, decision: map[string]drop.Decision{}}
	drops, err := r.Drops(ctx)
	if err != nil {
		return nil, err
	}
	for _, d := range drops {
		l.drops = append(l.drops, d.Value)
	}
	traces, err := r.Traces(ctx)
	if err != nil {
		return nil, err
	}
	for _, t := range traces {
		l.traced[t.Value.Drop] = t.Value
	}
	decisions, err := r.Decisions(ctx)
	for _, d := range decisions {
		l.decision[d.Value.Drop] = d.Value
	}
	return l, err
}

func (l *runList) planned(d drop.Drop) bool {
	_, traced := l.traced[d.ID]
	var decisions []drop.Decision
	if last, ok := l.decision[d.ID]; ok {
		decisions = []drop.Decision{last}
	}
	return planned(d, traced, decisions)
}

func (l *runList) next() Next {
	n := Next{Taken: len(l.traced)}
	for _, d := range inRunOrder(l.drops) {
		if !l.planned(d) {
			continue
		}
		if n.Drop == nil {
			n.Drop = &d
		}
		n.Left++
	}
	return n
}

// inRunOrder sorts a copy by the place in the run order; drops without one keep their order at the end.
func inRunOrder(drops []drop.Drop) []drop.Drop {
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

func countPlanned(ctx context.Context, r store.Reader) (int, error) {
	l, err := readRunList(ctx, r)
	if err != nil {
		return 0, err
	}
	return l.next().Left, nil
}

// entry reads one drop of a cell. red is the reduction of the drop named fresh, which need not be read again.
func (l *runList) entry(ctx context.Context, r store.Reader, d drop.Drop, red *reduce.Reduction, fresh string) (compare.Entry, error) {
	c := campaign{reduction: map[string]*reduce.Reduction{}, trace: l.traced, decisions: map[string][]drop.Decision{}}
	if last, ok := l.decision[d.ID]; ok {
		c.decisions[d.ID] = []drop.Decision{last}
	}
	if d.ID == fresh {
		c.reduction[d.ID] = red
		return c.entry(d), nil
	}
	if _, traced := l.traced[d.ID]; traced {
		stored, err := r.Reduction(ctx, d.ID)
		switch {
		case err == nil:
			if c.reduction[d.ID], err = readReduction(stored.Value); err != nil {
				return compare.Entry{}, err
			}
		case !errors.Is(err, store.ErrNotFound):
			return compare.Entry{}, err
		}
	}
	return c.entry(d), nil
}
