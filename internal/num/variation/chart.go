package variation

import (
	"fmt"
	"math"
)

// Baseline is the state that later points are held against.
type Baseline struct {
	Centre, Sigma float64
	MeanRange     float64 // of neighbouring points; 0 when Sigma was given
	N             int     // points it was taken from; 0 when it was given
	Warnings      []string
}

// Of two normal values with a standard deviation of 1 the range has mean 2/sqrt pi and standard deviation
// sqrt(2 - 4/pi): |difference| is sqrt 2 |z|.
var (
	// D2 turns a mean moving range into a standard deviation: 1.128.
	D2 = 2 / math.Sqrt(math.Pi)
	// D4 is the upper limit of the moving range over its mean, mean and three standard deviations: 3.267.
	D4 = 1 + 3*math.Sqrt(2-4/math.Pi)/D2
)

// fewForLimits is the number of points below which limits are called unsure.
const fewForLimits = 20

// TakeBaseline estimates centre and sigma from points in the order they were made:
//
//	centre = mean, sigma = mean |x(i) - x(i-1)|/d2, d2 = 2/sqrt pi
//
// so that a slow drift does not widen the limits. At least 3 finite points whose neighbours are not all
// equal; below 20 a warning says that the limits are unsure. Source: Shewhart 1931; NIST/SEMATECH
// e-Handbook 6.3.2.2.
func TakeBaseline(x []float64) (Baseline, error) {
	if len(x) < 3 {
		return Baseline{}, fmt.Errorf("%d points: a chart needs at least 3 to take its limits from", len(x))
	}
	if err := finite(x); err != nil {
		return Baseline{}, err
	}
	b := Baseline{N: len(x)}
	for i, v := range x {
		b.Centre += (v - b.Centre) / float64(i+1)
		if i > 0 {
			b.MeanRange += (math.Abs(v-x[i-1]) - b.MeanRange) / float64(i)
		}
	}
	if b.MeanRange == 0 {
		return Baseline{}, fmt.Errorf("all %d points are equal (%g): they show no spread; read them to more digits", len(x), x[0])
	}
	b.Sigma = b.MeanRange / D2
	if b.N < fewForLimits {
		b.Warnings = append(b.Warnings, fmt.Sprintf("limits from %d points are unsure by about %.0f %% (one standard error); take %d or more", b.N, 100*rangeError(b.N), fewForLimits))
	}
	return b, nil
}

// rangeError is the relative standard error of sigma from the moving ranges of n points: neighbouring
// ranges share a point, so that their covariance counts. For |z1 - z2| and |z2 - z3| the correlation of the
// differences is 1/2, and cov(|a|, |b|) = (4/pi)(sqrt(1 - r^2) + r asin r - 1), r = 1/2, for variances of 2.
func rangeError(n int) float64 {
	m := float64(n - 1)
	r := 0.5
	cov := 4 / math.Pi * (math.Sqrt(1-r*r) + r*math.Asin(r) - 1)
	variance := (m*(2-4/math.Pi) + 2*(m-1)*cov) / (m * m)
	return math.Sqrt(variance) / D2
}

func finite(x []float64) error {
	for i, v := range x {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return fmt.Errorf("point %d is %g; leave out what was not measured", i+1, v)
		}
	}
	return nil
}

func (b Baseline) check() error {
	if !(b.Sigma > 0) || math.IsInf(b.Sigma, 0) || math.IsNaN(b.Centre) || math.IsInf(b.Centre, 0) {
		return fmt.Errorf("baseline %g with sigma %g: the centre must be finite and sigma above 0", b.Centre, b.Sigma)
	}
	return nil
}

// Individuals is a chart of single values with that of their moving range.
type Individuals struct {
	Baseline     Baseline
	Lower, Upper float64   // centre -+ 3 sigma
	Ranges       []float64 // |x(i) - x(i-1)|, one fewer than the points
	RangeUpper   float64   // D4 d2 sigma
	Violations   []Violation
}

// ChartIndividuals holds points in the order they were made against a baseline, by the run rules given (RunRules
// usual) and the limit of the moving range. The baseline may be taken from the same points or from earlier
// ones. More rules raise more false alarms: of points that are all right the first calls 1 in 370, together
// with two of three, four of five and eight on one side 1 in 92 (Champ and Woodall, Technometrics 29 (1987)
// 393-399, recalled). Source: NIST/SEMATECH e-Handbook 6.3.2.2.
func ChartIndividuals(b Baseline, x []float64, rules []Rule) (Individuals, error) {
	if err := b.check(); err != nil {
		return Individuals{}, err
	}
	if len(x) == 0 {
		return Individuals{}, fmt.Errorf("no point to chart")
	}
	if err := finite(x); err != nil {
		return Individuals{}, err
	}
	c := Individuals{Baseline: b, Lower: b.Centre - 3*b.Sigma, Upper: b.Centre + 3*b.Sigma, RangeUpper: D4 * D2 * b.Sigma}
	z := make([]float64, len(x))
	for i, v := range x {
		z[i] = (v - b.Centre) / b.Sigma
		if i > 0 {
			c.Ranges = append(c.Ranges, math.Abs(v-x[i-1]))
		}
	}
	var err error
	if c.Violations, err = broken(z, rules); err != nil {
		return Individuals{}, err
	}
	for i, r := range c.Ranges {
		if r > c.RangeUpper {
			c.Violations = append(c.Violations, Violation{Rule: RangeBeyond, Index: i + 1, First: i})
		}
	}
	return c, nil
}

// EWMA is a chart of the exponentially weighted moving average, which sees a small lasting shift sooner.
type EWMA struct {
	Baseline            Baseline
	Lambda, L           float64
	Z                   []float64 // the average after each point
	Lower, Upper        []float64 // exact limits at each point
	SteadyLow, SteadyUp float64   // what they tend to
	Violations          []Violation
}

// ChartEWMA follows
//
//	z(i) = lambda x(i) + (1 - lambda) z(i-1), z(0) = centre
//	limits: centre -+ L sigma sqrt(lambda/(2 - lambda) (1 - (1 - lambda)^(2 i)))
//
// lambda in (0, 1], 0.2 to 0.3 usual; L > 0, 3 usual. With lambda = 1 it is the chart of single values.
// Source: Roberts, Technometrics 1 (1959) 239-250; NIST/SEMATECH e-Handbook 6.3.2.4.
func ChartEWMA(b Baseline, x []float64, lambda, l float64) (EWMA, error) {
	if err := b.check(); err != nil {
		return EWMA{}, err
	}
	if !(lambda > 0 && lambda <= 1) {
		return EWMA{}, fmt.Errorf("a weight of %g for the newest point does not lie between 0 and 1; 0.2 to 0.3 is usual", lambda)
	}
	if !(l > 0) || math.IsInf(l, 0) {
		return EWMA{}, fmt.Errorf("limits at %g sigma are none; 3 is usual", l)
	}
	if len(x) == 0 {
		return EWMA{}, fmt.Errorf("no point to chart")
	}
	if err := finite(x); err != nil {
		return EWMA{}, err
	}
	steady := l * b.Sigma * math.Sqrt(lambda/(2-lambda))
	c := EWMA{Baseline: b, Lambda: lambda, L: l, SteadyLow: b.Centre - steady, SteadyUp: b.Centre + steady}
	z, before := b.Centre, 0
	for i, v := range x {
		z = lambda*v + (1-lambda)*z
		half := steady
		if lambda < 1 {
			// 1 - (1-lambda)^(2i) without cancellation for a small weight.
			half *= math.Sqrt(-math.Expm1(2 * float64(i+1) * math.Log1p(-lambda)))
		}
		c.Z = append(c.Z, z)
		c.Lower, c.Upper = append(c.Lower, b.Centre-half), append(c.Upper, b.Centre+half)
		side := 0
		if math.Abs(z-b.Centre) > half {
			side = int(math.Copysign(1, z-b.Centre))
		}
		if side != 0 && side != before {
			c.Violations = append(c.Violations, Violation{Rule: AverageBeyond, Index: i, First: i})
		}
		before = side
	}
	return c, nil
}
