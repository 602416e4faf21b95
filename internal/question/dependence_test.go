package question

import (
	"math"
	"strings"
	"testing"

	"github.com/hardcatch/hardcatch/internal/compare"
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// What a strength would be if force and strength went together is the same in an answer as in compare, and an answer that leans on their being independent says so with
// the answer that would be given: here a yes at no correlation cannot be told any more at one of 0.8. Where nothing held, or the median of breaks alone is asked, nothing
// leans on it.
func TestAnswersSayWhatDependenceWouldChange(t *testing.T) {
	broke := []float64{16.1, 16.9, 17.4, 17.9, 18.3, 18.8}
	held := []float64{15.2, 15.9, 16.4, 17, 17.5, 18.1}
	var entries []compare.Entry
	for i := range broke {
		entries = append(entries, made(1+i, "sewn", drop.Broke, broke[i]), made(20+i, "sewn", drop.Held, held[i]))
	}
	w := drop.Written{ID: "s", Of: "strength", Quantile: "5 %", AtLeast: "10 kN"}
	a := one(t, w, entries)
	a.TellDependence()
	kinds, err := compare.SpecimenKinds(entries, compare.StrengthOptions{Confidence: 0.95})
	if err != nil {
		t.Fatal(err)
	}
	d := compare.Dependences(entries, kinds)
	if len(d) != 1 || len(a.Dependence) != 2 {
		t.Fatalf("%+v %+v", d, a.Dependence)
	}
	for i, at := range a.Dependence {
		for _, q := range d[0].At[1+i].Quantiles {
			if q.P == 0.05 && (at.Estimate == nil || math.Abs(*at.Estimate/q.Value-1) > 2e-3) {
				t.Errorf("correlation %g: %v here, %v in compare", at.Correlation, *at.Estimate, q.Value)
			}
		}
	}
	if !(*a.Dependence[1].Estimate < *a.Dependence[0].Estimate && *a.Dependence[0].Estimate < *a.Estimate && *a.Dependence[1].Lo < *a.Lo) {
		t.Errorf("%v, %v, %v", *a.Estimate, *a.Dependence[0].Estimate, *a.Dependence[1].Estimate)
	}
	// A threshold between the lower bounds at 0.8 and at no correlation.
	w.AtLeast = compareText((*a.Lo + *a.Dependence[1].Lo) / 2)
	a = one(t, w, entries)
	before := len(a.Warnings)
	a.TellDependence()
	a.TellDependence() // once is enough
	if a.Verdict != Yes || a.Dependence[1].Verdict != CannotTell || len(a.Warnings) != before+1 {
		t.Fatalf("%s %+v %d warnings", a.Verdict, a.Dependence, len(a.Warnings)-before)
	}
	if s := a.Warnings[before].String(); !strings.Contains(s, "with a correlation of 0.5 ") || !strings.Contains(s, "with a correlation of 0.8 cannot be told yet (between ") {
		t.Error(s)
	}
	for _, alone := range [][]compare.Entry{entries[:1], {made(1, "sewn", drop.Broke, 16), made(2, "sewn", drop.Broke, 17), made(3, "sewn", drop.Broke, 18)}} {
		a = one(t, w, alone)
		if a.TellDependence(); len(a.Dependence) != 0 {
			t.Errorf("%+v", a.Dependence)
		}
	}
}

func compareText(newton float64) string { return quantity.Force(newton).Text(5) }
