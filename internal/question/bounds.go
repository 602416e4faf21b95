package question

import (
	"math"
	"slices"

	"github.com/hardcatch/hardcatch/internal/compare"
	"github.com/hardcatch/hardcatch/internal/limits"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/num/censor"
	"github.com/hardcatch/hardcatch/internal/num/uncert"
)

// figure is a quantity with one-sided bounds at any risk.
type figure struct {
	value  float64 // NaN where there is none
	method message.Sentence
	why    message.Sentence // why there are no bounds, or none on one side
	// bound is the bound below (or, with upper, above) the quantity that is wrong with the probability tail; ok is false where there is none.
	bound func(tail float64, upper bool) (v float64, ok bool)
}

// none is a figure of which nothing can be said.
func none(why message.Sentence) figure {
	return figure{value: math.NaN(), why: why, bound: func(float64, bool) (float64, bool) { return 0, false }}
}

// leastSeen is how many values a family is fitted to at least; below it only what needs no family is said.
const leastSeen = 2

// seenIn counts the values that are not mere bounds.
func seenIn(values []censor.Value) int {
	n := 0
	for _, v := range values {
		if k := v.Kind(); k == censor.Observed || k == censor.IntervalCensored {
			n++
		}
	}
	return n
}

// strengthOf is the quantile p of strengths: by a Weibull fit with bounds that cover in small samples where enough were seen, else without a family.
func strengthOf(values []censor.Value, p float64) figure {
	if len(values) == 0 {
		return none(message.Say("no drop shows a force"))
	}
	if seenIn(values) < leastSeen {
		return freeQuantile(values, p)
	}
	m, err := censor.Fit(values, strengthFamily)
	if err != nil {
		f := freeQuantile(values, p)
		f.why = message.Why(err)
		return f
	}
	m = m.Calibrated()
	return figure{
		value: m.Quantile(p), method: message.Say("%s fit, bounds calibrated for small samples", strengthFamily),
		bound: func(tail float64, upper bool) (float64, bool) {
			i, err := m.QuantileInterval(p, 1-2*tail)
			switch {
			case err != nil:
				return 0, false
			case upper:
				return i.Hi, !i.OpenHi && i.Hi < i.Estimate*compare.FarRatio
			}
			return i.Lo, !i.OpenLo && i.Lo*compare.FarRatio > i.Estimate
		},
	}
}

// peakOf is the quantile p of the arrest force of the next drops, from drops whose peak was measured, with the bounds by which limits are judged (limits.Ends): exact
// for peaks that are normal. u is the largest standard uncertainty of a peak, nearly all of which all drops share. Where a specimen let go or a record does not
// show its peak, nothing bounds the next one from above.
func peakOf(values []censor.Value, p, u float64) figure {
	n := len(values)
	if seen := observed(values); seen < n {
		return none(message.Say("of %d {specimen|specimens} %d {shows|show} only that a whole arrest asks for at least {its|their} peak, or between what it lies", n, n-seen))
	}
	if n < 2 {
		return none(message.Say("%d {specimen shows|specimens show} no scatter", n))
	}
	x := make([]float64, n)
	for i, v := range values {
		x[i] = v.Lo
	}
	mean, sd := limits.Moments(x)
	if !(sd > 0) {
		return none(message.Say("all %d values are the same, which shows no spread", n))
	}
	return figure{
		value: mean + uncert.NormalQuantile(p)*sd, method: message.Say("exact tolerance bounds, peaks taken as normal"),
		bound: func(tail float64, upper bool) (float64, bool) {
			hi, lo := limits.Ends(n, mean, sd, u, p, 1-tail)
			if upper {
				return hi, !math.IsNaN(hi)
			}
			return lo, !math.IsNaN(lo)
		},
	}
}

func observed(values []censor.Value) int {
	n := 0
	for _, v := range values {
		if v.Kind() == censor.Observed {
			n++
		}
	}
	return n
}

// freeQuantile bounds the quantile p without a family. The quantile is at least x when it can be ruled out that the share p or more lies below x: by the exact
// binomial bound on how many lie below x. Values that are only known to be at least something below x do not say on which side of x they lie: a drop so
// soft shows its specimen's side only where it breaks, so that leaving the others out makes breaks look frequent. For a bound above they count as not
// below; for one below they are left out, which errs on the side of a lower bound. A value between two limits counts against the bound.
// Source: Clopper and Pearson, Biometrika 26 (1934) 404-413; ISO 16269-6:2014, distribution-free limits (recalled).
func freeQuantile(values []censor.Value, p float64) figure {
	var at []float64
	for _, v := range values {
		if v.Lo > 0 && !math.IsInf(v.Lo, 0) {
			at = append(at, v.Lo)
		}
	}
	slices.Sort(at)
	at = slices.Compact(at)
	f := figure{value: math.NaN(), method: message.Say("counts, no family"), why: message.Say("%d of %d {value was|values were} seen, the rest are bounds: too few for a fit", seenIn(values), len(values))}
	f.bound = func(tail float64, upper bool) (float64, bool) {
		if upper {
			for _, x := range at {
				below, n := split(values, x, true)
				if b, err := censor.ExactBinomial(below, n, 1-2*tail); err == nil && b.Lo > p {
					return x, true
				}
			}
			return 0, false
		}
		for _, x := range slices.Backward(at) {
			below, n := split(values, x, false)
			if b, err := censor.ExactBinomial(below, n, 1-2*tail); err == nil && b.Hi <= p {
				return x, true
			}
		}
		return 0, false
	}
	return f
}

// split counts the values that lie below x and those that count, for a bound below the quantile; or with orAt those at most at x, for one above. What is
// not known counts against the bound.
func split(values []censor.Value, x float64, orAt bool) (below, n int) {
	for _, v := range values {
		switch {
		case v.Hi < x || orAt && v.Hi == x, !orAt && v.Lo < x && !math.IsInf(v.Hi, 1):
			below++
			n++
		case orAt || v.Lo >= x:
			n++
		}
	}
	return below, n
}

// ratioOf is the ratio of the quantiles p of two kinds, each with a scatter of its own, pulled together only as far as the values leave them unknown.
func ratioOf(above, below []censor.Value, family censor.Family, p float64) figure {
	for _, values := range [][]censor.Value{above, below} {
		if seenIn(values) < leastSeen {
			return none(message.Say("%d of %d {value was|values were} seen, the rest are bounds: too few for a fit", seenIn(values), len(values)))
		}
	}
	r, err := compare.FitRatio(above, below, family)
	if err != nil {
		return none(message.Why(err))
	}
	middle, err := r.Quantile(p, 1-2*usualTail)
	if err != nil {
		return none(message.Why(err))
	}
	return figure{
		value: middle.Estimate, method: message.Say("%s fit, scatters partly pooled", family),
		bound: func(tail float64, upper bool) (float64, bool) {
			q, err := r.Quantile(p, 1-2*tail)
			switch {
			case err != nil:
			case upper && q.Hi != nil:
				return *q.Hi, true
			case !upper && q.Lo != nil:
				return *q.Lo, true
			}
			return 0, false
		},
	}
}

// usualTail is the risk at which an estimate is asked for, which does not depend on it.
const usualTail = 0.05

// shareOf is the probability of k in n with exact bounds.
func shareOf(k, n int) figure {
	if n == 0 {
		return none(message.Say("no drop counts yet"))
	}
	return figure{
		value: float64(k) / float64(n), method: message.Say("exact binomial bounds"),
		bound: func(tail float64, upper bool) (float64, bool) {
			b, err := censor.ExactBinomial(k, n, 1-2*tail)
			switch {
			case err != nil:
				return 0, false
			case upper:
				return b.Hi, k < n
			}
			return b.Lo, k > 0
		},
	}
}

// scaled widens a figure by the standard uncertainty of the force scale, which all drops have in common, so that no number of drops makes it smaller:
// both are put together as independent, on the logarithm.
func scaled(f figure, u float64) figure {
	if !(u > 0) {
		return f
	}
	inner := f.bound
	f.bound = func(tail float64, upper bool) (float64, bool) {
		v, ok := inner(tail, upper)
		if !ok || !(v > 0) {
			return v, ok
		}
		half := u * uncert.NormalQuantile(1-tail)
		if !math.IsNaN(f.value) {
			half = math.Hypot(half, math.Log(v/f.value))
			v = f.value
		}
		if !upper {
			half = -half
		}
		return v * math.Exp(half), true
	}
	return f
}

// unknownScale is the standard uncertainty that stands for a force scale of which nothing is known. Common practice, no source.
const unknownScale = 0.025

// scaleOf is the largest standard uncertainty of the peaks, relative and in N: of a rig, nearly all of it is that of the scale.
func scaleOf(entries []compare.Entry) (relative, newtons float64) {
	for _, e := range entries {
		r := e.Row()
		if r.Peak == nil || !(r.Peak.SI() > 0) {
			continue
		}
		own := e.Expanded.SI() / 2
		if e.NoScale {
			own += unknownScale * e.Peak.SI()
		}
		newtons = math.Max(newtons, own)
		relative = math.Max(relative, own/e.Peak.SI())
	}
	return relative, newtons
}
