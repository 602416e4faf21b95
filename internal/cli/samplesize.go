package cli

import (
	"fmt"

	"github.com/hardcatch/hardcatch/internal/foresee"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/plan"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

type sampleSizeCmd struct {
	Ratio  float64         `required:"" help:"Ratio of the peaks that should be found, such as 1.2."`
	CV     quantity.Ratio  `name:"cv" required:"" help:"Scatter of the peaks among like specimens: coefficient of variation, 0.08 or '8 %'."`
	N      int             `short:"n" default:"3" help:"Specimens in each of the two groups."`
	Power  quantity.Ratio  `default:"0.8" help:"Probability of finding the difference that is wanted."`
	Alpha  quantity.Ratio  `default:"0.05" help:"False alarms allowed, two-sided."`
	Break  quantity.Ratio  `name:"break-probability" default:"0" help:"Share of the specimens that breaks, so that the arrest force is only a lower bound; by simulation."`
	BreakA *quantity.Ratio `help:"Break probability of one group, to compare break counts."`
	BreakB *quantity.Ratio `help:"Break probability of the other group."`
	Runs   int             `default:"4000" help:"Simulated comparisons."`
	Seed   uint64          `default:"1" help:"The same seed gives the same result on any number of cores."`
	JSON   bool            `name:"json" help:"Print JSON."`
}

// Help is shown below the usage.
func (sampleSizeCmd) Help() string {
	return `Example: hardcatch samplesize --ratio 1.2 --cv "8 %" -n 3 --break-probability "30 %"
Break counts: hardcatch samplesize --ratio 1.2 --cv "8 %" --break-a 0.1 --break-b 0.6`
}

// Run says what a number of specimens can show.
func (c *sampleSizeCmd) Run(a *look.Access, s *streams) error {
	o := foresee.SampleSizeOptions{Ratio: c.Ratio, CV: c.CV.SI(), N: c.N, Power: c.Power.SI(), Alpha: c.Alpha.SI(), Break: c.Break.SI(), Runs: c.Runs, Seed: c.Seed}
	if (c.BreakA == nil) != (c.BreakB == nil) {
		return fmt.Errorf("--break-a and --break-b go together; give both")
	}
	if c.BreakA != nil {
		o.Counts = &[2]float64{c.BreakA.SI(), c.BreakB.SI()}
	}
	r, err := foresee.SampleSizeFor(s.ctx, a, o)
	if err != nil {
		return err
	}
	if c.JSON {
		return s.json(r)
	}
	s.say("What n = %d against %d can show here", r.N, r.N)
	s.say("  %s", wrap(r.CanShow.String(), 94, "  "))
	s.heading(fmt.Sprintf("Peaks that differ by a ratio of %g, all specimens holding (t test of log peaks)", r.Ratio))
	s.say("  Power of %d against %d: %s. Needed for %s: %d a group.", r.N, r.N, plan.PowerRoundedDown(r.Peaks.Power), quantity.Percent(r.PowerWanted), r.Peaks.N)
	if b := r.Censored; b != nil {
		s.heading(fmt.Sprintf("The same when a share breaks (simulated, %d runs, seed %d; likelihood ratio with lower bounds)", b.Runs, b.Seed))
		s.say("  %s", wrap(b.Statement, 94, "  "))
	}
	if k := r.Counts; k != nil {
		s.heading(fmt.Sprintf("Break counts: break probabilities of %s and %s (Fisher's exact test)", quantity.Percent(k.A), quantity.Percent(k.B)))
		s.say("  Power of %d against %d: %s.", r.N, r.N, plan.PowerRoundedDown(k.Power))
		if k.N != nil {
			s.say("  Needed for %s: %d a group.", quantity.Percent(r.PowerWanted), *k.N)
		} else {
			s.say("  No number is given: %s.", wrap(k.Why, 94, "  "))
		}
	}
	s.restsOn(r.Assumptions)
	s.warn(r.Warnings)
	s.cautions()
	return nil
}
