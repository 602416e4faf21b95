package day

import (
	"context"
	"errors"
	"fmt"

	"github.com/hardcatch/hardcatch/internal/acquire"
	"github.com/hardcatch/hardcatch/internal/acquire/rehearsal"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/plan"
	"github.com/hardcatch/hardcatch/internal/store"
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

// Planned gives the settings the drops of a campaign's plan that are still to be taken, in the order of the run: mass, fall, specimen and rig are those of
// the plan. It says which they are.
func (o *RehearseOptions) Planned(ctx context.Context, a *look.Access, path string) (drops []string, err error) {
	err = a.View(ctx, path, func(c *look.Entered, _ store.Reader) error {
		if c.Plan == nil {
			return fmt.Errorf("%s has no plan; lay one out with hardcatch plan, or rehearse without a file", path)
		}
		open := map[string]bool{}
		for _, id := range look.ProgressOf(c.Plan, c.Taken()).Open {
			open[id] = true
		}
		var runs []plan.Run
		for _, r := range c.Plan.Runs {
			if open[r.Drop] {
				runs = append(runs, r)
				drops = append(drops, r.Drop)
			}
		}
		if len(runs) == 0 {
			return fmt.Errorf("%s: every planned drop is taken", path)
		}
		if o.Drops > 0 && o.Drops < len(runs) {
			runs, drops = runs[:o.Drops], drops[:o.Drops]
		}
		o.Drops = len(runs)
		o.Falls, err = c.Plan.Play(runs, o.Seed)
		return err
	})
	return drops, err
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
	said(Rehearsal{Address: out.Address(), Scenario: o.Scenario(), Source: o.YAML(out), Release: p.Release})
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
