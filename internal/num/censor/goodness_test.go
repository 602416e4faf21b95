package censor

import (
	"math"
	"math/rand/v2"
	"testing"
)

// Without censoring the integral is the statistic of Anderson and Darling, J. Am. Stat. Assoc. 49 (1954):
// -n - sum (2i-1)/n (log F(x_i) + log(1 - F(x_{n+1-i}))).
func TestAndersonDarlingComplete(t *testing.T) {
	x := []float64{12.1, 14.3, 14.9, 15.5, 17.2, 21.4}
	values := make([]Value, len(x))
	for i := range x {
		values[i] = Exact(x[i])
	}
	for f := Weibull; f <= Exponential; f++ {
		m := mustFit(t, values, f)
		n := len(x)
		want := -float64(n)
		for i := range x {
			want -= float64(2*i+1) / float64(n) * (math.Log(m.CDF(x[i])) + math.Log(m.Survival(x[n-1-i])))
		}
		all, _, err := steps(values, "", "")
		if err != nil {
			t.Fatal(err)
		}
		near(t, f.String(), andersonDarling(all, n, m.dist), want, 1e-10, 0)
	}
}

// By hand, F uniform-like: values 1 and a bound at 2 under an exponential of scale 1, n = 2. KM is 0 up to 1, then 1/2 up to 2:
// A2/2 = int_0^{F(1)} u/(1-u) du + int_{F(1)}^{F(2)} (1/2-u)^2/(u(1-u)) du, numerically by Simpson's rule here.
func TestAndersonDarlingCensored(t *testing.T) {
	d := located{family: Exponential, mu: 0, sigma: 1}
	f1, f2 := -math.Expm1(-1), -math.Expm1(-2)
	simpson := func(f func(float64) float64, a, b float64) float64 {
		const n = 2000
		s := f(a) + f(b)
		for i := 1; i < n; i++ {
			s += float64(2+2*(i%2)) * f(a+(b-a)*float64(i)/n)
		}
		return s * (b - a) / (3 * n)
	}
	want := 2 * (simpson(func(u float64) float64 { return u / (1 - u) }, 0, f1) +
		simpson(func(u float64) float64 { return (.5 - u) * (.5 - u) / (u * (1 - u)) }, f1, f2))
	near(t, "A2", andersonDarling([]step{{1, 1, 0}, {2, 0, 1}}, 2, d), want, 1e-9, 0)
}

// Values drawn from a Weibull fit it and a mixture of two far apart does not; the same seed gives the same p.
func TestGoodnessTells(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	good := draws(60, 22, r)
	bad := make([]Value, 0, 60)
	for i := range 60 {
		x := 10 + .2*r.NormFloat64()
		if i%2 == 0 {
			x += 15
		}
		bad = append(bad, Exact(x))
	}
	g, err := GoodnessOfFit(mustFit(t, good, Weibull), rand.New(rand.NewPCG(5, 6)), 199)
	if err != nil {
		t.Fatal(err)
	}
	again, err := GoodnessOfFit(mustFit(t, good, Weibull), rand.New(rand.NewPCG(5, 6)), 199)
	if err != nil {
		t.Fatal(err)
	}
	if g.P < .05 || g.P != again.P {
		t.Errorf("drawn from a Weibull: %+v, again %+v", g, again)
	}
	b, err := GoodnessOfFit(mustFit(t, bad, Weibull), rand.New(rand.NewPCG(5, 6)), 199)
	if err != nil {
		t.Fatal(err)
	}
	if b.P > .01 {
		t.Errorf("two clusters: %+v", b)
	}
	few, err := GoodnessOfFit(mustFit(t, good[:6], Weibull), rand.New(rand.NewPCG(5, 6)), 99)
	if err != nil {
		t.Fatal(err)
	}
	if len(few.Warnings) == 0 {
		t.Error("six values gave no warning")
	}
}
