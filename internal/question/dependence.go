package question

import (
	"math"
	"slices"

	"github.com/hardcatch/hardcatch/internal/compare"
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/message"
)

// AtCorrelation is what would be answered at one correlation of the force of a fall and the strength of its specimen, on their logarithms.
type AtCorrelation struct {
	Correlation float64  `json:"correlation"`
	Estimate    *float64 `json:"estimate"`
	Lo          *float64 `json:"lo"`
	Hi          *float64 `json:"hi"`
	Verdict     Verdict  `json:"verdict"`
}

// TellDependence works out what a question of strength would be answered if the force of a fall and the strength of its specimen went together, and says it among the
// warnings. It concerns parts of which some held and some broke and that were fitted: the estimate moves as that of the joint likelihood does, and the bounds lie as many
// standard errors away from it, on the logarithm, as they do without a correlation. The risks are those of the answer.
func (a *Answer) TellDependence() {
	if a.question.Of != drop.AskStrength || len(a.Dependence) > 0 {
		return
	}
	shifts := make([][]compare.Shift, len(a.Parts))
	some := false
	for i := range a.Parts {
		if p := &a.Parts[i]; p.Estimate != nil {
			shifts[i] = compare.ShiftsOf(p.of.upper, a.question.Quantile.SI())
			some = some || len(shifts[i]) > 0
		}
	}
	if !some {
		return
	}
	for i, rho := range compare.Correlations {
		at := *a
		at.Parts = slices.Clone(a.Parts)
		moved := false
		for j := range at.Parts {
			if i < len(shifts[j]) {
				f := at.Parts[j].made.shifted(shifts[j][i])
				at.Parts[j].made = &f
				moved = true
			}
		}
		if !moved {
			break
		}
		at.weigh()
		a.Dependence = append(a.Dependence, AtCorrelation{rho, at.Estimate, at.Lo, at.Hi, at.Verdict})
	}
	a.sayDependence()
}

// shifted is a figure at a correlation.
func (f figure) shifted(s compare.Shift) figure {
	inner := f.bound
	out := f
	out.value = f.value * s.Factor
	out.bound = func(tail float64, upper bool) (float64, bool) {
		v, ok := inner(tail, upper)
		if !ok || !(v > 0) {
			return v, ok
		}
		return out.value * math.Pow(v/f.value, s.Spread), true
	}
	return out
}

func (a *Answer) sayDependence() {
	if len(a.Dependence) == 0 {
		return
	}
	words := map[Verdict]message.Sentence{Yes: message.Say("yes"), No: message.Say("no"), CannotTell: message.Say("cannot be told yet")}
	s := message.Say("if the force of a fall and the strength of its specimen went together the answer would be: ")
	for i, at := range a.Dependence {
		if i > 0 {
			s = s.Say("; ")
		}
		s = s.Say("with a correlation of %g %s", at.Correlation, words[at.Verdict])
		switch {
		case at.Lo != nil && at.Hi != nil:
			s = s.Say(" (between %s and %s)", a.lower(*at.Lo), a.upper(*at.Hi))
		case at.Lo != nil:
			s = s.Say(" (at least %s)", a.lower(*at.Lo))
		case at.Hi != nil:
			s = s.Say(" (at most %s)", a.upper(*at.Hi))
		}
	}
	a.Warnings = append(a.Warnings, s.Say(". compare says what these drops tell of the correlation"))
}
