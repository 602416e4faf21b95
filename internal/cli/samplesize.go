package cli

import (
	"bytes"
	"fmt"
	"slices"
	"strings"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/foresee"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/plan"
	"github.com/hardcatch/hardcatch/internal/quantity"
	"github.com/hardcatch/hardcatch/internal/question"
	"github.com/hardcatch/hardcatch/internal/traceio/questionfile"
)

type sampleSizeCmd struct {
	Questions string          `placeholder:"FILE" help:"A file of questions: how many specimens answer one of them, by the analysis that answers it."`
	Name      string          `help:"Which question of the file; the first when not given."`
	Suppose   string          `placeholder:"VALUE" help:"What the question asks about, as you suppose it: 18 kN, 0.6, 20 %."`
	Ratio     float64         `help:"Ratio of the peaks that should be found, such as 1.2."`
	CV        quantity.Ratio  `name:"cv" placeholder:"SHARE" help:"Scatter of the peaks among like specimens: coefficient of variation, 0.08 or '8 %'."`
	N         int             `short:"n" default:"3" help:"Specimens in each of the two groups; for a question the specimens that answer it, of a ratio in each of its two kinds."`
	Power     quantity.Ratio  `default:"0.8" help:"Probability of finding the difference that is wanted."`
	Alpha     quantity.Ratio  `default:"0.05" help:"False alarms allowed, two-sided."`
	Break     quantity.Ratio  `name:"break-probability" default:"0" help:"Share of the specimens that breaks, so that the arrest force is only a lower bound; by simulation."`
	BreakA    *quantity.Ratio `help:"Break probability of one group, to compare break counts."`
	BreakB    *quantity.Ratio `help:"Break probability of the other group."`
	Runs      int             `default:"4000" help:"Simulated comparisons."`
	Seed      uint64          `default:"1" help:"The same seed gives the same result on any number of cores."`
	JSON      bool            `name:"json" help:"Print JSON."`
}

// Help is shown below the usage.
func (sampleSizeCmd) Help() string {
	return `Example: hardcatch samplesize --ratio 1.2 --cv "8 %" -n 3 --break-probability "30 %"

Break counts: hardcatch samplesize --ratio 1.2 --cv "8 %" --break-a 0.1 --break-b 0.6

A question: hardcatch samplesize --questions questions.yaml --name "four winters" --suppose "18 kN" --cv "8 %" -n 12`
}

// Run says what a number of specimens can show.
func (c *sampleSizeCmd) Run(a *look.Access, s *streams) error {
	if c.Questions != "" {
		return c.question(a, s)
	}
	if c.Ratio == 0 || c.CV == 0 {
		return fmt.Errorf("give --ratio and --cv to compare two groups, or --questions FILE with --suppose and --cv for a question; see hardcatch samplesize --help")
	}
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

// names are those of the questions of a file.
func names(all []drop.Question) (out []string) {
	for _, q := range all {
		out = append(out, q.ID)
	}
	return out
}

// question says how many specimens a question needs.
func (c *sampleSizeCmd) question(a *look.Access, s *streams) error {
	data, err := s.readInput(c.Questions)
	if err != nil {
		return err
	}
	all, err := questionfile.Read(c.Questions, bytes.NewReader(data))
	if err != nil {
		return err
	}
	q := all[0]
	if c.Name != "" {
		i := slices.IndexFunc(all, func(q drop.Question) bool { return q.ID == c.Name })
		if i < 0 {
			return fmt.Errorf("%s: there is no question %q; there are %s", c.Questions, c.Name, strings.Join(names(all), ", "))
		}
		q = all[i]
	}
	if c.Suppose == "" || c.CV == 0 {
		return fmt.Errorf("%s: question %s: give --suppose, what you suppose of it (%s), and --cv, the scatter among like specimens, for example '8 %%'", c.Questions, q.ID, question.QuantityWords(q))
	}
	suppose, err := q.ReadValue(c.Suppose)
	if err != nil {
		return fmt.Errorf("--suppose: %w", err)
	}
	r, err := foresee.AnswerSizeFor(s.ctx, a, foresee.AnswerSizeOptions{
		Question: q, Questions: len(all), Suppose: suppose, CV: c.CV.SI(), Break: c.Break.SI(), N: c.N, Power: c.Power.SI(), Runs: c.Runs, Seed: c.Seed,
	})
	if err != nil {
		return err
	}
	if c.JSON {
		return s.json(r)
	}
	s.say("%s: %s", r.ID, wrap(fmt.Sprintf("is %s %s?", r.Question, question.BoundWords(q)), 90, "  "))
	s.say("  %s", wrap(r.Statement.String(), 92, "  "))
	s.say("  Supposed: %s; %s.", c.Suppose, wrap(fmt.Sprintf("%s share the risks; %d simulated campaigns, seed %d, standard error of the probabilities %.1f %%", look.Plural(r.Questions, "question", "questions"), r.Runs, r.Seed, 100*r.At.MCError), 80, "    "))
	s.restsOn(r.Assumptions)
	s.cautions()
	return nil
}
