package render

import (
	"fmt"
	"strings"

	"github.com/hardcatch/hardcatch/internal/compare"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// found is one comparison of the first page.
type found struct {
	Factor, A, B   string
	BrokeA, BrokeB string // "3 of 24", of each pair
	Strength, Peak string // ratio of the second over the first, with its interval
}

// summary counts the drops and sets side by side what each comparison found.
func (v *page) summary() {
	for _, c := range v.Report.Cells {
		v.Valid, v.Held, v.Broke, v.Slipped, v.Void = v.Valid+c.N, v.Held+c.Held, v.Broke+c.Broke, v.Slipped+c.Slip, v.Void+c.Void
	}
	k := v.Report.Comparison
	if k == nil {
		return
	}
	for _, c := range k.Contrasts {
		v.Found = append(v.Found, found{
			Factor: c.Factor, A: c.A, B: c.B, BrokeA: v.brokeOf(c, func(p compare.PairCount) (int, int) { return p.BrokeA, p.NA }), BrokeB: v.brokeOf(c, func(p compare.PairCount) (int, int) { return p.BrokeB, p.NB }),
			Strength: v.ratioBetween(k.StrengthEffects, c), Peak: v.ratioBetween(k.PeakEffects, c),
		})
	}
}

// brokeOf are the counts of one side, pair by pair in the same order on both sides: those of unlike cells are not added up.
func (v *page) brokeOf(c compare.TestedContrast, side func(compare.PairCount) (broke, n int)) string {
	var parts []string
	for _, p := range c.Counts {
		broke, n := side(p)
		parts = append(parts, v.in.Say("%d of %d", broke, n))
	}
	return strings.Join(parts, "; ")
}

// ratioBetween is the effect of a contrast's second level against its first, where the regression tells it directly.
func (v *page) ratioBetween(e *compare.Effects, c compare.TestedContrast) string {
	if e == nil {
		return none
	}
	for _, x := range e.Effects {
		if x.Factor != c.Factor {
			continue
		}
		switch {
		case x.Base == c.A && x.Level == c.B:
			return v.ratio(x.Ratio, x.Lo, x.Hi)
		case x.Base == c.B && x.Level == c.A && x.Ratio > 0:
			return v.ratio(1/x.Ratio, inverse(x.Hi), inverse(x.Lo))
		}
	}
	return none
}

func inverse(v *float64) *float64 {
	if v == nil || !(*v > 0) {
		return nil
	}
	i := 1 / *v
	return &i
}

// ratio is a ratio with its interval; a side that the data do not bound is said.
func (v *page) ratio(r float64, lo, hi *float64) string {
	if !usable(r) {
		return none
	}
	three := func(x float64) string { return v.in.Number(quantity.Significant(x, 3)) }
	down := func(x float64) string { return v.in.Number(quantity.Below(x, 3)) }
	up := func(x float64) string { return v.in.Number(quantity.Above(x, 3)) }
	switch {
	case lo != nil && hi != nil:
		return fmt.Sprintf("%s (%s)", three(r), v.in.Say("%s to %s", down(*lo), up(*hi)))
	case lo != nil:
		return fmt.Sprintf("%s (%s)", three(r), v.in.Say("at least %s", down(*lo)))
	case hi != nil:
		return fmt.Sprintf("%s (%s)", three(r), v.in.Say("at most %s", up(*hi)))
	}
	return three(r)
}
