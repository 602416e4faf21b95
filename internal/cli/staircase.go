package cli

import (
	"bytes"
	"fmt"
	"math"
	"strconv"

	"github.com/hardcatch/hardcatch/internal/foresee"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/plan"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

type staircaseCmd struct {
	File       string          `arg:"" optional:"" help:"Series in CSV: columns height (or slack) and outcome (held, broke), in the order of the drops."`
	Step       quantity.Length `help:"Step of the height; found from the series when left out."`
	Dist       string          `default:"normal" enum:"normal,lognormal" help:"Shape of the tolerance for the likelihood: normal or lognormal."`
	Quantile   []float64       `default:"0.05" help:"Shares that break, whose height is wanted."`
	Confidence float64         `default:"0.95" help:"Confidence of the intervals."`
	Simulate   bool            `help:"Show how a planned series would behave, before a specimen is spent."`
	Start      quantity.Length `help:"With --simulate: first height."`
	N          int             `short:"n" default:"20" help:"With --simulate: number of drops."`
	Mean       quantity.Length `help:"With --simulate: supposed height at which half break."`
	SD         quantity.Length `name:"sd" help:"With --simulate: supposed standard deviation of that height."`
	Seed       uint64          `default:"1" help:"With --simulate: the same seed gives the same result on any number of cores."`
	Runs       int             `default:"2000" help:"With --simulate: number of series."`
	JSON       bool            `name:"json" help:"Print JSON."`
}

// Help is shown below the usage.
func (staircaseCmd) Help() string {
	return `Example: hardcatch staircase series.csv --step "0.1 m"
Before the day: hardcatch staircase --simulate --start "1 m" --step "0.2 m" -n 20 --mean "1.4 m" --sd "0.3 m"

The series: a header such as "height [m],outcome" and one line a drop. After a drop that held the next is a step up, after one that broke a step down. Every specimen is dropped once.`
}

// Run reads a series or simulates a planned one.
func (c *staircaseCmd) Run(a *look.Access, s *streams) error {
	if c.Simulate {
		return c.outlook(a, s)
	}
	if c.File == "" {
		return fmt.Errorf("no series is named; give a CSV file, or plan one with --simulate")
	}
	data, err := s.readInput(c.File)
	if err != nil {
		return err
	}
	r, err := foresee.ReadStaircase(a, c.File, bytes.NewReader(data), foresee.StaircaseOptions{Step: c.Step, Shape: plan.Tolerance(c.Dist), Quantiles: c.Quantile, Confidence: c.Confidence})
	if err != nil {
		return err
	}
	if c.JSON {
		return s.json(r)
	}
	if err := s.series(r); err != nil {
		return err
	}
	s.classic(r)
	s.heading("By maximum likelihood (probit)")
	s.say("  %s", wrap(r.Likelihood.Statement, 94, "  "))
	for _, q := range r.Quantiles {
		s.say("  %s", wrap(q.Statement, 94, "    "))
	}
	s.restsOn(r.Assumptions)
	s.warn(r.Warnings)
	s.cautions()
	return nil
}

func (s *streams) series(r *foresee.Staircase) error {
	s.say("%d {drop|drops}: %d held, %d broke, the outcome changed %s; step %s", len(r.Drops), r.Held, r.Broke, times(r.Reversals), r.Step.Text(3))
	s.say("Next %s: %s (%s)", r.Axis, r.Next.Text(3), r.NextReason)
	s.heading("Series")
	rows := [][]string{{"#", "specimen", r.Axis, "outcome"}}
	for i, d := range r.Drops {
		rows = append(rows, []string{strconv.Itoa(i + 1), d.Specimen, d.Height.Text(3), mark(d.Outcome, true)})
	}
	return s.table(rows)
}

func times(n int) string {
	if n == 1 {
		return "once"
	}
	return fmt.Sprintf("%d times", n)
}

func (s *streams) classic(r *foresee.Staircase) {
	s.heading("By Dixon and Mood (1948)")
	c := r.DixonMood
	if c == nil {
		s.say("  Not given: %s.", wrap(r.NoClassic, 94, "  "))
		return
	}
	if c.Spread == nil {
		s.say("  Half break at %s. The spread is refused: %s.", c.Mean.Text(3), wrap(c.Refused, 94, "  "))
	} else {
		s.say("  Half break at %s (standard error %s); spread %s (standard error %s).", c.Mean.Text(3), c.MeanSE.Text(2), c.Spread.Text(2), c.SpreadSE.Text(2))
	}
	s.say("  From the %d that %s: A = %d, B = %d, (N B - A^2)/N^2 = %.3f, counted in steps above %s.", c.N, c.Basis, c.A, c.B, c.Ratio, c.Lowest.Text(3))
}

func (c *staircaseCmd) outlook(a *look.Access, s *streams) error {
	if c.File != "" {
		return fmt.Errorf("a series and --simulate were both given; leave one out")
	}
	for _, need := range []struct {
		name  string
		value quantity.Length
	}{{"start", c.Start}, {"step", c.Step}, {"mean", c.Mean}, {"sd", c.SD}} {
		if need.value == 0 {
			return fmt.Errorf("--simulate needs --%s; write for example --%s \"0.2 m\"", need.name, need.name)
		}
	}
	if len(c.Quantile) != 1 {
		return fmt.Errorf("--simulate takes one --quantile")
	}
	if c.Dist != string(plan.NormalTolerance) {
		return fmt.Errorf("--simulate takes a normal tolerance only; leave --dist out")
	}
	r, err := foresee.SimulateStaircase(s.ctx, a, plan.UpDownDesign{Start: c.Start, Step: c.Step, N: c.N, Mean: c.Mean, SD: c.SD, Quantile: c.Quantile[0], Confidence: c.Confidence}, c.Runs, c.Seed)
	if err != nil {
		return err
	}
	if c.JSON {
		return s.json(r)
	}
	s.say("%d simulated series of %d drops from %s, seed %d; supposed: half break at %s, standard deviation %s, normal", r.Runs, r.N, r.Start.Text(3), r.Seed, r.Mean.Text(3), r.SD.Text(3))
	if err := s.outlook(r, c.Confidence); err != nil {
		return err
	}
	s.say("\nThis is a simulation of specimens that were made up, not a measurement. Every specimen is dropped once.")
	s.warn(r.Warnings)
	s.cautions()
	return nil
}

// outlook prints one column a step.
func (s *streams) outlook(r *foresee.StaircaseOutlook, confidence float64) error {
	low := strconv.FormatFloat(r.Quantile, 'g', -1, 64)
	level := strconv.FormatFloat(100*confidence, 'g', 4, 64) + " %"
	rows := [][]string{
		{"step"},
		{"half break at, Dixon and Mood: bias"}, {"  standard deviation"}, {"  5 % to 95 %"}, {"  no estimate in"},
		{"half break at, likelihood: bias"}, {"  standard deviation"}, {"  no estimate in"}, {"  held and broke separated in"},
		{"  " + level + " interval holds the truth"}, {"  interval without one end, or both"},
		{low + " quantile (" + r.Truth.Text(3) + "): bias"}, {"  5 % to 95 %"}, {"  " + level + " interval holds the truth"}, {"  interval without one end, or both"},
		{"spread by Dixon and Mood: no estimate in"}, {"  mean"},
		{"specimens broken: mean"}, {"  5 % to 95 %"},
	}
	for _, d := range r.Designs {
		for i, cell := range []string{
			fmt.Sprintf("%s (%g x)", d.Step.Text(3), d.Factor),
			length(d.Classic.Bias), length(d.Classic.SD), span(d.Classic), share(1 - d.Classic.Told),
			length(d.Half.Bias), length(d.Half.SD), share(1 - d.Half.Told), share(d.Separated),
			covered(d.HalfIn), unbounded(d.HalfIn),
			length(d.Low.Bias), span(d.Low), covered(d.LowIn), unbounded(d.LowIn),
			share(1 - d.SpreadTold), length(d.SpreadMean),
			strconv.FormatFloat(d.Broken, 'f', 1, 64), fmt.Sprintf("%d to %d", d.Broken05, d.Broken95),
		} {
			rows[i] = append(rows[i], cell)
		}
	}
	s.say("")
	return s.table(rows)
}

func length(m *float64) string {
	if m == nil {
		return "-"
	}
	return strconv.FormatFloat(*m, 'f', 3, 64) + " m"
}

func span(e plan.UpDownSpread) string {
	if e.P05 == nil {
		return "-"
	}
	return fmt.Sprintf("%.3f to %.3f m", *e.P05, *e.P95)
}

// share rounds halves up whatever sum or difference they come from.
func share(p float64) string {
	return strconv.FormatFloat(math.Floor(1000*p+0.5+1e-6)/10, 'f', 1, 64) + " %"
}

func covered(c plan.UpDownCoverage) string {
	if c.Covered == nil {
		return "-"
	}
	return fmt.Sprintf("%.1f %% (%.1f to %.1f)", 100**c.Covered, 100**c.Lo, 100**c.Hi)
}

func unbounded(c plan.UpDownCoverage) string {
	if c.Bounded == nil {
		return "-"
	}
	return share(1 - *c.Bounded)
}
