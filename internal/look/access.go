// Package look is an open campaign to look at: what stands in it, its records ready to be drawn, and what was worked out and is kept until the
// logbook changes.
package look

import (
	"context"
	"fmt"
	"time"

	"github.com/hardcatch/hardcatch/internal/reduce"
	"github.com/hardcatch/hardcatch/internal/store"
	"github.com/hardcatch/hardcatch/internal/traceio"
)

// Files opens campaigns. It is given by the program's main, so that no use case knows the driver.
type Files interface {
	Create(ctx context.Context, path string, c store.Campaign) (store.Store, error)
	Open(ctx context.Context, path string) (store.Store, error)
	OpenReadOnly(ctx context.Context, path string) (store.Store, error)
}

// Access is what reading and changing campaigns needs from outside. It is given by the program's main.
type Access struct {
	Files   Files
	Formats *traceio.Registry
	Now     func() time.Time
	Version string // of the program
	// Generations of the reduction; nil = those of this program. Each repeats what it made, the last makes new ones.
	Generations reduce.Generations
	// Watcher is told how far a long action is; nil when nobody watches.
	Watcher func(what string, done, total int)
}

// Progress tells the watcher, if there is one, how far a long action is.
func (a *Access) Progress(what string, done, total int) {
	if a.Watcher != nil {
		a.Watcher(what, done, total)
	}
}

// Known are the generations of the reduction, oldest first.
func (a *Access) Known() reduce.Generations {
	if a.Generations == nil {
		return reduce.KnownGenerations()
	}
	return a.Generations
}

// Generation is the one that made a kept reduction, which alone repeats and draws it.
func (a *Access) Generation(r store.Reduction) (reduce.Generation, error) {
	g, err := a.Known().ByVersion(r.Version)
	if err != nil {
		return g, fmt.Errorf("drop %s: %w", r.Drop, err)
	}
	return g, nil
}

// Within opens a campaign, runs fn and closes it; the first error stands.
func Within(s store.Store, err error, fn func(store.Store) error) error {
	if err != nil {
		return err
	}
	err = fn(s)
	if cerr := s.Close(); err == nil {
		err = cerr
	}
	return err
}

// Read runs fn on one state of a campaign that is not changed.
func (a *Access) Read(ctx context.Context, path string, fn func(store.Reader) error) error {
	s, err := a.Files.OpenReadOnly(ctx, path)
	return Within(s, err, func(s store.Store) error { return s.View(ctx, fn) })
}

// Change runs fn on a campaign; what it enters is entered as a whole or not at all.
func (a *Access) Change(ctx context.Context, path string, fn func(store.Tx) error) error {
	s, err := a.Files.Open(ctx, path)
	return Within(s, err, func(s store.Store) error { return s.Update(ctx, fn) })
}

// Receipt tells what a change did and where the logbook now ends.
type Receipt struct {
	Effect string `json:"effect"`
	Seq    int64  `json:"seq"`
	Hash   string `json:"hash"`
}

func ReceiptOf(r store.Receipt) Receipt {
	return Receipt{Effect: r.Effect.String(), Seq: r.Seq, Hash: r.Hash.String()}
}
