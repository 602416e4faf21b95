package foresee

import (
	"context"
	"errors"
	"fmt"
	"io"

	"github.com/hardcatch/hardcatch/internal/arrest"
	"github.com/hardcatch/hardcatch/internal/arrest/ensemble"
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/limits"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/quantity"
	"github.com/hardcatch/hardcatch/internal/traceio/casefile"
)

// ChainResult is every component of a chain against its rating, for one fall.
type ChainResult struct {
	Peak       quantity.Force     `json:"peak_N"` // at the load cell, with nothing allowed to part
	Loads      arrest.Loads       `json:"loads"`  // the same fall by what it is held against
	Fall       quantity.Length    `json:"fall_m"`
	Components []ChainComponent   `json:"components"`
	Statements []string           `json:"statements"`
	Drops      int                `json:"drops"`    // behind the probabilities
	Open       int                `json:"open"`     // of them whose peak was not passed: they count with a lower bound
	Envelope   *ensemble.Envelope `json:"envelope"` // how well a rippled absorber was bounded in them, null without one
	Warnings   []string           `json:"warnings"`
	Cautions   []string           `json:"cautions"`
}

// ChainComponent is one component. Slack is the largest free fall whose peak stays within the limit.
type ChainComponent struct {
	Name    string           `json:"name"`
	Limit   quantity.Force   `json:"limit_N"`
	Kind    limits.Kind      `json:"kind"`
	Edition string           `json:"edition,omitempty"`
	Source  string           `json:"source"`
	Peak    quantity.Force   `json:"peak_N"`       // that the limit is held against: see Against
	Against arrest.Use       `json:"held_against"` // strengths: the force in the chain; arrest forces: the reading through the filter
	Margin  quantity.Ratio   `json:"margin"`       // limit over peak, less one
	First   float64          `json:"goes_first_probability"`
	Slack   *quantity.Length `json:"slack_m"` // null: see Note
	Note    string           `json:"note"`
}

// Chain checks one fall against every component's rating.
func Chain(ctx context.Context, a *look.Access, name string, r io.Reader) (*ChainResult, error) {
	plan, components, err := casefile.ReadChain(name, r)
	if err != nil {
		return nil, err
	}
	if len(components) == 0 {
		return nil, fmt.Errorf("%s: no component has a strength; give textile, absorber or components one", name)
	}
	// What is asked of the components is the largest force, whenever the case would have the run end.
	plan.Case.Unbroken, plan.Case.AtLeast = true, true
	first, err := goesFirst(ctx, a, plan, components)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, stopped(err))
	}
	whole, err := arrest.Run(ctx, &plan.Case, arrest.Options{})
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, stopped(err))
	}
	res := &ChainResult{Peak: whole.PeakForce, Loads: whole.Loads(), Fall: plan.Case.Fall, Drops: first.n, Open: first.open, Envelope: first.envelope, Statements: []string{}, Warnings: doubts(whole), Cautions: drop.Cautions()}
	for i, c := range components {
		use := useOf(c.Limit.Kind)
		share := plan.Case.ShareOf(c.Place)
		force := quantity.Force(share * res.Loads.For(use).SI())
		row := ChainComponent{Name: c.Name, Limit: c.Limit.Value, Kind: c.Limit.Kind, Edition: c.Limit.Edition, Source: c.Limit.Source, Peak: force, Against: use, Margin: quantity.Ratio(c.Limit.Value.SI()/force.SI() - 1), First: first.share[i]}
		if c.Starting {
			row.Source = "starting value, no rating"
		}
		if row.Slack, row.Note, err = slackTo(ctx, plan.Case, quantity.Force(c.Limit.Value.SI()/share), use); err != nil {
			return nil, fmt.Errorf("%s: %w", name, stopped(err))
		}
		if row.Slack != nil {
			res.Statements = append(res.Statements, fmt.Sprintf("%s of slack reaches the %s of %s", row.Slack.Text(3), c.Limit.Value.Text(3), c.Name))
		}
		res.Components = append(res.Components, row)
	}
	for _, e := range whole.Elements {
		if e.Kind == arrest.KindEdge {
			res.Warnings = append(res.Warnings, fmt.Sprintf("on %s itself lies %s: hold the connector or bar there against it; components without a place in the chain are held against the force on the mass's side", e.Name, e.Peak))
		}
	}
	if plan.Case.Floor > 0 {
		res.Warnings = append(res.Warnings, "the slacks are found without the floor")
	}
	if first.open > 0 {
		res.Warnings = append(res.Warnings, fmt.Sprintf("%d of %d drops ended while the force could still rise: they count with a lower bound, and the probabilities may be too low", first.open, first.n))
	}
	res.Warnings = append(res.Warnings, first.warnings...)
	return res, nil
}

// useOf is what a limit of a kind is held against.
func useOf(k limits.Kind) arrest.Use {
	if k == limits.Arrest {
		return arrest.ArrestForce
	}
	return arrest.Strength
}

// stopped says it where the person, and no fault, ended a computation.
func stopped(err error) error {
	if errors.Is(err, context.Canceled) || errors.Is(err, context.DeadlineExceeded) {
		return fmt.Errorf("stopped by you; nothing was kept: %w", err)
	}
	return err
}

// doubts are the warnings of a run that bear on a peak, without those that every result has.
func doubts(r *arrest.Result) []string {
	out := []string{}
	switch r.Certainty {
	case arrest.FloorHit:
		out = append(out, "the mass reaches the floor before its peak: all forces are lower bounds")
	case arrest.RunTooShort:
		out = append(out, "the run ended while the force could still rise: all forces are lower bounds")
	}
	for _, w := range r.Implausible {
		out = append(out, w.String())
	}
	return out
}
