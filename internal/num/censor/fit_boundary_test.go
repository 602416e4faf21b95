package censor

import (
	"errors"
	"math"
	"strings"
	"testing"
)

func says(warnings []string, what string) bool {
	return strings.Contains(strings.Join(warnings, "\n"), what)
}

// R 4.2.2, survreg of survival 3.5.3 with rel.tolerance = 1e-14: vcov() is of (b, log sigma). With shape = 1/sigma and scale = exp(b) the covariance of shape and scale is
// -shape scale cov(b, log sigma), that of b and sigma is sigma cov(b, log sigma).
func TestCovariances(t *testing.T) {
	w := mustFit(t, mixed(), Weibull)
	shape, scale := w.Params[0].Value, w.Params[1].Value
	for _, c := range []float64{w.Cov[0][1], w.Cov[1][0]} {
		near(t, "shape and scale", c, -shape*scale*0.0001627528623189, 1e-7, 0)
	}
	for f, want := range map[Family]float64{Lognormal: 0.003732326774148 * 0.244506028660, Normal: 0.04926075399271 * 3.207198068963} {
		m := mustFit(t, mixed(), f)
		near(t, f.String(), m.Cov[0][1], want, 1e-6, 0)
		near(t, f.String(), m.Cov[1][0], want, 1e-6, 0)
	}
	e := mustFit(t, mixed(), Exponential)
	near(t, "exponential", e.Cov[0][0], 0.1435262211737*math.Exp(2*2.882883399009), 1e-7, 0)

	values, design, names := regressionData()
	r, err := Regress(values, design, names, Weibull)
	if err != nil {
		t.Fatal(err)
	}
	for j, row := range [][]float64{
		{0.004165383470953, -0.000841717388234, -0.005834667843677, -0.003978493723696 * 0.08151234107375},
		{-0.000841717388234, 0.003260608534764, -0.001903420545385, -0.001655508902005 * 0.08151234107375},
		{-0.005834667843677, -0.001903420545385, 0.013610985881983, 0.008173783287704 * 0.08151234107375},
	} {
		for k, want := range row {
			near(t, "regression", r.Cov[j][k], want, 1e-6, 0)
			near(t, "regression, mirrored", r.Cov[k][j], want, 1e-6, 0)
		}
	}
	near(t, "AIC", r.AIC, 2*4+2*19.25216191816796, 1e-9, 0)
}

// Exact normal values: twice the fall of the profile of sigma is n (2 log(s/s0) + s0^2/s^2 - 1), s0^2 = 14/3 for 1, 2, 6.
func TestSigmaIntervalByHand(t *testing.T) {
	m := mustFit(t, []Value{Exact(1), Exact(2), Exact(6)}, Normal)
	v, err := m.ParamInterval("sigma", .95)
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range []float64{v.Lo, v.Hi} {
		near(t, "fall", 3*(2*math.Log(s/math.Sqrt(14./3))+14./3/(s*s)-1), 3.841458820694124, 1e-8, 0)
	}
	if !(v.Lo < v.Estimate && v.Estimate < v.Hi && v.Note == "") {
		t.Errorf("%+v", v)
	}
}

// "The p quantile is x" and "the share above x is 1 - p" are one statement: where the interval of one ends, so does that of the other.
func TestQuantileAndSurvivalAreOneStatement(t *testing.T) {
	for _, f := range []Family{Weibull, Normal} {
		m := mustFit(t, mixed(), f)
		q, err := m.QuantileInterval(.2, .9)
		if err != nil {
			t.Fatal(err)
		}
		lo, err := m.SurvivalInterval(q.Lo, .9)
		if err != nil {
			t.Fatal(err)
		}
		hi, err := m.SurvivalInterval(q.Hi, .9)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "at the lower end", lo.Lo, .8, 1e-8, 0)
		near(t, "at the upper end", hi.Hi, .8, 1e-8, 0)
		near(t, "estimate", lo.Estimate, m.Survival(q.Lo), 1e-12, 0)
		// A regression on a column of ones is the fit.
		ones := make([][]float64, len(mixed()))
		for i := range ones {
			ones[i] = []float64{1}
		}
		r, err := Regress(mixed(), ones, []string{"all"}, f)
		if err != nil {
			t.Fatal(err)
		}
		rq, err := r.Quantile([]float64{1}, .2, .9)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "regression lo", rq.Lo, q.Lo, 1e-9, 0)
		near(t, "regression hi", rq.Hi, q.Hi, 1e-9, 0)
		rs, err := r.Survival([]float64{1}, q.Lo, .9)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "regression survival", rs.Lo, .8, 1e-8, 0)
		near(t, "regression sigma", r.Sigma, m.dist.sigma, 1e-9, 0)
		s, err := r.SigmaInterval(.9)
		if err != nil || !(s.Lo < r.Sigma && r.Sigma < s.Hi) {
			t.Errorf("%+v, %v", s, err)
		}
	}
	m := mustFit(t, mixed(), Weibull)
	for _, x := range []float64{0, -1, math.NaN(), math.Inf(1)} {
		if _, err := m.SurvivalInterval(x, .9); !errors.Is(err, ErrArgument) {
			t.Errorf("survival at %g: %v", x, err)
		}
	}
	if _, err := m.SurvivalInterval(1, 90); !errors.Is(err, ErrArgument) {
		t.Errorf("survival at 90: %v", err)
	}
}

// Bounds that hardly overlap: what is open ends where the possible ends, and is named.
func TestOpenEndsAreNamed(t *testing.T) {
	m := mustFit(t, bounds(), Lognormal)
	q, err := m.QuantileInterval(.025, .95)
	if err != nil {
		t.Fatal(err)
	}
	if !q.OpenLo || q.Lo != 0 || !strings.Contains(q.Note, "do not bound the 2.5 % quantile from below at 95 % confidence") {
		t.Errorf("%+v", q)
	}
	// exp(-exp(z)) is 1 to the last digit far below every value.
	s, err := mustFit(t, handbook(), Weibull).SurvivalInterval(1e-10, .95)
	if err != nil {
		t.Fatal(err)
	}
	if !s.OpenHi || s.Hi != 1 || !strings.Contains(s.Note, "the survival from above") {
		t.Errorf("%+v", s)
	}
	ones := make([][]float64, len(bounds()))
	for i := range ones {
		ones[i] = []float64{1}
	}
	r, err := Regress(bounds(), ones, []string{"all"}, Lognormal)
	if err != nil {
		t.Fatal(err)
	}
	if q, err = r.Quantile([]float64{1}, .025, .95); err != nil || !q.OpenLo || !strings.Contains(q.Note, "2.5 % quantile from below") {
		t.Errorf("%+v, %v", q, err)
	}
	two, err := TwoSample(bounds(), bounds(), Lognormal)
	if err != nil {
		t.Fatal(err)
	}
	c, err := two.CoefInterval(SecondOverIt, .999)
	if err != nil || !c.OpenHi && !c.OpenLo || !strings.Contains(c.Note, "the coefficient "+SecondOverIt) {
		t.Errorf("%+v, %v", c, err)
	}
	k, _, err := two.Contrast([]float64{0, 1}, .999)
	if err != nil || k.OpenHi != c.OpenHi || k.OpenLo != c.OpenLo || !strings.Contains(k.Note, "the contrast") {
		t.Errorf("%+v, %v", k, err)
	}
	x, err := two.Ratio([]float64{0, 1}, .999)
	if err != nil || x.OpenHi != c.OpenHi || x.OpenLo != c.OpenLo || !strings.Contains(x.Note, "the ratio") {
		t.Errorf("%+v, %v", x, err)
	}
}

// Each warning of a fit at its limit: fewer than five values that are more than a lower bound; fewer than ten in all; a standard error of sigma above sigma, which for a
// Weibull is one of the shape above the shape; a normal distribution with more than 1/1000 below 0 where every value lies above 0, Phi(-3.05) = 0.00114
// and Phi(-3.2) = 0.00069 for two values one scatter to either side of the mean; bounds that every value keeps.
func TestFitWarningsAtTheirLimits(t *testing.T) {
	const few, little, hardly, below, nothing = "are more than a lower bound", "a 95 % interval covers somewhat less", "The scatter is hardly determined", "of its probability below 0", "they add nothing"
	exact := func(n int) (v []Value) {
		for i := range n {
			v = append(v, Exact(20+float64(i)))
		}
		return v
	}
	held := func(v []Value, n int) []Value { return append(v, Value{Lo: 30, Hi: math.Inf(1), Count: n}) }
	for _, c := range []struct {
		values []Value
		family Family
		want   string
	}{
		{held(exact(5), 5), Weibull, ""},
		{held(exact(4), 6), Weibull, few},
		{held(exact(5), 4), Weibull, little},
		{exact(9), Lognormal, little},
		{exact(10), Lognormal, ""},
		{exact(10), Normal, ""},
		{append(exact(10), AtLeast(0), AtLeast(-1)), Weibull, nothing},
		{append(exact(10), AtLeast(0)), Normal, ""},
		{append(exact(10), AtLeast(0)), Weibull, nothing},
		{[]Value{Exact(2.05), Exact(4.05)}, Normal, few + "|" + below},
		{[]Value{Exact(2.2), Exact(4.2)}, Normal, few},
		{[]Value{Exact(2.05), Exact(4.05)}, Lognormal, few},
		{[]Value{Exact(-1), Exact(5), Exact(1)}, Normal, few},
		{[]Value{Exact(0), Exact(5), Exact(2)}, Normal, few},
		{[]Value{Exact(.5), Exact(5), Exact(2)}, Normal, few + "|" + below},
		{[]Value{AtMost(1), Exact(1), Exact(2), Exact(6)}, Normal, few + "|" + below},
		{bounds(), Weibull, few + "|" + hardly},
		{bounds(), Lognormal, few + "|" + hardly},
		{bounds(), Exponential, few},
		{handbook(), Weibull, ""},
		{handbook(), Exponential, ""},
	} {
		m, err := Fit(c.values, c.family)
		if err != nil {
			t.Errorf("%s of %v: %v", c.family, c.values, err)
			continue
		}
		var got []string
		for _, w := range []string{few, little, hardly, below, nothing} {
			if says(m.Warnings, w) {
				got = append(got, w)
			}
		}
		if strings.Join(got, "|") != c.want || len(got) != len(m.Warnings) {
			t.Errorf("%s of %v: %q, want %q", c.family, c.values, m.Warnings, c.want)
		}
	}
	if w := mustFit(t, append(exact(10), AtLeast(0), AtLeast(-1)), Weibull).Warnings[0]; !strings.HasPrefix(w, "2 of 12 values are bounds") {
		t.Error(w)
	}
	if w := mustFit(t, held(exact(4), 6), Weibull).Warnings[0]; !strings.HasPrefix(w, "Only 4 of 10 values") {
		t.Error(w)
	}
}

// Shares of 1/2 and 1/2 + 10^-6 at loads of 1 and 10: sigma is some 10^6, and the scale exp(0.37 sigma) no number any more.
func TestScaleBeyondNumbers(t *testing.T) {
	at := func(lo, hi float64, n int) Value { return Value{Lo: lo, Hi: hi, Count: n} }
	inf := math.Inf(1)
	_, err := Fit([]Value{at(-inf, 1, 500000), at(1, inf, 500000), at(-inf, 10, 500001), at(10, inf, 499999)}, Weibull)
	if !errors.Is(err, ErrNotIdentified) || !strings.Contains(err.Error(), "scale would lie outside the range of numbers") {
		t.Errorf("%v", err)
	}
}

func TestQuantileEnds(t *testing.T) {
	m := mustFit(t, handbook(), Weibull)
	if lo, hi := m.Quantile(0), m.Quantile(1); lo != 0 || !math.IsInf(hi, 1) {
		t.Errorf("%g to %g", lo, hi)
	}
	for _, p := range []float64{-0.1, 1.2, math.NaN()} {
		func() {
			defer func() {
				if recover() == nil {
					t.Errorf("a quantile of %g", p)
				}
			}()
			m.Quantile(p)
		}()
	}
}

// Gradient and curvature of the log-likelihood agree with its differences (d = 1e-5 and 1e-4) away from the highest point, for every kind of value, wide and
// narrow intervals, both shapes and two columns.
func TestLikelihoodSlopes(t *testing.T) {
	for _, extreme := range []bool{false, true} {
		q := &likelihood{extreme: extreme, p: 2,
			x:      []float64{1, .3, 1, -.7, 1, 1.1, 1, -.2, 1, .6},
			lo:     []float64{.4, -.3, math.Inf(-1), -.8, .9},
			hi:     []float64{.4, math.Inf(1), .7, .5, .9 + 2e-4},
			width:  []float64{0, math.Inf(1), math.Inf(1), 1.3, 2e-4},
			kind:   []Kind{Observed, RightCensored, LeftCensored, IntervalCensored, IntervalCensored},
			weight: []float64{2, 1, 3, 1.5, 2.5}, wholeN: 10}
		phi := []float64{.2, -.4, 1.3}
		g, h := make([]float64, 3), make([]float64, 9)
		at := q.value(phi, g, h)
		near(t, "with and without slopes", q.value(phi, nil, nil), at, 1e-14, 0)
		moved := func(i int, by float64) []float64 {
			x := append([]float64{}, phi...)
			x[i] += by
			return x
		}
		for i := range phi {
			near(t, "gradient", g[i], (q.value(moved(i, 1e-5), nil, nil)-q.value(moved(i, -1e-5), nil, nil))/2e-5, 1e-7, 1e-7)
			up, down, none := make([]float64, 3), make([]float64, 3), make([]float64, 9)
			q.value(moved(i, 1e-5), up, none)
			q.value(moved(i, -1e-5), down, none)
			for j := range phi {
				near(t, "curvature", h[i*3+j], -(up[j]-down[j])/2e-5, 1e-7, 1e-7)
			}
		}
		// The parts by their definitions: theta f(z), 1 - F(z), F(z), F(b) - F(a), and the density times the width for a narrow one.
		theta := phi[2]
		eta := func(i int) float64 { return q.x[2*i]*phi[0] + q.x[2*i+1]*phi[1] }
		between := logNormalBetween
		if extreme {
			between = logExtremeBetween
		}
		z := theta*q.lo[4] - eta(4)
		want := 2*(densityTerm(extreme, theta*.4-eta(0)).l+math.Log(theta)) + aboveTerm(extreme, theta*-.3-eta(1)).l + 3*belowTerm(extreme, theta*.7-eta(2)).l +
			1.5*between(theta*-.8-eta(3), theta*.5-eta(3)) + 2.5*between(z, z+theta*2e-4)
		near(t, "value", at, want, 1e-10, 0)
		if l := q.value([]float64{0, 0, 0}, nil, nil); !math.IsInf(l, -1) {
			t.Errorf("theta 0: %g", l)
		}
		if l := q.value([]float64{0, 0, -1}, nil, nil); !math.IsInf(l, -1) {
			t.Errorf("theta -1: %g", l)
		}
	}
}

// A narrow interval bends by c = theta^2 width^2/24 times f”/f, here about 1e-8 of the rest. Differences over five points with d = 0.001 err by d^4/30 times the fifth
// derivative and by rounding 1e-15/d, together below 1e-10.
func TestSlopesOfANarrowInterval(t *testing.T) {
	const d, width = 1e-3, 3e-4
	for _, extreme := range []bool{false, true} {
		q := &likelihood{extreme: extreme, p: 2, x: []float64{1, .8}, lo: []float64{.5}, hi: []float64{.5 + width}, width: []float64{width},
			kind: []Kind{IntervalCensored}, weight: []float64{2.5}, wholeN: 2.5}
		phi := []float64{.3, .1, 1.4}
		g, h := make([]float64, 3), make([]float64, 9)
		q.value(phi, g, h)
		five := func(f func(by float64) float64) float64 { return (8*(f(d)-f(-d)) - (f(2*d) - f(-2*d))) / (12 * d) }
		for i := range phi {
			moved := func(by float64) []float64 {
				x := append([]float64{}, phi...)
				x[i] += by
				return x
			}
			near(t, "gradient", g[i], five(func(by float64) float64 { return q.value(moved(by), nil, nil) }), 0, 2e-10)
			for j := range phi {
				slope := func(by float64) float64 {
					up := make([]float64, 3)
					q.value(moved(by), up, make([]float64, 9))
					return up[j]
				}
				near(t, "curvature", h[i*3+j], -five(slope), 0, 2e-10)
			}
		}
	}
}
