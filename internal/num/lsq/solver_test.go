package lsq

import (
	"errors"
	"math"
	"testing"
)

// line is y = a + b x through (0, 1), (1, 2), (2, 4): by hand b = 3/2, a = 5/6, RSS = 1/6, (X'X)^-1 = [[5/6, -1/2], [-1/2, 1/2]].
func line() *Problem {
	y := []float64{1, 2, 4}
	return &Problem{M: 3, N: 2, Residuals: func(p, r []float64) {
		for i := range r {
			r[i] = y[i] - p[0] - p[1]*float64(i)
		}
	}}
}

func solved(t *testing.T, p *Problem, start ...float64) *Fit {
	t.Helper()
	f, err := NewSolver(p).Solve(start)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

func close8(t *testing.T, what string, got, want float64) {
	t.Helper()
	if !(math.Abs(got-want) <= 1e-7*math.Abs(want)+1e-9) {
		t.Errorf("%s: %.12g, want %.12g", what, got, want)
	}
}

func TestLineByHand(t *testing.T) {
	f := solved(t, line(), 0, 0)
	for _, c := range []struct {
		what      string
		got, want float64
	}{{"a", f.X[0], 5. / 6}, {"b", f.X[1], 1.5}, {"RSS", f.RSS, 1. / 6}, {"var a", f.Cov[0], 5. / 6}, {"cov", f.Cov[1], -0.5}, {"var b", f.Cov[3], 0.5}, {"SD", f.ResidualSD(), math.Sqrt(1. / 6)}} {
		close8(t, c.what, c.got, c.want)
	}
	if f.DoF != 1 || !f.Converged || f.GradCosine > 1e-6 {
		t.Errorf("%+v", f)
	}
}

// The profile of a linear model is a parabola: b = 3/2 -+ sqrt(rise/2), to a thousandth of the interval.
func TestProfileOfALine(t *testing.T) {
	f := solved(t, line(), 0, 0)
	p := Profile(line(), f, 1, 3.84)
	half := math.Sqrt(3.84 / 2)
	if math.Abs(p.Lo-1.5+half) > 2e-3*half || math.Abs(p.Hi-1.5-half) > 2e-3*half || p.LoOpen || p.HiOpen {
		t.Errorf("%+v, half %g", p, half)
	}
}

// With b <= 1 the best a is the mean of y - x: 4/3, RSS 1/9 + 1/9 + 4/9; held at 1 it is the same, without being at a bound.
func TestBounds(t *testing.T) {
	p := line()
	p.Lower, p.Upper = []float64{-9, -9}, []float64{9, 1}
	f := solved(t, p, 0, 0)
	close8(t, "a", f.X[0], 4./3)
	close8(t, "b", f.X[1], 1)
	close8(t, "RSS", f.RSS, 2./3)
	if !f.AtBound[1] || f.AtBound[0] || f.Cov[3] != 0 {
		t.Errorf("%+v", f)
	}
	// From the bound on the wrong side the fit comes back.
	p.Lower, p.Upper = []float64{-9, 0}, []float64{9, 9}
	close8(t, "b from its bound", solved(t, p, 0, 0).X[1], 1.5)
	p.Lower[1], p.Upper[1] = 1, 1
	f = solved(t, p, 0, 1)
	close8(t, "a with b held", f.X[0], 4./3)
	if f.AtBound[1] || f.DoF != 2 {
		t.Errorf("%+v", f)
	}
}

// One reading 3 of unit deviation and a prior of 1 with deviation 1/2: the mean weighed 1 to 4, 7/5, variance 1/5, RSS 1.6^2 + 0.8^2.
func TestPrior(t *testing.T) {
	p := &Problem{M: 1, N: 1, Residuals: func(x, r []float64) { r[0] = 3 - x[0] }, Prior: []Normal{{1, 0.5}}}
	f := solved(t, p, 0)
	close8(t, "value", f.X[0], 1.4)
	close8(t, "variance", f.Cov[0], 0.2)
	close8(t, "RSS", f.RSS, 3.2)
	close8(t, "of the data", f.DataRSS, 2.56)
	// The same of a logarithm.
	p = &Problem{M: 1, N: 1, Log: []bool{true}, Residuals: func(x, r []float64) { r[0] = 3 - math.Log(x[0]) }, Prior: []Normal{{1, 0.5}}}
	f = solved(t, p, 1)
	close8(t, "value", f.X[0], math.Exp(1.4))
	close8(t, "variance of the logarithm", f.Cov[0], 0.2)
}

// A rate that is too quick for its readings is known from below only: y = 1 - exp(-b x) has come to 1 at both places.
func TestFlatSide(t *testing.T) {
	p := &Problem{M: 2, N: 1, Log: []bool{true}, Lower: []float64{1e-3}, Upper: []float64{1e6}, Residuals: func(b, r []float64) {
		for i := range r {
			r[i] = (1 - (1 - math.Exp(-b[0]*float64(i+1)))) / 0.01
		}
	}}
	f := solved(t, p, 1)
	// The readings are 1: the sum of squares is 1e4 (exp(-2b) + exp(-4b)), least at infinity; it rises by 3.84 where exp(-2b) + exp(-4b) = 3.84e-4.
	u := (math.Sqrt(1+4*3.84e-4) - 1) / 2
	got := Profile(p, f, 0, 3.84)
	if !got.HiOpen || got.LoOpen || math.Abs(got.Lo/(-math.Log(u)/2)-1) > 5e-3 {
		t.Errorf("%+v, want > %g", got, -math.Log(u)/2)
	}
}

// A given Jacobian leads where differences lead, in logarithms too.
func TestGivenJacobian(t *testing.T) {
	p := &Problem{
		M: 3, N: 2, Log: []bool{true, false},
		Residuals: func(b, r []float64) {
			for i := range r {
				r[i] = []float64{1, 0.5, 0.3}[i] - b[0]*math.Exp(-b[1]*float64(i))
			}
		},
		Jacobian: func(b, jac []float64) {
			for i := range 3 {
				e := math.Exp(-b[1] * float64(i))
				jac[2*i], jac[2*i+1] = -e, b[0]*float64(i)*e
			}
		},
	}
	a := solved(t, p, 3, 0)
	p.Jacobian = nil
	b := solved(t, p, 3, 0)
	for j := range 2 {
		close8(t, "parameter", a.X[j], b.X[j])
		close8(t, "variance", a.Cov[3*j], b.Cov[3*j])
	}
}

// Where the model has no value it is not gone to, and a start there is an error; another start may lead there.
func TestNoValue(t *testing.T) {
	p := &Problem{M: 1, N: 1, Residuals: func(x, r []float64) { r[0] = math.Sqrt(x[0]) - 0.1 }}
	close8(t, "root", solved(t, p, 4).X[0], 0.01)
	if _, err := NewSolver(p).Solve([]float64{-1}); !errors.Is(err, ErrNoStart) {
		t.Error(err)
	}
	if f, agree, err := Best(p, [][]float64{{-1}, {4}, {1}}); err != nil || agree != 2 || math.Abs(f.X[0]-0.01) > 1e-8 {
		t.Error(f, agree, err)
	}
	if _, _, err := Best(p, [][]float64{{-1}}); !errors.Is(err, ErrNoStart) {
		t.Error(err)
	}
}

// Of two dips, the deeper: r = (x^2 - 1, (x - 1)/10) has one at 1 and one near -1.
func TestBestOfTwo(t *testing.T) {
	p := &Problem{M: 2, N: 1, Residuals: func(x, r []float64) { r[0], r[1] = x[0]*x[0]-1, (x[0]-1)/10 }}
	f, agree, err := Best(p, [][]float64{{-2}, {3}, {2}})
	if err != nil || agree != 2 || math.Abs(f.X[0]-1) > 1e-8 {
		t.Error(f, agree, err)
	}
	// A profile that finds the deeper dip on its way takes it for the fit.
	f = solved(t, p, -2)
	got := Profile(p, f, 0, 1)
	if math.Abs(f.X[0]-1) > 1e-6 || !(got.Lo < 1 && got.Hi > 1) {
		t.Errorf("%v %+v", f.X, got)
	}
}

// Two parameters of which only the sum counts have no covariance, and the fit still ends.
func TestSingular(t *testing.T) {
	p := &Problem{M: 2, N: 2, Residuals: func(x, r []float64) { r[0], r[1] = x[0]+x[1]-1, x[0]+x[1]-2 }}
	f := solved(t, p, 0, 0)
	close8(t, "sum", f.X[0]+f.X[1], 1.5)
	if !math.IsNaN(f.Cov[0]) {
		t.Errorf("%+v", f)
	}
}

// Steps allocate nothing; a fit allocates its result.
func TestFitsAllocateOnlyTheirResult(t *testing.T) {
	p := line()
	p.Prior = []Normal{{0, 1}, {0, 1}}
	s := NewSolver(p)
	x := []float64{3, 3}
	if n := testing.AllocsPerRun(20, func() { _, _ = s.Solve(x) }); n > 12 {
		t.Errorf("%g allocations", n)
	}
}
