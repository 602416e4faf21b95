package probit

import (
	"math"
	"testing"

	"github.com/hardcatch/hardcatch/internal/num/censor"
)

// Broken at x is a tolerance of at most x, held at x one of at least x: the probit fit is the normal fit of values bounded on
// one side, by another program with another parameterisation and another search.
func TestAgainstTheCensoredNormalFit(t *testing.T) {
	levels := []Level{{X: 1, Broke: 1, Held: 5}, {X: 1.2, Broke: 2, Held: 4}, {X: 1.4, Broke: 4, Held: 3}, {X: 1.6, Broke: 5, Held: 1}}
	var values []censor.Value
	for _, l := range levels {
		values = append(values, censor.Value{Lo: math.Inf(-1), Hi: l.X, Count: l.Broke}, censor.Value{Lo: l.X, Hi: math.Inf(1), Count: l.Held})
	}
	f, err := New(levels)
	if err != nil {
		t.Fatal(err)
	}
	m, err := censor.Fit(values, censor.Normal)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range [][2]float64{{f.Mu, m.Params[0].Value}, {f.Sigma, m.Params[1].Value}, {f.LogLik, m.LogLik}} {
		if math.Abs(c[0]-c[1]) > 1e-7*math.Abs(c[1]) {
			t.Errorf("%.10g, the censored fit says %.10g", c[0], c[1])
		}
	}
	for _, p := range []float64{0.05, 0.5} {
		a, err := f.Interval(p, 0.95)
		if err != nil {
			t.Fatal(err)
		}
		b, err := m.QuantileInterval(p, 0.95)
		if err != nil {
			t.Fatal(err)
		}
		for _, c := range [][2]float64{{a.Lo, b.Lo}, {a.Hi, b.Hi}} {
			if math.IsInf(c[0], 0) && math.IsInf(c[1], 0) {
				continue
			}
			if math.Abs(c[0]-c[1]) > 1e-6*(1+math.Abs(c[1])) {
				t.Errorf("p = %g: %.10g, the censored fit says %.10g", p, c[0], c[1])
			}
		}
	}
}
