package cli

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"github.com/hardcatch/hardcatch/internal/compare"
	"github.com/hardcatch/hardcatch/internal/foresee"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/num/censor"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

type nextCmd struct {
	File     string         `arg:"" help:"Campaign file."`
	Goal     string         `default:"strength" help:"What is to be told: strength, effect or slack."`
	Of       string         `help:"Kind of specimen, its levels without the fall, such as 'polyester, sewn eyes, new'; all when not given."`
	Quantile quantity.Ratio `default:"0.05" help:"Quantile of the strength."`
	Dist     string         `default:"weibull" help:"Distribution of the strength: weibull or lognormal."`
	Factor   string         `help:"Factor of the effect; the first that varies when not given."`
	Levels   string         `help:"Its two levels, such as 'new/four winters'; the first two when not given."`
	Measure  string         `default:"strength" help:"What the effect is on: strength or peak."`
	Limit    quantity.Force `help:"Limit that the arrest force passes, for the goal slack, such as '12 kN'."`
	All      bool           `help:"Show every candidate, not the best of each kind of specimen only."`
	Ahead    int            `default:"2" help:"Drops of one kind and fall that are planned together at most, 1 to 4."`
	Rerig    float64        `default:"0.25" help:"What going to another fall than that of the last drop costs, in specimens."`
	Draws    int            `default:"400" help:"Simulated outcomes for each candidate."`
	Seed     uint64         `default:"1" help:"The same seed gives the same result."`
	JSON     bool           `name:"json" help:"Print JSON."`
}

// Help is shown below the usage.
func (nextCmd) Help() string {
	return `Example: hardcatch next trial.hardcatch --quantile "5 %"
An effect: hardcatch next trial.hardcatch --goal effect --factor conditioning --levels "new/four winters"
A limit:   hardcatch next trial.hardcatch --goal slack --limit "12 kN"`
}

func (c *nextCmd) question() (q compare.NextQuestion, err error) {
	q = compare.NextQuestion{Goal: compare.NextGoal(c.Goal), Of: c.Of, Quantile: c.Quantile.SI(), Factor: c.Factor, Limit: c.Limit, Draws: c.Draws, Seed: c.Seed, Ahead: c.Ahead, ReRig: c.Rerig}
	if q.Family, err = censor.ParseFamily(c.Dist); err != nil {
		return q, fmt.Errorf("--dist: %w", err)
	}
	switch c.Measure {
	case "strength":
	case "peak":
		q.Peak = true
	default:
		return q, fmt.Errorf("--measure %q is not known; it is strength or peak", c.Measure)
	}
	if c.Levels != "" {
		a, b, ok := strings.Cut(c.Levels, "/")
		if !ok {
			return q, fmt.Errorf("--levels %q has no stroke between two levels; write for example 'new/four winters'", c.Levels)
		}
		q.A, q.B = strings.TrimSpace(a), strings.TrimSpace(b)
	}
	return q, nil
}

// Run ranks candidate drops.
func (c *nextCmd) Run(a *look.Access, s *streams) error {
	q, err := c.question()
	if err != nil {
		return err
	}
	r, err := foresee.Suggest(s.ctx, a, c.File, q)
	if err != nil {
		return err
	}
	if c.JSON {
		return s.json(r)
	}
	return s.suggestion(r, c.All)
}

func (s *streams) suggestion(r *foresee.Suggestion, all bool) error {
	if r.Invented {
		s.say("INVENTED SCENARIO: simulated records, no real product.")
	}
	s.say("Next drop for the %s", wrap(r.Target.String(), 90, "  "))
	if len(r.Choices) == 0 {
		s.say("\nNo drop can be suggested; see what was refused and the warnings.")
	}
	if len(r.Stop) > 0 {
		s.say("\nStop: %s.", wrap(r.Stop.String(), 90, "  "))
	}
	shown := slices.DeleteFunc(slices.Clone(r.Choices), func(k compare.NextChoice) bool { return !all && !k.Best })
	if len(shown) > 0 {
		s.heading("The drops that would tell most (now, expected: upper over lower end of the 95 % interval)")
		rows := [][]string{{"#", "specimen", "fall", "tried", "break", "now", "expected", "shrinks by", "gives an interval", "drops", "cost"}}
		for i, k := range shown {
			shrink := "-"
			if k.Shrinkage != nil {
				shrink = fmt.Sprintf("%.1f ± %.1f %%", *k.Shrinkage, *k.ShrinkageSE)
			}
			rows = append(rows, []string{strconv.Itoa(i + 1), k.Kind, k.Fall.Text(4), strconv.Itoa(k.Tried), breakChance(k), nextWidth(k.Now), nextWidth(k.Then), shrink, nextPercent(k.Identifies), strconv.Itoa(k.Batch), strconv.FormatFloat(k.Cost, 'g', 3, 64)})
		}
		if err := s.table(rows); err != nil {
			return err
		}
		s.say("")
		for i, k := range shown {
			s.say("  %d. %s", i+1, wrap(k.Reason.String()+".", 94, "     "))
		}
		if n := len(r.Choices) - len(shown); n > 0 {
			s.say("  %d more candidates with --all.", n)
		}
	}
	for _, l := range []struct {
		head string
		list []string
	}{{"Never suggested: the load cell could be overloaded", message.Texts(r.Refused)}, {"Drops left out", message.Texts(r.Left)}, {"This rests on", message.Texts(r.Assumptions)}} {
		if len(l.list) > 0 {
			s.heading(l.head)
		}
		for _, t := range l.list {
			s.say("  %s", wrap(t, 94, "    "))
		}
	}
	s.warned(r.Warnings)
	s.cautions()
	return nil
}

// breakChance is a break probability with what the drops leave open.
func breakChance(k compare.NextChoice) string {
	within := nextPercent(*k.BreakLo) + " to " + nextPercent(*k.BreakHi)
	if k.BreakP == nil {
		return "not known (" + within + ")"
	}
	return nextPercent(*k.BreakP) + " (" + within + ")"
}

// nextWidth is a width as the ratio of the ends of the interval.
func nextWidth(w *float64) string {
	switch {
	case w == nil:
		return "none"
	case *w > math.Log(1000):
		return "over 1000"
	}
	return "× " + strconv.FormatFloat(math.Exp(*w), 'f', 3, 64)
}

func nextPercent(p float64) string {
	switch {
	case p > 0.995 && p < 1:
		return "> 99 %"
	case p > 0 && p < 0.005:
		return "< 1 %"
	}
	return strconv.FormatFloat(100*p, 'f', 0, 64) + " %"
}
