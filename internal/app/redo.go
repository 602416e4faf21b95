package app

import (
	"context"
	"errors"
	"fmt"

	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/reduce"
	"github.com/hardcatch/hardcatch/internal/store"
)

// RedoResult is what reducing again did.
type RedoResult struct {
	Reduced   int      `json:"reduced"`
	Unchanged int      `json:"unchanged"`
	Problems  []string `json:"problems"`
}

// Redo reduces every kept record again with the latest rig and drop entries. filter is nil to keep each
// drop's. Earlier reductions are kept.
func Redo(ctx context.Context, a *look.Access, path string, filter *reduce.Filter) (*RedoResult, error) {
	res := &RedoResult{Problems: []string{}}
	s, err := a.Files.Open(ctx, path)
	return res, look.Within(s, err, func(s store.Store) error {
		rig, err := s.Rig(ctx)
		if err != nil {
			return err
		}
		drops, err := s.Drops(ctx)
		if err != nil {
			return err
		}
		list, err := s.Traces(ctx)
		if err != nil {
			return err
		}
		traces := map[string]store.Trace{}
		for _, t := range list {
			traces[t.Value.Drop] = t.Value
		}
		var out []store.Reduction
		for i, d := range drops {
			if err := ctx.Err(); err != nil {
				return fmt.Errorf("stopped before anything was entered: %w", err)
			}
			t, ok := traces[d.Value.ID]
			if !ok {
				continue
			}
			old, err := s.Reduction(ctx, d.Value.ID)
			if err != nil && !errors.Is(err, store.ErrNotFound) {
				return err
			}
			var stands *store.Reduction
			if err == nil {
				stands = &old.Value
			}
			rec, err := a.Streamed(ctx, s, t, stands)
			if err != nil {
				return err
			}
			use := rec.Kept.Reduce.Filter
			if filter != nil {
				use = *filter
			}
			rec.Kept = look.SettingsFor(rig.Value, d.Value, use, rec.Kept.Reader).WithHand(rec.Kept.Reduce.Hand)
			_, r, err := rec.Entry(ctx)
			if damage := rec.Damage(); damage != nil {
				return damage
			}
			if err != nil {
				res.Problems = append(res.Problems, err.Error())
				continue
			}
			out = append(out, r)
			a.Progress("drops", i+1, len(drops))
		}
		return s.Update(ctx, func(tx store.Tx) error {
			for _, r := range out {
				rec, err := tx.AddReduction(ctx, r)
				if err != nil {
					return err
				}
				if rec.Effect == store.Unchanged {
					res.Unchanged++
				} else {
					res.Reduced++
				}
			}
			return nil
		})
	})
}
