package uncert

import (
	"math"
	"math/rand/v2"
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
		Component{Label: "difference of expansion", U: Rectangular(1e-6), Sensitivity: ls * -0.1, DoF: 50},
		Component{Label: "difference of temperature", U: Rectangular(0.05), Sensitivity: ls * 11.5e-6, DoF: 2},
		Component{Label: "expansion of the standard", U: Rectangular(2e-6), Sensitivity: 0, DoF: inf},
		Component{Label: "temperature", U: math.Hypot(0.2, Arcsine(0.5)), Sensitivity: 0, DoF: inf})
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
	second := math.Hypot(ls*Rectangular(1e-6)*math.Hypot(0.2, Arcsine(0.5)), ls*Rectangular(2e-6)*Rectangular(0.05))
	near(t, "u_c with second-order terms", math.Hypot(r.U, second), 34, 0, 0.5)
}

// JCGM 100:2008, H.2: resistance and reactance from five simultaneous observations (printed).
func TestResistanceAndReactance(t *testing.T) {
	obs := [3][]float64{
		{5.007, 4.994, 5.005, 4.990, 4.999},
		{19.663e-3, 19.639e-3, 19.640e-3, 19.685e-3, 19.678e-3},
		{1.0456, 1.0438, 1.0468, 1.0428, 1.0433},
	}
	var mean [3]float64
	for i, o := range obs {
		for _, v := range o {
			mean[i] += v / 5
		}
	}
	cov := make([]float64, 9)
	for i := range 3 {
		for j := range 3 {
			for k := range 5 {
				cov[3*i+j] += (obs[i][k] - mean[i]) * (obs[j][k] - mean[j]) / 20
			}
		}
	}
	v, c, phi := mean[0], mean[1], mean[2]
	z := v / c
	r, x := z*math.Cos(phi), z*math.Sin(phi)
	dr := []float64{r / v, -r / c, -x}
	dx := []float64{x / v, -x / c, r}
	dz := []float64{z / v, -z / c, 0}
	near(t, "R", r, 127.732, 0, 5e-4)
	near(t, "X", x, 219.847, 0, 5e-4)
	near(t, "Z", z, 254.260, 0, 5e-4)
	ur, ux, uz := Propagate(dr, cov), Propagate(dx, cov), Propagate(dz, cov)
	near(t, "u(R)", ur, 0.071, 0, 5e-4)
	// Table H.2 gives 0.295 from rounded correlations; unrounded it is 0.29558.
	near(t, "u(X)", ux, 0.295, 0, 1e-3)
	near(t, "u(Z)", uz, 0.236, 0, 5e-4)
	near(t, "r(R,X)", Covariance(dr, dx, cov)/ur/ux, -0.588, 0, 5e-4)
	near(t, "r(R,Z)", Covariance(dr, dz, cov)/ur/uz, -0.485, 0, 5e-4)
	near(t, "r(X,Z)", Covariance(dx, dz, cov)/ux/uz, 0.993, 0, 5e-4)
}

// JCGM 101:2008, 9.2.3: four rectangular inputs of standard deviation 1; 95 % ends +/-3.88, and
// analytically 2 sqrt3 (2 - (3/5)^(1/4)) (recalled).
func TestFourRectangular(t *testing.T) {
	end := 2 * math.Sqrt(3) * (2 - math.Pow(0.6, 0.25))
	near(t, "analytic end", end, 3.879406741, 1e-9, 0)
	s, err := MonteCarlo(200_000, 0.95, rand.New(rand.NewPCG(1, 2)), func(r Source) float64 {
		sum := 0.0
		for range 4 {
			sum += (2*r.Float64() - 1) * math.Sqrt(3)
		}
		return sum
	})
	if err != nil {
		t.Fatal(err)
	}
	// The standard error of a 2.5 % quantile from 2e5 draws is about 0.009.
	near(t, "low end", s.Lo, -end, 0, 0.03)
	near(t, "high end", s.Hi, end, 0, 0.03)
	near(t, "sd", s.SD, 2, 0, 0.015)
	if s.Short > s.Hi-s.Lo {
		t.Errorf("shortest interval %g is longer than the symmetric %g", s.Short, s.Hi-s.Lo)
	}
	if _, err := MonteCarlo(100, 0.95, rand.New(rand.NewPCG(1, 2)), func(Source) float64 { return math.NaN() }); err == nil {
		t.Error("a model that fails was accepted")
	}
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
