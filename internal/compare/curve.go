package compare

import (
	"math"

	"github.com/hardcatch/hardcatch/internal/num/censor"
)

// Share is the share of a kind that is stronger than a force (N) by the fit, with its profile interval.
type Share struct{ Force, Share, Lo, Hi float64 }

// Curve is the fitted share of the kind that is stronger, at n forces between its 0.2 % and 99.8 % quantiles and over all its values;
// empty where there is no fit. Where the search for an interval does not settle, which happens far from the values, Lo and Hi are NaN.
func (k SpecimenKind) Curve(n int, confidence float64) []Share {
	if k.model == nil || n < 2 {
		return nil
	}
	lo, hi := k.model.Quantile(0.002), k.model.Quantile(0.998)
	for _, v := range k.values {
		lo, hi = math.Min(lo, v.Lo), math.Max(hi, v.Lo)
	}
	lo = math.Max(lo, 0)
	out := make([]Share, 0, n)
	for i := range n {
		x := lo + (hi-lo)*float64(i)/float64(n-1)
		if !(x > 0) {
			continue
		}
		s, err := k.model.SurvivalInterval(x, confidence)
		if err != nil {
			out = append(out, Share{Force: x, Share: k.model.Survival(x), Lo: math.NaN(), Hi: math.NaN()})
			continue
		}
		p := Share{Force: x, Share: s.Estimate, Lo: s.Lo, Hi: s.Hi}
		if s.OpenLo {
			p.Lo = 0
		}
		if s.OpenHi {
			p.Hi = 1
		}
		out = append(out, p)
	}
	return out
}

// KnownStrength is one specimen's strength as far as it is known.
type KnownStrength struct {
	Force float64 // N
	Broke bool    // seen; otherwise at least this
}

// Values are the strengths behind a kind, as they came.
func (k SpecimenKind) Values() []KnownStrength {
	out := make([]KnownStrength, 0, len(k.values))
	for _, v := range k.values {
		out = append(out, KnownStrength{v.Lo, v.Kind() == censor.Observed})
	}
	return out
}
