package censor

import (
	"errors"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
)

// What cannot be estimated is a sentence of a known kind.
func TestFitsThatDoNotExist(t *testing.T) {
	for name, c := range map[string]struct {
		values []Value
		family Family
		kind   error
		says   string
	}{
		"nothing":            {nil, Weibull, ErrNotIdentified, "no values"},
		"all held":           {[]Value{AtLeast(15), AtLeast(15), AtLeast(22)}, Weibull, ErrNotIdentified, "all 3 values held"},
		"all held, one rate": {[]Value{AtLeast(15), AtLeast(22)}, Exponential, ErrNotIdentified, "held"},
		"all below":          {[]Value{AtMost(15), AtMost(12)}, Normal, ErrNotIdentified, "upper bounds"},
		"one specimen":       {[]Value{Exact(20)}, Lognormal, ErrNotIdentified, "one value"},
		"one value":          {[]Value{Exact(20), Exact(20), {Lo: 20, Hi: 20, Count: 3}}, Weibull, ErrNotIdentified, "all 5 values are the same"},
		"one value, lower":   {[]Value{Exact(20), AtLeast(20), AtLeast(12)}, Weibull, ErrNotIdentified, "one exact value, which every bound allows"},
		"separated":          {[]Value{AtLeast(10), AtLeast(12), AtMost(14), AtMost(15)}, Normal, ErrNotIdentified, "separated"},
		"reversed":           {[]Value{AtLeast(16), AtLeast(17), AtMost(14), AtMost(15)}, Normal, ErrNotIdentified, "infinite"},
		"common interval":    {[]Value{Between(10, 12), Between(11, 13)}, Normal, ErrNotIdentified, "one value fits all 2 observations"},
		"zero":               {[]Value{Exact(0), Exact(3)}, Weibull, ErrValue, "lies above 0"},
		"nan":                {[]Value{Exact(1), Exact(math.NaN())}, Normal, ErrValue, "value 2"},
		"crossed":            {[]Value{Exact(1), Between(3, 2)}, Normal, ErrValue, "value 2"},
		"family":             {[]Value{Exact(1), Exact(2)}, Family(9), ErrArgument, "not known"},
	} {
		m, err := Fit(c.values, c.family)
		if m != nil || !errors.Is(err, c.kind) || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %v, %v", name, m, err)
		}
	}
}

func TestRegressionsThatDoNotExist(t *testing.T) {
	values, design, names := regressionData()
	level := make([]Value, len(values))
	for i, v := range values {
		if level[i] = v; i >= 6 {
			level[i] = AtLeast(v.Lo)
		}
	}
	collinear := make([][]float64, len(design))
	for i, row := range design {
		collinear[i] = []float64{row[0], row[1], row[0] - 2*row[1]}
	}
	line := []Value{Exact(1), Exact(2), AtLeast(1.5)}
	held := make([]Value, len(values))
	for i, v := range values {
		held[i] = AtLeast(v.Lo)
	}
	saturated := []Value{Exact(2.3), Exact(2.9), Exact(1.7)}
	for name, c := range map[string]struct {
		values []Value
		design [][]float64
		names  []string
		says   string
	}{
		"all of a level held": {level, design, names, "coefficient knot: its estimate would be infinite"},
		"collinear":           {values, collinear, names, "coefficient length: its column is a combination of intercept, knot"},
		"all held":            {held, design, names, "only lower bounds"},
		"saturated":           {saturated, [][]float64{{1, 1, 200}, {1, 0, 300}, {1, 0, 100}}, names, "no scatter"},
		"no scatter":          {line, [][]float64{{1, 0}, {1, 1}, {1, 1}}, names[:2], "no scatter"},
	} {
		for f := Weibull; f <= Normal; f++ {
			_, err := Regress(c.values, c.design, c.names, f)
			if !errors.Is(err, ErrNotIdentified) || !strings.Contains(err.Error(), c.says) {
				t.Errorf("%s, %s: %v", name, f, err)
			}
		}
	}
	for name, call := range map[string]func() error{
		"rows":   func() error { _, err := Regress(values, design[1:], names, Weibull); return err },
		"ragged": func() error { _, err := Regress(values[:1], [][]float64{{1}}, names, Weibull); return err },
		"twice":  func() error { _, err := Regress(values, design, []string{"a", "b", "a"}, Weibull); return err },
		"nan":    func() error { _, err := Regress(values[:1], [][]float64{{math.NaN()}}, names[:1], Weibull); return err },
	} {
		if err := call(); !errors.Is(err, ErrArgument) {
			t.Errorf("%s: %v", name, err)
		}
	}
	r, err := Regress(values, design, names, Weibull)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := r.CoefInterval("colour", .95); !errors.Is(err, ErrArgument) {
		t.Error(err)
	}
	if _, _, err := r.Contrast([]float64{0, 0, 0}, .95); !errors.Is(err, ErrArgument) {
		t.Error(err)
	}
	if _, err := r.Quantile([]float64{1, 0, .6}, 5, .95); !errors.Is(err, ErrArgument) {
		t.Error(err)
	}
	if _, err := LikelihoodRatio(r, r); !errors.Is(err, ErrArgument) {
		t.Error(err)
	}
}

// A profile that does not close is said, and the bound is the end of the possible range: bounds
// that overlap little allow any scatter above some size.
func TestOpenIntervals(t *testing.T) {
	m := mustFit(t, bounds(), Weibull)
	v, err := m.ParamInterval("shape", .95)
	if err != nil {
		t.Fatal(err)
	}
	if !v.OpenLo || v.Lo != 0 || v.OpenHi || !strings.Contains(v.Note, "from below") {
		t.Errorf("shape %+v", v)
	}
	l := mustFit(t, bounds(), Lognormal)
	if v, err = l.ParamInterval("sigma", .95); err != nil {
		t.Fatal(err)
	}
	if !v.OpenHi || !math.IsInf(v.Hi, 1) || v.OpenLo || v.Note == "" {
		t.Errorf("sigma %+v", v)
	}
	if len(m.Warnings) == 0 {
		t.Error("bounds alone gave no warning")
	}
	if v, err = mustFit(t, handbook(), Weibull).ParamInterval("scale", .95); err != nil || v.Note != "" {
		t.Errorf("%+v %v", v, err)
	}
}

func TestCurvesThatDoNotExist(t *testing.T) {
	if _, err := KaplanMeier([]Value{AtLeast(3)}, .95); !errors.Is(err, ErrNotIdentified) {
		t.Error(err)
	}
	if _, err := KaplanMeier([]Value{Exact(3), AtMost(2)}, .95); !errors.Is(err, ErrValue) || !strings.Contains(err.Error(), "Turnbull") {
		t.Error(err)
	}
	if _, err := Turnbull([]Value{AtLeast(3), AtLeast(4)}, .95); !errors.Is(err, ErrNotIdentified) {
		t.Error(err)
	}
	if _, err := Turnbull([]Value{Exact(3)}, 95); !errors.Is(err, ErrArgument) {
		t.Error(err)
	}
	if _, err := GoodnessOfFit(mustFit(t, mixed(), Weibull), rand.New(rand.NewPCG(1, 1)), 99); !errors.Is(err, ErrValue) {
		t.Error(err)
	}
}
