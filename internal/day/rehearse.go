package day

import (
	"context"
	"errors"
	"fmt"

	"github.com/hardcatch/hardcatch/internal/acquire"
	"github.com/hardcatch/hardcatch/internal/acquire/rehearsal"
	"github.com/hardcatch/hardcatch/internal/acquire/simdev"
)

// RehearseOptions say what is played, and over what.
type RehearseOptions struct {
	rehearsal.Settings
	Over    acquire.Kind // tcp, serial or mqtt
	Address string       // "" = chosen
	Topic   string
}

// Rehearsal is a running rehearsal.
type Rehearsal struct {
	Address  string `json:"address"`
	Scenario string `json:"scenario"`
	Source   string `json:"source"` // description of the source, as a file
	Release  func() `json:"-"`      // lets the mass go, where that is done by hand
}

// Rehearse plays the simulated rig as a stream. said is told where to connect before anything is sent. That ctx
// ended is no error.
func Rehearse(ctx context.Context, b *Bench, o RehearseOptions, said func(Rehearsal)) (rehearsal.Tally, error) {
	if b.Outlets == nil || b.Clock == nil {
		return rehearsal.Tally{}, fmt.Errorf("this program was built without live sources")
	}
	p, err := rehearsal.NewPlayer(ctx, o.Settings)
	if err != nil {
		return rehearsal.Tally{}, fmt.Errorf("rehearsal: %w", err)
	}
	out, err := b.Outlets(ctx, o.Over, o.Address, o.Topic)
	if err != nil {
		return rehearsal.Tally{}, fmt.Errorf("rehearsal: %w", err)
	}
	said(Rehearsal{Address: out.Address(), Scenario: simdev.Scenario, Source: o.YAML(out), Release: p.Release})
	t, err := rehearsal.Run(ctx, p, out, b.Clock)
	if cerr := out.Close(); err == nil {
		err = cerr
	}
	if errors.Is(err, context.Canceled) {
		err = nil
	}
	if err != nil {
		return t, fmt.Errorf("rehearsal: %w", err)
	}
	return t, nil
}
