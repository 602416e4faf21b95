package exact

import (
	"fmt"
	"math"

	"github.com/hardcatch/hardcatch/internal/num/uncert"
)

// TTest is the plan of a t test of normal values with a common standard deviation, which the test will
// have to estimate.
type TTest struct {
	NA, NB int     // values in each group; NB = 0 tests one group against a fixed value
	Level  float64 // chance of a false alarm, 0.05 usual
	Sides  int     // 1 looks for an increase only, 2 for either
}

func (t TTest) check() error {
	if t.Sides != 1 && t.Sides != 2 {
		return fmt.Errorf("a test has 1 or 2 sides, not %d", t.Sides)
	}
	if !(t.Level > 0 && t.Level < 1) {
		return fmt.Errorf("level %g does not lie between 0 and 1", t.Level)
	}
	if t.NA < 1 || t.NB < 0 || t.dof() < 1 {
		return fmt.Errorf("groups of %d and %d values leave nothing to estimate the spread from; at least 2 in one group, or 3 in two", t.NA, t.NB)
	}
	return nil
}

func (t TTest) dof() float64 {
	if t.NB == 0 {
		return float64(t.NA - 1)
	}
	return float64(t.NA + t.NB - 2)
}

// shift is the noncentrality that an effect of one standard deviation makes.
func (t TTest) shift() float64 {
	if t.NB == 0 {
		return math.Sqrt(float64(t.NA))
	}
	return 1 / math.Sqrt(1/float64(t.NA)+1/float64(t.NB))
}

// Power is the probability that the test finds a true difference of effect standard deviations:
//
//	P(T > c) + P(T < -c), T noncentral t with shift effect/sqrt(1/NA + 1/NB), c = t(1 - Level/Sides)
//
// the second term with two sides only. Exact. Errors tell which part of the plan is impossible. Source:
// Owen 1968; Cohen, Statistical Power Analysis, 1988 (recalled).
func (t TTest) Power(effect float64) (float64, error) {
	if err := t.check(); err != nil {
		return math.NaN(), err
	}
	if math.IsNaN(effect) || math.IsInf(effect, 0) {
		return math.NaN(), fmt.Errorf("an effect of %g standard deviations is no number", effect)
	}
	p := t.power(effect, t.critical())
	if math.IsNaN(p) {
		return p, fmt.Errorf("the power for an effect of %g standard deviations with %d and %d values is beyond what can be computed", effect, t.NA, t.NB)
	}
	return p, nil
}

func (t TTest) critical() float64 { return -uncert.StudentQuantile(t.Level/float64(t.Sides), t.dof()) }

func (t TTest) power(effect, critical float64) float64 {
	d := NoncentralT{DoF: t.dof(), Delta: effect * t.shift()}
	p := d.Survival(critical)
	if t.Sides == 2 {
		p += d.CDF(-critical)
	}
	return p
}

// Detectable is the difference, in standard deviations, that the test finds with the probability given,
// which lies above Level and below 1: what so few values can show.
func (t TTest) Detectable(power float64) (float64, error) {
	if err := t.check(); err != nil {
		return math.NaN(), err
	}
	if !(power > t.Level && power < 1) {
		return math.NaN(), fmt.Errorf("power %g does not lie between the level %g and 1", power, t.Level)
	}
	c := t.critical()
	miss := func(effect float64) float64 { return t.power(effect, c) - power }
	lo, hi := 0.0, 1.0
	for miss(hi) < 0 {
		lo, hi = hi, 2*hi
	}
	d := root(miss, lo, hi)
	if !(math.Abs(miss(d)) < 1e-8) {
		return math.NaN(), fmt.Errorf("what %d and %d values can show at level %g with power %g is beyond what can be computed", t.NA, t.NB, t.Level, power)
	}
	return d, nil
}

// largestGroup ends the search for a sample size.
const largestGroup = 1_000_000

// SampleSize is the smallest number of values in each of groups (1 or 2) equal groups with which a t test
// finds a difference of effect standard deviations with at least the power asked, and the power it then
// has. An effect so small that a million do not suffice is an error.
func SampleSize(groups int, effect, power, level float64, sides int) (n int, achieved float64, err error) {
	if groups != 1 && groups != 2 {
		return 0, math.NaN(), fmt.Errorf("a t test has 1 or 2 groups, not %d", groups)
	}
	if !(power > level && power < 1) {
		return 0, math.NaN(), fmt.Errorf("power %g does not lie between the level %g and 1", power, level)
	}
	at := func(n int) (float64, error) {
		return TTest{NA: n, NB: n * (groups - 1), Level: level, Sides: sides}.Power(effect)
	}
	lo, hi := 1, 2
	for {
		p, err := at(hi)
		if err != nil {
			return 0, math.NaN(), err
		}
		if p >= power {
			break
		}
		if hi >= largestGroup {
			return 0, math.NaN(), fmt.Errorf("an effect of %g standard deviations is not found with power %g by %d values a group; ask for a larger effect", effect, power, hi)
		}
		lo, hi = hi, min(2*hi, largestGroup)
	}
	for hi-lo > 1 {
		mid := (lo + hi) / 2
		p, err := at(mid)
		if err != nil {
			return 0, math.NaN(), err
		}
		if p >= power {
			hi = mid
		} else {
			lo = mid
		}
	}
	achieved, err = at(hi)
	return hi, achieved, err
}
