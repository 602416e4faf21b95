package question

import (
	"math"
	"slices"

	"github.com/hardcatch/hardcatch/internal/compare"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/num/censor"
	"github.com/hardcatch/hardcatch/internal/num/exact"
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

// quantileOf is the quantile p of what the values are of: by the family where enough were seen, else without one.
func quantileOf(values []censor.Value, family censor.Family, p float64) figure {
	if len(values) == 0 {
		return none(message.Say("no drop shows a force"))
	}
	if seenIn(values) < leastSeen {
		return freeQuantile(values, p)
	}
	if family == censor.Lognormal && complete(values) {
		return normalQuantile(values, p)
	}
	m, err := censor.Fit(values, family)
	if err != nil {
		f := freeQuantile(values, p)
		f.why = message.Why(err)
		return f
	}
	return figure{
		value: m.Quantile(p), method: message.Say("%s fit, profile likelihood", family),
		bound: func(tail float64, upper bool) (float64, bool) {
			i, err := m.QuantileInterval(p, 1-2*tail)
			switch {
			case err != nil:
				return 0, false
			case upper:
				return i.Hi, !i.OpenHi
			}
			return i.Lo, !i.OpenLo
		},
	}
}

func complete(values []censor.Value) bool {
	for _, v := range values {
		if v.Kind() != censor.Observed {
			return false
		}
	}
	return true
}

// normalQuantile is the quantile p of values whose logarithms are normal, all of them seen, with exact bounds:
//
//	ln q = mean + k sd, k = t(1 - tail or tail; n-1, z sqrt n)/sqrt n, t noncentral, z the normal quantile of p
//
// Source: ISO 16269-6:2014, one-sided statistical tolerance limits (recalled); Owen 1968.
func normalQuantile(values []censor.Value, p float64) figure {
	n := len(values)
	mean, ss := 0.0, 0.0
	for _, v := range values {
		mean += math.Log(v.Lo) / float64(n)
	}
	for _, v := range values {
		d := math.Log(v.Lo) - mean
		ss += d * d
	}
	sd := math.Sqrt(ss / float64(n-1))
	if !(sd > 0) {
		return none(message.Say("all %d values are the same, which shows no spread", n))
	}
	return figure{
		value: math.Exp(mean + uncert.NormalQuantile(p)*sd), method: message.Say("lognormal, exact tolerance bounds"),
		bound: func(tail float64, upper bool) (float64, bool) {
			// The factor of a lower bound of the share 1-p above is that of an upper bound of the share p below, turned.
			content, sign := p, 1.0
			if !upper {
				content, sign = 1-p, -1.0
			}
			k, err := exact.OneSidedFactor(n, content, 1-tail)
			return math.Exp(mean + sign*k*sd), err == nil
		},
	}
}

// freeQuantile bounds the quantile p without a family. The quantile is at least x when it can be ruled out that the share p or more lies below x: by the exact
// binomial bound on how many of those of which it is known lie below x. Values that are only known to be at least something below x do not say on
// which side of x they lie, and are left out there.
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
	f := figure{value: math.NaN(), method: message.Say("counts, no family"), why: message.Say("%d of %d values were seen, the others are bounds: too few for a fit", seenIn(values), len(values))}
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

// split counts the values known to lie below x, or with orAt at most at it, and those of which the side is known.
func split(values []censor.Value, x float64, orAt bool) (below, n int) {
	for _, v := range values {
		switch {
		case v.Hi < x || orAt && v.Hi == x:
			below++
			n++
		case v.Lo >= x:
			n++
		}
	}
	return below, n
}

// ratioOf is a ratio of two figures with bounds from their own:
//
//	ln r - sqrt((ln a - ln a_lo)^2 + (ln b_hi - ln b)^2), and likewise above
//
// which takes whatever spread each of them has. Source: Zou and Donner, Statistics in Medicine 27 (2008) 1693-1702 (recalled).
func ratioOf(a, b figure) figure {
	switch {
	case math.IsNaN(a.value):
		return none(a.why)
	case math.IsNaN(b.value):
		return none(b.why)
	}
	return figure{
		value: a.value / b.value, method: message.Say("%s; bounds of the two put together", a.method),
		bound: func(tail float64, upper bool) (float64, bool) {
			x, okA := a.bound(tail, upper)
			y, okB := b.bound(tail, !upper)
			if !okA || !okB || !(x > 0 && y > 0) {
				return 0, false
			}
			half := math.Hypot(math.Log(x/a.value), math.Log(y/b.value))
			if !upper {
				half = -half
			}
			return a.value / b.value * math.Exp(half), true
		},
	}
}

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

// scaleOf is the largest relative standard uncertainty of the peaks: of a rig, nearly all of it is that of the scale.
func scaleOf(entries []compare.Entry) float64 {
	u := 0.0
	for _, e := range entries {
		r := e.Row()
		if r.Peak == nil || !(r.Peak.SI() > 0) {
			continue
		}
		own := e.Expanded.SI() / 2 / e.Peak.SI()
		if e.NoScale {
			own = math.Hypot(own, unknownScale)
		}
		u = math.Max(u, own)
	}
	return u
}
