package variation

import (
	"math"
	"testing"
)

// One range of two points: |z1 - z2| has mean 2/sqrt pi and variance 2 - 4/pi, so that its relative error is sqrt(pi/2 - 1). Two ranges that share a point: cov =
// (4/pi)(sqrt(3)/2 + pi/12 - 1) = 0.1627516, variance of their mean (2 x 0.7267605 + 2 x 0.1627516)/4 = 0.4447560, over 2/sqrt pi = 1.1283792.
func TestErrorOfRanges(t *testing.T) {
	near(t, "two points", rangeError(2), math.Sqrt(math.Pi/2-1), 1e-12)
	near(t, "three points", rangeError(3), math.Sqrt(0.4447560)/1.1283792, 1e-6)
}

func TestBaselinesAndWeightsRefused(t *testing.T) {
	inf, nan := math.Inf(1), math.NaN()
	x := []float64{1, 2, 3}
	for _, c := range []struct {
		centre, sigma, lambda, l float64
		ok                       bool
	}{
		{2, 1, 0.2, 3, true}, {2, 0.5, 1, 0.5, true}, {2, 0, 0.2, 3, false}, {2, inf, 0.2, 3, false}, {2, nan, 0.2, 3, false}, {nan, 1, 0.2, 3, false},
		{inf, 1, 0.2, 3, false}, {-inf, 1, 0.2, 3, false}, {2, 1, 0, 3, false}, {2, 1, 1.2, 3, false}, {2, 1, nan, 3, false}, {2, 1, 0.2, 0, false}, {2, 1, 0.2, inf, false},
	} {
		if _, err := ChartEWMA(Baseline{Centre: c.centre, Sigma: c.sigma}, x, c.lambda, c.l); (err == nil) != c.ok {
			t.Errorf("%+v: %v", c, err)
		}
	}
	for _, v := range []float64{nan, inf, -inf} {
		if finite([]float64{1, v}) == nil {
			t.Errorf("%v is no point", v)
		}
	}
}

// Centre 10, sigma 1, weight 0.5, width 1: first half width 0.5. The average of 10.5 and the rest is then followed by hand: 11 gives 10.5, at the limit and
// not beyond; 12 gives 11, beyond; one below gives the other side. One violation each time the side changes.
func TestSidesOfTheAverage(t *testing.T) {
	b := Baseline{Centre: 10, Sigma: 1}
	c, err := ChartEWMA(b, []float64{12, 12, 4, 4}, 0.5, 1)
	if err != nil {
		t.Fatal(err)
	}
	// z: 11, 11.5, 7.75, 5.875.
	for i, want := range []float64{11, 11.5, 7.75, 5.875} {
		near(t, "average", c.Z[i], want, 1e-12)
	}
	near(t, "first lower limit", c.Lower[0], 9.5, 1e-12)
	near(t, "first upper limit", c.Upper[0], 10.5, 1e-12)
	if len(c.Violations) != 2 || c.Violations[0].Index != 0 || c.Violations[1].Index != 2 {
		t.Errorf("%+v", c.Violations)
	}
	// A fall of the moving range counts like a rise: 10, 10, 5 with D4 d2 = 3.69.
	s, err := ChartIndividuals(b, []float64{10, 10, 5}, nil)
	if err != nil || s.Ranges[1] != 5 || len(s.Violations) != 1 || s.Violations[0].Index != 2 || s.Violations[0].First != 1 {
		t.Errorf("%+v %v", s, err)
	}
}
