package cli

import (
	"fmt"

	"github.com/hardcatch/hardcatch/internal/compare"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/quantity"
	"github.com/hardcatch/hardcatch/internal/view"
)

type compareCmd struct {
	File       string            `arg:"" help:"Campaign file."`
	Confidence float64           `default:"0.95" help:"Confidence of the intervals."`
	Bootstrap  int               `placeholder:"N" help:"Draw the specimens again N times, for example 10000."`
	Seed       uint64            `default:"1" help:"Seed of everything that is drawn."`
	Goodness   bool              `help:"Check each fit of strengths by samples drawn from it."`
	Reference  map[string]string `placeholder:"FACTOR=LEVEL" help:"Level that the others of its factor are compared with, for example knot=sewn; may be given for several factors."`
	Pairs      string            `default:"reference" enum:"reference,all" help:"Which levels are compared: each with the reference, or all pairs."`
	JSON       bool              `name:"json" help:"Print JSON."`
}

// Help is shown below the usage.
func (compareCmd) Help() string {
	return `Example: hardcatch compare trial.hardcatch --bootstrap 10000

A drop that held shows the arrest force and only a lower bound of the strength; a drop that broke the other way round. Everything here takes that into account.`
}

// Run compares.
func (c *compareCmd) Run(a *look.Access, s *streams) error {
	r, err := view.Compare(s.ctx, a, c.File, view.CompareOptions{Confidence: c.Confidence, Seed: c.Seed, Bootstrap: max(0, c.Bootstrap), Goodness: c.Goodness, Reference: c.Reference, AllPairs: c.Pairs == "all"})
	if err != nil {
		return err
	}
	if c.JSON {
		return s.json(r)
	}
	return s.comparison(r)
}

func (s *streams) comparison(r *view.Comparison) error {
	s.campaign(r.Invented, r.Campaign, r.Question)
	s.say("%s", wrap(r.Exploratory.String(), 94, ""))
	if err := s.strengths(r); err != nil {
		return err
	}
	s.contrasts(r.Contrasts, r.NotTested)
	for _, e := range []*compare.Effects{r.PeakEffects, r.StrengthEffects} {
		if err := s.effects(e); err != nil {
			return err
		}
	}
	if len(r.Interference) > 0 {
		s.heading("Will it break? Arrest force against strength, taken as independent")
		for _, i := range r.Interference {
			s.say("  %s", wrap(i.Statement.String(), 92, "    "))
		}
	}
	s.heading("Is the rig the same every day?")
	for _, p := range r.Repeatability {
		s.say("  %s", wrap(p.Statement.String(), 92, "    "))
		for _, f := range p.Flags {
			s.say("    %s", f)
		}
	}
	s.say("  %s", wrap(r.Checks.Statement.String(), 92, "    "))
	for _, v := range r.Checks.Violations {
		s.say("    %s", v)
	}
	for _, o := range r.Outliers {
		s.say("  %s", wrap(o.Statement.String(), 92, "    "))
	}
	if err := s.resampled(r.Bootstrap); err != nil {
		return err
	}
	s.warned(r.Warnings)
	s.warned(r.PeakEffects.Warnings)
	s.warned(r.StrengthEffects.Warnings)
	s.warned(r.Checks.Warnings)
	s.cautions()
	return nil
}

func (s *streams) strengths(r *view.Comparison) error {
	s.heading("Strength by kind of specimen (broke: seen; held: at least the peak)")
	kn3 := func(v float64) string { return quantity.Significant(v/1000, 4) }
	down := func(v float64) string { return quantity.Below(v/1000, 4) }
	up := func(v float64) string { return quantity.Above(v/1000, 4) }
	rows := [][]string{{"kind", "n", "broke", "half are weaker than kN", "interval", "5 % are weaker than kN", "interval"}}
	for _, k := range r.Strengths {
		row := []string{k.Name, fmt.Sprint(k.N), fmt.Sprint(k.Broke)}
		if k.Fit == nil {
			rows = append(rows, append(row, "not known, see below"))
			continue
		}
		for _, p := range []float64{0.5, 0.05} {
			for _, q := range k.Fit.Quantiles {
				if q.P == p {
					row = append(row, kn3(q.Value), between(q.Lo, q.Hi, down, up))
				}
			}
		}
		rows = append(rows, row)
	}
	if err := s.table(rows); err != nil {
		return err
	}
	for _, k := range r.Strengths {
		if k.Fit == nil {
			s.say("  %s", wrap(k.Statement.String(), 92, "    "))
			continue
		}
		if c := k.Fit.Complete; c != nil && c.Characteristic != nil {
			s.say("  %s", wrap(fmt.Sprintf("%s: every one broke; characteristic value (5 %% quantile at 75 %% confidence) %s kN; mean less three standard deviations (common practice, no source) %s kN", k.Name, kn3(*c.Characteristic), kn3(deref(c.LessThreeSD))), 92, "    "))
		}
	}
	for _, w := range view.StrengthWarnings(r.Strengths) {
		s.say("  %s", wrap(w.String(), 92, "    "))
	}
	if len(r.Dependence) > 0 {
		s.heading("If the force of a fall and the strength of its specimen go together")
		for _, d := range r.Dependence {
			s.say("  %s", wrap(d.Statement.String(), 92, "    "))
		}
	}
	if len(r.StrengthRatios) > 0 {
		s.heading("Strength ratios (for a knot: its efficiency)")
		for _, x := range r.StrengthRatios {
			s.say("  %s", wrap(x.Statement.String(), 92, "    "))
		}
	}
	return nil
}

func deref(v *float64) float64 {
	if v == nil {
		return 0
	}
	return *v
}

func (s *streams) contrasts(all []compare.TestedContrast, without []message.Sentence) {
	if len(all)+len(without) == 0 {
		return
	}
	s.heading("Like for like, tested")
	for _, k := range all {
		s.say("  %s: %s", k.Factor, wrap(k.Contrast.Statement.String(), 90, "    "))
		for _, t := range []*compare.ExactTest{k.Break, k.Peak, k.Strength} {
			if t != nil {
				s.say("    %s", wrap(t.Statement.String(), 90, "      "))
			}
		}
		if r := k.Reading(); r != nil {
			s.say("    %s", wrap(r.String(), 90, "      "))
		}
		for _, u := range k.Untested {
			s.say("    Not tested: %s", wrap(u.String(), 86, "      "))
		}
	}
	for _, l := range without {
		s.say("  Not tested: %s", wrap(l.String(), 88, "    "))
	}
}

func (s *streams) effects(e *compare.Effects) error {
	s.heading(fmt.Sprintf("All factors together: %s", e.Of))
	if e.N > 0 {
		s.say("  %s", wrap(message.Text("%s. %d {drop|drops}, %d seen, %d lower {bound|bounds}; standard deviation of the logarithms left: %s %%.", e.Model, e.N, e.Seen, e.Bounds, quantity.Significant(100*e.Scatter.SI(), 2)), 92, "  "))
	}
	for _, x := range e.Effects {
		s.say("  %s", wrap(x.Statement.String(), 92, "    "))
	}
	for _, i := range e.Interactions {
		s.say("  %s", wrap(i.Statement.String(), 92, "    "))
	}
	for _, l := range e.LeftOut {
		s.say("  Not told: %s", wrap(l.String(), 88, "    "))
	}
	return nil
}

func (s *streams) resampled(all []compare.Resampled) error {
	if len(all) == 0 {
		return nil
	}
	s.heading(fmt.Sprintf("Bootstrap (%d draws of the specimens of each cell)", all[0].Draws))
	rows := [][]string{{"figure", "value", "interval", "draws without a number"}}
	for _, x := range all {
		scale, unit := 1.0, ""
		if x.Unit == "N" {
			scale, unit = 1e-3, " kN"
		}
		four := func(round func(float64, int) string) func(float64) string {
			return func(v float64) string { return round(v*scale, 4) + unit }
		}
		rows = append(rows, []string{x.Figure.String(), four(quantity.Significant)(x.Value), between(x.Lo, x.Hi, four(quantity.Below), four(quantity.Above)), fmt.Sprint(x.Failed)})
	}
	return s.table(rows)
}
