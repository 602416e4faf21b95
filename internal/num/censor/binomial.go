// Package censor makes inference from data of which a part is only known to lie beyond a bound.
package censor

import (
	"fmt"

	"gonum.org/v1/gonum/mathext"
)

// Binomial is an exact interval for a probability from k events in n trials.
type Binomial struct {
	K, N         int
	Estimate     float64 // K/N
	Lo, Hi       float64
	Confidence   float64 // asked; the interval covers at least this
	TailEachSide float64
}

// ExactBinomial is the Clopper-Pearson interval at the confidence given (0.95 usual):
//
//	lo = I^-1(a/2; k, n-k+1), hi = I^-1(1-a/2; k+1, n-k), a = 1 - confidence
//
// with lo = 0 at k = 0 and hi = 1 at k = n. An error says which count is impossible. Source: Clopper
// and Pearson, Biometrika 26 (1934) 404-413.
func ExactBinomial(k, n int, confidence float64) (Binomial, error) {
	if n < 1 || k < 0 || k > n {
		return Binomial{}, fmt.Errorf("%d events in %d trials: nothing can be said; at least one trial, and no more events than trials", k, n)
	}
	if !(confidence > 0 && confidence < 1) {
		return Binomial{}, fmt.Errorf("confidence %g does not lie between 0 and 1", confidence)
	}
	a := (1 - confidence) / 2
	b := Binomial{K: k, N: n, Estimate: float64(k) / float64(n), Hi: 1, Confidence: confidence, TailEachSide: a}
	if k > 0 {
		b.Lo = mathext.InvRegIncBeta(float64(k), float64(n-k+1), a)
	}
	if k < n {
		// 1 - I^-1(a; n-k, k+1) keeps the digits of a high limit near 1.
		b.Hi = 1 - mathext.InvRegIncBeta(float64(n-k), float64(k+1), a)
	}
	return b, nil
}
