package foresee

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"

	"github.com/hardcatch/hardcatch/internal/compare"
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/jobs"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/num/ode"
	"github.com/hardcatch/hardcatch/internal/num/uncert"
	"github.com/hardcatch/hardcatch/internal/plan"
	"github.com/hardcatch/hardcatch/internal/quantity"
	"github.com/hardcatch/hardcatch/internal/question"
)

// AnswerSize is how many specimens a question needs, by the analysis that will answer it. The JSON names are stable.
type AnswerSize struct {
	ID          string             `json:"id"`
	Question    message.Sentence   `json:"question"`
	Rule        message.Sentence   `json:"rule"`
	Supposed    float64            `json:"supposed"` // what is asked about, SI
	CV          float64            `json:"cv"`
	Break       float64            `json:"break_probability"`
	Questions   int                `json:"questions"` // that share the risks
	PowerWanted float64            `json:"power_wanted"`
	At          AnswerPower        `json:"at_n"`
	Needed      *AnswerPower       `json:"needed"` // null: beyond what is searched; of counts the chance rises in steps, and a smaller number may do as well
	Runs        int                `json:"runs"`
	Seed        uint64             `json:"seed"`
	Statement   message.Sentence   `json:"statement"`
	Assumptions []string           `json:"assumptions"`
	Warnings    []message.Sentence `json:"warnings"`
	Cautions    []string           `json:"cautions"`
}

// AnswerPower is how often so many specimens answer.
type AnswerPower struct {
	N        int     `json:"n"` // of a ratio in each of its two kinds
	Answered float64 `json:"chance_answered"`
	Yes      float64 `json:"chance_yes"`
	No       float64 `json:"chance_no"`
	MCError  float64 `json:"mc_error"`
}

// AnswerSizeOptions say what is supposed and wanted.
type AnswerSizeOptions struct {
	Question  drop.Question
	Questions int     // that are asked together
	Suppose   float64 // what is asked about, SI
	CV        float64 // scatter among like specimens
	Break     float64 // share of the specimens that breaks, of a question on strength; the others show lower bounds
	N         int
	Power     float64
	Runs      int
	Seed      uint64
}

// mostToAnswer is the largest number of specimens that is searched.
const mostToAnswer = 1000

func (o AnswerSizeOptions) check() error {
	q := o.Question
	switch {
	case q.Rating:
		return fmt.Errorf("question %s: a rating is the bound; write the rating itself, for example at_least: 22 kN", q.ID)
	case !(o.Suppose > 0) || q.Of == drop.AskBreaks && o.Suppose >= 1:
		return fmt.Errorf("what %s may be is not possible: %g; give --suppose with its unit, for example 18 kN, 0.6 or 20 %%", q.ID, o.Suppose)
	case q.Of != drop.AskBreaks && !(o.CV > 0 && o.CV <= 1):
		return fmt.Errorf("a coefficient of variation of %g: it lies above 0 and up to 1; 0.08 is a common one", o.CV)
	case !(o.Break >= 0 && o.Break <= 1):
		return fmt.Errorf("a break probability of %g: it lies between 0 and 1", o.Break)
	case o.N < 1 || o.N > mostToAnswer:
		return fmt.Errorf("%d specimens: give from 1 to %d", o.N, mostToAnswer)
	case !(o.Power > 0 && o.Power < 1):
		return fmt.Errorf("a power of %g: it lies between 0 and 1; 0.8 is usual", o.Power)
	case o.Questions < 1 || o.Questions > 100:
		return fmt.Errorf("%d questions: from 1 to 100 share their risks", o.Questions)
	case o.Runs < 200 || o.Runs > mostComparisons:
		return fmt.Errorf("%d runs: give from 200 to %d", o.Runs, mostComparisons)
	}
	return nil
}

// AnswerSizeFor simulates campaigns of one question and counts how often the analysis that will answer it does.
func AnswerSizeFor(ctx context.Context, a *look.Access, o AnswerSizeOptions) (*AnswerSize, error) {
	if err := o.check(); err != nil {
		return nil, err
	}
	q := o.Question
	out := &AnswerSize{
		ID: q.ID, Question: question.QuantityWords(q), Rule: question.RuleWords(q), Supposed: o.Suppose, CV: o.CV, Break: o.Break, Questions: o.Questions, PowerWanted: o.Power, Runs: o.Runs,
		Seed: o.Seed, Assumptions: []string{"strengths are Weibull, peaks normal, one specimen a drop, one rig; the force scale is known to 0.5 % (standard uncertainty; common practice, no source)"}, Warnings: []message.Sentence{}, Cautions: drop.Cautions(),
	}
	at := func(n int) (AnswerPower, error) { return answerOften(ctx, a, o, n) }
	var err error
	if out.At, err = at(o.N); err != nil {
		return nil, err
	}
	low, high := 0, max(o.N, 2)
	best := out.At
	for best.Answered < o.Power && high < mostToAnswer {
		low, high = high, min(2*high, mostToAnswer)
		if best, err = at(high); err != nil {
			return nil, err
		}
	}
	if best.Answered >= o.Power {
		for high-low > 1 {
			mid := (low + high) / 2
			p, err := at(mid)
			if err != nil {
				return nil, err
			}
			if p.Answered >= o.Power {
				high, best = mid, p
			} else {
				low = mid
			}
		}
		out.Needed = &best
	}
	out.say()
	return out, nil
}

func (s *AnswerSize) say() {
	each := message.Say("%d {specimen|specimens}", s.At.N)
	s.Statement = message.Say("%s answer it with a probability of %s (yes %s, no %s)", each, plan.PowerRoundedDown(s.At.Answered), plan.PowerRoundedDown(s.At.Yes), plan.PowerRoundedDown(s.At.No))
	if s.Needed == nil {
		s.Statement = s.Statement.Say("; even %d would not answer it with %s.", mostToAnswer, quantity.Percent(s.PowerWanted))
		return
	}
	s.Statement = s.Statement.Say("; about %d are needed for %s.", s.Needed.N, quantity.Percent(s.PowerWanted))
}

func answerOften(ctx context.Context, a *look.Access, o AnswerSizeOptions, n int) (AnswerPower, error) {
	verdicts := make([]question.Verdict, o.Runs)
	done := 0
	err := jobs.Local(ctx, o.Runs, func() func(context.Context, int) error {
		return func(_ context.Context, i int) error {
			verdicts[i] = o.once(n, i)
			return nil
		}
	}, func(int) bool {
		if done++; done%100 == 0 {
			a.Progress(fmt.Sprintf("campaigns of %d specimens", n), done, o.Runs)
		}
		return true
	})
	if err != nil {
		return AnswerPower{}, err
	}
	p := AnswerPower{N: n}
	for _, v := range verdicts {
		switch v {
		case question.Yes:
			p.Yes += 1 / float64(o.Runs)
		case question.No:
			p.No += 1 / float64(o.Runs)
		}
	}
	p.Answered = p.Yes + p.No
	p.MCError = math.Sqrt(math.Max(p.Answered*(1-p.Answered), 1/float64(o.Runs)) / float64(o.Runs))
	return p, nil
}

// once is one campaign: n specimens of the kind that is asked about, of a ratio n of either kind. The other questions that share the risk have no drops, so that no claim
// is made of them.
func (o AnswerSizeOptions) once(n, run int) question.Verdict {
	rng := rand.New(rand.NewPCG(o.Seed, uint64(run))) //nolint:gosec // a stream of draws, no secret
	gain := 1 + assumedScale*rng.NormFloat64()
	var entries []compare.Entry
	add := func(levels map[string]string, peak float64, outcome drop.Outcome) {
		id := fmt.Sprintf("d%d", len(entries)+1)
		e := compare.Entry{Drop: drop.Drop{ID: id, Specimen: drop.Specimen{ID: id}, Factors: levels, Role: drop.Trial}, Outcome: outcome, Decided: true, Trusted: true, Peak: quantity.Force(gain * peak)}
		e.Expanded = 2 * assumedScale * e.Peak
		entries = append(entries, e)
	}
	upper, lower := map[string]string{"kind": "asked"}, map[string]string{"kind": "against"}
	q := o.Question
	q.Where, q.Against = upper, nil
	// Of a ratio the lower kind is 10 kN strong, which does not matter.
	const below = 1e4
	value := o.Suppose
	if q.Of.IsRatio() {
		q.Against = lower
		value *= below
	}
	for range n {
		switch q.Of {
		case drop.AskBreaks:
			outcome := drop.Held
			if rng.Float64() < o.Suppose {
				outcome = drop.Broke
			}
			add(upper, below, outcome)
		case drop.AskStrength, drop.AskStrengthRatio:
			o.strength(rng, value, func(peak float64, outcome drop.Outcome) { add(upper, peak, outcome) })
			if q.Of.IsRatio() {
				o.strength(rng, below, func(peak float64, outcome drop.Outcome) { add(lower, peak, outcome) })
			}
		default:
			add(upper, o.peak(rng, value), drop.Held)
			if q.Of.IsRatio() {
				add(lower, o.peak(rng, below), drop.Held)
			}
		}
	}
	asked := []question.Asked{{Question: q}}
	for i := 1; i < o.Questions; i++ {
		other := q
		other.ID = fmt.Sprintf("%s and %d more", q.ID, i)
		other.Where = map[string]string{"kind": "none"}
		asked = append(asked, question.Asked{Question: other})
	}
	return question.AnswerAll(asked, entries, nil)[0].Verdict
}

// peak is a normal peak whose quantile that is asked about is v.
func (o AnswerSizeOptions) peak(rng *rand.Rand, v float64) float64 {
	mean := v / (1 + o.CV*uncert.NormalQuantile(o.Question.Quantile.SI()))
	return mean * math.Max(0.05, 1+o.CV*rng.NormFloat64())
}

// strength is a Weibull strength whose quantile that is asked about is v, loaded by a fall that breaks the share Break of such specimens.
func (o AnswerSizeOptions) strength(rng *rand.Rand, v float64, add func(peak float64, outcome drop.Outcome)) {
	k := shapeOf(o.CV)
	scale := v / math.Pow(-math.Log1p(-o.Question.Quantile.SI()), 1/k)
	s := scale * math.Pow(-math.Log(1-rng.Float64()), 1/k)
	if o.Break > 0 && o.Break < 1 {
		if force := scale * math.Pow(-math.Log1p(-o.Break), 1/k); s > force {
			add(force, drop.Held)
			return
		}
	}
	add(s, drop.Broke)
}

// shapeOf is the Weibull shape of a coefficient of variation: G(1+2/k)/G(1+1/k)^2 = 1 + cv^2, which falls as k rises.
func shapeOf(cv float64) float64 {
	excess := func(k float64) float64 {
		a, _ := math.Lgamma(1 + 2/k)
		b, _ := math.Lgamma(1 + 1/k)
		return math.Expm1(a-2*b) - cv*cv
	}
	const least, most = 0.2, 2000.0 // the most has a coefficient of variation of 0.0006: less scatter is none
	low, high := excess(least), excess(most)
	if high > 0 {
		return most
	}
	return ode.Root(excess, least, most, low, high, 1e-12)
}
