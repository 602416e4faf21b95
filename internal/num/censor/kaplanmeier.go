package censor

import (
	"cmp"
	"math"
	"slices"
)

// CurvePoint is a step of a survival curve.
type CurvePoint struct {
	// Value is where the curve has come down: for Turnbull the upper end of the innermost interval (From, Value];
	// From equals Value when the place of the step is known exactly. Between From and Value the curve is not determined.
	From, Value float64
	AtRisk      float64 // observations at risk just before (Kaplan-Meier only)
	Events      float64 // seen here; for Turnbull the expected number
	Survival    float64 // P(value > Value)
	SE          float64 // Greenwood's, NaN where undefined
	Lo, Hi      float64 // plain interval, S +/- z SE, cut to [0, 1]
	LogLogLo    float64 // interval on log(-log S), which stays inside [0, 1]
	LogLogHi    float64
}

// Curve is an estimate of the survival function without a family.
type Curve struct {
	Counts
	Confidence float64
	Points     []CurvePoint
	Warnings   []string
}

// intervals fills in both intervals from Survival and SE. With S = 0 or 1 the log-log one is not defined and both
// are NaN when the standard error is. Source: Kalbfleisch and Prentice, The Statistical Analysis of Failure Time
// Data, 2nd ed., 1.4 (recalled).
func (p *CurvePoint) intervals(z float64) {
	p.Lo, p.Hi = max(0, p.Survival-z*p.SE), min(1, p.Survival+z*p.SE)
	l := math.Log(p.Survival)
	spread := z * p.SE / (p.Survival * l)
	p.LogLogLo = math.Exp(l * math.Exp(-spread))
	p.LogLogHi = math.Exp(l * math.Exp(spread))
	if p.LogLogLo > p.LogLogHi {
		p.LogLogLo, p.LogLogHi = p.LogLogHi, p.LogLogLo
	}
	if math.IsNaN(p.SE) || p.Survival == 0 {
		p.Lo, p.Hi, p.LogLogLo, p.LogLogHi = math.NaN(), math.NaN(), math.NaN(), math.NaN()
	}
}

// step is what happens at one value.
type step struct{ x, events, censored float64 }

// steps sorts exact and right-censored values; at one value the exact come before the censored.
func steps(values []Value, what, way string) ([]step, Counts, error) {
	var c Counts
	all := make([]step, 0, len(values))
	for i, v := range values {
		if err := v.Check(); err != nil {
			return nil, c, failf(ErrValue, "value %d: %v", i+1, err)
		}
		c.add(v)
		n := float64(v.N())
		switch v.Kind() {
		case Observed:
			all = append(all, step{v.Lo, n, 0})
		case RightCensored:
			all = append(all, step{v.Lo, 0, n})
		default:
			return nil, c, failf(ErrValue, "value %d is known only up to %g, which %s does not take; %s", i+1, v.Hi, what, way)
		}
	}
	slices.SortFunc(all, func(a, b step) int { return cmp.Compare(a.x, b.x) })
	merged := all[:0]
	for _, s := range all {
		if k := len(merged); k > 0 && merged[k-1].x == s.x {
			merged[k-1].events += s.events
			merged[k-1].censored += s.censored
			continue
		}
		merged = append(merged, s)
	}
	return merged, c, nil
}

// KaplanMeier is the product-limit estimate from exact and right-censored values, with Greenwood's standard error:
//
//	S = product of (1 - d/n), var S = S^2 sum of d/(n (n - d))
//
// A value censored where another was seen counts as at risk there. Other kinds of censoring are an error; use
// Turnbull. Source: Kaplan and Meier, J. Am. Stat. Assoc. 53 (1958) 457-481.
func KaplanMeier(values []Value, confidence float64) (*Curve, error) {
	if err := checkConfidence(confidence); err != nil {
		return nil, err
	}
	all, counts, err := steps(values, "the product limit", "use Turnbull's estimate")
	if err != nil {
		return nil, err
	}
	if counts.Exact == 0 {
		return nil, failf(ErrNotIdentified, "a survival curve needs at least one value that was seen; all %d held", counts.N)
	}
	c := &Curve{Counts: counts, Confidence: confidence}
	z := -normalQuantile((1 - confidence) / 2)
	risk, s, greenwood := float64(counts.N), 1.0, 0.0
	for _, e := range all {
		if e.events > 0 {
			s *= (risk - e.events) / risk
			greenwood += e.events / (risk * (risk - e.events))
			p := CurvePoint{From: e.x, Value: e.x, AtRisk: risk, Events: e.events, Survival: s, SE: s * math.Sqrt(greenwood)}
			p.intervals(z)
			c.Points = append(c.Points, p)
		}
		risk -= e.events + e.censored
	}
	if s == 0 {
		c.Warnings = append(c.Warnings, "The curve ends at 0 because the largest value was seen; its standard error there is not defined.")
	}
	if counts.Exact < 5 {
		c.Warnings = append(c.Warnings, "With fewer than five values seen the intervals of the curve are rough.")
	}
	return c, nil
}
