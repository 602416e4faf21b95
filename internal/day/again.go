package day

import (
	"context"
	"errors"

	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/reduce"
	"github.com/hardcatch/hardcatch/internal/store"
)

// again is what is read after a drop, with its cell and the next drop as they are now, after a decision.
func (t Taken) again(ctx context.Context, a *look.Access, path string) (*Taken, error) {
	return &t, a.Read(ctx, path, func(r store.Reader) error {
		list, err := look.ReadRunList(ctx, r)
		if err != nil {
			return err
		}
		var red *reduce.Reduction
		stored, err := r.Reduction(ctx, t.Drop.ID)
		switch {
		case err == nil:
			if red, err = look.ReadReduction(stored.Value); err != nil {
				return err
			}
		case !errors.Is(err, store.ErrNotFound):
			return err
		}
		return t.inCell(ctx, r, list, red)
	})
}
