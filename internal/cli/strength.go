package cli

import (
	"bytes"
	"fmt"
	"math"
	"strconv"

	"github.com/hardcatch/hardcatch/internal/compare"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/quantity"
	"github.com/hardcatch/hardcatch/internal/view"
)

type strengthCmd struct {
	List       string    `arg:"" help:"Table with the columns value and outcome (held or broke), or at least and at most; - reads standard input."`
	Dist       string    `default:"weibull" enum:"weibull,lognormal,normal,exponential" help:"Distribution: weibull, lognormal, normal or exponential."`
	Confidence float64   `default:"0.95" help:"Confidence of the intervals."`
	Quantile   []float64 `placeholder:"P" help:"Quantiles to estimate, for example 0.05."`
	Seed       uint64    `default:"1" help:"Seed of the test of the fit."`
	JSON       bool      `name:"json" help:"Print JSON."`
}

// Help is shown below the usage.
func (strengthCmd) Help() string {
	return `Example: hardcatch strength slings.csv --dist lognormal --quantile 0.05

slings.csv:
  strength [kN],outcome
  21.4,broke
  22.0,held

A specimen that held shows only that its strength is at least the peak it bore. Bare numbers pass through, so that any life data can be read.`
}

// Run fits the list.
func (c *strengthCmd) Run(a *look.Access, s *streams) error {
	data, err := s.readInput(c.List)
	if err != nil {
		return err
	}
	r, err := view.Strength(s.ctx, a, c.List, bytes.NewReader(data), view.StrengthOptions{Dist: c.Dist, Confidence: c.Confidence, Quantiles: c.Quantile, Seed: c.Seed})
	if err != nil {
		return err
	}
	if c.JSON {
		return s.json(r)
	}
	return s.strength(r)
}

func (s *streams) strength(r *view.StrengthResult) error {
	print := compare.PrinterOf(r.Unit)
	text := print.Value
	s.say("%s", wrap(r.Statement(print).String(), 94, ""))
	s.heading("Fit")
	rows := [][]string{{"distribution", "parameter", "value", "standard error"}}
	for _, p := range []struct {
		name string
		v    *float64
	}{{"shape", r.Shape}, {"scale", r.Scale}, {"mu", r.Mu}, {"sigma", r.Sigma}} {
		if p.v != nil {
			rows = append(rows, []string{r.Dist, p.name, quantity.Significant(*p.v, 6), quantity.Significant(r.SE[p.name], 3)})
		}
	}
	if err := s.table(rows); err != nil {
		return err
	}
	s.say("mean %s, log-likelihood %.3f, AIC %.2f", text(r.Mean), r.LogLik, r.AIC)
	for _, o := range r.Others {
		s.say("beside it: %s, log-likelihood %.3f, AIC %.2f", o.Dist, o.LogLik, o.AIC)
	}
	if g := r.Goodness; g != nil {
		s.say("fit against the product-limit estimate: A2 %.3f, p = %s (%d samples drawn from the fit)", g.A2, quantity.Significant(g.P, 2), g.Replicates)
	}
	s.heading("Quantiles")
	rows = [][]string{{"weaker", "value", fmt.Sprintf("%g %% interval", 100*r.Quantiles[0].Confidence), "method"}}
	for _, q := range r.Quantiles {
		rows = append(rows, []string{fmt.Sprintf("%g %%", 100*q.P), text(q.Value), between(q.Lo, q.Hi, print.Down, print.Up), q.Method})
	}
	if err := s.table(rows); err != nil {
		return err
	}
	for _, q := range r.Quantiles {
		if q.Note != "" {
			s.say("  %g %%: %s", 100*q.P, q.Note)
		}
	}
	s.survival(r.KM, text)
	if c := r.Complete; c != nil {
		s.heading("Every specimen broke")
		s.say("  mean %s, standard deviation %s", text(c.Mean), text(c.SD))
		if c.Characteristic != nil {
			s.say("  characteristic value (5 %% quantile at 75 %% confidence, lognormal): %s", text(*c.Characteristic))
		}
		if c.LessThreeSD != nil {
			s.say("  mean less three standard deviations (common practice, no source): %s", text(*c.LessThreeSD))
		}
	}
	s.warned(r.Warnings)
	s.cautions()
	return nil
}

func (s *streams) survival(km []compare.Survival, text func(float64) string) {
	s.heading("Product-limit estimate (no distribution assumed)")
	rows := [][]string{{"stronger than", "share", "standard error", "log-log interval"}}
	share := func(v float64) string { return strconv.FormatFloat(v, 'f', 4, 64) }
	down := func(v float64) string { return share(math.Floor(v*1e4+1e-9) / 1e4) }
	up := func(v float64) string { return share(math.Ceil(v*1e4-1e-9) / 1e4) }
	for _, p := range km {
		se := "-"
		if p.SE != nil {
			se = share(*p.SE)
		}
		rows = append(rows, []string{text(p.Value), share(p.Survival), se, between(p.Lo, p.Hi, down, up)})
	}
	if err := s.table(rows); err != nil {
		return
	}
}

// between prints an interval of which a side may be open.
func between(lo, hi *float64, down, up func(float64) string) string {
	switch {
	case lo == nil && hi == nil:
		return "-"
	case hi == nil:
		return "at least " + down(*lo)
	case lo == nil:
		return "at most " + up(*hi)
	}
	return down(*lo) + " to " + up(*hi)
}
