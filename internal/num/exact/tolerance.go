package exact

import (
	"fmt"
	"math"
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
