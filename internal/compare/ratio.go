package compare

import (
	"github.com/hardcatch/hardcatch/internal/num/censor"
)

// QuantileRatio is the ratio of a quantile of one kind's strength over that of another.
type QuantileRatio struct {
	P        float64 // of the quantile
	Estimate float64
	Lo, Hi   *float64 // null sides are not bounded by the values
	// PValue is two-sided, of the ratio being 1: it is below 1 - Confidence where the interval leaves out 1.
	PValue     float64
	Confidence float64
	Method     string
}

// RatioFit sets the strengths of two kinds against each other, each with a median and a scatter of its own, the scatters pulled together only as far as
// the values leave them unknown.
type RatioFit struct {
	family censor.Family
	fit    *censor.Pooled
}

// FitRatio fits two kinds by a family of logarithms (Weibull for any other than lognormal). The error is a sentence that says what the values do not
// tell.
func FitRatio(above, below []censor.Value, f censor.Family) (*RatioFit, error) {
	f = ofLogarithms(f)
	values := make([]censor.Value, 0, len(above)+len(below))
	values = append(append(values, above...), below...)
	design := make([][]float64, len(values))
	group := make([]int, len(values))
	for i := range values {
		design[i] = []float64{1, 0}
		if i >= len(above) {
			design[i], group[i] = []float64{0, 1}, 1
		}
	}
	m, err := censor.RegressPooled(values, design, []string{"first kind", "second kind"}, group, f)
	if err != nil {
		return nil, err
	}
	return &RatioFit{f, m}, nil
}

// ofLogarithms is the family by which ratios are told: one of logarithms with a scatter of its own.
func ofLogarithms(f censor.Family) censor.Family {
	if f == censor.Lognormal {
		return f
	}
	return censor.Weibull
}

// FarRatio is how far from the estimate an end still bounds a strength or a ratio: farther out it says nothing that was not known before.
const FarRatio = 20

// Quantile is the ratio of the p quantiles, above over below, 0 < p < 1.
func (r *RatioFit) Quantile(p, confidence float64) (QuantileRatio, error) {
	v, pValue, err := r.fit.QuantileRatio([]float64{1, -1}, 0, 1, p, confidence)
	if err != nil {
		return QuantileRatio{}, err
	}
	q := QuantileRatio{P: p, Estimate: v.Estimate, PValue: pValue, Confidence: confidence, Method: v.Method}
	if !v.OpenLo && v.Lo*FarRatio > v.Estimate {
		q.Lo = &v.Lo
	}
	if !v.OpenHi && v.Hi < v.Estimate*FarRatio {
		q.Hi = &v.Hi
	}
	return q, nil
}

// RatioOf is FitRatio and one Quantile of it.
func RatioOf(above, below []censor.Value, f censor.Family, p, confidence float64) (QuantileRatio, error) {
	r, err := FitRatio(above, below, f)
	if err != nil {
		return QuantileRatio{}, err
	}
	return r.Quantile(p, confidence)
}
