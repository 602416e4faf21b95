package app

import (
	"context"
	"sort"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/store"
)

// Next is what is to be dropped next.
type Next struct {
	Drop  *drop.Drop `json:"drop"`  // null when nothing planned is left
	Left  int        `json:"left"`  // drops planned and not taken, this one included
	Taken int        `json:"taken"` // drops with a record
}

// NextDrop finds the next planned drop in run order that has no record. Drops without a place in the run order
// come last, in the order in which they were entered.
func (a *App) NextDrop(ctx context.Context, path string) (out Next, err error) {
	s, err := a.Files.OpenReadOnly(ctx, path)
	return out, within(s, err, func(s store.Store) error {
		return s.View(ctx, func(r store.Reader) error {
			list, err := readRunList(ctx, r)
			if err != nil {
				return err
			}
			out = list.next()
			return nil
		})
	})
}

// AwaitedDrop is the planned drop before which the checklist was last entered, which a record found in a spool most
// likely belongs to; nil when that drop was taken.
func (a *App) AwaitedDrop(ctx context.Context, path string) (out *drop.Drop, err error) {
	s, err := a.Files.OpenReadOnly(ctx, path)
	return out, within(s, err, func(s store.Store) error {
		return s.View(ctx, func(r store.Reader) error {
			lists, err := r.Checklists(ctx)
			if err != nil || len(lists) == 0 {
				return err
			}
			last := lists[0]
			for _, l := range lists {
				if l.Seq > last.Seq {
					last = l
				}
			}
			runs, err := readRunList(ctx, r)
			if err != nil {
				return err
			}
			for _, d := range runs.drops {
				if d.ID == last.Value.Drop && runs.planned(d) {
					out = &d
				}
			}
			return nil
		})
	})
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
