package uncert

import (
	"math"
	"testing"
)

func near(t *testing.T, what string, got, want, rel, floor float64) {
	t.Helper()
	if !(math.Abs(got-want) <= rel*math.Abs(want)+floor) {
		t.Errorf("%s: got %.12g, want %.12g", what, got, want)
	}
}

// JCGM 100:2008, H.1: calibration of an end gauge, nanometres (printed).
func TestEndGauge(t *testing.T) {
	const ls = 50_000_623.0
	inf := math.Inf(1)
	// u(d) of the observed difference: three parts, H.1.3.2.
	d, err := Combine(0.99,
		Component{Label: "repeated observations", U: 5.8, Sensitivity: 1, DoF: 24},
		Component{Label: "comparator, random", U: 3.9, Sensitivity: 1, DoF: 5},
		Component{Label: "comparator, systematic", U: 6.7, Sensitivity: 1, DoF: 8})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "u(d)", d.U, 9.7, 0, 0.05)
	r, err := Combine(0.99,
		Component{Label: "standard", U: 25, Sensitivity: 1, DoF: 18},
		Component{Label: "difference", U: d.U, Sensitivity: 1, DoF: d.DoF},
		Component{Label: "difference of expansion", U: RectangularUncertainty(1e-6), Sensitivity: ls * -0.1, DoF: 50},
		Component{Label: "difference of temperature", U: RectangularUncertainty(0.05), Sensitivity: ls * 11.5e-6, DoF: 2},
		Component{Label: "expansion of the standard", U: RectangularUncertainty(2e-6), Sensitivity: 0, DoF: inf},
		Component{Label: "temperature", U: math.Hypot(0.2, ArcsineUncertainty(0.5)), Sensitivity: 0, DoF: inf})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "length", ls+215, 50_000_838, 0, 0)
	near(t, "u_c", r.U, 32, 0, 0.5)
	if math.Floor(r.DoF) != 16 {
		t.Errorf("effective degrees of freedom %g, want 16.7 cut to 16", r.DoF)
	}
	near(t, "t99", r.K, 2.92, 0, 0.005)
	near(t, "U99", r.Expanded, 93, 0, 0.6)
	// Second-order terms, H.1.7: l_s u(delta alpha) u(theta) and l_s u(alpha_s) u(delta theta).
	second := math.Hypot(ls*RectangularUncertainty(1e-6)*math.Hypot(0.2, ArcsineUncertainty(0.5)), ls*RectangularUncertainty(2e-6)*RectangularUncertainty(0.05))
	near(t, "u_c with second-order terms", math.Hypot(r.U, second), 34, 0, 0.5)
}

// Student t, two-sided 95 %, JCGM 100:2008 table G.2 (recalled); nu = 1 is -cot(pi p) and nu = 2
// has the closed form (2p-1)/sqrt(2p(1-p)), used for the far tail.
func TestStudentQuantile(t *testing.T) {
	for nu, want := range map[float64]float64{2: 4.303, 3: 3.182, 5: 2.571, 10: 2.228} {
		near(t, "t95", StudentQuantile(0.975, nu), want, 0, 5e-4)
	}
	for _, p := range []float64{1e-12, 1e-6, 0.01, 0.3} {
		near(t, "nu=1", StudentQuantile(p, 1), -1/math.Tan(math.Pi*p), 1e-9, 0)
		near(t, "nu=2", StudentQuantile(p, 2), (2*p-1)/math.Sqrt(2*p*(1-p)), 1e-9, 0)
		near(t, "tail", StudentTail(StudentQuantile(p/2, 7), 7), p, 1e-9, 0)
	}
	near(t, "normal", StudentQuantile(0.975, math.Inf(1)), 1.959963984540054, 1e-12, 0)
	// Either side of the change of method, and far beyond where the incomplete beta function gives up.
	near(t, "continuity", StudentQuantile(0.975, 1.0001e7), StudentQuantile(0.975, 0.9999e7), 1e-9, 0)
	near(t, "many degrees of freedom", StudentQuantile(0.975, 1e300), 1.959963984540054, 1e-12, 0)
	near(t, "middle", StudentQuantile(0.5, 4), 0, 0, 0)
	if !math.IsNaN(StudentQuantile(1, 3)) || !math.IsNaN(StudentQuantile(0.5, 0)) {
		t.Error("outside its range the quantile is not a number")
	}
}

// F(2, n) has the closed tail (1 + 2f/n)^(-n/2).
func TestFTail(t *testing.T) {
	for _, f := range []float64{0.1, 3, 50, 4000} {
		near(t, "F(2,6)", FTail(f, 2, 6), math.Pow(1+f/3, -3), 1e-10, 0)
	}
	if FTail(-1, 2, 6) != 1 {
		t.Error("below zero the tail is 1")
	}
}

func TestCombineRefuses(t *testing.T) {
	for _, c := range []Component{{U: math.NaN(), Sensitivity: 1, DoF: 1}, {U: -1, Sensitivity: 1, DoF: 1}, {U: 1, Sensitivity: 1}} {
		if _, err := Combine(0.95, c); err == nil {
			t.Errorf("%+v was combined", c)
		}
	}
	if _, err := Combine(95); err == nil {
		t.Error("a coverage of 95 was accepted")
	}
	// 3-4-5 by hand; nu_eff = 625/(81/2+256/8) = 8.62
	r, err := Combine(0.95, Component{U: 3, Sensitivity: -1, DoF: 2}, Component{U: 2, Sensitivity: 2, DoF: 8})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "u", r.U, 5, 1e-15, 0)
	near(t, "nu", r.DoF, 625/72.5, 1e-14, 0)
}
