package compare

import (
	"math"
	"testing"
)

// Logarithms 0, 0.01, 0.02, 0.5 above a base: r10 = 0.48/0.5 = 0.96, above the critical 0.829 of either end at 5 % for n = 4 (recalled; 0.765
// at 10 %, printed by Dixon for one end at 5 %). Even ones are not flagged.
func TestOutliersByHand(t *testing.T) {
	e := func(x ...float64) []float64 {
		out := make([]float64, len(x))
		for i := range x {
			out[i] = 10000 * math.Exp(x[i])
		}
		return out
	}
	got := Outliers(cellsOf(t, cellData{"overhand", 0.9, e(0, 0.01, 0.02, 0.5), nil}, cellData{"sewn", 0.9, e(0, 0.01, 0.02, 0.03), nil}))
	if len(got) != 1 || got[0].Cell != "overhand" || got[0].Drop != "dd" || len(got[0].Tests) != 2 {
		t.Errorf("%+v", got)
	}
	if two := Outliers(cellsOf(t, cellData{"sewn", 0.9, e(0, 5), nil})); len(two) != 0 {
		t.Errorf("two specimens cannot show an outlier: %+v", two)
	}
}
