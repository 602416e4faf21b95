package foresee

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"github.com/hardcatch/hardcatch/internal/compare"
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/jobs"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/num/sample"
	"github.com/hardcatch/hardcatch/internal/plan"
	"github.com/hardcatch/hardcatch/internal/quantity"
	"github.com/hardcatch/hardcatch/internal/question"
)

// QuestionChance is how likely a plan is to answer a question, if its starting assumptions hold. The JSON names are stable.
type QuestionChance struct {
	ID       string           `json:"id"`
	Question string           `json:"question"`
	Rule     message.Sentence `json:"rule"`
	// Assumed is what is asked about, in SI units, by the plan's assumptions, null where they do not tell.
	Assumed  *float64 `json:"assumed"`
	Answered float64  `json:"chance_answered"`
	Yes      float64  `json:"chance_yes"`
	No       float64  `json:"chance_no"`
	// FalseClaim is the chance of a claim that is wrong where that is greatest: what is asked about lies at the bound itself, just on the wrong side. Null
	// where the assumptions do not tell where that is.
	FalseClaim *float64 `json:"chance_false_claim"`
	// MCError is the standard error of the chances by the number of simulated campaigns.
	MCError   float64          `json:"mc_error"`
	Campaigns int              `json:"simulated_campaigns"`
	Statement message.Sentence `json:"statement"`
}

// simulatedCampaigns are pushed through the analysis for each plan.
const simulatedCampaigns = 2000

// assumedScale is the standard uncertainty of the force scale that simulated records carry. Common practice, no source.
const assumedScale = 0.005

// poolSeed parts the draws of campaigns from those of the plan's order.
const poolSeed = 0x7175657374

// QuestionChances simulates whole campaigns after a plan and answers its questions by the analysis that will answer them, so that what can be known beforehand
// of yes, no and cannot be told is known before a specimen is used up.
func QuestionChances(ctx context.Context, a *look.Access, l *plan.Layout) ([]QuestionChance, error) {
	asked := make([]question.Asked, len(l.Plan.Questions))
	if len(asked) == 0 {
		return []QuestionChance{}, nil
	}
	for i, q := range l.Plan.Questions {
		asked[i] = question.Asked{Question: q}
	}
	s := campaigns{layout: l, asked: asked, drops: l.Drops()}
	if err := s.draw(ctx, a); err != nil {
		return nil, err
	}
	s.assume()
	counts := make([][]tally, simulatedCampaigns)
	done := 0
	err := jobs.Local(ctx, simulatedCampaigns, func() func(context.Context, int) error {
		return func(_ context.Context, i int) error {
			counts[i] = s.one(i)
			return nil
		}
	}, func(int) bool {
		if done++; done%50 == 0 {
			a.Progress("simulated campaigns", done, simulatedCampaigns)
		}
		return true
	})
	if err != nil {
		return nil, err
	}
	return s.sumUp(counts), nil
}

// campaigns is what simulated campaigns are drawn from.
type campaigns struct {
	layout  *plan.Layout
	asked   []question.Asked
	border  []question.Asked // with the bound where the assumed value is; without a name where that is not known
	assumed []*float64       // the values, nil where not known
	drops   []drop.Drop
	pools   []*plan.Pool // by cell
}

// tally is what one campaign said to one question, and to the same with its bound where the truth is.
type tally struct{ yes, no, wrongYes, wrongNo bool }

func (s *campaigns) draw(ctx context.Context, a *look.Access) error {
	s.pools = make([]*plan.Pool, len(s.layout.Cells))
	count := 0
	return jobs.Local(ctx, len(s.pools), func() func(context.Context, int) error {
		return func(ctx context.Context, i int) (err error) {
			s.pools[i], err = s.layout.Plan.Pool(ctx, s.layout.Cells[i], s.layout.Plan.Simulations)
			return err
		}
	}, func(int) bool {
		count++
		a.Progress("cells for the questions", count, len(s.pools))
		return true
	})
}

// assume finds what each question asks about among the draws: of several kinds the worst.
func (s *campaigns) assume() {
	s.border = make([]question.Asked, len(s.asked))
	s.assumed = make([]*float64, len(s.asked))
	for i, q := range s.asked {
		v, ok := s.truth(q.Question)
		if !ok {
			continue
		}
		s.assumed[i] = &v
		if q.Of == drop.AskBreaks {
			s.border[i] = q // its drops break as often as the bound says
		} else if v > 0 {
			b := q
			b.Bound, b.Rating = v, false
			s.border[i] = b
		}
	}
}

// truth is the value of a question over its cells: the least where at least something is asked for, else the greatest.
func (s *campaigns) truth(q drop.Question) (float64, bool) {
	found, worst := false, 0.0
	for i, c := range s.layout.Cells {
		levels := s.levels(c)
		if !drop.Fits(levels, q.Where) {
			continue
		}
		v, ok := s.value(q, i)
		if q.Of.IsRatio() && ok {
			ok = false
			for k, other := range s.layout.Cells {
				if l := s.levels(other); drop.Fits(l, q.Lower()) && sameBut(levels, l, q) {
					if below, known := s.value(q, k); known && below > 0 {
						v, ok = v/below, true
						break
					}
				}
			}
		}
		if !ok {
			return 0, false
		}
		if !found || (q.Side == drop.AtLeast) == (v < worst) {
			found, worst = true, v
		}
	}
	return worst, found
}

// levels are those of a drop of the cell, as the analysis will see them.
func (s *campaigns) levels(c plan.Cell) map[string]string {
	for i, r := range s.layout.Runs {
		if r.Cell == c.Number {
			return s.drops[i].Levels()
		}
	}
	return c.Levels
}

// sameBut tells that two cells differ in nothing but what the question sets against each other.
func sameBut(a, b map[string]string, q drop.Question) bool {
	for f := range a {
		if _, against := q.Against[f]; !against && a[f] != b[f] && (q.Of == drop.AskPeakRatio || !compare.OfTheFall(f)) {
			return false
		}
	}
	return true
}

// value is what one cell has of the quantity of a question.
func (s *campaigns) value(q drop.Question, cell int) (float64, bool) {
	pool := s.pools[cell]
	switch q.Of {
	case drop.AskBreaks:
		n := 0
		for _, b := range pool.Broke {
			if b {
				n++
			}
		}
		return float64(n) / float64(len(pool.Broke)), true
	case drop.AskStrength, drop.AskStrengthRatio:
		return sample.Quantile(pool.Strength, q.Quantile.SI()), len(pool.Strength) > 0
	}
	return sample.Quantile(pool.Demand, q.Quantile.SI()), len(pool.Demand) > 0
}

// one is what one simulated campaign says.
func (s *campaigns) one(number int) []tally {
	rng := rand.New(rand.NewPCG(s.layout.Plan.Seed^poolSeed, uint64(number))) //nolint:gosec // a stream of draws, no secret
	gain := 1 + assumedScale*rng.NormFloat64()
	var entries []compare.Entry
	for i, r := range s.layout.Runs {
		if r.Cell == 0 {
			continue
		}
		pool := s.pools[r.Cell-1]
		k := rng.IntN(len(pool.Peaks))
		e := compare.Entry{Drop: s.drops[i], Outcome: drop.Held, Decided: true, Trusted: true, Peak: quantity.Force(gain * pool.Peaks[k])}
		e.Expanded = 2 * assumedScale * e.Peak
		if pool.Broke[k] {
			e.Outcome = drop.Broke
		}
		entries = append(entries, e)
	}
	out := make([]tally, len(s.asked))
	for i, a := range question.AnswerAll(s.asked, entries, nil) {
		out[i].yes, out[i].no = a.Verdict == question.Yes, a.Verdict == question.No
	}
	for i, b := range s.border {
		if b.ID == "" {
			continue
		}
		told := entries
		if b.Of == drop.AskBreaks {
			told = slices.Clone(entries)
			for k := range told {
				told[k].Outcome = drop.Held
				if rng.Float64() < b.Bound {
					told[k].Outcome = drop.Broke
				}
			}
		}
		a := question.AnswerAll([]question.Asked{b}, told, nil)[0]
		out[i].wrongYes, out[i].wrongNo = a.Verdict == question.Yes, a.Verdict == question.No
	}
	return out
}

func (s *campaigns) sumUp(counts [][]tally) []QuestionChance {
	out := make([]QuestionChance, len(s.asked))
	for i, q := range s.asked {
		var yes, no, wrongYes, wrongNo float64
		for _, c := range counts {
			t := c[i]
			for sum, is := range map[*float64]bool{&yes: t.yes, &no: t.no, &wrongYes: t.wrongYes, &wrongNo: t.wrongNo} {
				if is {
					*sum++
				}
			}
		}
		n := float64(len(counts))
		x := QuestionChance{
			ID: q.ID, Question: q.Text, Rule: question.RuleWords(q.Question), Yes: yes / n, No: no / n, Answered: (yes + no) / n, Campaigns: len(counts),
		}
		if x.Question == "" {
			x.Question = question.QuantityWords(q.Question).String()
		}
		x.MCError = math.Sqrt(math.Max(x.Answered*(1-x.Answered), 1/n) / n)
		if b := s.border[i]; b.ID != "" {
			wrong := math.Max(wrongYes, wrongNo) / n
			x.FalseClaim = &wrong
		}
		x.Assumed = s.assumed[i]
		x.say(q.Question)
		out[i] = x
	}
	return out
}

// say words the chances: percents to the whole number, as the Monte Carlo error leaves no more.
func (x *QuestionChance) say(q drop.Question) {
	percent := func(v float64) string { return fmt.Sprintf("%.0f %%", 100*v) }
	s := message.Say("%s: this plan answers it in %s of simulated campaigns (yes in %s, no in %s)", message.Own(x.ID), percent(x.Answered), percent(x.Yes), percent(x.No))
	if x.Assumed != nil {
		what := drop.Question{Of: q.Of, Bound: *x.Assumed}
		s = s.Say("; by its assumptions %s is %s", question.QuantityWords(q), roundedBound(what))
	}
	if x.FalseClaim != nil {
		s = s.Say("; a wrong claim in %s where it is most likely", fmt.Sprintf("%.1f %%", 100**x.FalseClaim))
	} else {
		s = s.Say("; the plan's assumptions do not tell what is asked about, so that the chance of a wrong claim is not simulated")
	}
	x.Statement = s
}

// roundedBound prints an assumed value to three figures.
func roundedBound(q drop.Question) string {
	switch {
	case q.Of.IsForce():
		return quantity.Force(q.Bound).Text(3)
	case q.Of == drop.AskBreaks:
		return quantity.Significant(100*q.Bound, 2) + " %"
	}
	return quantity.Significant(q.Bound, 3)
}

// unanswered are the questions that a plan most likely leaves open.
func unanswered(all []QuestionChance) []QuestionChance {
	return slices.DeleteFunc(slices.Clone(all), func(x QuestionChance) bool { return x.Answered >= 0.5 })
}
