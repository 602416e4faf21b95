package uncert

import (
	"math"
	"testing"
)

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
	near(t, "rectangular", RectangularUncertainty(-3), math.Sqrt(3), 1e-15, 0)
	near(t, "arcsine", ArcsineUncertainty(-2), math.Sqrt2, 1e-15, 0)
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
