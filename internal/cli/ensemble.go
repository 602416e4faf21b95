package cli

import (
	"bytes"
	"fmt"
	"math"
	"strconv"

	"github.com/hardcatch/hardcatch/internal/arrest"
	"github.com/hardcatch/hardcatch/internal/arrest/ensemble"
	"github.com/hardcatch/hardcatch/internal/foresee"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

type ensembleCmd struct {
	Case      string  `arg:"" help:"Fall, chain and spread in YAML."`
	N         int     `short:"n" default:"10000" help:"Number of drops at most."`
	Tolerance float64 `placeholder:"SHARE" help:"Stop early when the 95 percent interval of the 95th percentile is within this share of it, for example 0.005."`
	Sobol     int     `default:"2048" help:"Base points for the sensitivity indices; 0 leaves them out."`
	JSON      bool    `name:"json" help:"Print JSON."`
}

// Help is shown below the usage.
func (ensembleCmd) Help() string {
	return `Example: hardcatch ensemble case.yaml -n 1000000

Beside the keys of a case:
  spread:
    fall:              {uniform: 20 mm}
    lanyard.E1:        {lognormal: 10 %}
    lanyard.strength:  {normal: 6 %, min: 10 kN}
  correlations:
    - {between: [lanyard.E1, lanyard.strength], r: 0.4}
  seed: 7

The same seed gives the same drops on any number of cores.`
}

// outward rounds a percentage to two decimals away from the middle.
func outward(pct float64, round func(float64) float64) string {
	return strconv.FormatFloat(round(100*pct)/100, 'f', -1, 64)
}

// Run runs the ensemble.
func (c *ensembleCmd) Run(a *look.Access, s *streams) error {
	data, err := s.readInput(c.Case)
	if err != nil {
		return err
	}
	r, err := foresee.Ensemble(s.ctx, a, c.Case, bytes.NewReader(data), foresee.EnsembleOptions{N: c.N, Tolerance: c.Tolerance, Sobol: c.Sobol})
	if err != nil {
		return err
	}
	if c.JSON {
		return s.json(r)
	}
	least := ""
	if r.LowerBound {
		least = "≥ "
	}
	s.say("%d {drop|drops} (%s), seed %d: mean peak %s%s, standard deviation %s", r.N, r.Stopped, r.Seed, least, quantity.Force(r.Mean), quantity.Force(r.SD).Text(3))
	if r.LowerBound {
		s.say("≥ marks what was cut short, by a break or an early end, and would have been higher: %d {drop|drops} broke", r.Broke)
	}
	var rows [][]string
	for _, of := range []struct {
		title string
		list  []ensemble.Percentile
	}{
		{"Peak force at the load cell, unfiltered", r.Percentiles}, {"Peak force in the chain, which strengths are held against", r.Chain},
		{fmt.Sprintf("Peak force at the load cell through CFC %d, which arrest forces are held against (first %d drops)", arrest.FilterClass, r.FilteredN), r.Filtered},
	} {
		rows = [][]string{{"percentile", "peak", "95 % Monte Carlo interval"}}
		for _, p := range of.list {
			rows = append(rows, []string{fmt.Sprintf("%.4g %%", 100*p.P), least + quantity.Force(p.Value).String(), quantity.Force(p.Lo).String() + " to " + quantity.Force(p.Hi).String()})
		}
		s.heading(of.title)
		if err := s.table(rows); err != nil {
			return err
		}
	}
	s.heading("Breaks")
	s.say("  %d of %d: break probability from %s %% to %s %% (95 %%, exact, for the drops drawn)", r.Broke, r.N, outward(100*r.BreakLo, math.Floor), outward(100*r.BreakHi, math.Ceil))
	for _, b := range r.First {
		s.say("  %s goes first in %d (%.3g)", b.Element, b.Count, b.Probability)
	}
	if len(r.Sobol) > 0 {
		s.heading("What to measure better (share of the variance of the peak)")
		rows = [][]string{{"parameter", "alone", "with interactions"}}
		for _, i := range r.Sobol {
			rows = append(rows, []string{i.Parameter, fmt.Sprintf("%.3f ± %.3f", i.First, i.FirstSE), fmt.Sprintf("%.3f ± %.3f", i.Total, i.TotalSE)})
		}
		if err := s.table(rows); err != nil {
			return err
		}
	}
	s.say("\nThis is a model, not a measurement.")
	s.warn(r.Warnings)
	s.cautions()
	return nil
}
