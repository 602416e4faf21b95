package exact

import (
	"math"
	"testing"
)

// By hand: 0.01 x 3, then 0.03 x 2, then max(0.06, 0.04).
func TestHolm(t *testing.T) {
	for _, c := range append(reference(t, "holm"), refCase{[]float64{0.01, 0.04, 0.03}, []float64{0.03, 0.06, 0.06}}) {
		in := append([]float64{}, c.args...)
		got, err := Holm(in)
		if err != nil {
			t.Fatal(err)
		}
		for i := range got {
			near(t, "adjusted", got[i], c.want[i], 1e-14)
			if in[i] != c.args[i] {
				t.Error("the input was changed")
			}
		}
	}
	if got, err := Holm(nil); err != nil || len(got) != 0 {
		t.Errorf("empty family: %v, %v", got, err)
	}
	for _, bad := range []float64{-0.1, 1.1, math.NaN()} {
		_, err := Holm([]float64{0.5, bad})
		says(t, err, "p-value 2 of 2")
	}
}
