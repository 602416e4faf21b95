package exact

import (
	"fmt"
	"math"
	"testing"

	"github.com/hardcatch/hardcatch/internal/num/uncert"
)

// Both tails against the series of incomplete beta functions in 120 digits (bench/exact/noncentral.py).
func TestNoncentralTailsAgainstSeries(t *testing.T) {
	for _, c := range recorded(t, "testdata/noncentral.tsv", "nct") {
		d := NoncentralT{DoF: c.args[0], Delta: c.args[1]}
		name := fmt.Sprintf("dof %g, delta %g, t %g", c.args[0], c.args[1], c.args[2])
		near(t, name+": lower", d.CDF(c.args[2]), c.want[0], 1e-11)
		near(t, name+": upper", d.Survival(c.args[2]), c.want[1], 1e-11)
	}
}

// R's pt and qt stop at an absolute error of 1e-12 (a relative one in the probability for qt).
func TestNoncentralAgainstR(t *testing.T) {
	for _, c := range reference(t, "pt") {
		if got := (NoncentralT{c.args[1], c.args[2]}).CDF(c.args[0]); math.Abs(got-c.want[0]) > 2e-12 {
			t.Errorf("pt%v: %.15g, R %.15g", c.args, got, c.want[0])
		}
	}
	for _, c := range reference(t, "qt") {
		near(t, fmt.Sprint("qt", c.args), NoncentralT{c.args[1], c.args[2]}.Quantile(c.args[0]), c.want[0], 1e-9)
	}
}

// With one degree of freedom and no shift it is Cauchy's distribution, with two sqrt and division do; with
// infinitely many it is normal.
func TestNoncentralClosedForms(t *testing.T) {
	for _, x := range []float64{-1e6, -30, -1, -0.1, 0, 0.3, 2, 50} {
		near(t, "Cauchy", NoncentralT{1, 0}.CDF(x), cauchy(x), 1e-12)
		// 1/2 + x/(2 sqrt(2 + x^2)), with the tail kept: (1/2)(2/(s (s - x))) for x < 0, s = sqrt(2 + x^2).
		s := math.Sqrt(2 + x*x)
		want := (s + x) / (2 * s)
		if x < 0 {
			want = 1 / (s * (s - x))
		}
		near(t, "two degrees", NoncentralT{2, 0}.CDF(x), want, 1e-12)
		near(t, "normal", NoncentralT{math.Inf(1), 1}.CDF(x), phiTail(1-x), 1e-15)
	}
	for _, d := range []NoncentralT{{0, 1}, {-1, 0}, {math.NaN(), 0}, {3, math.NaN()}, {3, math.Inf(1)}} {
		if !math.IsNaN(d.CDF(1)) || !math.IsNaN(d.Quantile(0.5)) {
			t.Errorf("%+v is accepted", d)
		}
	}
	for _, p := range []float64{0, 1, -1, math.NaN()} {
		if !math.IsNaN(NoncentralT{3, 1}.Quantile(p)) {
			t.Errorf("quantile at %g is a number", p)
		}
	}
	d := NoncentralT{3, 1}
	if d.CDF(math.Inf(1)) != 1 || d.CDF(math.Inf(-1)) != 0 || d.Survival(math.Inf(1)) != 0 {
		t.Error("the ends are wrong")
	}
}

func cauchy(x float64) float64 {
	if x < 0 {
		return math.Atan(-1/x) / math.Pi
	}
	return 0.5 + math.Atan(x)/math.Pi
}

// The quantile goes back to its probability in both tails.
func TestNoncentralQuantileGoesBack(t *testing.T) {
	if testing.Short() {
		t.Skip("takes seconds")
	}
	for _, dof := range []float64{0.5, 1, 2, 7, 100, 1e6, 1e12} {
		for _, delta := range []float64{-8, 0, 0.5, 3, 40} {
			d := NoncentralT{dof, delta}
			for _, p := range []float64{1e-12, 1e-4, 0.3, 0.5, 0.75, 0.99} {
				near(t, fmt.Sprint(d, p), d.CDF(d.Quantile(p)), p, 1e-11)
			}
			near(t, fmt.Sprint(d, " upper"), d.Survival(d.Quantile(1-1e-6)), 1e-6, 1e-9)
		}
	}
}

// Where the integral has no digits left there is no number, and no search ends on one; elsewhere both tails
// of extremes add to 1.
func TestNoncentralExtremes(t *testing.T) {
	if testing.Short() {
		t.Skip("takes seconds")
	}
	for _, dof := range []float64{0.2, 1, 1e3, 1e9} {
		for _, delta := range []float64{-1e8, -100, 1e-9, 1e3} {
			for _, x := range []float64{1e-300, 1, 1e5, 1e200} {
				d := NoncentralT{dof, delta}
				if sum := d.CDF(x) + d.Survival(x); math.Abs(sum-1) > 1e-9 {
					t.Errorf("%+v at %g: the tails add to %g", d, x, sum)
				}
			}
			if delta < -1e6 {
				continue
			}
			for _, p := range []float64{1e-200, 0.5} {
				d := NoncentralT{dof, delta}
				if q := d.Quantile(p); !math.IsNaN(q) {
					near(t, fmt.Sprint(d, p), d.CDF(q), p, 1e-8)
				}
			}
		}
	}
	for _, delta := range []float64{-100, 0, 50, 1000} {
		for _, p := range []float64{1e-10, 0.5, 0.999999} {
			if math.IsNaN(NoncentralT{1, delta}.Quantile(p)) {
				t.Errorf("shift %g has no quantile at %g", delta, p)
			}
		}
	}
}

func TestNormalUpper(t *testing.T) {
	// Recalled: 1.959963984540054 at 0.025; 37.5 has the tail erfc(37.5/sqrt 2)/2.
	near(t, "0.025", normalUpper(0.025), 1.959963984540054, 1e-14)
	near(t, "0.975", normalUpper(0.975), -1.959963984540054, 1e-14)
	near(t, "far tail", normalUpper(phiTail(37.5)), 37.5, 1e-13)
	if got := normalUpper(0.5); math.Abs(got) > 1e-15 {
		t.Errorf("median %g", got)
	}
	for _, x := range []float64{-29.999999, -30.000001, -8} {
		near(t, "log of the tail", logPhi(x), math.Log(phiTail(-x)), 1e-14)
	}
	near(t, "agrees with uncert", normalUpper(0.1), uncert.NormalQuantile(0.9), 1e-13)
}

func BenchmarkNoncentral(b *testing.B) {
	d := NoncentralT{4, 3.678}
	b.Run("CDF", func(b *testing.B) {
		for b.Loop() {
			d.CDF(9.4)
		}
	})
	b.Run("Quantile", func(b *testing.B) {
		for b.Loop() {
			d.Quantile(0.95)
		}
	})
}
