package censor

import (
	"fmt"
	"math"
)

// calibratedMethod names how calibrated intervals are made.
const (
	calibratedMethod  = "calibrated likelihood"
	conditionalMethod = "exact conditional"
)

// adjusted takes the root r of twice the fall of a profile to one that is nearly standard normal in small samples too:
//
//	r* = r + log(q/r)/r,  q = m sqrt(det J a'J^-1 a / det J0) (theta/theta0)^(p+1)
//
// with m the multiplier of the plane a.phi = d, J the curvature on it, J0 that at the top and p the columns of the design. Phi(r*) is the tail of
// the quantity when the coefficients and log sigma are given a flat prior. That prior matches: for complete values, and those
// censored at an order, the tail is the exact conditional one, whatever the family; only the approximation of the integral, of third order, is
// left. Sources: DiCiccio and Martin, Biometrika 78 (1991) 891-902 (the tail); Fraser, The Structure of Inference, 1968, and
// Lawless, Statistical Models and Methods for Lifetime Data, 2nd ed., app. E (the match) (all recalled).
func (pr *profile) adjusted(r float64) float64 {
	s := pr.s
	n, m := s.q.free(), s.q.dim()
	choleskySolve(s.v, s.factor, pr.on.a, n, m)
	logQ := math.Log(math.Abs(s.multiplier)) + (logDet(s.factor, n, m)+math.Log(dot(pr.on.a[:n], s.v[:n]))-pr.logDet)/2
	if !s.q.fixed {
		logQ += float64(s.q.p+1) * math.Log(s.phi[m-1]/pr.peak[m-1])
	}
	return r + (logQ-math.Log(r))/r
}

// weighable tells that the values seen outnumber the columns, without which the flat prior leaves no finite weight.
func (pr *problem) weighable() bool { return pr.q.fixed || pr.counts.Exact+pr.counts.Interval > pr.q.p }

// intervalOf is the interval of a quantity, in units of the problem.
func (pr *problem) intervalOf(fit *solver, f *functional, confidence float64) (Interval, error) {
	if err := checkConfidence(confidence); err != nil {
		return Interval{}, err
	}
	if !fit.calibrated {
		return newProfile(fit, f).interval(confidence)
	}
	if !pr.q.fixed && pr.counts.N-pr.counts.Right <= pr.q.p {
		return Interval{Estimate: f.at(fit.phi), Lo: math.Inf(-1), Hi: math.Inf(1), Confidence: confidence, Method: calibratedMethod, OpenLo: true, OpenHi: true,
			why: "too few values are more than a lower bound to tell the scatter from"}, nil
	}
	if c := pr.conditional(); c != nil && f.kind != precision && math.Abs(f.c[0]-1) < 1e-9 {
		v := Interval{Estimate: f.at(fit.phi), Confidence: confidence, Method: conditionalMethod}
		var ok bool
		if f.kind == ratio {
			v.Lo, v.Hi, ok = c.quantileEnds(f.z, confidence)
		} else {
			v.Lo, v.Hi, ok = c.scoreEnds(f.y, confidence)
		}
		if ok {
			return v, nil
		}
	}
	return newProfile(fit, f).interval(confidence)
}

// logDet is that of the matrix of which l is the factor.
func logDet(l []float64, n, m int) float64 {
	d := 0.0
	for i := range n {
		d += math.Log(l[i*m+i])
	}
	return 2 * d
}

// Calibrated is the fit with intervals that cover what they claim in small samples: of quantiles and survivals from two to conditionalSeen values seen by the
// exact conditional pivot where that has a closed form, otherwise by the adjusted root. With fewer than two values that are more than a lower bound
// there is no interval. How often they cover: docs/coverage.md.
func (m *Model) Calibrated() *Model {
	c, s := *m, *m.fit
	s.calibrated = true
	c.fit = &s
	c.doubts()
	return &c
}

// tooFewSeen tells that the values do not bound sigma at all: the flat prior then has no finite weight.
func (m *Model) tooFewSeen() bool { return m.Family != Exponential && m.N-m.Right < 2 }

func countWord(n int) string {
	if n == 1 {
		return "one"
	}
	return fmt.Sprint(n)
}

// Calibrated is the regression with intervals that cover what they claim in small samples: see adjusted.
func (r *Regression) Calibrated() *Regression {
	c, s := *r, *r.fit
	s.calibrated = true
	c.fit = &s
	c.doubts()
	return &c
}

// Bound is a quantile with its one-sided lower confidence bound.
type Bound struct {
	P, Estimate, Lo, Confidence float64
	Open                        bool // the data give no lower bound
	Method                      string
	Note                        string
}

// LowerBound is the one-sided lower bound of the p quantile at the confidence given, 0.5 < confidence < 1, of a calibrated fit: the lower end of its
// interval at the confidence 2c - 1, which leaves the same doubt on that side.
func (m *Model) LowerBound(p, confidence float64) (Bound, error) {
	if !(confidence > 0.5 && confidence < 1) {
		return Bound{}, failf(ErrArgument, "confidence %g of a lower bound does not lie between 0.5 and 1; 0.95 is usual", confidence)
	}
	c := m
	if !m.fit.calibrated {
		c = m.Calibrated()
	}
	v, err := c.QuantileInterval(p, 2*confidence-1)
	if err != nil {
		return Bound{}, err
	}
	return Bound{P: p, Estimate: v.Estimate, Lo: v.Lo, Confidence: confidence, Open: v.OpenLo, Method: v.Method, Note: v.Note}, nil
}
