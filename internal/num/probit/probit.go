// Package probit fits a normal tolerance to counts of broken and held at given stimuli.
package probit

import (
	"errors"
	"math"
)

// Level is what happened at one stimulus X (a height, in any one unit).
type Level struct {
	X           float64
	Broke, Held int
}

// Identification tells what the likelihood allows to be said.
type Identification int

// The states. Only Identified has a maximum at a finite mean and a positive spread.
const (
	Identified Identification = iota
	OneOutcome                // all broke, or all held
	Separated                 // everything that held was below everything that broke: any spread small enough fits alike
	Touching                  // as Separated, but both outcomes were seen at one level: the spread goes to 0
	Flat                      // breaks are not likelier at greater stimuli: the spread goes to infinity
)

// Fit is the maximum of the likelihood of P(broke at x) = Phi((x - Mu)/Sigma), Sigma > 0:
//
//	l = sum broke ln Phi(z) + held ln Phi(-z), z = (x - Mu)/Sigma
//
// l is concave in (-Mu/Sigma, 1/Sigma), so that there is one maximum or none. Source: Finney, Probit
// Analysis, 3rd ed., 1971; existence: Silvapulle, J. R. Stat. Soc. B 43 (1981) 310-313. Which State it is, is decided
// without rounding.
type Fit struct {
	State     Identification
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

// New fits the levels. A level may be given more than once; levels are told apart to twelve figures of the greatest. An error
// says which entry is no count.
func New(levels []Level) (*Fit, error) { return newFit(levels, false) }

// NewLog fits a normal tolerance of ln X: Mu, Sigma, HeldTo and BrokeFrom are those of the logarithm. As New; a level not above 0
// is an error.
func NewLog(levels []Level) (*Fit, error) { return newFit(levels, true) }

func newFit(levels []Level, logarithms bool) (*Fit, error) {
	if err := fault(levels, logarithms); err != nil {
		return nil, err
	}
	steps := gather(levels)
	if len(steps) == 0 {
		return nil, ErrNoData
	}
	f := &Fit{Mu: math.NaN(), Sigma: math.NaN(), HeldTo: math.Inf(-1), BrokeFrom: math.Inf(1), levels: make([]Level, len(steps))}
	for i, s := range steps {
		if logarithms {
			s.X = math.Log(s.X)
		}
		f.levels[i] = s.Level
		f.broke += s.Broke
		f.held += s.Held
		if s.Held > 0 {
			f.HeldTo = s.X
		}
		if s.Broke > 0 {
			f.BrokeFrom = math.Min(f.BrokeFrom, s.X)
		}
	}
	least, most := f.levels[0].X, f.levels[len(steps)-1].X
	f.centre, f.scale = least+(most-least)/2, (most-least)/2
	if len(steps) == 1 {
		f.scale = 1
	}
	for i := range f.levels {
		f.levels[i].X = (f.levels[i].X - f.centre) / f.scale
	}
	up := rises
	if logarithms {
		up = risesLog
	}
	f.maximise(func() bool { return up(steps) })
	return f, nil
}

// maximise decides what the likelihood allows to be said and, where it has one, climbs to its maximum.
func (f *Fit) maximise(rises func() bool) {
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
	case !rises():
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

// newton climbs the concave likelihood in intercept and slope, halving steps that do not climb. Where a step would
// gain less than 1e-9 the likelihood's rounding is no judge of it any more: there steps shrink quadratically and are taken as they are.
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
			if next = f.at(a+step*da, b+step*db); next >= l || ga*da+gb*db < 1e-9 {
				break
			}
			step /= 2
		}
		if step <= 1e-10 {
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
