package uncert

import (
	"math"

	"gonum.org/v1/gonum/mathext"
)

// StudentQuantile is the p-quantile of Student's t with dof degrees of freedom, 0 < p < 1, dof > 0
// (+Inf gives the normal quantile):
//
//	t = sqrt(nu (1-x)/x) with x = I^-1(2 min(p, 1-p); nu/2, 1/2)
//
// NaN outside the range. Above 1e7 degrees of freedom an expansion about the normal quantile is used. Source: Abramowitz and Stegun, 26.7.1 with 26.5.2.
func StudentQuantile(p, dof float64) float64 {
	if !(p > 0 && p < 1) || !(dof > 0) {
		return math.NaN()
	}
	if dof > 1e7 {
		// Two terms of the expansion about the normal quantile (Abramowitz and Stegun, 26.7.5); the next is below
		// 1e-12. The inverse of the incomplete beta function fails there.
		z := NormalQuantile(p)
		return z + (z*z*z+z)/(4*dof)
	}
	if p == 0.5 {
		return 0
	}
	tail := math.Min(p, 1-p)
	x := mathext.InvRegIncBeta(dof/2, 0.5, 2*tail)
	t := math.Sqrt(dof * (1 - x) / x)
	if p < 0.5 {
		return -t
	}
	return t
}

// StudentTail is the probability that |T| exceeds |t|: I_x(nu/2, 1/2), x = nu/(nu+t^2).
func StudentTail(t, dof float64) float64 {
	if math.IsInf(dof, 1) {
		return math.Erfc(math.Abs(t) / math.Sqrt2)
	}
	return mathext.RegIncBeta(dof/2, 0.5, dof/(dof+t*t))
}

// NormalQuantile is the p-quantile of the standard normal distribution.
func NormalQuantile(p float64) float64 {
	return -math.Sqrt2 * math.Erfcinv(2*p)
}

// FTail is the probability that an F variable with d1 and d2 degrees of freedom exceeds f:
// I_x(d2/2, d1/2), x = d2/(d2 + d1 f). Source: Abramowitz and Stegun, 26.6.2.
func FTail(f, d1, d2 float64) float64 {
	if f <= 0 {
		return 1
	}
	return mathext.RegIncBeta(d2/2, d1/2, d2/(d2+d1*f))
}
