package censor

import (
	"math"
	"testing"
)

func near(t *testing.T, what string, got, want, rel, floor float64) {
	t.Helper()
	if !(math.Abs(got-want) <= rel*math.Abs(want)+floor) {
		t.Errorf("%s: %.12g, want %.12g", what, got, want)
	}
}

// handbook are the failure times of NIST/SEMATECH e-Handbook 8.4.1.3, ten units unfailed at 500 h.
func handbook() []Value {
	var v []Value
	for _, x := range []float64{54, 187, 216, 240, 244, 335, 361, 373, 375, 386} {
		v = append(v, Exact(x))
	}
	return append(v, Value{Lo: 500, Hi: math.Inf(1), Count: 10})
}

// Printed in NIST/SEMATECH e-Handbook 8.4.1.3: scale 606.5280, shape 1.7208, -log-likelihood 75.135, AIC
// 154.27; lognormal AIC 154.39.
func TestHandbook(t *testing.T) {
	m, err := Fit(handbook(), Weibull)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "shape", m.Params[0].Value, 1.7208, 0, 5e-5)
	// Printed is exp(6.40775), that is from a rounded logarithm; R gives 606.52756.
	near(t, "scale", m.Params[1].Value, 606.5280, 1e-6, 0)
	near(t, "-log L", -m.LogLik, 75.135, 0, 5e-4)
	near(t, "AIC", m.AIC, 154.27, 0, 5e-3)
	l, err := Fit(handbook(), Lognormal)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "lognormal AIC", l.AIC, 154.39, 0, 5e-3)
}
