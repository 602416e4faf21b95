package foresee

import (
	"context"
	"errors"
	"fmt"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/num/censor"
	"github.com/hardcatch/hardcatch/internal/plan"
)

// SampleSize is what a number of specimens can show. The JSON names are stable: names are added, never changed.
type SampleSize struct {
	Ratio       float64            `json:"ratio"`
	CV          float64            `json:"cv"`
	N           int                `json:"n"` // in each of two groups
	PowerWanted float64            `json:"power_wanted"`
	Alpha       float64            `json:"alpha"`
	CanShow     message.Sentence   `json:"can_show"`
	Peaks       SampleSizePeaks    `json:"peaks"`
	Censored    *SampleSizeBreaks  `json:"with_breaks"`
	Counts      *SampleSizeCounts  `json:"break_counts"`
	Exact       SampleSizeSmallest `json:"exact"`
	Assumptions []string           `json:"assumptions"`
	Warnings    []string           `json:"warnings"`
	Cautions    []string           `json:"cautions"`
}

// SampleSizePeaks is the t test of log peaks when all specimens hold.
type SampleSizePeaks struct {
	Power         float64 `json:"power"`
	N             int     `json:"n_needed"`
	SmallestRatio float64 `json:"smallest_ratio"` // found with the power wanted, at n
}

// SampleSizeBreaks is the same comparison by simulation when a share breaks.
type SampleSizeBreaks struct {
	Break float64 `json:"break_probability"`
	Runs  int     `json:"runs"`
	Seed  uint64  `json:"seed"`
	*plan.CensoredPower
	N         *int    `json:"n_needed"` // null: beyond what is searched
	AtN       float64 `json:"power_at_n_needed"`
	Statement string  `json:"statement"`
}

// SampleSizeCounts is Fisher's test of break counts.
type SampleSizeCounts struct {
	A     float64 `json:"break_a"`
	B     float64 `json:"break_b"`
	Power float64 `json:"power"`
	N     *int    `json:"n_needed"`
	Why   string  `json:"no_n_needed,omitempty"`
}

// SampleSizeSmallest is what exact tests can give at best.
type SampleSizeSmallest struct {
	P         float64 `json:"smallest_p"`
	NoneBreak float64 `json:"none_breaks_hi"` // break probability still possible when none of n breaks, 95 %
}

// SampleSizeOptions say what is supposed and wanted.
type SampleSizeOptions struct {
	Ratio, CV, Power, Alpha float64
	N                       int
	Break                   float64     // 0 = none breaks, no simulation
	Counts                  *[2]float64 // break probabilities of the groups; nil = not asked
	Runs                    int
	Seed                    uint64
}

// Bounds of a sample size.
const (
	mostComparisons     = 1_000_000
	comparisonsPerPart  = 100
	mostInCensoredGroup = 200
)

func (o SampleSizeOptions) check() error {
	if !(o.Ratio > 0 && o.Ratio <= 1000 && o.Ratio >= 0.001) || o.Ratio == 1 {
		return fmt.Errorf("a ratio of %g: it lies from 0.001 to 1000 and is not 1; 1.2 asks for a difference of 20 %%", o.Ratio)
	}
	if !(o.Power > o.Alpha && o.Power < 1) {
		return fmt.Errorf("a power of %g: it lies between alpha and 1; 0.8 is usual", o.Power)
	}
	if o.N < 2 || o.N > 1000 {
		return fmt.Errorf("%d specimens a group: give from 2 to 1000", o.N)
	}
	if o.Counts != nil && o.N > plan.MaxCountGroup {
		return fmt.Errorf("%d specimens a group: break counts are compared up to %d", o.N, plan.MaxCountGroup)
	}
	if o.Break > 0 && (o.Runs < 200 || o.Runs > mostComparisons) {
		return fmt.Errorf("%d runs: give from 200 to %d", o.Runs, mostComparisons)
	}
	return plan.CensoredTest{Peaks: plan.PeakTest{CV: o.CV, Alpha: o.Alpha}, Ratio: o.Ratio, Break: o.Break, N: o.N}.Check()
}

// SampleSizeFor says what n specimens against n can show, and how many are needed.
func SampleSizeFor(ctx context.Context, a *look.Access, o SampleSizeOptions) (*SampleSize, error) {
	if err := o.check(); err != nil {
		return nil, err
	}
	t := plan.PeakTest{CV: o.CV, Alpha: o.Alpha}
	s := &SampleSize{
		Ratio: o.Ratio, CV: o.CV, N: o.N, PowerWanted: o.Power, Alpha: o.Alpha, Assumptions: plan.PowerAssumptions(),
		Warnings: []string{}, Cautions: drop.Cautions(), Exact: SampleSizeSmallest{P: plan.SmallestP(o.N)},
	}
	var err error
	if s.CanShow, err = t.CanShow(o.N, o.Power); err != nil {
		return nil, err
	}
	if s.Peaks.Power, err = t.Power(o.Ratio, o.N); err != nil {
		return nil, err
	}
	if s.Peaks.N, err = t.Size(o.Ratio, o.Power); err != nil {
		return nil, err
	}
	if s.Peaks.SmallestRatio, err = t.SmallestRatio(o.Power, o.N); err != nil {
		return nil, err
	}
	none, err := censor.ExactBinomial(0, o.N, 0.95)
	if err != nil {
		return nil, err
	}
	s.Exact.NoneBreak = none.Hi
	if o.Counts != nil {
		if err := s.counts(o); err != nil {
			return nil, err
		}
	}
	if o.Break > 0 {
		err = withBreaks(ctx, a, t, o, s)
		if errors.Is(err, context.Canceled) {
			err = fmt.Errorf("stopped by you; nothing was kept; take fewer --runs: %w", err)
		}
		if err != nil {
			return nil, err
		}
	}
	return s, nil
}

func (s *SampleSize) counts(o SampleSizeOptions) error {
	t := plan.CountTest{A: o.Counts[0], B: o.Counts[1], Alpha: o.Alpha}
	if err := t.Check(); err != nil {
		return err
	}
	s.Counts = &SampleSizeCounts{A: t.A, B: t.B}
	s.Counts.Power = t.Power(o.N)
	n, err := t.Size(o.Power)
	if errors.Is(err, plan.ErrTooMany) {
		s.Counts.Why = err.Error()
		return nil
	}
	s.Counts.N = &n
	return err
}

// withBreaks simulates n against n, and then looks for the n that is needed.
func withBreaks(ctx context.Context, a *look.Access, t plan.PeakTest, o SampleSizeOptions, s *SampleSize) error {
	at := func(n int) (*plan.CensoredPower, error) {
		return compareOften(ctx, a, plan.CensoredTest{Peaks: t, Ratio: o.Ratio, Break: o.Break, N: n}, o.Runs, o.Seed)
	}
	p, err := at(o.N)
	if err != nil {
		return err
	}
	b := &SampleSizeBreaks{Break: o.Break, Runs: o.Runs, Seed: o.Seed, CensoredPower: p}
	low, high := 1, min(s.Peaks.N, mostInCensoredGroup)
	for {
		if p, err = at(high); err != nil {
			return err
		}
		if p.Power >= o.Power || high == mostInCensoredGroup {
			break
		}
		low, high = high, min(2*high, mostInCensoredGroup)
	}
	if b.AtN = p.Power; p.Power >= o.Power {
		for high-low > 1 {
			mid := (low + high) / 2
			q, err := at(mid)
			if err != nil {
				return err
			}
			if q.Power >= o.Power {
				high, b.AtN = mid, q.Power
			} else {
				low = mid
			}
		}
		b.N = &high
	}
	b.Statement = b.say(o, s.Peaks)
	s.Censored = b
	if b.FalseAlarm > 1.5*o.Alpha {
		s.Warnings = append(s.Warnings, fmt.Sprintf("with %d against %d the likelihood ratio against its large-sample limit finds a difference where there is none in %.0f %% of the runs, not in %g %%: the power here is for the limit that keeps to %g %%", o.N, o.N, 100*b.FalseAlarm, 100*o.Alpha, 100*o.Alpha))
	}
	return nil
}

func (b *SampleSizeBreaks) say(o SampleSizeOptions, peaks SampleSizePeaks) string {
	text := fmt.Sprintf("When %g %% of the specimens break, so that %.1f of %d give only a lower bound, the power of %d against %d is %s (%s to %s, from %d runs) instead of %s.",
		100*b.Break, b.Broke, 2*o.N, o.N, o.N, plan.PowerRoundedDown(b.Power), plan.PowerRoundedDown(b.Lo), plan.PowerRoundedDown(b.Hi), b.Runs, plan.PowerRoundedDown(peaks.Power))
	if b.Nothing > 0 {
		text += fmt.Sprintf(" In %.1f %% of the runs so many broke that nothing can be said.", 100*b.Nothing)
	}
	if b.N == nil {
		return text + fmt.Sprintf(" Even %d a group are not enough for %g %%.", mostInCensoredGroup, 100*o.Power)
	}
	return text + fmt.Sprintf(" %d a group are needed for %g %%.", *b.N, 100*o.Power)
}

func compareOften(ctx context.Context, a *look.Access, t plan.CensoredTest, runs int, seed uint64) (*plan.CensoredPower, error) {
	made, err := repeated(ctx, runs, comparisonsPerPart, seed, t.Run, func(done int) {
		a.Progress(fmt.Sprintf("comparisons of %d against %d", t.N, t.N), done, runs)
	})
	if err != nil {
		return nil, err
	}
	return t.SumUp(made)
}
