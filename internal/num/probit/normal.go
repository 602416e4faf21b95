package probit

import "math"

// LogPhi is ln Phi(z) with full relative accuracy in both tails.
func LogPhi(z float64) float64 {
	switch {
	case z > 5:
		return math.Log1p(-math.Erfc(z/math.Sqrt2) / 2)
	case z > -30:
		return math.Log(math.Erfc(-z/math.Sqrt2) / 2)
	}
	return -z*z/2 - math.Log(-z) - math.Log(2*math.Pi)/2 + math.Log(tail(z))
}

// Mills is phi(z)/Phi(z).
func Mills(z float64) float64 {
	if z > -30 {
		return math.Exp(-z*z/2) / math.Sqrt(2*math.Pi) / (math.Erfc(-z/math.Sqrt2) / 2)
	}
	return -z / tail(z)
}

// tail is Phi(z)(-z)/phi(z) for z < -30: 1 - 1/z^2 + 3/z^4 - 15/z^6, the next term below 2e-10 (Abramowitz and
// Stegun, 26.2.12).
func tail(z float64) float64 {
	w := 1 / (z * z)
	return 1 - w*(1-w*(3-15*w))
}

// quantile is the p-quantile of the standard normal distribution.
func quantile(p float64) float64 { return -math.Sqrt2 * math.Erfcinv(2*p) }
