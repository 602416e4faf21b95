package exact

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mathext"
)

func checkTolerance(n int, content, confidence float64) error {
	if n < 2 {
		return fmt.Errorf("a tolerance factor needs at least 2 values, there are %d", n)
	}
	if !(content > 0 && content < 1) {
		return fmt.Errorf("content %g does not lie between 0 and 1", content)
	}
	if !(confidence > 0 && confidence < 1) {
		return fmt.Errorf("confidence %g does not lie between 0 and 1", confidence)
	}
	return nil
}

// OneSidedFactor is the k for which mean - k sd of n normal values lies below at least the share content
// of their population with the confidence given (or mean + k sd above):
//
//	k = t(confidence; n-1, z sqrt n)/sqrt n, z the normal quantile of content, t noncentral
//
// n is at least 2; content and confidence lie between 0 and 1. Exact. Source: ISO 16269-6:2014, annex
// (recalled); Owen 1968.
func OneSidedFactor(n int, content, confidence float64) (float64, error) {
	if err := checkTolerance(n, content, confidence); err != nil {
		return math.NaN(), err
	}
	sq := math.Sqrt(float64(n))
	k := NoncentralT{DoF: float64(n - 1), Delta: -normalUpper(content) * sq}.Quantile(confidence) / sq
	if math.IsNaN(k) {
		return k, fmt.Errorf("a content of %g at confidence %g from %d values is beyond what can be computed", content, confidence, n)
	}
	return k, nil
}

// ContentShown is the share of a normal population that lies above mean - k sd of n values, at the
// confidence given: what OneSidedFactor answers, asked the other way round.
func ContentShown(n int, k, confidence float64) (float64, error) {
	if err := checkTolerance(n, 0.5, confidence); err != nil {
		return math.NaN(), err
	}
	if math.IsNaN(k) || math.IsInf(k, 0) {
		return math.NaN(), fmt.Errorf("a factor of %g is no number", k)
	}
	sq := math.Sqrt(float64(n))
	// The probability falls as the shift z sqrt n grows.
	miss := func(delta float64) float64 {
		return confidence - NoncentralT{DoF: float64(n - 1), Delta: delta}.CDF(k*sq)
	}
	// Beyond 39 standard deviations the content is 0 or 1 to the last digit.
	edge := 39 * sq
	delta := root(miss, -edge, edge)
	if off := math.Abs(miss(delta)); math.IsNaN(off) || off > 1e-8 && math.Abs(delta) < edge {
		return math.NaN(), fmt.Errorf("what %g standard deviations from %d values show at confidence %g is beyond what can be computed", k, n, confidence)
	}
	return phiTail(-delta / sq), nil
}

// TwoSidedFactor is the k for which mean - k sd to mean + k sd of n normal values hold at least the share
// content of their population with the confidence given. It solves
//
//	confidence = 2 integral_0^inf phi(z) P(chi2(n-1) > (n-1) r(z)^2/k^2) dz
//	content = Phi(z/sqrt n + r) - Phi(z/sqrt n - r)
//
// by integration over the mean; the tail of the content is solved, so that a content near 1 keeps its
// digits. Range as OneSidedFactor. Exact to about 1e-10 of k. Source: ISO 16269-6:2014, annex (recalled);
// Odeh and Owen 1980.
func TwoSidedFactor(n int, content, confidence float64) (float64, error) {
	if err := checkTolerance(n, content, confidence); err != nil {
		return math.NaN(), err
	}
	zq := normalUpper((1 - content) / 2)
	g := newGauss(0, 9, 4)
	squares := make([]float64, len(g.x))
	for i, z := range g.x {
		off := z / math.Sqrt(float64(n))
		// The interval about a mean that is off reaches at least zq, and at most that and twice the offset.
		r := root(func(r float64) float64 {
			return math.Log(1-content) - math.Log(phiTail(r-off)+phiTail(r+off))
		}, zq*(1-1e-12), zq*(1+1e-12)+2*off)
		squares[i] = r * r
	}
	dof := float64(n - 1)
	// miss is negative where the interval holds too little too often.
	miss := func(logK float64) float64 {
		k := math.Exp(logK)
		short := 0.0
		for i, z := range g.x {
			short += 2 * g.w[i] * density(z) * mathext.GammaIncReg(dof/2, dof*squares[i]/(2*k*k))
		}
		return 1 - confidence - short
	}
	lo := math.Log(zq) - 1
	hi := lo + 2
	for miss(lo) > 0 {
		lo, hi = lo-2, lo
	}
	for miss(hi) < 0 {
		lo, hi = hi, hi+2
	}
	return math.Exp(root(miss, lo, hi)), nil
}

// HoweFactor is Howe's approximation of TwoSidedFactor, as many handbooks print it:
//
//	k = z((1+content)/2) sqrt(nu (1 + 1/n)/chi2(1 - confidence; nu)), nu = n - 1
//
// Use it only to repeat a published number: at n = 2 it is off by 5 %, from n = 5 by less than 1 %.
// Source: Howe, J. Am. Stat. Assoc. 64 (1969) 610-620; NIST/SEMATECH e-Handbook 7.2.6.3.
func HoweFactor(n int, content, confidence float64) (float64, error) {
	if err := checkTolerance(n, content, confidence); err != nil {
		return math.NaN(), err
	}
	dof := float64(n - 1)
	chi2 := 2 * mathext.GammaIncRegInv(dof/2, 1-confidence)
	return normalUpper((1-content)/2) * math.Sqrt(dof*(1+1/float64(n))/chi2), nil
}
