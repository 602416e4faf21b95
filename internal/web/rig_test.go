package web

import (
	"math"
	"testing"
)

func TestDecimalsOfAColumn(t *testing.T) {
	for _, c := range []struct {
		top    float64
		digits int
		want   int
	}{{1.99998, 7, 6}, {0.6, 2, 2}, {0.0996, 2, 3}, {41234, 7, 2}, {123456789, 7, 0}, {0, 7, 0}, {math.NaN(), 2, 0}, {math.Inf(1), 2, 0}, {1e-300, 2, 12}} {
		if got := decimalsFor(c.top, c.digits); got != c.want {
			t.Errorf("%v with %d digits: %d decimals, want %d", c.top, c.digits, got, c.want)
		}
	}
}
