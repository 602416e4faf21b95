package app

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"runtime"
	"sync"

	"hardcatch/internal/drop"
	"hardcatch/internal/reduce"
	"hardcatch/internal/store"
	"hardcatch/internal/traceio"
	"hardcatch/internal/traceio/droplist"
)

// AddResult is what adding a list of drops did. A drop whose record cannot be read or reduced is kept
// with its bytes and stands among the problems.
type AddResult struct {
	Drops     int      `json:"drops"`
	Added     int      `json:"added"`
	Revised   int      `json:"revised"`
	Unchanged int      `json:"unchanged"`
	Records   int      `json:"records"`
	Reduced   int      `json:"reduced"`
	Problems  []string `json:"problems"`
	Warnings  []string `json:"warnings"`
}

// AddOptions say how records are read and reduced.
type AddOptions struct {
	Reader traceio.Options
	Filter reduce.Filter
}

type taken struct {
	d        drop.Drop
	original []byte
	out      store.Reduction
	reduced  bool
	problem  string
}

// Add enters the drops of a list with their records from a folder, and reduces them with the campaign's
// rig. The records' bytes are kept unchanged. Adding the same again changes nothing. Everything is
// entered in one commit.
func (a *App) Add(ctx context.Context, path, listName string, list io.Reader, records fs.FS, o AddOptions) (*AddResult, error) {
	l, err := droplist.Read(listName, list)
	if err != nil {
		return nil, err
	}
	res := &AddResult{Drops: len(l.Drops), Problems: []string{}, Warnings: append([]string{}, l.Warnings...)}
	s, err := a.Files.Open(ctx, path)
	return res, within(s, err, func(s store.Store) error {
		rig, err := s.Rig(ctx)
		if errors.Is(err, store.ErrNotFound) {
			return fmt.Errorf("%s: there is no rig yet, and a record cannot be reduced without its mass; enter it with: hardcatch rig %s rig.yaml", path, path)
		}
		if err != nil {
			return err
		}
		all := a.takeAll(ctx, rig.Value, l.Drops, records, o)
		if err := ctx.Err(); err != nil {
			return fmt.Errorf("stopped before anything was entered: %w", err)
		}
		return s.Update(ctx, func(tx store.Tx) error {
			for i := range all {
				if err := enter(ctx, tx, listName, &all[i], res); err != nil {
					return err
				}
			}
			return nil
		})
	})
}

// takeAll reads and reduces the records on all cores, in the order of the list.
func (a *App) takeAll(ctx context.Context, rig drop.Rig, drops []drop.Drop, records fs.FS, o AddOptions) []taken {
	all := make([]taken, len(drops))
	next := make(chan int)
	var done sync.WaitGroup
	var mu sync.Mutex
	count := 0
	for range min(runtime.GOMAXPROCS(0), len(drops)) {
		done.Add(1)
		go func() {
			defer done.Done()
			for i := range next {
				all[i] = a.takeOne(ctx, rig, drops[i], records, o)
				mu.Lock()
				count++
				a.progress("records", count, len(drops))
				mu.Unlock()
			}
		}()
	}
	for i := range drops {
		if ctx.Err() != nil {
			break
		}
		next <- i
	}
	close(next)
	done.Wait()
	return all
}

func (a *App) takeOne(ctx context.Context, rig drop.Rig, d drop.Drop, records fs.FS, o AddOptions) taken {
	t := taken{d: d}
	var err error
	if t.original, err = fs.ReadFile(records, d.Record); err != nil {
		t.problem = fmt.Sprintf("drop %s: its record %s cannot be read (%v); put the file into the records folder or correct the list, and add again", d.ID, d.Record, err)
		return t
	}
	_, t.out, err = a.reduceDrop(ctx, d, t.original, settingsFor(rig, d, o.Filter, hints(o.Reader)))
	if err != nil {
		t.problem = err.Error()
		return t
	}
	t.reduced = true
	return t
}

// enter writes one drop with its record, reduction and entered outcome.
func enter(ctx context.Context, tx store.Tx, listName string, t *taken, res *AddResult) error {
	if t.problem != "" {
		res.Problems = append(res.Problems, fmt.Sprintf("%s:%d: %s", listName, t.d.ListLine, t.problem))
	}
	d := t.d
	d.ListLine = 0 // the place in a file is not part of the drop
	rec, err := tx.AddDrop(ctx, d)
	if err != nil {
		return err
	}
	switch rec.Effect {
	case store.Added:
		res.Added++
	case store.Revised:
		res.Revised++
	case store.Unchanged:
		res.Unchanged++
	}
	if len(t.original) > 0 {
		r, err := tx.AddTrace(ctx, d.ID, d.Record, t.original)
		if err != nil {
			return err
		}
		if r.Effect != store.Unchanged {
			res.Records++
		}
	}
	if t.reduced {
		if _, err := tx.AddReduction(ctx, t.out); err != nil {
			return err
		}
		res.Reduced++
	}
	if d.Entered.Outcome != "" && rec.Effect != store.Unchanged {
		dec := d.Entered
		if dec.Reason == "" {
			dec.Reason = "as written in the drop list"
		}
		if _, err := tx.Decide(ctx, dec); err != nil {
			return err
		}
	}
	return nil
}
