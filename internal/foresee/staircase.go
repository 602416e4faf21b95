package foresee

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"math/rand/v2"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/jobs"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/num/probit"
	"github.com/hardcatch/hardcatch/internal/plan"
	"github.com/hardcatch/hardcatch/internal/quantity"
	"github.com/hardcatch/hardcatch/internal/traceio/staircasefile"
)

// Staircase is what an up-and-down series says. The JSON names are stable: names are added, never changed. A number
// that the series does not give is null.
type Staircase struct {
	Axis        string              `json:"axis"` // height or slack
	Step        quantity.Length     `json:"step_m"`
	StepGiven   bool                `json:"step_given"`
	Drops       []StaircaseDrop     `json:"drops"`
	Held        int                 `json:"held"`
	Broke       int                 `json:"broke"`
	Reversals   int                 `json:"reversals"`
	Next        quantity.Length     `json:"next_m"`
	NextReason  string              `json:"next_reason"`
	DixonMood   *plan.DixonMood     `json:"dixon_mood"`
	NoClassic   string              `json:"dixon_mood_refused,omitempty"`
	Likelihood  StaircaseFit        `json:"likelihood"`
	Quantiles   []StaircaseQuantile `json:"quantiles"`
	Assumptions []string            `json:"assumptions"`
	Warnings    []string            `json:"warnings"`
	Cautions    []string            `json:"cautions"`
}

// StaircaseDrop is one drop of the series.
type StaircaseDrop struct {
	Line     int             `json:"line"`
	Specimen string          `json:"specimen,omitempty"`
	Height   quantity.Length `json:"height_m"`
	Outcome  drop.Outcome    `json:"outcome"`
}

// StaircaseFit is the tolerance by maximum likelihood.
type StaircaseFit struct {
	Shape     plan.Tolerance   `json:"dist"`
	State     string           `json:"state"` // identified, one outcome, separated, touching, flat
	Mean      *quantity.Length `json:"mean_m"`
	Spread    *quantity.Length `json:"spread_m"`
	LogSpread *float64         `json:"log_spread"`
	LogLik    float64          `json:"loglik"`
	Statement string           `json:"statement"`
}

// StaircaseQuantile is the height at which a share breaks.
type StaircaseQuantile struct {
	P            float64          `json:"p"`
	Estimate     *quantity.Length `json:"value_m"`
	Lo           *quantity.Length `json:"lo_m"` // null: not bounded on this side
	Hi           *quantity.Length `json:"hi_m"`
	Confidence   float64          `json:"confidence"`
	Extrapolated bool             `json:"extrapolated"`
	Statement    string           `json:"statement"`
}

// StaircaseOptions say what is asked of a series.
type StaircaseOptions struct {
	Step       quantity.Length // 0 = the usual change of height in the series
	Shape      plan.Tolerance
	Quantiles  []float64
	Confidence float64
}

var states = map[probit.Identification]string{
	probit.Identified: "identified", probit.OneOutcome: "one outcome", probit.Separated: "separated", probit.Touching: "touching", probit.Flat: "flat",
}

// ReadStaircase reads a series and says what it shows and which height comes next.
func ReadStaircase(a *look.Access, name string, r io.Reader, o StaircaseOptions) (*Staircase, error) {
	if o.Shape != plan.NormalTolerance && o.Shape != plan.LognormalTolerance {
		return nil, fmt.Errorf("shape %q is not known; write normal or lognormal", o.Shape)
	}
	s, err := staircasefile.Read(name, r)
	if err != nil {
		return nil, err
	}
	u, err := plan.NewUpDown(s.Drops, o.Step)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	out := &Staircase{
		Axis: s.Axis, Step: u.Step, StepGiven: u.Given, Held: u.Held, Broke: u.Broke, Reversals: u.Reversals,
		Assumptions: plan.UpDownAssumptions(), Warnings: append([]string{}, s.Warnings...), Cautions: drop.Cautions(), Quantiles: []StaircaseQuantile{},
	}
	for _, d := range u.Drops {
		out.Drops = append(out.Drops, StaircaseDrop{d.Line, d.Specimen, d.Height, d.Outcome()})
	}
	out.next(u)
	if out.DixonMood, err = u.DixonMood(); err != nil {
		out.NoClassic = err.Error()
	}
	f, err := u.Likelihood(o.Shape)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	out.Likelihood = StaircaseFit{Shape: f.Shape, State: states[f.State], Mean: known(f.Mean), Spread: known(f.Spread), LogLik: f.LogLik, Statement: f.Statement}
	if !math.IsNaN(f.LogSpread) {
		out.Likelihood.LogSpread = &f.LogSpread
	}
	if err := out.quantiles(f, o); err != nil {
		return nil, err
	}
	out.Warnings = append(out.Warnings, u.Warnings(out.DixonMood, f)...)
	return out, nil
}

func (s *Staircase) next(u *plan.UpDown) {
	next, floor := u.Next()
	last := u.Drops[len(u.Drops)-1]
	s.Next = next
	switch {
	case floor:
		s.NextReason = fmt.Sprintf("the last broke at %s and a step of %s down would leave no %s; repeat it, or begin anew with a smaller step", last.Height.Text(3), u.Step.Text(3), s.Axis)
	case last.Broke:
		s.NextReason = "a step down: the last broke at " + last.Height.Text(3)
	default:
		s.NextReason = "a step up: the last held at " + last.Height.Text(3)
	}
}

// quantiles gives the half first and then what was asked for. With one outcome only there is none.
func (s *Staircase) quantiles(f *plan.UpDownFit, o StaircaseOptions) error {
	for i, p := range append([]float64{0.5}, o.Quantiles...) {
		if !(p > 0 && p < 1) || !(o.Confidence > 0 && o.Confidence < 1) {
			return fmt.Errorf("quantile %g at confidence %g: both lie between 0 and 1; write for example --quantile 0.05 --confidence 0.95", p, o.Confidence)
		}
		if f.State == probit.OneOutcome || i > 0 && p == 0.5 {
			continue
		}
		q, err := f.Quantile(p, o.Confidence)
		if err != nil {
			return err
		}
		s.Quantiles = append(s.Quantiles, StaircaseQuantile{
			P: p, Estimate: known(q.Estimate), Lo: known(q.Lo), Hi: known(q.Hi), Confidence: q.Confidence, Extrapolated: q.Extrapolated, Statement: q.Statement,
		})
	}
	return nil
}

// known is nil for what is not a finite number.
func known(l quantity.Length) *quantity.Length {
	if !finite(l.SI()) {
		return nil
	}
	return &l
}

func finite(x float64) bool { return !math.IsNaN(x) && !math.IsInf(x, 0) }

// StaircaseOutlook is how planned up-and-down series behave, before a specimen is spent.
type StaircaseOutlook struct {
	Start    quantity.Length   `json:"start_m"`
	N        int               `json:"n"`
	Mean     quantity.Length   `json:"mean_m"`
	SD       quantity.Length   `json:"sd_m"`
	Quantile float64           `json:"quantile"`
	Truth    quantity.Length   `json:"quantile_m"` // the height of that quantile by the supposed tolerance
	Runs     int               `json:"runs"`
	Seed     uint64            `json:"seed"`
	Designs  []StaircaseDesign `json:"designs"` // half the step asked for, that step, twice it
	Warnings []string          `json:"warnings"`
	Cautions []string          `json:"cautions"`
}

// StaircaseDesign is the behaviour with one step.
type StaircaseDesign struct {
	Step   quantity.Length `json:"step_m"`
	Factor float64         `json:"step_factor"`
	*plan.UpDownCharacter
}

// Bounds of a simulation and the size of a part.
const (
	mostSeries    = 1_000_000
	seriesPerPart = 50
)

// SimulateStaircase makes the planned series many times over, with half the step asked for, that step, and twice it. Run k draws from
// its own stream, seeded by the seed and k, with the same specimens for each step.
func SimulateStaircase(ctx context.Context, a *look.Access, d plan.UpDownDesign, runs int, seed uint64) (*StaircaseOutlook, error) {
	if err := d.Check(); err != nil {
		return nil, err
	}
	if runs < 100 || runs*d.N > 100*mostSeries || runs > mostSeries {
		return nil, fmt.Errorf("%d runs of %d drops: from 100 to %d runs, and no more than %d drops in all", runs, d.N, mostSeries, 100*mostSeries)
	}
	out := &StaircaseOutlook{Start: d.Start, N: d.N, Mean: d.Mean, SD: d.SD, Quantile: d.Quantile, Truth: d.Truth(d.Quantile), Runs: runs, Seed: seed, Warnings: []string{}, Cautions: drop.Cautions()}
	factors := []float64{0.5, 1, 2}
	for i, factor := range factors {
		v := d
		v.Step = quantity.Length(factor * d.Step.SI())
		c, err := series(ctx, a, v, runs, seed, i*runs, len(factors)*runs)
		if errors.Is(err, context.Canceled) {
			return nil, fmt.Errorf("stopped by you; nothing was kept; take fewer --runs: %w", err)
		}
		if err != nil {
			return nil, err
		}
		out.Designs = append(out.Designs, StaircaseDesign{c.Design.Step, factor, c})
		if factor == 1 {
			out.Warnings = append(out.Warnings, c.Warnings()...)
		}
	}
	return out, nil
}

func series(ctx context.Context, a *look.Access, d plan.UpDownDesign, runs int, seed uint64, before, total int) (*plan.UpDownCharacter, error) {
	made, err := repeated(ctx, runs, seriesPerPart, seed, d.Run, func(done int) { a.Progress("series", before+done, total) })
	if err != nil {
		return nil, err
	}
	return d.SumUp(made)
}

// repeated makes runs on all cores, so many a part. Run k draws from its own stream, seeded by the seed and k, whatever worker makes it.
func repeated[R any](ctx context.Context, runs, perPart int, seed uint64, run func(rand.Source) (R, error), progress func(done int)) ([]R, error) {
	made := make([]R, runs)
	count := 0
	err := jobs.Local(ctx, (runs+perPart-1)/perPart, func() func(context.Context, int) error {
		src := rand.NewPCG(0, 0)
		return func(_ context.Context, part int) (err error) {
			for k := part * perPart; k < min((part+1)*perPart, runs); k++ {
				src.Seed(seed, uint64(k))
				if made[k], err = run(src); err != nil {
					return fmt.Errorf("run %d: %w", k+1, err)
				}
			}
			return nil
		}
	}, func(int) bool {
		count++
		progress(min(count*perPart, runs))
		return true
	})
	return made, err
}
