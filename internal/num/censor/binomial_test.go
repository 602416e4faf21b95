package censor

import (
	"math"
	"testing"
)

// Clopper-Pearson 95 % (recalled, and reproduced here by the closed forms for k = 0 and k = n:
// 1 - (a/2)^(1/n) and (a/2)^(1/n)).
func TestExactBinomial(t *testing.T) {
	for _, c := range []struct {
		k, n   int
		lo, hi float64
	}{
		{0, 3, 0, .7075982}, {1, 3, .0084038, .9057007}, {3, 3, .2924018, 1}, {0, 10, 0, .3084971},
	} {
		b, err := ExactBinomial(c.k, c.n, 0.95)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(b.Lo-c.lo) > 5e-8 || math.Abs(b.Hi-c.hi) > 5e-8 {
			t.Errorf("%d of %d: [%.7f, %.7f], want [%.7f, %.7f]", c.k, c.n, b.Lo, b.Hi, c.lo, c.hi)
		}
	}
	for n := 1; n <= 1000; n *= 10 {
		b, _ := ExactBinomial(0, n, 0.999)
		if want := -math.Expm1(math.Log(0.0005) / float64(n)); math.Abs(b.Hi-want) > 1e-12*want {
			t.Errorf("0 of %d: %v, closed form %v", n, b.Hi, want)
		}
		b, _ = ExactBinomial(n, n, 0.999)
		if want := math.Pow(0.0005, 1/float64(n)); math.Abs(b.Lo-want) > 1e-12*want {
			t.Errorf("%d of %d: %v, closed form %v", n, n, b.Lo, want)
		}
	}
	for _, bad := range [][2]int{{0, 0}, {-1, 3}, {4, 3}} {
		if _, err := ExactBinomial(bad[0], bad[1], 0.95); err == nil {
			t.Errorf("%v was accepted", bad)
		}
	}
	if _, err := ExactBinomial(1, 3, 95); err == nil {
		t.Error("a confidence of 95 was accepted")
	}
}
