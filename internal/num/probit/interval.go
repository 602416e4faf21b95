package probit

import (
	"fmt"
	"math"
)

// Interval is a profile-likelihood interval for a quantile of the tolerance. An end is infinite where the
// likelihood allows any value on that side.
type Interval struct {
	P          float64
	Estimate   float64 // NaN unless the fit is Identified
	Lo, Hi     float64
	Confidence float64 // asked; the interval holds this in large samples only
}

// Quantile is the level at which the share p breaks, Mu + Sigma Phi^-1(p); NaN unless Identified.
func (f *Fit) Quantile(p float64) float64 { return f.Mu + f.Sigma*quantile(p) }

// Profile is the greatest log-likelihood of all tolerances whose p-quantile is x. For a given x it is concave in
// 1/Sigma, so that the search cannot miss the maximum.
func (f *Fit) Profile(p, x float64) float64 {
	return f.profile(quantile(p), (x-f.centre)/f.scale)
}

// Holds tells whether the interval at the confidence given holds x as the p-quantile.
func (f *Fit) Holds(p, x, confidence float64) bool {
	return f.Profile(p, x) >= f.LogLik-cut(confidence)
}

// cut is how far the log-likelihood may fall: half the chi-squared quantile of one degree of freedom.
func cut(confidence float64) float64 {
	z := quantile((1 + confidence) / 2)
	return z * z / 2
}

// Interval holds every x with 2 (LogLik - Profile(p, x)) up to the chi-squared quantile of one degree of freedom. All
// such x form one interval, since the likelihood is concave and {quantile <= x} a half-plane in
// (-Mu/Sigma, 1/Sigma). It is unbounded on a side where one probability for all levels, beyond p on the
// other side, is likely enough. An error is returned when only one outcome was seen: then no
// interval of this kind means anything. Source: the profile likelihood as in Pawitan, In All Likelihood, 2001, 3.4
// (recalled); the ends are derived here.
func (f *Fit) Interval(p, confidence float64) (Interval, error) {
	if !(p > 0 && p < 1) || !(confidence > 0 && confidence < 1) {
		return Interval{}, fmt.Errorf("quantile %g at confidence %g: both lie between 0 and 1", p, confidence)
	}
	if f.State == OneOutcome {
		return Interval{}, fmt.Errorf("%d broke and %d held: with one outcome only the likelihood gives no interval", f.broke, f.held)
	}
	z, least := quantile(p), f.LogLik-cut(confidence)
	v := Interval{P: p, Estimate: f.Quantile(p), Lo: math.Inf(-1), Hi: math.Inf(1), Confidence: confidence}
	lowOpen, highOpen := f.Open(p, confidence)
	inside := f.inside(z, p)
	if !lowOpen {
		v.Lo = f.centre + f.scale*f.end(z, inside, -1, least)
	}
	if !highOpen {
		v.Hi = f.centre + f.scale*f.end(z, inside, 1, least)
	}
	return v, nil
}

// Open tells on which sides the interval is unbounded. As x goes to -Inf the tolerances with quantile x tend to all
// constant probabilities from p up, as x goes to +Inf to those up to p.
func (f *Fit) Open(p, confidence float64) (low, high bool) {
	least := f.LogLik - cut(confidence)
	seen := float64(f.broke) / float64(f.broke+f.held)
	best := constant(f.broke, f.held)
	atP := float64(f.broke)*math.Log(p) + float64(f.held)*math.Log1p(-p)
	up, down := best, best // greatest constant log-likelihood from p up, and up to p
	if seen < p {
		up = atP
	} else {
		down = atP
	}
	return up >= least, down >= least
}

// inside is a place, in the inner unit, where the profile is all but the greatest.
func (f *Fit) inside(z, p float64) float64 {
	switch f.State {
	case Identified:
		return (f.Quantile(p) - f.centre) / f.scale
	case Flat:
		if float64(f.broke) > p*float64(f.broke+f.held) {
			return -1e7
		}
		return 1e7
	case Touching:
		at := (f.HeldTo - f.centre) / f.scale
		for _, l := range f.levels {
			if l.Broke > 0 && l.Held > 0 && quantile(float64(l.Broke)/float64(l.Broke+l.Held)) > z {
				return at - 1e-6
			}
		}
		return at + 1e-6
	}
	return ((f.HeldTo+f.BrokeFrom)/2 - f.centre) / f.scale
}

// end goes outward from inside until the profile falls below least, then bisects.
func (f *Fit) end(z, inside, sign, least float64) float64 {
	in, step := inside, 0.5
	out := in + sign*step
	for f.profile(z, out) >= least {
		in = out
		step *= 2
		if out += sign * step; math.Abs(out) > 1e12 {
			return math.Inf(int(sign))
		}
	}
	for range 200 {
		mid := in + (out-in)/2
		if math.Abs(out-in) <= 1e-11*(1+math.Abs(mid)) {
			break
		}
		if f.profile(z, mid) >= least {
			in = mid
		} else {
			out = mid
		}
	}
	return in
}

// profile maximises over the slope b = scale/Sigma >= 0 with z + b (x - at) in place of the line: the derivative falls with
// b, so its zero is bracketed and then closed in on by Newton steps kept inside the bracket.
func (f *Fit) profile(z, at float64) float64 {
	derive := func(b float64) (g, h float64) {
		for _, v := range f.levels {
			d1, d2 := derivatives(z+b*(v.X-at), v)
			g += d1 * (v.X - at)
			h += d2 * (v.X - at) * (v.X - at)
		}
		return g, h
	}
	low, high := 0.0, 1.0
	if g, _ := derive(0); g <= 0 {
		return f.at(z, 0)
	}
	for {
		if g, _ := derive(high); g <= 0 {
			break
		}
		low = high
		if high *= 4; high > 1e12 {
			return f.along(z, at, low)
		}
	}
	b := low + (high-low)/2
	for range 100 {
		g, h := derive(b)
		if g > 0 {
			low = b
		} else {
			high = b
		}
		next := b - g/h
		if !(next > low && next < high) {
			next = low + (high-low)/2
		}
		if math.Abs(next-b) <= 1e-13*(1e-3+b) {
			break
		}
		b = next
	}
	return f.along(z, at, b)
}

// along is the log-likelihood at slope b through z at the place at.
func (f *Fit) along(z, at, b float64) float64 {
	sum := 0.0
	for _, v := range f.levels {
		u := z + b*(v.X-at)
		if v.Broke > 0 {
			sum += float64(v.Broke) * LogPhi(u)
		}
		if v.Held > 0 {
			sum += float64(v.Held) * LogPhi(-u)
		}
	}
	return sum
}
