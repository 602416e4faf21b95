package ode_test

import (
	"math"
	"testing"

	"github.com/hardcatch/hardcatch/internal/num/ode"
	"github.com/hardcatch/hardcatch/internal/num/ode/odeproblem"
)

func methods() map[string]func(ode.Func, int) ode.Stepper {
	return map[string]func(ode.Func, int) ode.Stepper{
		"radau": func(f ode.Func, n int) ode.Stepper { return ode.NewRadau(f, n) },
		"dopri": func(f ode.Func, n int) ode.Stepper { return ode.NewDopri(f, n) },
	}
}

func distance(a, b []float64) float64 {
	d := 0.0
	for i := range a {
		d = math.Max(d, math.Abs(a[i]-b[i]))
	}
	return d
}

// fixed integrates with n equal steps and returns the error at the end and the largest error of the
// dense output.
func fixed(p odeproblem.Problem, s ode.Stepper, n int) (end, dense float64) {
	y, y1, e, want := append([]float64(nil), p.Start...), make([]float64, len(p.Start)), make([]float64, len(p.Start)), make([]float64, len(p.Start))
	h := p.End / float64(n)
	for i := range n {
		t := h * float64(i)
		s.Step(t, y, h, y1, e)
		copy(y, y1)
		for _, theta := range []float64{0.3, 0.6, 0.8} {
			s.Dense(theta, y1)
			p.Exact(t+theta*h, want)
			dense = math.Max(dense, distance(y1, want))
		}
	}
	p.Exact(p.End, want)
	return distance(y, want), dense
}

// Both methods are of order 5 on smooth problems; a halved step must show it. The dense output is of
// order 4 (Dopri) and 3 (Radau), that is an error of h^5 and h^4 within a step.
func TestObservedOrder(t *testing.T) {
	for name, method := range methods() {
		for _, p := range odeproblem.All() {
			if p.Stiff {
				continue
			}
			n := 160
			a, da := fixed(p, method(p.F, len(p.Start)), n)
			b, db := fixed(p, method(p.F, len(p.Start)), 2*n)
			if order := math.Log2(a / b); !(order > 4.6 && order < 6.6) && b > 1e-13 {
				t.Errorf("%s on %s: observed order %.2f (errors %.3g, %.3g)", name, p.Name, order, a, b)
			}
			if order := math.Log2(da / db); !(order > 3.5) && db > 1e-13 {
				t.Errorf("%s on %s: observed order of the dense output %.2f (errors %.3g, %.3g)", name, p.Name, order, da, db)
			}
		}
	}
}

func TestAdaptiveMeetsTheTolerance(t *testing.T) {
	for name, method := range methods() {
		for _, p := range odeproblem.All() {
			if p.Stiff && name == "dopri" {
				continue
			}
			for _, tol := range []float64{1e-5, 1e-8} {
				abs := make([]float64, len(p.Start))
				for i := range abs {
					abs[i] = tol
				}
				c := ode.NewControl(method(p.F, len(p.Start)), tol, abs, 1e-3)
				y, want := append([]float64(nil), p.Start...), make([]float64, len(p.Start))
				x := 0.0
				for x < p.End {
					h := c.Advance(x, y, p.End-x)
					if h == 0 {
						t.Fatalf("%s on %s: no step at %g", name, p.Name, x)
					}
					if x += h; p.End-x < 1e-14 {
						x = p.End
					}
				}
				p.Exact(p.End, want)
				if d := distance(y, want); !(d < 100*tol) {
					t.Errorf("%s on %s at %g: error %.3g in %d steps", name, p.Name, tol, d, c.Accepted)
				}
				if p.Stiff && c.Accepted > 2000 {
					t.Errorf("%s on %s: %d steps; a stiff method must not follow the fast scale", name, p.Name, c.Accepted)
				}
			}
		}
	}
}

// exp(t) has c[k] = 1/k!, so value, slope and bounds are known.
func TestSeries(t *testing.T) {
	const n = 20
	c := make([]float64, n+1)
	c[0] = 1
	for k := 1; k <= n; k++ {
		c[k] = c[k-1] / float64(k)
	}
	for _, x := range []float64{0, 0.3, 1} {
		if v := ode.Value(c, n, x); math.Abs(v-math.Exp(x)) > 1e-15*math.Exp(x) {
			t.Errorf("value at %g: %g", x, v)
		}
		if v := ode.Slope(c, n, x); math.Abs(v-math.Exp(x)) > 1e-15*math.Exp(x) {
			t.Errorf("slope at %g: %g", x, v)
		}
	}
	h := ode.LongestStep(c[n], c[n-1], n, 1e-16)
	if last := c[n-1] * math.Pow(h, n-1); last > 1.2e-16 || last < 0.7e-16 { // of the two the binding term
		t.Errorf("reach %g leaves a term of %g", h, last)
	}
	if h := ode.LongestStep(0, 0, n, 1e-16); !(h > 1e14) {
		t.Errorf("reach of a polynomial of lower degree: %g", h)
	}
}

func TestRoughPowers(t *testing.T) {
	for x := 1e-12; x < 1e12; x *= 1.37 {
		if d := ode.RoughLog2(x) - math.Log2(x); d > 1e-12 || d < -0.0861 {
			t.Errorf("log2 of %g is off by %g", x, d)
		}
		y := math.Log2(x)
		if d := ode.RoughExp2(y)/x - 1; math.Abs(d) > 4e-3 {
			t.Errorf("exp2 of %g is off by %g", y, d)
		}
	}
}

// Roots: x^3 = 2, cos x = x (0.7390851332151607, the Dottie number, OEIS A003957), a steep and a flat
// crossing; the sign at the result is that of the far end.
func TestRoot(t *testing.T) {
	for _, c := range []struct {
		name string
		f    func(float64) float64
		a, b float64
		want float64
	}{
		{"cube root", func(x float64) float64 { return x*x*x - 2 }, 0, 2, math.Cbrt(2)},
		{"dottie", func(x float64) float64 { return math.Cos(x) - x }, 0, 1, 0.7390851332151607},
		{"steep", func(x float64) float64 { return math.Expm1(50 * (x - 0.1)) }, 0, 1, 0.1},
		{"flat", func(x float64) float64 { return (x - 0.3) * (x - 0.3) * (x - 0.3) }, 0, 1, 0.3},
		{"step", func(x float64) float64 { return math.Copysign(1, x-0.25) }, 0, 1, 0.25},
	} {
		calls := 0
		f := func(x float64) float64 { calls++; return c.f(x) }
		x := ode.Root(f, c.a, c.b, c.f(c.a), c.f(c.b), 0)
		tol := 1e-15
		if c.name == "flat" {
			tol = 1e-5 // (x - 0.3)^3 is below the last bit of its terms there
		}
		if math.Abs(x-c.want) > tol || c.f(x)*c.f(c.b) < 0 {
			t.Errorf("%s: %.17g, want %.17g (value %g, %d calls)", c.name, x, c.want, c.f(x), calls)
		}
	}
	defer func() {
		if recover() == nil {
			t.Error("no panic without a change of sign")
		}
	}()
	ode.Root(math.Exp, 0, 1, 1, math.E, 0)
}

// Nothing is allocated inside a step.
func TestStepsDoNotAllocate(t *testing.T) {
	for name, method := range methods() {
		p := odeproblem.All()[1]
		s := method(p.F, 2)
		y, y1, e := []float64{0, 1}, make([]float64, 2), make([]float64, 2)
		if n := testing.AllocsPerRun(100, func() { s.Step(0, y, 0.01, y1, e); s.Dense(0.5, y1) }); n != 0 {
			t.Errorf("%s allocates %v times a step", name, n)
		}
	}
}

func BenchmarkStep(b *testing.B) {
	for name, method := range methods() {
		b.Run(name, func(b *testing.B) {
			p := odeproblem.All()[1]
			s := method(p.F, 2)
			y, y1, e := []float64{0, 1}, make([]float64, 2), make([]float64, 2)
			b.ReportAllocs()
			for b.Loop() {
				s.Step(0, y, 0.01, y1, e)
			}
		})
	}
}
