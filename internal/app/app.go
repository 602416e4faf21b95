// Package app holds the use cases: one function for each thing a person does with a campaign.
package app

import (
	"context"
	"time"

	"github.com/hardcatch/hardcatch/internal/acquire"
	"github.com/hardcatch/hardcatch/internal/acquire/rehearsal"
	"github.com/hardcatch/hardcatch/internal/traceio"
)

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
