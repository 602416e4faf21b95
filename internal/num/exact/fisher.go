// Package exact makes tests and bounds for few values that need no large-sample approximation.
package exact

import (
	"fmt"
	"math"
)

// FisherTest is what a two-by-two table of counts says about two groups:
//
//	           event  none
//	group A      a      b
//	group B      c      d
//
// Everything is conditional on the margins; the odds ratio is that of A over B.
type FisherTest struct {
	A, B, C, D int

	// TwoSided sums the probabilities of all tables that are no likelier than the one seen. Greater and
	// Less are the one-sided values: as many events in A or more, as many or fewer.
	TwoSided, Greater, Less float64

	// OddsRatio is the conditional maximum likelihood estimate, from 0 to +Inf; NaN when the margins
	// allow one table only. Lo and Hi bound it at Confidence or more, equal tails.
	OddsRatio, Lo, Hi float64
	Confidence        float64

	// SmallestMargins is the smallest two-sided value that any table with these margins could have given.
	// SmallestDesign is the smallest that these group sizes could have given, whatever had happened.
	SmallestMargins, SmallestDesign float64

	Warnings []string
}

// likeness is how much a table's probability may exceed the observed one and still count as no likelier:
// it only absorbs rounding, and is the value R uses.
const likeness = 1e-7

// maxTable keeps the sums over all tables affordable.
const maxTable = 1_000_000

// Fisher is Fisher's exact test of a two-by-two table, with the conditional odds ratio and its exact
// interval at the confidence given (0.95 usual). The counts are at least 0 and each group has at least
// one specimen, a million together at most; otherwise an error says what is wrong. With margins that
// allow one table only, the test says nothing: its values are 1 and a warning tells why. Probabilities
// below 1e-300 come out as 0. Source: Fisher, J. R. Stat. Soc. 98 (1935) 39-54; interval and estimate
// as in Cornfield 1956, Clopper-Pearson form.
func Fisher(a, b, c, d int, confidence float64) (FisherTest, error) {
	if a < 0 || b < 0 || c < 0 || d < 0 {
		return FisherTest{}, fmt.Errorf("table %d %d / %d %d: a count cannot be negative", a, b, c, d)
	}
	if a > maxTable || b > maxTable || c > maxTable || d > maxTable || a+b+c+d > maxTable {
		return FisherTest{}, fmt.Errorf("table %d %d / %d %d: more than %d together; use a test for large samples", a, b, c, d, maxTable)
	}
	if a+b == 0 || c+d == 0 {
		return FisherTest{}, fmt.Errorf("table %d %d / %d %d: a group has no specimen, so there is nothing to compare", a, b, c, d)
	}
	if !(confidence > 0 && confidence < 1) {
		return FisherTest{}, fmt.Errorf("confidence %g does not lie between 0 and 1", confidence)
	}
	f := FisherTest{A: a, B: b, C: c, D: d, Confidence: confidence, SmallestDesign: smallestFisher(a+b, c+d)}
	h := newHypergeometric(a+b, c+d, a+c)
	if h.lo == h.hi {
		f.TwoSided, f.Greater, f.Less, f.SmallestMargins = 1, 1, 1, 1
		f.OddsRatio, f.Lo, f.Hi = math.NaN(), 0, math.Inf(1)
		what := "no specimen of either group had the event"
		if b+d == 0 {
			what = "every specimen of both groups had the event"
		}
		f.Warnings = append(f.Warnings, what+": the groups cannot be told apart by counting")
		return f, nil
	}
	p := h.probabilities(0)
	f.TwoSided = noLikelier(p, p[a-h.lo])
	f.SmallestMargins = noLikelier(p, math.Min(p[0], p[len(p)-1]))
	f.Less, f.Greater = sumOf(p[:a-h.lo+1]), sumOf(p[a-h.lo:])
	f.OddsRatio = h.likeliest(a)
	f.Lo, f.Hi = h.interval(a, (1-confidence)/2)
	return f, nil
}

// smallestFisher is the smallest two-sided value for group sizes m and n: every table has at least the
// probability 1/C(m+n, m), reached where all events fall on one whole group; with equal groups its mirror
// image is as unlikely.
func smallestFisher(m, n int) float64 {
	p := 1 / binomial(m+n, m)
	if m == n {
		p *= 2
	}
	return math.Min(1, p)
}

func noLikelier(p []float64, seen float64) float64 {
	sum := 0.0
	for _, v := range p {
		if v <= seen*(1+likeness) {
			sum += v
		}
	}
	return math.Min(1, sum)
}

func sumOf(p []float64) float64 {
	sum := 0.0
	for _, v := range p {
		sum += v
	}
	return math.Min(1, sum)
}

// binomial is n over k as a float: exact while it is below 2^53, else within a few units in the last
// place per factor; +Inf beyond the range.
func binomial(n, k int) float64 {
	k = min(k, n-k)
	c := 1.0
	for i := 1; i <= k && !math.IsInf(c, 1); i++ {
		next := c * float64(n-k+i)
		if next < 1<<53 {
			c = next / float64(i)
		} else {
			c *= float64(n-k+i) / float64(i)
		}
	}
	return c
}
