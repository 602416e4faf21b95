// Package uncert combines standard uncertainties by the law of propagation (JCGM 100:2008) or by
// Monte Carlo (JCGM 101:2008).
package uncert

import (
	"fmt"
	"math"
)

// Component is one row of an uncertainty budget. The label travels with it, so that a budget prints
// itself.
type Component struct {
	Label       string  // what it comes from
	Kind        string  // "A" from statistics of readings, "B" otherwise (JCGM 100, 4.2 and 4.3)
	Shape       string  // normal, t, rectangular, arcsine, ...
	U           float64 // standard uncertainty of the input, in the input's unit
	Sensitivity float64 // derivative of the result by the input
	DoF         float64 // degrees of freedom; +Inf when well known
}

// Contribution is |sensitivity| u, in the unit of the result.
func (c Component) Contribution() float64 { return math.Abs(c.Sensitivity) * c.U }

// Combined is the outcome of a budget.
type Combined struct {
	U        float64 // combined standard uncertainty
	DoF      float64 // effective degrees of freedom by Welch-Satterthwaite
	Coverage float64 // coverage probability of Expanded
	K        float64 // coverage factor: Student t at DoF rounded down (JCGM 100, G.4.1)
	Expanded float64 // K U
}

// Combine adds independent components in quadrature and takes the effective degrees of freedom
//
//	nu_eff = u_c^4 / sum(u_i^4 / nu_i)
//
// coverage is the wanted probability, between 0 and 1. An error names a component whose uncertainty or
// degrees of freedom are impossible. Source: JCGM 100:2008, 5.1.2, G.4.1.
func Combine(coverage float64, parts ...Component) (Combined, error) {
	if !(coverage > 0 && coverage < 1) {
		return Combined{}, fmt.Errorf("coverage probability %g does not lie between 0 and 1", coverage)
	}
	var ss, quartic float64
	for _, c := range parts {
		u := c.Contribution()
		if !(u >= 0) || math.IsInf(u, 0) || !(c.DoF > 0) {
			return Combined{}, fmt.Errorf("uncertainty component %q: u = %g with %g degrees of freedom cannot be combined", c.Label, u, c.DoF)
		}
		ss += u * u
		if !math.IsInf(c.DoF, 1) {
			quartic += u * u * u * u / c.DoF
		}
	}
	r := Combined{U: math.Sqrt(ss), DoF: math.Inf(1), Coverage: coverage}
	if quartic > 0 {
		r.DoF = ss * ss / quartic
	}
	r.K = CoverageFactor(coverage, r.DoF)
	r.Expanded = r.K * r.U
	return r, nil
}

// CoverageFactor is the two-sided Student factor for the probability p at the degrees of freedom
// rounded down to a whole number, at least 1 (JCGM 100:2008, G.4.1); the normal factor when dof is
// +Inf.
func CoverageFactor(p, dof float64) float64 {
	if !math.IsInf(dof, 1) {
		dof = math.Max(1, math.Floor(dof))
	}
	return StudentQuantile(0.5+p/2, dof)
}

// RectangularUncertainty is the standard uncertainty of a quantity anywhere within +/-half: half/sqrt3.
func RectangularUncertainty(half float64) float64 { return math.Abs(half) / math.Sqrt(3) }

// ArcsineUncertainty is the standard uncertainty of a sinusoid of amplitude a caught at a random phase: a/sqrt2.
func ArcsineUncertainty(a float64) float64 { return math.Abs(a) / math.Sqrt2 }
