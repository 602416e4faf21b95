// Package probit fits a normal tolerance to counts of broken and held at given stimuli.
package probit

import (
	"errors"
	"fmt"
	"math"
	"slices"
)

// Level is what happened at one stimulus X (a height, in any one unit).
type Level struct {
	X           float64
	Broke, Held int
}

// State tells what the likelihood allows to be said.
type State int

// The states. Only Identified has a maximum at a finite mean and a positive spread.
const (
	Identified State = iota
	OneOutcome       // all broke, or all held
	Separated        // everything that held was below everything that broke: any spread small enough fits alike
	Touching         // as Separated, but both outcomes were seen at one level: the spread goes to 0
	Flat             // breaks are not likelier at greater stimuli: the spread goes to infinity
)

// Fit is the maximum of the likelihood of P(broke at x) = Phi((x - Mu)/Sigma), Sigma > 0:
//
//	l = sum broke ln Phi(z) + held ln Phi(-z), z = (x - Mu)/Sigma
//
// l is concave in (-Mu/Sigma, 1/Sigma), so that there is one maximum or none. Source: Finney, Probit
// Analysis, 3rd ed., 1971; existence: Silvapulle, J. R. Stat. Soc. B 43 (1981) 310-313.
type Fit struct {
	State     State
	Mu, Sigma float64 // in the unit of X; NaN unless Identified
	LogLik    float64 // its least upper bound where there is no maximum
	// Gap of a Separated or Touching series: the greatest X that held and the least that broke.
	HeldTo, BrokeFrom float64

	levels      []Level // sorted, X in units of scale from centre
	centre      float64
	scale       float64
	broke, held int
}

// ErrNoData is the error for a series without a single result.
var ErrNoData = errors.New("no specimen has a result")

// New fits the levels. A level may be given more than once. An error says which entry is no count.
func New(levels []Level) (*Fit, error) {
	f := &Fit{Mu: math.NaN(), Sigma: math.NaN(), HeldTo: math.Inf(-1), BrokeFrom: math.Inf(1)}
	least, most := math.Inf(1), math.Inf(-1)
	for _, l := range levels {
		if math.IsNaN(l.X) || math.IsInf(l.X, 0) || l.Broke < 0 || l.Held < 0 {
			return nil, fmt.Errorf("%d broken and %d held at %g: a level is a finite number with counts from 0", l.Broke, l.Held, l.X)
		}
		if l.Broke+l.Held == 0 {
			continue
		}
		least, most = math.Min(least, l.X), math.Max(most, l.X)
		f.broke += l.Broke
		f.held += l.Held
		if l.Held > 0 {
			f.HeldTo = math.Max(f.HeldTo, l.X)
		}
		if l.Broke > 0 {
			f.BrokeFrom = math.Min(f.BrokeFrom, l.X)
		}
	}
	if f.broke+f.held == 0 {
		return nil, ErrNoData
	}
	f.centre, f.scale = least+(most-least)/2, (most-least)/2
	if f.scale == 0 {
		f.scale = 1
	}
	f.gather(levels)
	f.maximise()
	return f, nil
}

// gather sorts and merges the levels into the inner unit.
func (f *Fit) gather(levels []Level) {
	sorted := slices.Clone(levels)
	slices.SortFunc(sorted, func(a, b Level) int {
		switch {
		case a.X < b.X:
			return -1
		case a.X > b.X:
			return 1
		}
		return 0
	})
	for i, l := range sorted {
		if l.Broke+l.Held == 0 {
			continue
		}
		if k := len(f.levels) - 1; k >= 0 && i > 0 && sorted[i-1].X == l.X {
			f.levels[k].Broke += l.Broke
			f.levels[k].Held += l.Held
			continue
		}
		f.levels = append(f.levels, Level{(l.X - f.centre) / f.scale, l.Broke, l.Held})
	}
}

func (f *Fit) maximise() {
	switch {
	case f.broke == 0 || f.held == 0:
		f.State, f.LogLik = OneOutcome, 0
	case f.HeldTo < f.BrokeFrom:
		f.State, f.LogLik = Separated, 0
	case f.HeldTo == f.BrokeFrom:
		f.State, f.LogLik = Touching, 0
		for _, l := range f.levels {
			if l.Broke > 0 && l.Held > 0 {
				f.LogLik = constant(l.Broke, l.Held)
			}
		}
	case f.slope() <= 0:
		f.State, f.LogLik = Flat, constant(f.broke, f.held)
	default:
		f.newton()
	}
}

// constant is the greatest log-likelihood of one probability for all.
func constant(broke, held int) float64 {
	n := float64(broke + held)
	l := 0.0
	for _, k := range []int{broke, held} {
		if k > 0 {
			l += float64(k) * math.Log(float64(k)/n)
		}
	}
	return l
}

// slope has the sign of the likelihood's derivative with respect to 1/Sigma at the best constant probability:
// mean level of the broken less mean level of the held.
func (f *Fit) slope() float64 {
	b, h := 0.0, 0.0
	for _, l := range f.levels {
		b += float64(l.Broke) * l.X
		h += float64(l.Held) * l.X
	}
	return b/float64(f.broke) - h/float64(f.held)
}

// newton climbs the concave likelihood in intercept and slope, halving steps that do not climb.
func (f *Fit) newton() {
	a, b := quantile(float64(f.broke)/float64(f.broke+f.held)), 0.0
	l := f.at(a, b)
	for range 100 {
		var ga, gb, haa, hab, hbb float64
		for _, v := range f.levels {
			d1, d2 := derivatives(a+b*v.X, v)
			ga += d1
			gb += d1 * v.X
			haa -= d2
			hab -= d2 * v.X
			hbb -= d2 * v.X * v.X
		}
		det := haa*hbb - hab*hab
		da, db := (hbb*ga-hab*gb)/det, (haa*gb-hab*ga)/det
		next, step := math.Inf(-1), 1.0
		for step > 1e-10 {
			if next = f.at(a+step*da, b+step*db); next >= l {
				break
			}
			step /= 2
		}
		if !(next >= l) {
			break
		}
		a, b = a+step*da, b+step*db
		done := math.Abs(step*da)+math.Abs(step*db) < 1e-12*(1+math.Abs(a)+math.Abs(b))
		l = next
		if done {
			break
		}
	}
	f.LogLik, f.Mu, f.Sigma = l, f.centre-a/b*f.scale, f.scale/b
}

func (f *Fit) at(a, b float64) float64 {
	sum := 0.0
	for _, v := range f.levels {
		z := a + b*v.X
		if v.Broke > 0 {
			sum += float64(v.Broke) * LogPhi(z)
		}
		if v.Held > 0 {
			sum += float64(v.Held) * LogPhi(-z)
		}
	}
	return sum
}

// derivatives of a level's log-likelihood with respect to z.
func derivatives(z float64, v Level) (first, second float64) {
	if v.Broke > 0 {
		r := Mills(z)
		first += float64(v.Broke) * r
		second -= float64(v.Broke) * r * (z + r)
	}
	if v.Held > 0 {
		r := Mills(-z)
		first -= float64(v.Held) * r
		second -= float64(v.Held) * r * (r - z)
	}
	return first, second
}
