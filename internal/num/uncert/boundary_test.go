package uncert

import (
	"math"
	"testing"
)

// counted gives 0, 1, 2, ... and is no random source at all, so that everything about it is known.
func counted() func(Source) float64 {
	i := -1.0
	return func(Source) float64 { i++; return i }
}

// 0 to 199: mean 99.5, variance (n^2 - 1)/12 x n/(n-1) = n (n+1)/12 = 3350. At 95 % the interval spans 190 steps and leaves (200 - 190)/2 = 5 below.
// All intervals of 190 steps are equally long, and the first counts.
func TestMonteCarloByCounting(t *testing.T) {
	s, err := MonteCarlo(200, 0.95, nil, counted())
	if err != nil {
		t.Fatal(err)
	}
	near(t, "mean", s.Mean, 99.5, 1e-12, 0)
	near(t, "SD", s.SD, math.Sqrt(3350), 1e-12, 0)
	if s.N != 200 || s.Lo != 5 || s.Hi != 195 || s.ShortLo != 0 || s.Short != 190 || s.Coverage != 0.95 {
		t.Errorf("%+v", s)
	}
	// Squares get sparser upwards, so that the shortest interval is the lowest; their mirror's is the highest.
	i := -1.0
	up, _ := MonteCarlo(200, 0.95, nil, func(Source) float64 { i++; return i * i })
	if up.ShortLo != 0 || up.Short != 190*190 || up.Lo != 25 || up.Hi != 195*195 {
		t.Errorf("%+v", up)
	}
	i = -1
	down, _ := MonteCarlo(200, 0.95, nil, func(Source) float64 { i++; return -i * i })
	// From -(199^2) + ... : the highest 190 steps end at 0 and start at -190^2.
	if down.ShortLo != -190*190 || down.Short != 190*190 {
		t.Errorf("%+v", down)
	}
	// A hundred draws at 99.9 %: 100 inside would need 101 values, so that it is the whole range.
	all, err := MonteCarlo(100, 0.999, nil, counted())
	if err != nil || all.Lo != 0 || all.Hi != 99 || all.Short != 99 {
		t.Errorf("%+v %v", all, err)
	}
}

func TestMonteCarloRefuses(t *testing.T) {
	for _, c := range []struct {
		n        int
		coverage float64
		ok       bool
	}{{99, 0.95, false}, {100, 0.95, true}, {100, 0, false}, {100, 1, false}, {100, 1.2, false}, {100, -0.1, false}, {100, math.NaN(), false}, {100, 0.01, true}} {
		if _, err := MonteCarlo(c.n, c.coverage, nil, counted()); (err == nil) != c.ok {
			t.Errorf("%+v: %v", c, err)
		}
	}
	for _, v := range []float64{math.NaN(), math.Inf(1), math.Inf(-1)} {
		if _, err := MonteCarlo(100, 0.95, nil, func(Source) float64 { return v }); err == nil {
			t.Errorf("%v was averaged", v)
		}
	}
}

func TestCombineEdges(t *testing.T) {
	inf := math.Inf(1)
	for _, c := range []struct {
		coverage float64
		part     Component
		ok       bool
	}{
		{0.95, Component{U: 1, Sensitivity: 1, DoF: inf}, true}, {0, Component{U: 1, Sensitivity: 1, DoF: inf}, false}, {1, Component{U: 1, Sensitivity: 1, DoF: inf}, false},
		{1.2, Component{U: 1, Sensitivity: 1, DoF: inf}, false}, {-0.5, Component{U: 1, Sensitivity: 1, DoF: inf}, false},
		{0.95, Component{U: inf, Sensitivity: 1, DoF: inf}, false}, {0.95, Component{U: 1, Sensitivity: -inf, DoF: inf}, false}, {0.95, Component{U: -1, Sensitivity: 1, DoF: inf}, false},
		{0.95, Component{U: math.NaN(), Sensitivity: 1, DoF: inf}, false}, {0.95, Component{U: 1, Sensitivity: 1, DoF: 0}, false}, {0.95, Component{U: 0.5, Sensitivity: 1, DoF: 0.5}, true},
		{0.95, Component{U: 0, Sensitivity: 1, DoF: 3}, true},
	} {
		if r, err := Combine(c.coverage, c.part); (err == nil) != c.ok || err == nil && math.IsNaN(r.DoF) {
			t.Errorf("%+v: %+v %v", c, r, err)
		}
	}
	// One component keeps its degrees of freedom: u^4/(u^4/3), and small ones count (u^4 = 6e-6).
	r, _ := Combine(0.95, Component{U: 0.05, Sensitivity: 1, DoF: 3})
	near(t, "degrees of freedom", r.DoF, 3, 1e-12, 0)
	// Less than one is taken as one: t(1) at 97.5 % = -cot(0.975 pi) = 12.7062.
	near(t, "half a degree", CoverageFactor(0.95, 0.5), 12.7062047, 1e-8, 0)
	near(t, "1.4 degrees", CoverageFactor(0.95, 1.4), 12.7062047, 1e-8, 0)
	near(t, "rectangular", Rectangular(-3), math.Sqrt(3), 1e-15, 0)
	near(t, "arcsine", Arcsine(-2), math.Sqrt2, 1e-15, 0)
}

func TestStudentEdges(t *testing.T) {
	for _, p := range []float64{0, 1, -0.1, 1.1, math.NaN()} {
		if q := StudentQuantile(p, 3); !math.IsNaN(q) {
			t.Errorf("quantile at %v: %v", p, q)
		}
	}
	if q := StudentQuantile(0.5, 3); q != 0 || math.Signbit(q) {
		t.Errorf("median %v", q)
	}
	// t(1) = -cot(pi p): at 0.75 it is 1, at 0.6 it is tan(0.1 pi).
	near(t, "upper quartile", StudentQuantile(0.75, 1), 1, 1e-12, 0)
	near(t, "0.6", StudentQuantile(0.6, 1), math.Tan(0.1*math.Pi), 1e-12, 0)
	near(t, "0.4", StudentQuantile(0.4, 1), -math.Tan(0.1*math.Pi), 1e-12, 0)
	// Normal: P(|Z| > 1.959964) = 0.05. Cauchy: P(|T| > 1) = 1/2.
	near(t, "normal tail", StudentTail(-1.959963984540054, math.Inf(1)), 0.05, 1e-12, 0)
	near(t, "Cauchy tail", StudentTail(-1, 1), 0.5, 1e-12, 0)
	if FTail(-1, 2, 3) != 1 || FTail(0, 2, 3) != 1 {
		t.Error("no F lies below 0")
	}
}
