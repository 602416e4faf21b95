package censor

import (
	"math"
	"strings"
)

// Family is a distribution that Fit and Regress know. Each is a location and a scale on its working
// scale y, with e of a fixed shape:
//
//	Weibull      y = log T = mu + sigma e, e smallest extreme value; shape = 1/sigma, scale = exp(mu)
//	Lognormal    y = log T = mu + sigma e, e standard normal
//	Normal       y = T = mu + sigma e, e standard normal
//	Exponential  Weibull with sigma = 1
//
// Source: Lawless, Statistical Models and Methods for Lifetime Data, 2nd ed., 1.3 (recalled).
type Family int

// The families.
const (
	Weibull Family = iota
	Lognormal
	Normal
	Exponential
)

var familyNames = [...]string{"weibull", "lognormal", "normal", "exponential"}

// String is the name that ParseFamily reads.
func (f Family) String() string {
	if f < 0 || int(f) >= len(familyNames) {
		return "unknown family"
	}
	return familyNames[f]
}

// ParseFamily reads weibull, lognormal, normal or exponential.
func ParseFamily(name string) (Family, error) {
	for i, n := range familyNames {
		if strings.EqualFold(strings.TrimSpace(name), n) {
			return Family(i), nil
		}
	}
	return 0, failf(ErrArgument, "distribution %q is not known; choose one of %s", name, strings.Join(familyNames[:], ", "))
}

// onLog tells whether the working scale is the logarithm.
func (f Family) onLog() bool { return f != Normal }

// extreme tells whether e has the smallest-extreme-value shape; otherwise it is normal.
func (f Family) extreme() bool { return f == Weibull || f == Exponential }

// work takes a value to the working scale.
func (f Family) work(x float64) float64 {
	if !f.onLog() {
		return x
	}
	if x <= 0 {
		return math.Inf(-1)
	}
	return math.Log(x)
}

// natural takes a working value back.
func (f Family) natural(y float64) float64 {
	if f.onLog() {
		return math.Exp(y)
	}
	return y
}

// standardQuantile is z with P(e <= z) = p.
func (f Family) standardQuantile(p float64) float64 {
	if f.extreme() {
		return math.Log(-math.Log1p(-p))
	}
	return normalQuantile(p)
}

// logSurvival is log P(e > z).
func (f Family) logSurvival(z float64) float64 {
	if f.extreme() {
		return -math.Exp(z)
	}
	return logNormalTail(z)
}

// logCumulative is log P(e <= z).
func (f Family) logCumulative(z float64) float64 {
	if f.extreme() {
		return logExtremeCumulative(z)
	}
	return logNormalTail(-z)
}

// logDensity is the logarithm of the density of e.
func (f Family) logDensity(z float64) float64 {
	if f.extreme() {
		return z - math.Exp(z)
	}
	return -z*z/2 - logRoot2Pi
}
