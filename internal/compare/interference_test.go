package compare

import (
	"math"
	"math/rand/v2"
	"testing"
)

func phi(z float64) float64 { return 0.5 * math.Erfc(-z/math.Sqrt2) }

// Two lognormal distributions: P(A > S) = P(ln A - ln S > 0), the difference being normal with mean muA - muS and
// variance sA^2 + sS^2. Held down to small tails.
func TestPassesAgainstTheClosedForm(t *testing.T) {
	for _, c := range []struct{ gap, sa, ss float64 }{{0, 0.05, 0.05}, {0.1, 0.03, 0.06}, {-0.2, 0.08, 0.02}, {0.5, 0.05, 0.07}, {0.6, 0.1, 0.001}} {
		a := spreadForce{mu: math.Log(15000), sigma: c.sa}
		got := passes(a, func(x float64) float64 { return phi((math.Log(x) - math.Log(15000) - c.gap) / c.ss) })
		want := phi(-c.gap / math.Hypot(c.sa, c.ss))
		if tol := 1e-9*want + 1e-17; math.Abs(got-want) > tol && c.ss > 0.01 {
			t.Errorf("%+v: %g, want %g", c, got, want)
		}
		// A strength almost without spread is a step: the rule is then first order in its step of 0.025.
		if c.ss <= 0.01 && math.Abs(got/want-1) > 0.1 {
			t.Errorf("%+v: %g, want %g", c, got, want)
		}
	}
}

// An exponential strength of mean m against an arrest force without spread: 1 - exp(-a/m).
func TestInterferenceDrawsAgree(t *testing.T) {
	a := spreadForce{mu: math.Log(10000), sigma: 1e-9}
	cdf := func(x float64) float64 { return -math.Expm1(-x / 20000) }
	byLog := func(log float64) float64 { return cdf(math.Exp(log)) }
	out, err := interference(a, cdf, func(p float64) float64 { return -20000 * math.Log1p(-p) }, func(*rand.Rand) (spreadForce, func(float64) float64) { return a, byLog }, 0.95, 1)
	if err != nil {
		t.Fatal(err)
	}
	want := 1 - math.Exp(-0.5)
	if math.Abs(out.Probability-want) > 1e-9 || math.Abs(out.Drawn-want) > 6*out.DrawnSE || math.Abs(out.Lo-want) > 1e-9 || math.Abs(out.Hi-want) > 1e-9 {
		t.Errorf("%+v, want %g", out, want)
	}
	// A wrong quantile function makes the draws disagree, which must not pass in silence.
	if _, err := interference(a, cdf, func(p float64) float64 { return -40000 * math.Log1p(-p) }, func(*rand.Rand) (spreadForce, func(float64) float64) { return a, byLog }, 0.95, 1); err == nil {
		t.Error("draws from another distribution were accepted")
	}
}

// The coarse rule of the draws agrees with the fine one where a strength spreads as specimens do.
func TestCoarseRule(t *testing.T) {
	for _, shape := range []float64{2, 15, 60} {
		a := spreadForce{mu: math.Log(15000), sigma: 0.08}
		of := func(log float64) float64 { return -math.Expm1(-math.Exp(shape * (log - math.Log(16000)))) }
		if f, c := fine.passes(a, of), coarse.passes(a, of); math.Abs(f-c) > 1e-9 {
			t.Errorf("shape %g: %g and %g", shape, f, c)
		}
	}
}
