package censor

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// logRoot2Pi is log sqrt(2 pi).
const logRoot2Pi = 0.918938533204672741780329736406

// farTail is where the series for the normal tail takes over from erfc; its five terms are then good
// to 3e-14.
const farTail = 30

// normalQuantile is z with Phi(z) = p, by Wichura's AS 241.
func normalQuantile(p float64) float64 { return distuv.UnitNormal.Quantile(p) }

// millsSeries is z (1 - Phi(z)) / phi(z) for z >= farTail: 1 - 1/z^2 + 3/z^4 - 15/z^6 + 105/z^8 - 945/z^10.
// Source: Abramowitz and Stegun 26.2.12.
func millsSeries(z float64) float64 {
	t := 1 / (z * z)
	return 1 - t*(1-3*t*(1-5*t*(1-7*t*(1-9*t))))
}

// logNormalTail is log(1 - Phi(z)), without underflow however large z is.
func logNormalTail(z float64) float64 {
	switch {
	case z > farTail:
		return -z*z/2 - logRoot2Pi - math.Log(z) + math.Log(millsSeries(z))
	case z < 0:
		return math.Log1p(-math.Erfc(-z/math.Sqrt2) / 2)
	}
	return math.Log(math.Erfc(z/math.Sqrt2) / 2)
}

// normalHazard is h = phi(z) / (1 - Phi(z)) and h (h - z), the first two derivatives of the negative
// log tail.
func normalHazard(z float64) (h, slope float64) {
	if z > farTail {
		m := millsSeries(z)
		// h - z = z (1 - m)/m, with 1 - m taken from the series itself.
		t := 1 / (z * z)
		over := z * t * (1 - 3*t*(1-5*t*(1-7*t*(1-9*t)))) / m
		h = z / m
		return h, h * over
	}
	h = math.Exp(-z*z/2-logRoot2Pi) / (math.Erfc(z/math.Sqrt2) / 2)
	return h, h * (h - z)
}

// logExtremeCumulative is log(1 - exp(-exp(z))).
func logExtremeCumulative(z float64) float64 {
	if z < -37 {
		return z
	}
	return math.Log(-math.Expm1(-math.Exp(z)))
}

// logOneMinusExp is log(1 - exp(-d)) for d > 0.
func logOneMinusExp(d float64) float64 {
	if d > math.Ln2 {
		return math.Log1p(-math.Exp(-d))
	}
	return math.Log(-math.Expm1(-d))
}

// logNormalBetween is log(Phi(b) - Phi(a)) for a < b, taken in the tail where both lie.
func logNormalBetween(a, b float64) float64 {
	if a < 0 && b > 0 {
		return math.Log((math.Erf(b/math.Sqrt2) + math.Erf(-a/math.Sqrt2)) / 2)
	}
	if b <= 0 {
		a, b = -b, -a
	}
	la := logNormalTail(a)
	return la + logOneMinusExp(la-logNormalTail(b))
}

// logExtremeBetween is log(exp(-exp(a)) - exp(-exp(b))) for a < b.
func logExtremeBetween(a, b float64) float64 {
	wa := math.Exp(a)
	if math.IsInf(wa, 1) {
		return math.Inf(-1)
	}
	if b < -700 {
		return b + logOneMinusExp(b-a)
	}
	// exp(b) - exp(a), without loss when they are close.
	d := wa * math.Expm1(b-a)
	if b-a > 1 {
		d = math.Exp(b) - wa
	}
	return -wa + logOneMinusExp(d)
}
