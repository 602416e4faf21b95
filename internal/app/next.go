package app

import (
	"context"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/store"
)

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
