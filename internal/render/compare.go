package render

import (
	"github.com/hardcatch/hardcatch/internal/compare"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// strengthRow is one kind of specimen with two quantiles of its strength.
type strengthRow struct {
	compare.SpecimenKind
	Half, HalfWithin string // kN
	Low, LowWithin   string
}

// ratioRow is the ratio of the strengths of two kinds that differ in one factor; for a knot its efficiency.
type ratioRow struct {
	Factor, A, B, Rest string
	Ratio              string           // of medians
	Low                string           // of 5 % quantiles
	Statement          message.Sentence // where there is no number
}

func (v *page) comparison() {
	k := v.Report.Comparison
	if k == nil {
		return
	}
	v.Coverage = v.percent(k.Confidence)
	for _, s := range k.Strengths {
		row := strengthRow{SpecimenKind: s, Half: none, HalfWithin: none, Low: none, LowWithin: none}
		if s.Fit != nil {
			for _, q := range s.Fit.Quantiles {
				switch q.P {
				case 0.5:
					row.Half, row.HalfWithin = v.quantile(q)
				case 0.05:
					row.Low, row.LowWithin = v.quantile(q)
				}
			}
		}
		v.StrengthRows = append(v.StrengthRows, row)
	}
	for _, r := range k.StrengthRatios {
		row := ratioRow{Factor: r.Factor, A: r.A, B: r.B, Rest: r.Rest, Ratio: none, Low: none}
		if r.Ratio == nil {
			row.Statement = r.Statement
		} else {
			row.Ratio = v.ratio(*r.Ratio, r.Lo, r.Hi)
		}
		if r.Low != nil {
			row.Low = v.ratio(r.Low.Ratio, r.Low.Lo, r.Low.Hi)
		}
		if r.Factor == "knot" {
			v.Efficiencies = append(v.Efficiencies, row)
		} else {
			v.RatioRows = append(v.RatioRows, row)
		}
	}
}

// quantile is a strength in kN with its interval, open where the data do not bound it.
func (v *page) quantile(q compare.Quantile) (value, within string) {
	kN := func(x float64) string { return v.in.Number(quantity.Significant(x/1000, 4)) }
	down := func(x float64) string { return v.in.Number(quantity.Below(x/1000, 4)) }
	up := func(x float64) string { return v.in.Number(quantity.Above(x/1000, 4)) }
	switch {
	case q.Lo != nil && q.Hi != nil:
		within = v.in.Say("%s to %s", down(*q.Lo), up(*q.Hi))
	case q.Lo != nil:
		within = v.in.Say("at least %s", down(*q.Lo))
	case q.Hi != nil:
		within = v.in.Say("at most %s", up(*q.Hi))
	default:
		within = none
	}
	return kN(q.Value), within
}
