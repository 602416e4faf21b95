package app

import (
	"context"
	"errors"
	"fmt"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/jobs"
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

// Redo reduces every kept record again with the latest rig and drop entries, on all cores. filter is nil to keep each
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
		again := make([]redone, len(drops))
		count := 0
		err = jobs.Local(ctx, len(drops), func() func(context.Context, int) error {
			return func(ctx context.Context, i int) (err error) {
				again[i], err = redoOne(ctx, a, s, rig.Value, drops[i].Value, traces, filter)
				return err
			}
		}, func(int) bool {
			count++
			a.Progress("drops", count, len(drops))
			return true
		})
		if err := errors.Join(ctx.Err(), err); err != nil {
			return fmt.Errorf("stopped before anything was entered: %w", err)
		}
		// They are entered in the order of the drops, whichever was ready first.
		var out []store.Reduction
		for _, r := range again {
			if r.problem != "" {
				res.Problems = append(res.Problems, r.problem)
			} else if r.done {
				out = append(out, r.out)
			}
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

// redone is a drop that was reduced again, or why it could not be; neither where it has no record.
type redone struct {
	out     store.Reduction
	done    bool
	problem string
}

// redoOne reduces the kept record of one drop again.
func redoOne(ctx context.Context, a *look.Access, s store.Reader, rig drop.Rig, d drop.Drop, traces map[string]store.Trace, filter *reduce.Filter) (redone, error) {
	t, ok := traces[d.ID]
	if !ok {
		return redone{}, nil
	}
	old, err := s.Reduction(ctx, d.ID)
	if err != nil && !errors.Is(err, store.ErrNotFound) {
		return redone{}, err
	}
	var stands *store.Reduction
	if err == nil {
		stands = &old.Value
	}
	rec, err := a.Streamed(ctx, s, t, stands)
	if err != nil {
		return redone{}, err
	}
	use := rec.Kept.Reduce.Filter
	if filter != nil {
		use = *filter
	}
	rec.Kept = look.SettingsFor(rig, d, use, rec.Kept.Reader).WithHand(rec.Kept.Reduce.Hand)
	_, r, unread := rec.Entry(ctx)
	if stop := errors.Join(ctx.Err(), rec.Damage()); stop != nil {
		return redone{}, stop
	}
	if unread != nil {
		return redone{problem: unread.Error()}, nil //nolint:nilerr // the others go on, and this one is said
	}
	return redone{out: r, done: true}, nil
}
