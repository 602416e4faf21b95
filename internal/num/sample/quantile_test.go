package sample

import (
	"math"
	"testing"
)

// By hand: of 1, 2, 4 and 8 the quantile 0.5 lies at h = 1.5, in the middle of 2 and 4; 0.1 at h = 0.3, 1 + 0.3; 0.9 at h = 2.7, 4 + 0.7 x 4.
func TestQuantile(t *testing.T) {
	x := []float64{1, 2, 4, 8}
	for p, want := range map[float64]float64{0: 1, 0.1: 1.3, 0.5: 3, 0.9: 6.8, 1: 8} {
		if got := Quantile(x, p); math.Abs(got-want) > 1e-12 {
			t.Errorf("%g: %g, want %g", p, got, want)
		}
	}
	if got := Quantile([]float64{7}, 0.3); got != 7 {
		t.Errorf("of a single value %g", got)
	}
	if got := Quantile(nil, 0.5); !math.IsNaN(got) {
		t.Errorf("of none %g", got)
	}
}
