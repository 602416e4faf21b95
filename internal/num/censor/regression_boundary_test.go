package censor

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"
)

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
