// Package tobit compares two groups of normal values of which a part is only known to lie above a bound.
package tobit

import (
	"errors"
	"fmt"
	"math"

	"github.com/hardcatch/hardcatch/internal/num/censor"
	"github.com/hardcatch/hardcatch/internal/num/probit"
)

// ErrNothing is the error for groups whose likelihood has no highest point.
var ErrNothing = errors.New("the values do not determine two means and a scatter")

// LikelihoodGain is twice the gain of the log-likelihood when two groups with one standard deviation are given a mean each instead of
// one in common. In large samples without a difference it is chi-squared with one degree of freedom. Values are exact
// or right-censored. It is meant for simulations: two Newton climbs, no interval. ErrNothing is returned when a group has no exact
// value, when both can be met without any scatter, or with so little (some millionths of the range) that rounding hides it. Source: Tobin, Econometrica 26 (1958) 24-36.
func LikelihoodGain(a, b []censor.Value) (float64, error) {
	at := middle(a, b) // sums of squares about a value near all others keep their digits
	ga, err := gather(a, at)
	if err != nil {
		return math.NaN(), err
	}
	gb, err := gather(b, at)
	if err != nil {
		return math.NaN(), err
	}
	if ga.seen == 0 || gb.seen == 0 || ga.exact() && gb.exact() {
		return math.NaN(), ErrNothing
	}
	apart, err := climb(ga, gb)
	if err != nil {
		return math.NaN(), err
	}
	one, err := climb(ga.with(gb))
	if err != nil {
		return math.NaN(), err
	}
	return math.Max(0, 2*(apart-one)), nil
}

func middle(groups ...[]censor.Value) float64 {
	for _, g := range groups {
		for _, v := range g {
			if v.Kind() == censor.Observed {
				return v.Lo
			}
		}
	}
	return 0
}

// group is the sums of the exact values and the bounds of the others.
type group struct {
	seen        int
	sum, square float64
	least, most float64 // of the exact values
	bounds      []float64
}

func gather(values []censor.Value, at float64) (group, error) {
	g := group{least: math.Inf(1), most: math.Inf(-1)}
	for i, v := range values {
		if err := v.Check(); err != nil {
			return g, fmt.Errorf("value %d: %w", i+1, err)
		}
		kind := v.Kind()
		for range v.N() {
			switch kind {
			case censor.Observed:
				y := v.Lo - at
				g.seen++
				g.sum += y
				g.square += y * y
				g.least, g.most = math.Min(g.least, y), math.Max(g.most, y)
			case censor.RightCensored:
				g.bounds = append(g.bounds, v.Lo-at)
			default:
				return g, fmt.Errorf("value %d: only exact values and lower bounds are compared here", i+1)
			}
		}
	}
	return g, nil
}

// exact tells that a mean alone meets every value: then the likelihood grows without end as the scatter goes to 0.
func (g group) exact() bool {
	if g.least < g.most {
		return false
	}
	for _, c := range g.bounds {
		if c > g.most {
			return false
		}
	}
	return true
}

func (g group) with(o group) group {
	g.seen += o.seen
	g.sum += o.sum
	g.square += o.square
	g.least, g.most = math.Min(g.least, o.least), math.Max(g.most, o.most)
	g.bounds = append(append([]float64{}, g.bounds...), o.bounds...)
	return g
}

// climb is the greatest log-likelihood, in h = 1/sd and eta = mean/sd of each group, in which it is concave:
//
//	l = sum over exact of ln h - ln(2 pi)/2 - (h y - eta)^2/2 + sum over bounds of ln Phi(eta - h c)
//
// Source: Olsen, Econometrica 46 (1978) 1211-1215 (recalled).
func climb(groups ...group) (float64, error) {
	seen, sum, square := 0.0, 0.0, 0.0
	for _, g := range groups {
		seen += float64(g.seen)
		sum += g.sum
		square += g.square
	}
	mean := sum / seen
	h := 1 / math.Sqrt(math.Max(square/seen-mean*mean, 1e-12*(1+mean*mean)))
	eta := make([]float64, len(groups))
	for i, g := range groups {
		eta[i] = h * g.sum / float64(g.seen)
	}
	next, step := make([]float64, len(groups)), make([]float64, len(groups))
	l := value(groups, h, eta)
	for range 100 {
		dh, promised := direction(groups, h, eta, step)
		if promised <= 1e-14*(1+math.Abs(l)) {
			return l, nil
		}
		share := 1.0
		for ; share > 1e-12; share /= 2 {
			for i := range eta {
				next[i] = eta[i] + share*step[i]
			}
			if v := value(groups, h+share*dh, next); v > l {
				l, h = v, h+share*dh
				copy(eta, next)
				break
			}
		}
		if share <= 1e-12 {
			if promised <= 1e-7*(1+math.Abs(l)) {
				return l, nil // rounding hides the rest
			}
			break
		}
	}
	return math.NaN(), fmt.Errorf("the likelihood of %d values did not settle: %w", int(seen), ErrNothing)
}

func value(groups []group, h float64, eta []float64) float64 {
	if !(h > 0) {
		return math.Inf(-1)
	}
	l := 0.0
	for i, g := range groups {
		n := float64(g.seen)
		l += n*(math.Log(h)-math.Log(2*math.Pi)/2) - (h*h*g.square-2*h*eta[i]*g.sum+n*eta[i]*eta[i])/2
		for _, c := range g.bounds {
			l += probit.LogPhi(eta[i] - h*c)
		}
	}
	return l
}

// direction is Newton's step and twice the rise that it promises. The groups meet only in h, so that their means are
// eliminated one by one.
func direction(groups []group, h float64, eta, step []float64) (dh, promised float64) {
	gh, hh := 0.0, 0.0
	type part struct{ g, d, e float64 }
	var parts [2]part
	for i, g := range groups {
		n := float64(g.seen)
		p := part{g: h*g.sum - n*eta[i], d: n, e: -g.sum}
		gh += n/h - h*g.square + eta[i]*g.sum
		hh += n/(h*h) + g.square
		for _, c := range g.bounds {
			z := eta[i] - h*c
			r := probit.Mills(z)
			w := r * (z + r)
			p.g += r
			p.d += w
			p.e -= w * c
			gh -= r * c
			hh += w * c * c
		}
		parts[i] = p
	}
	slope := gh
	for _, p := range parts[:len(groups)] {
		gh -= p.e * p.g / p.d
		hh -= p.e * p.e / p.d
	}
	dh = gh / hh
	promised = slope * dh
	for i, p := range parts[:len(groups)] {
		step[i] = (p.g - p.e*dh) / p.d
		promised += p.g * step[i]
	}
	return dh, promised
}
