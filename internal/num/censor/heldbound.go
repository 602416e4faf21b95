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

// HeldBound is what an all-held series says when the Weibull shape is taken as given (1: exponential).
type HeldBound struct {
	Shape, Confidence float64
	N                 int
	// ScaleLo is the lower bound of the scale: (sum of x^shape / -log(1 - confidence))^(1/shape).
	ScaleLo float64
}

// AllHeld is the one-sided lower bound from values that are all right-censored, with the Weibull shape given from
// elsewhere. At one proof level common to all it is the success run whatever the shape; at other levels it rests on the
// shape. Source: Nelson, Applied Life Data Analysis, 1982, ch. 8 (recalled); it follows from the likelihood
// exp(-sum (x/scale)^shape) of a series without a failure.
func AllHeld(values []Value, shape, confidence float64) (HeldBound, error) {
	if err := checkConfidence(confidence); err != nil {
		return HeldBound{}, err
	}
	if !(shape > 0) || math.IsInf(shape, 1) {
		return HeldBound{}, failf(ErrArgument, "a Weibull shape of %g; give one above 0", shape)
	}
	b := HeldBound{Shape: shape, Confidence: confidence}
	top := 0.0
	for i, v := range values {
		if err := v.Check(); err != nil {
			return HeldBound{}, failf(ErrValue, "value %d: %v", i+1, err)
		}
		if v.Kind() != RightCensored {
			return HeldBound{}, failf(ErrArgument, "value %d did not hold; fit the values instead of asking for the bound of an all-held series", i+1)
		}
		b.N += v.N()
		top = max(top, v.Lo)
	}
	if top <= 0 {
		return HeldBound{}, failf(ErrNotIdentified, "no specimen held a load above 0; nothing can be said")
	}
	sum := 0.0
	for _, v := range values {
		sum += float64(v.N()) * math.Pow(max(0, v.Lo)/top, shape)
	}
	b.ScaleLo = top * math.Pow(sum/-math.Log1p(-confidence), 1/shape)
	return b, nil
}

// Survival is the lower bound of the survival at x.
func (b HeldBound) Survival(x float64) float64 {
	return math.Exp(-math.Pow(max(0, x)/b.ScaleLo, b.Shape))
}

// Quantile is the lower bound of the p quantile, 0 <= p < 1.
func (b HeldBound) Quantile(p float64) float64 {
	return b.ScaleLo * math.Pow(-math.Log1p(-p), 1/b.Shape)
}
