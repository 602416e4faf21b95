package censor

import "math"

// SuccessRun is the lower bound of the survival at a proof level when all of n specimens held it:
// (1 - confidence)^(1/n). n is at least 1. Source: the exact binomial bound with no failure, Clopper and Pearson,
// Biometrika 26 (1934) 404-413, one-sided.
func SuccessRun(n int, confidence float64) (float64, error) {
	if err := checkConfidence(confidence); err != nil {
		return 0, err
	}
	if n < 1 {
		return 0, failf(ErrArgument, "a success run of %d specimens says nothing; test at least one", n)
	}
	return math.Exp(math.Log1p(-confidence) / float64(n)), nil
}
