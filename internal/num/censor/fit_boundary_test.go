package censor

import (
	"errors"
	"fmt"
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

// Exact normal values on a column of ones and one of 1 + h or 1 - h, four of each: the standard error of the second is sigma/(h sqrt 8), 120 sigma at h = 0.00295 and 88 sigma
// at h = 0.004, whatever the unit of the column or of the values. Five values that are more than a lower bound carry three parameters badly, six well enough.
func TestRegressionWarningsAtTheirLimits(t *testing.T) {
	const hardly, carry = "is hardly determined", "values that are more than a lower bound carry"
	for _, c := range []struct {
		h, unit, scale float64
		warned         bool
	}{{.00295, 1, 1, true}, {.004, 1, 1, false}, {.00295, 10, 1, true}, {.00295, .1, 1, true}, {.004, 10, 1, false}, {.004, .1, 1, false}, {.00295, 1, .1, true}, {.004, 1, 10, false}} {
		var values []Value
		var design [][]float64
		for i := range 8 {
			side := float64(1 - 2*(i%2))
			values = append(values, Exact(c.scale*(10+side*.5+float64(1-2*(i/2%2)))))
			design = append(design, []float64{1, c.unit * (1 + c.h*side)})
		}
		r, err := Regress(values, design, []string{"intercept", "slope"}, Normal)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "se", r.SE[1], r.Sigma/(c.h*math.Sqrt(8)*c.unit), 1e-6, 0)
		near(t, "sigma", r.Sigma, c.scale, 1e-6, 0)
		if says(r.Warnings, "Coefficient slope "+hardly) != c.warned || says(r.Warnings, carry) {
			t.Errorf("%+v: %q", c, r.Warnings)
		}
	}
	for n := 5; n <= 6; n++ {
		var values []Value
		var design [][]float64
		for i := range n + 3 {
			v := Exact(10 + float64(i*i%7))
			if i >= n {
				v = AtLeast(12)
			}
			values, design = append(values, v), append(design, []float64{1, float64(i % 2)})
		}
		values, design = append(values, AtLeast(0)), append(design, []float64{1, 1})
		r, err := Regress(values, design, []string{"intercept", "slope"}, Lognormal)
		if err != nil {
			t.Fatal(err)
		}
		if says(r.Warnings, fmt.Sprintf("%d values that are more than a lower bound carry 3 parameters", n)) != (n == 5) || says(r.Warnings, carry) != (n == 5) ||
			!says(r.Warnings, fmt.Sprintf("1 of %d values are bounds", n+4)) {
			t.Errorf("%d: %q", n, r.Warnings)
		}
	}
	r, err := Regress([]Value{Exact(1), Exact(2), Exact(4), Exact(3), Exact(5), Exact(7)}, [][]float64{{1}, {1}, {1}, {1}, {1}, {1}}, []string{"all"}, Weibull)
	if err != nil || len(r.Warnings) != 0 {
		t.Errorf("%+v, %v", r, err)
	}
}

// Each refusal of a regression names its row, its column or its side.
func TestRegressionRefusals(t *testing.T) {
	values, design, names := regressionData()
	r, err := Regress(values, design, names, Weibull)
	if err != nil {
		t.Fatal(err)
	}
	with := func(row int, x ...float64) [][]float64 {
		d := append([][]float64{}, design...)
		d[row] = x
		return d
	}
	below := make([]Value, len(values))
	for i := range below {
		below[i] = AtMost(10 + float64(i))
	}
	regress := func(v []Value, d [][]float64, f Family) error { _, err := Regress(v, d, names, f); return err }
	third := func(_ Interval, _ float64, err error) error { return err }
	second := func(_ Interval, err error) error { return err }
	exponential, err := Regress(values, design, names, Exponential)
	if err != nil {
		t.Fatal(err)
	}
	normal, err := Regress(values, design, names, Normal)
	if err != nil {
		t.Fatal(err)
	}
	for want, err := range map[string]error{
		"row 3 of the design has 2 numbers for 3 columns":          regress(values, with(2, 1, 0), Weibull),
		"row 3 of the design: knot is NaN":                         regress(values, with(2, 1, math.NaN(), 0), Weibull),
		"row 3 of the design: length is -Inf":                      regress(values, with(2, 1, 0, math.Inf(-1)), Weibull),
		"row 3 of the design: length is +Inf":                      regress(values, with(2, 1, 0, math.Inf(1)), Weibull),
		"all 12 values are only upper bounds":                      regress(below, design, Weibull),
		"number 2 of a combination is NaN":                         third(r.Contrast([]float64{1, math.NaN(), 0}, .95)),
		"number 3 of a combination is +Inf":                        third(r.Contrast([]float64{1, 0, math.Inf(1)}, .95)),
		"a combination of 3 numbers, not all 0, is needed":         third(r.Contrast([]float64{1, 0}, .95)),
		"number 1 of a combination is NaN":                         second(r.Quantile([]float64{math.NaN(), 0, 0}, .5, .95)),
		"number 2 of a combination is -Inf":                        second(r.Survival([]float64{1, math.Inf(-1), 0}, 10, .95)),
		"sigma of an exponential regression is 1":                  second(exponential.SigmaInterval(.95)),
		"a normal regression has differences, not ratios":          second(normal.Ratio([]float64{0, 1, 0}, .95)),
		"confidence 95 does not lie between 0 and 1":               second(r.Quantile([]float64{1, 0, .6}, .5, 95)),
		"probability 50 does not lie between 0 and 1":              second(r.Quantile([]float64{1, 0, .6}, 50, .95)),
		"confidence 2 does not lie between 0 and 1":                second(r.CoefInterval("knot", 2)),
		"confidence 3 does not lie between 0 and 1":                third(r.Contrast([]float64{0, 1, 0}, 3)),
		"two groups are compared, but one has no value":            func() error { _, err := TwoSample(nil, values, Weibull); return err }(),
		"two groups are compared, but one has no value; give both": func() error { _, err := TwoSample(values, nil, Weibull); return err }(),
	} {
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%v, want %s", err, want)
		}
	}
	// One value is a group: exponential 2 against 8, 10 and 12+, scales 2 and 30/2.
	two, err := TwoSample([]Value{Exact(2)}, []Value{Exact(8), Exact(10), AtLeast(12)}, Exponential)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "first", two.Coefficients[0], math.Log(2), 1e-9, 0)
	near(t, "ratio", two.Coefficients[1], math.Log(15./2), 1e-9, 0)
	if two, err = TwoSample([]Value{Exact(8), Exact(10), AtLeast(12)}, []Value{Exact(2)}, Exponential); err != nil {
		t.Fatal(err)
	}
	near(t, "first", two.Coefficients[0], math.Log(15), 1e-9, 0)
	near(t, "ratio", two.Coefficients[1], math.Log(2./15), 1e-9, 0)
}

// A narrower design is nested when its columns are sums of those of the wider one, whatever their size; one that is not is named.
func TestNesting(t *testing.T) {
	values, design, _ := regressionData()
	with := func(names []string, column func(x []float64) []float64) *Regression {
		t.Helper()
		d := make([][]float64, len(design))
		for i := range d {
			d[i] = column(append(append([]float64{}, design[i]...), float64(i*i%5)))
		}
		r, err := Regress(values, d, names, Normal)
		if err != nil {
			t.Fatal(err)
		}
		return r
	}
	wide := with([]string{"intercept", "knot", "length", "other"}, func(x []float64) []float64 { return x })
	three := with([]string{"intercept", "knot", "length"}, func(x []float64) []float64 { return x[:3] })
	for _, size := range []float64{1, 1e9, 1e-9} {
		narrow := with([]string{"length", "intercept", "sum"}, func(x []float64) []float64 {
			return []float64{x[2], x[0], size * (x[1] + 2*x[3] - x[2])}
		})
		l, err := LikelihoodRatio(narrow, wide)
		if err != nil || l.DF != 1 || !(l.Statistic >= 0) {
			t.Errorf("%g: %+v, %v", size, l, err)
		}
		out := with([]string{"sum", "strange"}, func(x []float64) []float64 { return []float64{x[0] + x[1], size * (x[0] + x[3])} })
		if _, err := LikelihoodRatio(out, three); err == nil || !strings.Contains(err.Error(), "column strange of the narrower regression") {
			t.Errorf("%g: %v", size, err)
		}
		out = with([]string{"strange", "knot"}, func(x []float64) []float64 { return []float64{size * x[3], x[1]} })
		if _, err := LikelihoodRatio(out, three); err == nil || !strings.Contains(err.Error(), "column strange of the narrower regression") {
			t.Errorf("%g: %v", size, err)
		}
	}
	if _, err := LikelihoodRatio(wide, three); err == nil || !strings.Contains(err.Error(), "the wider regression has 3 columns and the narrower 4") {
		t.Errorf("%v", err)
	}
	fit := func(values []Value, f Family, two bool) *Regression {
		t.Helper()
		var d [][]float64
		names := []string{"a", "b"}
		for i := range values {
			d = append(d, []float64{1, float64(i % 2)})
			if !two {
				d[i], names = d[i][:1], names[:1]
			}
		}
		r, err := Regress(values, d, names, f)
		if err != nil {
			t.Fatal(err)
		}
		return r
	}
	base := []Value{Exact(1), Exact(2), Exact(4), Exact(3), Exact(5), AtLeast(2)}
	for name, other := range map[string][]Value{
		"a value more":        append(append([]Value{}, base...), AtLeast(3)),
		"other values":        {Exact(1), Exact(2), Exact(4), Exact(3.5), Exact(5), AtLeast(2)},
		"a bound that is one": {Exact(1), Exact(2), Exact(4), Exact(3), Exact(5), AtLeast(0)},
	} {
		if _, err := LikelihoodRatio(fit(base, Weibull, false), fit(other, Weibull, true)); err == nil || !strings.Contains(err.Error(), "do not rest on the same values") {
			t.Errorf("%s: %v", name, err)
		}
	}
	if _, err := LikelihoodRatio(fit(base, Weibull, false), fit(base, Lognormal, true)); err == nil || !strings.Contains(err.Error(), "a weibull and a lognormal regression") {
		t.Errorf("%v", err)
	}
}

// How many of each kind there are, counts included, and which value is refused.
func TestCountsAndPlaces(t *testing.T) {
	if c := mustFit(t, mixed(), Weibull).Counts; c != (Counts{N: 10, Exact: 4, Right: 3, Left: 1, Interval: 2}) {
		t.Errorf("%+v", c)
	}
	if c := mustFit(t, counted(), Weibull).Counts; c != (Counts{N: 18, Exact: 5, Right: 6, Left: 2, Interval: 5}) {
		t.Errorf("%+v", c)
	}
	ones := [][]float64{{1}, {1}, {1}}
	for _, bad := range []Value{Exact(0), Exact(-1), AtMost(0)} {
		_, err := Regress([]Value{Exact(1), Exact(2), bad}, ones, []string{"all"}, Weibull)
		if !errors.Is(err, ErrValue) || !strings.Contains(err.Error(), fmt.Sprintf("value 3: %g cannot come from a weibull distribution", bad.Hi)) {
			t.Errorf("%v", err)
		}
	}
	if _, err := Regress([]Value{Exact(1), Exact(2), Exact(math.NaN())}, ones, []string{"all"}, Weibull); !errors.Is(err, ErrValue) || !strings.Contains(err.Error(), "value 3: a bound is not a number") {
		t.Errorf("%v", err)
	}
	if _, err := Regress([]Value{AtLeast(0), AtLeast(-1), AtLeast(0)}, ones, []string{"all"}, Weibull); !errors.Is(err, ErrNotIdentified) || !strings.Contains(err.Error(), "no value that says anything") {
		t.Errorf("%v", err)
	}
	if _, err := Regress([]Value{Exact(1), Exact(2), Exact(3)}, [][]float64{{1, 0}, {1, 0}, {1, 0}}, []string{"all", "none"}, Weibull); err == nil || !strings.Contains(err.Error(), "coefficient none: its column is zero") {
		t.Errorf("%v", err)
	}
}

// A column made of others is said with just those that it is made of, in whatever unit.
func TestCollinearColumnsAreNamed(t *testing.T) {
	values, design, names := regressionData()
	for subset := 1; subset < 8; subset++ {
		for _, unit := range []float64{1, 1e6, 1e-6} {
			var d [][]float64
			var want []string
			for j, c := range []float64{2, -3, .7} {
				if subset>>j&1 == 0 {
					continue
				}
				want = append(want, names[j])
				for i := range design {
					if len(d) <= i {
						d = append(d, []float64{design[i][0], design[i][1], unit * design[i][2], 0})
					}
					d[i][3] += c * design[i][j] / unit
				}
			}
			_, err := Regress(values, d, append(append([]string{}, names...), "made"), Normal)
			if err == nil || !strings.Contains(err.Error(), "coefficient made: its column is a combination of "+strings.Join(want, ", ")+", so that") {
				t.Errorf("subset %d in units of %g: %v", subset, unit, err)
			}
		}
	}
}

// With b0 = b' - 2 b1 - b2/2 the columns x1 - 2 x0, x2 - x0/2, x0 have b1, b2 and b' = b0 + 2 b1 + b2/2 as coefficients: the contrast of one design is a
// coefficient of the other, and its interval the same. Columns of different size keep it.
func TestContrastIsACoefficientOfAnotherDesign(t *testing.T) {
	values, design, names := regressionData()
	for _, unit := range []float64{1, 1000} {
		var plain, turned [][]float64
		for _, x := range design {
			plain = append(plain, []float64{x[0], x[1] * unit, x[2]})
			turned = append(turned, []float64{x[1] - 2*x[0], x[2] - x[0]/2, x[0]})
		}
		a, err := Regress(values, plain, names, Weibull)
		if err != nil {
			t.Fatal(err)
		}
		b, err := Regress(values, turned, []string{"b1", "b2", "sum"}, Weibull)
		if err != nil {
			t.Fatal(err)
		}
		v, se, err := a.Contrast([]float64{1, 2 * unit, .5}, .95) // in thousandths a column has a thousandth of the coefficient
		if err != nil {
			t.Fatal(err)
		}
		w, err := b.CoefInterval("sum", .95)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "estimate", v.Estimate, w.Estimate, 1e-9, 0)
		near(t, "lo", v.Lo, w.Lo, 1e-8, 0)
		near(t, "hi", v.Hi, w.Hi, 1e-8, 0)
		near(t, "se", se, b.SE[2], 1e-7, 0)
	}
}

// Two levels of which everything held are both named; held and broke at one load say nothing of the scatter; one broken above one held does.
func TestWhatCannotBeTold(t *testing.T) {
	values := []Value{Exact(10), Exact(12), Exact(9), AtLeast(5), AtLeast(6), AtLeast(7), AtLeast(8)}
	design := [][]float64{{1, 0, 0}, {1, 0, 0}, {1, 0, 0}, {1, 1, 0}, {1, 1, 0}, {1, 0, 1}, {1, 0, 1}}
	for f := Weibull; f <= Exponential; f++ {
		_, err := Regress(values, design, []string{"intercept", "bowline", "eight"}, f)
		if !errors.Is(err, ErrNotIdentified) || !strings.Contains(err.Error(), "coefficients bowline, eight: their estimates would be infinite") {
			t.Errorf("%s: %v", f, err)
		}
	}
	if _, err := Fit([]Value{AtLeast(10), AtMost(10)}, Normal); err == nil || !strings.Contains(err.Error(), "the likeliest scatter is infinite") {
		t.Errorf("%v", err)
	}
	if m, err := Fit([]Value{AtLeast(10), AtLeast(17), AtMost(18), AtMost(9), AtMost(15)}, Normal); err != nil {
		t.Errorf("%+v, %v", m, err)
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
