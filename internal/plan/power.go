package plan

import (
	"fmt"
	"math"

	"github.com/hardcatch/hardcatch/internal/num/exact"
)

// PeakTest is a comparison of the peaks of two groups that has not been made: as many specimens in each, peaks lognormal
// with one coefficient of variation, Student's t test of the logarithms, two-sided.
type PeakTest struct {
	CV    float64 // of the peaks among like specimens, 0.08 = 8 %
	Alpha float64 // false alarms allowed
}

// Check reports a test that cannot be planned.
func (t PeakTest) Check() error {
	if !(t.CV > 0 && t.CV <= 2) {
		return fmt.Errorf("a scatter of %g: the coefficient of variation lies above 0 and within 2; 0.08 is 8 %%", t.CV)
	}
	if !(t.Alpha > 0 && t.Alpha < 1) {
		return fmt.Errorf("alpha %g does not lie between 0 and 1; 0.05 is usual", t.Alpha)
	}
	return nil
}

// LogSD is the standard deviation of the logarithm of the peak, sqrt(ln(1 + cv^2)).
func (t PeakTest) LogSD() float64 { return math.Sqrt(math.Log1p(t.CV * t.CV)) }

// effect is a ratio of medians in standard deviations of the logarithm.
func (t PeakTest) effect(ratio float64) float64 { return math.Abs(math.Log(ratio)) / t.LogSD() }

func (t PeakTest) groups(n int) exact.TTest {
	return exact.TTest{NA: n, NB: n, Level: t.Alpha, Sides: 2}
}

// Power is the probability that n against n find a ratio of the group medians.
func (t PeakTest) Power(ratio float64, n int) (float64, error) {
	return t.groups(n).Power(t.effect(ratio))
}

// Size is the smallest n with which n against n find the ratio with the power given.
func (t PeakTest) Size(ratio, power float64) (int, error) {
	n, _, err := exact.SampleSize(2, t.effect(ratio), power, t.Alpha, 2)
	return n, err
}

// SmallestRatio is the ratio above 1 that n against n find with the power given; its inverse is found alike.
func (t PeakTest) SmallestRatio(power float64, n int) (float64, error) {
	d, err := t.groups(n).Detectable(power)
	return math.Exp(d * t.LogSD()), err
}
