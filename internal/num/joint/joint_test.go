package joint

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/hardcatch/hardcatch/internal/num/censor"
)

// simulated is drops of 3 falls: loads 8, 11 and 14 kN with sigma 0.1, strengths around 12 kN.
func simulated(n int, weibull bool, rho float64, seed uint64) []Drop {
	return mixed(n, weibull, rho, seed, 11)
}

// mixed has a bound of both in each of so many drops.
func mixed(n int, weibull bool, rho float64, seed uint64, each int) []Drop {
	rng := rand.New(rand.NewPCG(seed, 9))
	var out []Drop
	for i := range n {
		g := i % 3
		a := rng.NormFloat64()
		z := rho*a + math.Sqrt(1-rho*rho)*rng.NormFloat64()
		e := z
		if weibull {
			e = math.Log(-logTail(z)) // exp(-exp(e)) = P(Z > z)
		}
		f, s := math.Exp(math.Log(8+3*float64(g))+0.1*a), 12*math.Exp(0.1*e)
		d := Drop{X: math.Min(f, s), Group: g, Shown: Load}
		if s < f {
			d.Shown = Strength
		}
		if i%each == each-1 {
			d.X, d.Shown = 0.97*d.X, Neither
		}
		out = append(out, d)
	}
	return out
}

// Without a correlation the two fall apart: strength and load are fitted as by the package censor, each with bounds.
func TestWithoutCorrelationAsEachByItself(t *testing.T) {
	for _, weibull := range []bool{false, true} {
		drops := simulated(60, weibull, 0, 3)
		f, err := At(drops, weibull, 0, nil)
		if err != nil {
			t.Fatal(err)
		}
		var strengths, loads []censor.Value
		var design [][]float64
		for _, d := range drops {
			s, l := censor.AtLeast(d.X), censor.AtLeast(d.X)
			switch d.Shown {
			case Load:
				l = censor.Exact(d.X)
			case Strength:
				s = censor.Exact(d.X)
			}
			strengths, loads = append(strengths, s), append(loads, l)
			row := make([]float64, 3)
			row[d.Group] = 1
			design = append(design, row)
		}
		family := censor.Lognormal
		if weibull {
			family = censor.Weibull
		}
		m, err := censor.Fit(strengths, family)
		if err != nil {
			t.Fatal(err)
		}
		for _, p := range []float64{0.05, 0.5} {
			log, se := f.Quantile(p)
			q, err := m.QuantileInterval(p, 0.95)
			if err != nil {
				t.Fatal(err)
			}
			if math.Abs(log-math.Log(q.Estimate)) > 1e-6 || !(se > 0) {
				t.Errorf("weibull %v: %g and %g", weibull, log, math.Log(q.Estimate))
			}
		}
		r, err := censor.Regress(loads, design, []string{"a", "b", "c"}, censor.Lognormal)
		if err != nil {
			t.Fatal(err)
		}
		for g := range 3 {
			if math.Abs(f.Mu[g]-r.Coefficients[g]) > 1e-6 {
				t.Errorf("weibull %v, load of group %d: %g and %g", weibull, g, f.Mu[g], r.Coefficients[g])
			}
		}
		if math.Abs(f.Sigma/r.Sigma-1) > 1e-6 || math.Abs(f.LogLik-m.LogLik-r.LogLik) > 1e-6 {
			t.Errorf("weibull %v: sigma %g and %g, likelihood %g and %g", weibull, f.Sigma, r.Sigma, f.LogLik, m.LogLik+r.LogLik)
		}
	}
}

// The gradient is that of the value, for every kind of drop and both families.
func TestGradient(t *testing.T) {
	for _, weibull := range []bool{false, true} {
		for _, rho := range []float64{-0.5, 0, 0.8} {
			p, err := prepare(append(simulated(40, weibull, 0.5, 4), Drop{20, 3, Strength}, Drop{21, 3, Neither}), weibull, rho)
			if err != nil {
				t.Fatal(err)
			}
			theta := p.start()
			for i := range theta {
				theta[i] += 0.02 * float64(i%3)
			}
			grad := make([]float64, len(theta))
			p.value(theta, grad)
			for i := range theta {
				x := append([]float64(nil), theta...)
				none := make([]float64, len(theta))
				const h = 1e-6
				x[i] += h
				up := p.value(x, none)
				x[i] -= 2 * h
				if got := (up - p.value(x, none)) / (2 * h); math.Abs(got-grad[i]) > 1e-4*(1+math.Abs(grad[i])) {
					t.Errorf("weibull %v, rho %g, parameter %d: %g, by differences %g", weibull, rho, i, grad[i], got)
				}
			}
		}
	}
}

// P(A > 0, B > 0) = 1/4 + asin(rho)/(2 pi) (Sheppard 1898), and at correlation 0 the product of the tails. P(A > 1, B > 0.5) at 0.5 by Simpson's rule over
// phi(x) Phi((0.5 x - 0.5)/sqrt 0.75) from 1, reckoned apart.
func TestOrthant(t *testing.T) {
	for _, rho := range []float64{-0.9, -0.3, 0, 0.5, 0.8, 0.95} {
		if got, want := orthant(0, 0, rho), 0.25+math.Asin(rho)/(2*math.Pi); math.Abs(got-want) > 1e-10 {
			t.Errorf("rho %g: %g, want %g", rho, got, want)
		}
	}
	if got, want := orthant(1, -0.7, 0), math.Exp(logTail(1)+logTail(-0.7)); math.Abs(got-want) > 1e-14 {
		t.Errorf("%g, want %g", got, want)
	}
	sum, n := 0.0, 20000
	for i := range n + 1 {
		x := 1 + 9*float64(i)/float64(n)
		w := 2.0 + 2*float64(i%2)
		if i == 0 || i == n {
			w = 1
		}
		sum += w * math.Exp(-x*x/2) / math.Sqrt(2*math.Pi) * math.Erfc(-(0.5*x-0.5)/math.Sqrt(0.75)/math.Sqrt2) / 2
	}
	if got, want := orthant(1, 0.5, 0.5), sum*9/float64(n)/3; math.Abs(got-want) > 1e-9 {
		t.Errorf("%g, want %g", got, want)
	}
}

// With many drops the fit at the true correlation finds the truth, and that at 0 is too high at the low end, on the unsafe side.
func TestManyDropsFindTheTruth(t *testing.T) {
	for _, weibull := range []bool{false, true} {
		drops := mixed(8000, weibull, 0.8, 5, 8001)
		f, err := At(drops, weibull, 0.8, nil)
		if err != nil {
			t.Fatal(err)
		}
		want := math.Log(12) + 0.1*standard(weibull, 0.05)
		log, se := f.Quantile(0.05)
		if math.Abs(log-want) > 4*se || se > 0.01 || math.Abs(f.Sigma-0.1) > 0.005 || math.Abs(f.Mu[0]-math.Log(8)) > 0.01 {
			t.Errorf("weibull %v: %g ± %g, want %g; %+v", weibull, log, se, want, f)
		}
		f0, err := At(drops, weibull, 0, f)
		if err != nil {
			t.Fatal(err)
		}
		if zero, _ := f0.Quantile(0.05); zero < log+3*se || f0.LogLik > f.LogLik {
			t.Errorf("weibull %v: at 0 %g, at 0.8 %g, likelihoods %g and %g", weibull, zero, log, f0.LogLik, f.LogLik)
		}
	}
}

func TestRefusals(t *testing.T) {
	ok := simulated(30, false, 0, 6)
	for name, c := range map[string]struct {
		drops []Drop
		rho   float64
	}{
		"correlation": {ok, 1}, "no number": {ok, math.NaN()}, "no force": {append([]Drop{{0, 0, Load}}, ok...), 0}, "none broke": {[]Drop{{1, 0, Load}, {2, 0, Load}, {3, 0, Load}}, 0},
		"one load": {[]Drop{{1, 0, Load}, {2, 0, Strength}, {3, 0, Strength}}, 0}, "nothing": {nil, 0}, "infinite": {append([]Drop{{math.Inf(1), 0, Load}}, ok...), 0}, "group": {append([]Drop{{1, -1, Load}}, ok...), 0},
	} {
		if f, err := At(c.drops, false, c.rho, nil); err == nil {
			t.Errorf("%s: %+v", name, f)
		}
	}
}

func BenchmarkAt(b *testing.B) {
	drops := simulated(60, true, 0.5, 8)
	for b.Loop() {
		if _, err := At(drops, true, 0.5, nil); err != nil {
			b.Fatal(err)
		}
	}
}
