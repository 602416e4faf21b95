package exact

import (
	"fmt"
	"math"
	"sort"
)

// DixonRatio is one of Dixon's ratios of ordered values x(1) <= ... <= x(n), of which the last is suspect:
//
//	r(i, j) = (x(n) - x(n-i))/(x(n) - x(1+j))
type DixonRatio struct{ I, J int }

// The ratios in use.
var (
	R10 = DixonRatio{1, 0}
	R11 = DixonRatio{1, 1}
	R21 = DixonRatio{2, 1}
	R22 = DixonRatio{2, 2}
)

// largestDixon is where Dixon's tables end.
const largestDixon = 30

func (r DixonRatio) String() string { return fmt.Sprintf("r%d%d", r.I, r.J) }

// DixonFor is the ratio that Dixon recommends for n values: r10 to 7, r11 to 10, r21 to 13, r22 beyond.
func DixonFor(n int) DixonRatio {
	switch {
	case n <= 7:
		return R10
	case n <= 10:
		return R11
	case n <= 13:
		return R21
	}
	return R22
}

func (r DixonRatio) check(n int) error {
	if r != R10 && r != R11 && r != R21 && r != R22 {
		return fmt.Errorf("outlier test: ratio %v is none of r10, r11, r21 and r22", r)
	}
	if least := r.I + r.J + 2; n < least || n > largestDixon {
		return fmt.Errorf("outlier test: Dixon's %v is for %d to %d values, there are %d; Grubbs' test takes any number from 3", r, least, largestDixon, n)
	}
	return nil
}

// Tail is the probability that the ratio of n normal values exceeds q, 0 <= q <= 1, the suspect end named
// beforehand. With x the highest value, y = x(1+j) and v = x - y:
//
//	P = n!/(j! m!) integral integral phi(x) phi(y) Phi(y)^j sum_{k<i} C(m,k) B^k A^(m-k) dv dy
//	A = Phi(x - q v) - Phi(y), B = Phi(x) - Phi(x - q v), m = n - j - 2
//
// since x(n-i) lies below x - q v just when fewer than i of the m values between y and x lie above it.
// Error below 1e-10. Source: Dixon, Ann. Math. Stat. 22 (1951) 68-78.
func (r DixonRatio) Tail(q float64, n int) (float64, error) {
	if err := r.check(n); err != nil {
		return math.NaN(), err
	}
	if !(q >= 0 && q <= 1) {
		return math.NaN(), fmt.Errorf("outlier test: a ratio of %g does not lie between 0 and 1", q)
	}
	return r.tail(q, n, dixonStep, newGauss(0, dixonSpan, 5)), nil
}

// Beyond dixonEnd a normal density is below 1e-18. In y the integrand falls off at both ends, so that the
// trapezoidal rule converges geometrically; at dixonStep its error is below rounding up to 30 values.
const (
	dixonEnd  = 9.0
	dixonStep = 0.2
	dixonSpan = 14.0
)

func (r DixonRatio) tail(q float64, n int, step float64, vs gauss) float64 {
	m := n - r.J - 2
	factor := 1.0
	for k := m + 1; k <= n; k++ {
		factor *= float64(k)
	}
	if r.J == 2 {
		factor /= 2
	}
	total := 0.0
	for y := -dixonEnd; y <= dixonEnd; y += step {
		inner := 0.0
		for k, v := range vs.x {
			x := y + v
			if x > dixonEnd {
				continue
			}
			cut := y + (1-q)*v
			a := between(y, cut)
			ways := power(a, m)
			if r.I == 2 {
				ways += float64(m) * between(cut, x) * power(a, m-1)
			}
			inner += vs.w[k] * density(x) * ways
		}
		total += step * density(y) * power(phiTail(-y), r.J) * inner
	}
	return math.Min(1, factor*total)
}

// between is the normal probability from a to b, with its digits kept in the upper tail.
func between(a, b float64) float64 {
	if a > 0 {
		return phiTail(a) - phiTail(b)
	}
	return phiTail(-b) - phiTail(-a)
}

// power is x^k for k >= 0, and 1 for k = 0 whatever x.
func power(x float64, k int) float64 {
	p := 1.0
	for ; k > 0; k >>= 1 {
		if k&1 == 1 {
			p *= x
		}
		x *= x
	}
	return p
}

// Critical is the ratio that n normal values exceed with probability level, the suspect end named beforehand.
func (r DixonRatio) Critical(n int, level float64) (float64, error) {
	if err := r.check(n); err != nil {
		return math.NaN(), err
	}
	if !(level > 0 && level < 1) {
		return math.NaN(), fmt.Errorf("outlier test: level %g does not lie between 0 and 1", level)
	}
	vs := newGauss(0, dixonSpan, 5)
	return root(func(q float64) float64 { return r.tail(q, n, dixonStep, vs) - level }, 0, 1), nil
}

// Dixon tests the highest or lowest value, or the one of them with the higher ratio, against its
// neighbours, by the ratio that DixonFor names. For either end the critical value is that at half the level
// and P is doubled: exact where the two ratios cannot both be so high (r10 above 1/2), else an upper bound
// (PIsBound). 3 to 30 values, finite and not all equal, and a level between 0 and 1; else an error. Source:
// Dixon 1951 and Biometrics 9 (1953) 74-89.
func Dixon(x []float64, side Side, level float64) (Outlier, error) {
	if _, _, err := moments(x, 3); err != nil {
		return Outlier{}, fmt.Errorf("outlier test: %w", err)
	}
	if err := checkSide(side, level); err != nil {
		return Outlier{}, err
	}
	n := len(x)
	r := DixonFor(n)
	if err := r.check(n); err != nil {
		return Outlier{}, err
	}
	high, low := ratios(x, r)
	o := Outlier{Test: "Dixon " + r.String(), N: n, Level: level, Statistic: high}
	atLow := side == Low || side == Either && low > high
	if atLow {
		o.Statistic = low
	}
	for i, v := range x {
		if atLow && v < x[o.Index] || !atLow && v > x[o.Index] {
			o.Index = i
		}
	}
	o.Value = x[o.Index]
	ends := 1.0
	if side == Either {
		ends = 2
	}
	p, err := r.Tail(o.Statistic, n)
	if err != nil {
		return Outlier{}, err
	}
	o.P = math.Min(1, ends*p)
	o.PIsBound = side == Either && (r != R10 || o.Statistic <= 0.5)
	if o.Critical, err = r.Critical(n, level/ends); err != nil {
		return Outlier{}, err
	}
	o.Flagged = o.Statistic > o.Critical
	if o.Statistic == 1 {
		o.Warnings = append(o.Warnings, "the values next to the suspect one are equal: they were read too coarsely for this test")
	}
	return o, nil
}

// ratios are those of the highest and of the lowest value.
func ratios(x []float64, r DixonRatio) (high, low float64) {
	s := append([]float64{}, x...)
	sort.Float64s(s)
	n := len(s)
	high = apart(s[n-1]-s[n-1-r.I], s[n-1]-s[r.J])
	low = apart(s[r.I]-s[0], s[n-1-r.J]-s[0])
	return high, low
}

// apart is gap over range; with no range at that end nothing stands apart.
func apart(gap, span float64) float64 {
	if span == 0 {
		return 0
	}
	return gap / span
}
