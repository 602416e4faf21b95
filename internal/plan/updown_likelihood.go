package plan

import (
	"fmt"
	"math"
	"strconv"

	"github.com/hardcatch/hardcatch/internal/num/censor"
	"github.com/hardcatch/hardcatch/internal/num/probit"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// Tolerance is the shape that the heights at which specimens break are taken to have.
type Tolerance string

// The shapes.
const (
	NormalTolerance    Tolerance = "normal"
	LognormalTolerance Tolerance = "lognormal"
)

// UpDownFit is the maximum of the likelihood of a series.
type UpDownFit struct {
	Shape     Tolerance
	State     probit.Identification
	Mean      quantity.Length // height at which half break; NaN unless identified
	Spread    quantity.Length // standard deviation, normal shape only; NaN otherwise
	LogSpread float64         // standard deviation of ln height, lognormal shape only; NaN otherwise
	LogLik    float64
	Statement string

	fit  *probit.Fit
	from *UpDown
}

// Likelihood fits a tolerance to the series. Unlike the estimate of Dixon and Mood it needs no equal steps.
func (u *UpDown) Likelihood(shape Tolerance) (*UpDownFit, error) {
	f := &UpDownFit{Shape: shape, from: u, LogSpread: math.NaN()}
	levels := make([]probit.Level, len(u.Drops))
	for i, d := range u.Drops {
		levels[i] = probit.Level{X: d.Height.SI()}
		if d.Broke {
			levels[i].Broke = 1
		} else {
			levels[i].Held = 1
		}
	}
	fit := probit.New
	if shape == LognormalTolerance {
		fit = probit.NewLog
	}
	var err error
	if f.fit, err = fit(levels); err != nil {
		return nil, err
	}
	f.State, f.LogLik = f.fit.State, f.fit.LogLik
	f.Mean, f.Spread = f.outer(f.fit.Mu), quantity.Length(math.NaN())
	if shape == LognormalTolerance {
		f.LogSpread = f.fit.Sigma
	} else {
		f.Spread = quantity.Length(f.fit.Sigma)
	}
	f.Statement, err = f.say()
	return f, err
}

func (f *UpDownFit) outer(x float64) quantity.Length {
	if f.Shape == LognormalTolerance {
		return quantity.Length(math.Exp(x))
	}
	return quantity.Length(x)
}

func (f *UpDownFit) say() (string, error) {
	u := f.from
	n := len(u.Drops)
	gap := fmt.Sprintf("%s to %s", f.outer(f.fit.HeldTo).Text(3), f.outer(f.fit.BrokeFrom).Text(3))
	switch f.State {
	case probit.OneOutcome:
		b, err := censor.ExactBinomial(u.Broke, n, 0.95)
		if err != nil {
			return "", err
		}
		least, most := u.Range()
		at := "at " + least.Text(3)
		if least != most {
			at = "at " + least.Text(3) + " to " + most.Text(3) + ", taken together,"
		}
		if u.Broke == 0 {
			return fmt.Sprintf("All %d held: %s a break probability of up to %s %% is still possible (95 %% confidence). Nothing is known of the height at which half break.", n, at, percentUp(b.Hi)), nil
		}
		return fmt.Sprintf("All %d broke: %s the break probability is at least %s %% (95 %% confidence). Nothing is known of the height at which half break.", n, at, percentDown(b.Lo)), nil
	case probit.Separated:
		return "Separated: everything up to one height held and everything from another broke (" + gap + "). The likelihood fits any height between them and any spread that is small enough: there is no estimate of either.", nil
	case probit.Touching:
		return fmt.Sprintf("Separated but for %s, where some held and some broke: the likelihood grows as the spread goes to nothing. There is no estimate of the spread.", f.outer(f.fit.HeldTo).Text(3)), nil
	case probit.Flat:
		return "Breaks are not likelier at greater heights in this series: the likelihood grows as the spread goes to infinity. There is no estimate; if the heights are right, go on or widen the step.", nil
	}
	if f.Shape == LognormalTolerance {
		return fmt.Sprintf("Half break at %s; spread %s %% (standard deviation of the logarithm).", f.Mean.Text(3), quantity.Significant(100*f.LogSpread, 2)), nil
	}
	return fmt.Sprintf("Half break at %s; spread %s (standard deviation).", f.Mean.Text(3), f.Spread.Text(2)), nil
}

// UpDownQuantile is the height at which a share of the specimens breaks. An end of the interval is infinite where the
// series does not bound that side; Estimate is NaN where there is none.
type UpDownQuantile struct {
	P            float64
	Estimate     quantity.Length
	Lo, Hi       quantity.Length
	Confidence   float64
	Extrapolated bool // the estimate lies outside the heights dropped
	Statement    string
}

// Quantile is the height at which the share p breaks, with its profile-likelihood interval.
func (f *UpDownFit) Quantile(p, confidence float64) (UpDownQuantile, error) {
	v, err := f.fit.Interval(p, confidence)
	if err != nil {
		return UpDownQuantile{}, err
	}
	q := UpDownQuantile{P: p, Estimate: f.outer(v.Estimate), Lo: f.outer(v.Lo), Hi: f.outer(v.Hi), Confidence: confidence}
	least, most := f.from.Range()
	q.Extrapolated = q.Estimate < least || q.Estimate > most
	q.Statement = q.say(least, most)
	return q, nil
}

func (q UpDownQuantile) say(least, most quantity.Length) string {
	share, level := quantity.Percent(q.P), quantity.Percent(q.Confidence)
	s := "The height at which " + share + " break has no estimate"
	if !math.IsNaN(q.Estimate.SI()) {
		s = share + " break at " + q.Estimate.Text(3)
		if q.Estimate <= 0 {
			s = "By the normal shape " + share + " would break at no height at all (" + q.Estimate.Text(3) + "), which cannot be: the shape does not reach that far down"
		}
		if q.Extrapolated {
			s += fmt.Sprintf(" (EXTRAPOLATED: drops were made from %s to %s only)", least.Text(3), most.Text(3))
		}
	}
	lowOpen, highOpen := !(q.Lo > 0), math.IsInf(q.Hi.SI(), 1)
	switch {
	case lowOpen && highOpen:
		s += "; the series does not bound it on either side (" + level + " profile interval)."
	case lowOpen:
		s += fmt.Sprintf("; with %s confidence it lies below %s, but the series gives it no lower end above 0.", level, lengthUp(q.Hi))
	case highOpen:
		s += fmt.Sprintf("; with %s confidence it lies above %s, but the series gives it no upper end.", level, lengthDown(q.Lo))
	default:
		s += fmt.Sprintf("; %s profile interval %s to %s.", level, lengthDown(q.Lo), lengthUp(q.Hi))
	}
	return s
}

// Lengths of an interval are rounded outward to whole millimetres, percentages to tenths.
func lengthDown(l quantity.Length) string {
	return strconv.FormatFloat(math.Floor(1000*l.SI()*(1+1e-12))/1000, 'f', 3, 64) + " m"
}

func lengthUp(l quantity.Length) string {
	return strconv.FormatFloat(math.Ceil(1000*l.SI()*(1-1e-12))/1000, 'f', 3, 64) + " m"
}

func percentDown(p float64) string {
	return strconv.FormatFloat(math.Floor(1000*p)/10, 'f', -1, 64)
}

func percentUp(p float64) string { return strconv.FormatFloat(math.Ceil(1000*p)/10, 'f', -1, 64) }
