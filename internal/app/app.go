// Package app holds the use cases: one function for each thing a person does with a campaign.
package app

import (
	"context"
	"fmt"
	"time"

	"github.com/hardcatch/hardcatch/internal/acquire"
	"github.com/hardcatch/hardcatch/internal/acquire/rehearsal"
	"github.com/hardcatch/hardcatch/internal/store"
	"github.com/hardcatch/hardcatch/internal/traceio"
)

// Files opens campaigns. It is given by the program's main, so that no use case knows the driver.
type Files interface {
	Create(ctx context.Context, path string, c store.Campaign) (store.Store, error)
	Open(ctx context.Context, path string) (store.Store, error)
	OpenReadOnly(ctx context.Context, path string) (store.Store, error)
}

// App is the use cases with what they need from outside.
type App struct {
	Files   Files
	Formats *traceio.Registry
	Now     func() time.Time
	Version string // of the program
	// Clock, Sources and Outlets are for live capture and rehearsals; nil in a program without them.
	Clock   acquire.Clock
	Sources Sources
	Outlets func(ctx context.Context, over acquire.Kind, address, topic string) (rehearsal.Outlet, error)
	// Progress is told how far a long action is; nil when nobody watches.
	Progress func(what string, done, total int)
}

func (a *App) progress(what string, done, total int) {
	if a.Progress != nil {
		a.Progress(what, done, total)
	}
}

// within opens a campaign, runs fn and closes it; the first error stands.
func within(s store.Store, err error, fn func(store.Store) error) error {
	if err != nil {
		return err
	}
	err = fn(s)
	if cerr := s.Close(); err == nil {
		err = cerr
	}
	return err
}

// Receipt tells what a change did and where the history now ends.
type Receipt struct {
	Effect string `json:"effect"`
	Seq    int64  `json:"seq"`
	Hash   string `json:"hash"`
}

func receipt(r store.Receipt) Receipt {
	return Receipt{Effect: r.Effect.String(), Seq: r.Seq, Hash: r.Hash.String()}
}

func plural(n int, one, many string) string {
	if n == 1 {
		return fmt.Sprintf("%d %s", n, one)
	}
	return fmt.Sprintf("%d %s", n, many)
}
