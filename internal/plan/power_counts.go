package plan

import (
	"errors"
	"fmt"
	"math"

	"github.com/hardcatch/hardcatch/internal/num/exact"
	"github.com/hardcatch/hardcatch/internal/num/uncert"
)

// CountTest is a comparison of two break probabilities by counting breaks, with Fisher's exact test, two-sided.
type CountTest struct {
	A, B  float64 // supposed break probabilities
	Alpha float64
}

// MaxCountGroup is the largest group compared by counts: the tables of a design grow with the square of its size.
const MaxCountGroup = 250

// enoughAfter is for how many sizes more the power has to stay, since it does not rise steadily with n.
const enoughAfter = 5

// ErrTooMany is the error for a difference that needs larger groups than are searched.
var ErrTooMany = errors.New("more specimens are needed than are searched")

// Check reports a test that cannot be planned.
func (t CountTest) Check() error {
	for _, p := range []float64{t.A, t.B} {
		if !(p >= 0 && p <= 1) {
			return fmt.Errorf("a break probability of %g does not lie between 0 and 1", p)
		}
	}
	if t.A == t.B {
		return fmt.Errorf("break probabilities of %g and %g are no difference; give two", t.A, t.B)
	}
	return nil
}

// Power is the probability that Fisher's test of n against n comes out at alpha or below: the sum over all pairs of
// counts, exact.
func (t CountTest) Power(n int) float64 {
	a, b := binomialDensity(n, t.A), binomialDensity(n, t.B)
	power := 0.0
	for k := 0; k <= 2*n; k++ {
		lo, p := exact.FisherOfMargin(n, n, k)
		for i, value := range p {
			if value <= t.Alpha*(1+1e-7) {
				power += a[lo+i] * b[k-lo-i]
			}
		}
	}
	return power
}

// Size is the smallest n from which on the power stays at the one given or above for five sizes more. An error says
// that it is beyond what is searched.
func (t CountTest) Size(power float64) (int, error) {
	// The normal approximation without continuity correction is always less than Fisher's conservative test needs; half of
	// it is where the search starts.
	z := uncert.NormalQuantile(1-t.Alpha/2) + uncert.NormalQuantile(power)
	rough := z * z * (t.A*(1-t.A) + t.B*(1-t.B)) / ((t.A - t.B) * (t.A - t.B))
	if rough/2 > MaxCountGroup {
		return 0, t.tooMany()
	}
	first := 0
	for n := max(2, int(rough/2)); n <= MaxCountGroup+enoughAfter; n++ {
		switch {
		case t.Power(n) < power:
			first = 0
		case first == 0:
			first = n
		case n-first == enoughAfter:
			return first, nil
		}
	}
	return 0, t.tooMany()
}

func (t CountTest) tooMany() error {
	return fmt.Errorf("%w: break probabilities of %g and %g take more than %d a group; measure forces instead of counting", ErrTooMany, t.A, t.B, MaxCountGroup)
}

// binomialDensity is the probability of 0 ... n events.
func binomialDensity(n int, p float64) []float64 {
	d := make([]float64, n+1)
	switch p {
	case 0:
		d[0] = 1
		return d
	case 1:
		d[n] = 1
		return d
	}
	all, _ := math.Lgamma(float64(n + 1))
	for k := range d {
		a, _ := math.Lgamma(float64(k + 1))
		b, _ := math.Lgamma(float64(n - k + 1))
		d[k] = math.Exp(all - a - b + float64(k)*math.Log(p) + float64(n-k)*math.Log1p(-p))
	}
	return d
}

// SmallestP is the smallest two-sided value that any exact test of ranks or counts can give with n against n: all of
// one group beyond all of the other, 2/C(2n, n).
func SmallestP(n int) float64 {
	p := 2.0
	for i := 1; i <= n; i++ {
		p *= float64(i) / float64(n+i)
	}
	return p
}
