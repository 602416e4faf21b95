package compare

import (
	"errors"
	"math"

	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/num/censor"
)

// Bound is a quantile of strengths with its one-sided lower bound, in the unit of the values.
type Bound struct {
	P          float64 `json:"p"`
	Confidence float64 `json:"confidence"` // one-sided
	N          int     `json:"n"`
	Broke      int     `json:"broke"` // seen
	Held       int     `json:"held"`  // known from below
	// Estimate is null where no distribution can be fitted, Lo where no lower bound can be given.
	Estimate *float64           `json:"estimate"`
	Lo       *float64           `json:"lo"`
	Method   string             `json:"method,omitempty"`
	Why      message.Sentence   `json:"why,omitempty"` // there is no bound, or none by the distribution
	Warnings []message.Sentence `json:"warnings"`
}

// leastValue names the bound that needs no distribution.
const leastValue = "least value, no distribution"

// LowerBound is the one-sided lower bound of the p quantile of strengths of which some were only held, 0.5 < confidence < 1: of the family's
// fit, exact for complete values and calibrated for censored ones. Where there is no such bound, it is the least value, when the specimens are so
// many that one in them would lie below the quantile with that confidence:
//
//	1 - (1 - p)^n >= confidence
//
// An error is a question that cannot be asked or a value that cannot be used; what the values leave unknown is no error.
func LowerBound(values []censor.Value, f censor.Family, p, confidence float64) (Bound, error) {
	b := Bound{P: p, Confidence: confidence, Warnings: []message.Sentence{}}
	least := math.Inf(1)
	for _, v := range values {
		b.N += v.N()
		switch v.Kind() {
		case censor.Observed:
			b.Broke += v.N()
		case censor.RightCensored:
			b.Held += v.N()
		}
		least = min(least, v.Lo)
	}
	if !(p > 0 && p < 1) {
		return b, message.Say("probability %g does not lie between 0 and 1; a 5 %% quantile is 0.05", p).Error()
	}
	if err := checkConfidence(confidence); err != nil {
		return b, err
	}
	m, err := censor.Fit(values, f)
	switch {
	case err == nil:
		m = m.Calibrated()
		q, err := m.LowerBound(p, confidence)
		if err != nil {
			return b, err
		}
		b.Estimate, b.Warnings = &q.Estimate, message.TellAll(m.Warnings)
		if !q.Open {
			b.Lo, b.Method = &q.Lo, q.Method
			return b, nil
		}
		b.Why = message.Told(q.Note)
	case errors.Is(err, censor.ErrNotIdentified):
		b.Why = message.Why(err)
	default:
		return b, err
	}
	if shown := -math.Expm1(float64(b.N) * math.Log1p(-p)); shown >= confidence && least > 0 {
		b.Lo, b.Method = &least, leastValue
	}
	return b, nil
}
