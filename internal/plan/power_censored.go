package plan

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"github.com/hardcatch/hardcatch/internal/num/censor"
	"github.com/hardcatch/hardcatch/internal/num/tobit"
	"github.com/hardcatch/hardcatch/internal/num/uncert"
)

// CensoredTest is a comparison of the arrest forces of two groups of which a part breaks: a specimen that broke shows only a
// lower bound of its arrest force.
type CensoredTest struct {
	Peaks PeakTest
	Ratio float64 // of the medians of the arrest force
	Break float64 // break probability, supposed the same in both groups
	N     int     // specimens in each group
}

// mostCensored bounds the size of a group in a simulation.
const mostCensored = 1000

// Check reports a test that cannot be simulated.
func (t CensoredTest) Check() error {
	if err := t.Peaks.Check(); err != nil {
		return err
	}
	if !(t.Break >= 0 && t.Break < 1) {
		return fmt.Errorf("a break probability of %g does not lie from 0 to below 1; if all break, no arrest force is seen", t.Break)
	}
	if t.N < 2 || t.N > mostCensored {
		return fmt.Errorf("%d specimens a group: a simulation takes from 2 to %d", t.N, mostCensored)
	}
	return nil
}

// CensoredRun is one comparison made once with a ratio of 1 and once with the ratio supposed, of the same specimens.
type CensoredRun struct {
	Same, Apart float64 // twice the gain of the log-likelihood by two medians; NaN where the likelihood tells nothing
	Broke       int
}

// Run draws both groups from src. ln of the arrest force is normal with the standard deviation of the peaks; a specimen breaks
// when a strength with the same scatter, placed so that the break probability comes out, is less:
//
//	ln strength - ln arrest force is normal with mean -sqrt(2) sd Phi^-1(Break) and standard deviation sqrt(2) sd
//
// and its strength is then what is seen.
func (t CensoredTest) Run(src rand.Source) (CensoredRun, error) {
	rng := rand.New(src)
	sd := t.Peaks.LogSD()
	margin := math.Inf(1)
	if t.Break > 0 {
		margin = -math.Sqrt2 * sd * uncert.NormalQuantile(t.Break)
	}
	var r CensoredRun
	draw := func() []censor.Value {
		group := make([]censor.Value, t.N)
		for i := range group {
			arrest, strength := sd*rng.NormFloat64(), margin+sd*rng.NormFloat64()
			if group[i] = censor.Exact(arrest); strength < arrest {
				group[i] = censor.AtLeast(strength)
				r.Broke++
			}
		}
		return group
	}
	a, b := draw(), draw()
	var err error
	if r.Same, err = gain(a, b); err != nil {
		return r, err
	}
	shift := math.Log(t.Ratio)
	for i, v := range b {
		b[i] = censor.Value{Lo: v.Lo + shift, Hi: v.Hi + shift}
	}
	r.Apart, err = gain(a, b)
	return r, err
}

// gain is NaN where the likelihood tells nothing.
func gain(a, b []censor.Value) (float64, error) {
	g, err := tobit.LikelihoodGain(a, b)
	if errors.Is(err, tobit.ErrNothing) {
		return math.NaN(), nil
	}
	return g, err
}

// CensoredPower is what many runs of a comparison show.
type CensoredPower struct {
	Test       CensoredTest `json:"-"`
	Runs       int          `json:"-"`
	Power      float64      `json:"power"`    // share found with Cut
	Lo         float64      `json:"power_lo"` // exact 95 % interval of Power, from the number of runs
	Hi         float64      `json:"power_hi"`
	Cut        float64      `json:"-"`             // of the gain: no more than alpha of the runs without a difference lie above
	FalseAlarm float64      `json:"false_alarm"`   // share of the runs without a difference above the chi-squared cut of large samples
	Nothing    float64      `json:"tells_nothing"` // share of the runs in which the likelihood tells nothing
	Broke      float64      `json:"broken_mean"`   // of both groups
}

// SumUp counts the runs. A run in which the likelihood tells nothing finds nothing.
func (t CensoredTest) SumUp(runs []CensoredRun) (*CensoredPower, error) {
	if len(runs) == 0 {
		return nil, fmt.Errorf("no run of the comparison was made")
	}
	n := float64(len(runs))
	p := &CensoredPower{Test: t, Runs: len(runs)}
	z := uncert.NormalQuantile(1 - t.Peaks.Alpha/2)
	same := make([]float64, len(runs))
	for i, r := range runs {
		p.Broke += float64(r.Broke) / n
		if same[i] = r.Same; math.IsNaN(r.Same) {
			same[i] = -1
			p.Nothing += 1 / n
		}
		if same[i] > z*z {
			p.FalseAlarm += 1 / n
		}
	}
	slices.Sort(same)
	allowed := int(t.Peaks.Alpha * n)
	p.Cut = math.Max(same[len(same)-1-allowed], 0)
	found := 0
	for _, r := range runs {
		found += count(r.Apart > p.Cut)
	}
	b, err := censor.ExactBinomial(found, len(runs), 0.95)
	p.Power, p.Lo, p.Hi = b.Estimate, b.Lo, b.Hi
	return p, err
}
