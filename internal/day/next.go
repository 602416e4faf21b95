package day

import (
	"context"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/store"
)

// NextDrop finds the next planned drop in run order that has no record. Drops without a place in the run order
// come last, in the order in which they were entered. Those left for later come after all others.
func NextDrop(ctx context.Context, a *look.Access, path string, later map[string]bool) (out look.Next, err error) {
	return out, a.Read(ctx, path, func(r store.Reader) error {
		list, err := look.ReadRunList(ctx, r)
		if err != nil {
			return err
		}
		out = list.Next(later)
		return nil
	})
}

// AwaitedDrop is the planned drop before which the checklist was last entered, which a record found in a spool most
// likely belongs to; nil when that drop was taken.
func AwaitedDrop(ctx context.Context, a *look.Access, path string) (out *drop.Drop, err error) {
	return out, a.Read(ctx, path, func(r store.Reader) error {
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
		runs, err := look.ReadRunList(ctx, r)
		if err != nil {
			return err
		}
		for _, d := range runs.Drops {
			if d.ID == last.Value.Drop && runs.Planned(d) {
				out = &d
			}
		}
		return nil
	})
}

// dropNamed is the drop of that name.
func dropNamed(ctx context.Context, a *look.Access, path, id string) (out drop.Drop, err error) {
	return out, a.Read(ctx, path, func(r store.Reader) error {
		out, err = look.DropOf(ctx, r, id)
		return err
	})
}
