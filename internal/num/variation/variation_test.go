package variation

import (
	"bufio"
	"fmt"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"
)

// reference reads the cases of a name from testdata/reference.tsv, which bench/exact/reference.R wrote with the
// versions of R in its first line: arguments and values.
func reference(t *testing.T, name string) (args, want [][]float64) {
	t.Helper()
	f, err := os.Open("testdata/reference.tsv")
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = f.Close() }()
	for lines := bufio.NewScanner(f); lines.Scan(); {
		if field := strings.Split(lines.Text(), "\t"); field[0] == name {
			args, want = append(args, numbers(t, field[1])), append(want, numbers(t, field[2]))
		}
	}
	if len(args) == 0 {
		t.Fatalf("no recorded case of %s", name)
	}
	return args, want
}

func numbers(t *testing.T, text string) []float64 {
	t.Helper()
	var x []float64
	for _, w := range strings.Fields(text) {
		v, err := strconv.ParseFloat(w, 64)
		if err != nil {
			t.Fatal(err)
		}
		x = append(x, v)
	}
	return x
}

func near(t *testing.T, what string, got, want, rel float64) {
	t.Helper()
	if got != want && !(math.Abs(got-want) <= rel*math.Abs(want)+1e-300) {
		t.Errorf("%s: %.17g, want %.17g", what, got, want)
	}
}

func says(t *testing.T, err error, words string) {
	t.Helper()
	if err == nil || !strings.Contains(err.Error(), words) {
		t.Errorf("error %v, want one that says %q", err, words)
	}
}

func groups(x ...[]float64) []Group {
	var g []Group
	for _, v := range x {
		g = append(g, Group{Values: v})
	}
	return g
}

// 1 3 | 5 7: means 2 and 6 about 4. Between 2 x 4 x 2 = 16, within 2 + 2 = 4 of two degrees: F = 16/2 = 8.
// F of 1 and 2 degrees is t^2 of two: P = 1 - t/sqrt(2 + t^2) = 1 - sqrt(8/10). Components 2 and (16-2)/2.
func TestOneWayByHand(t *testing.T) {
	a, err := AnalyseOneWay(groups([]float64{1, 3}, []float64{5, 7}))
	if err != nil {
		t.Fatal(err)
	}
	near(t, "F", a.F, 8, 1e-14)
	near(t, "P", a.P, 1-math.Sqrt(0.8), 1e-12)
	near(t, "within", a.WithinVariance, 2, 1e-14)
	near(t, "between", a.BetweenVariance, 7, 1e-14)
	near(t, "size", a.Size, 2, 1e-14)
	// Unequal: 1 3 | 5: the size is 3 - 5/3.
	a, err = AnalyseOneWay(groups([]float64{1, 3}, []float64{5}))
	if err != nil {
		t.Fatal(err)
	}
	near(t, "size", a.Size, 4./3, 1e-14)
	near(t, "between", a.BetweenVariance, (6-2)/(4./3), 1e-14)
	// Equal means: nothing lies between, and it is said.
	a, err = AnalyseOneWay(groups([]float64{1, 3}, []float64{0, 4}))
	if err != nil || a.BetweenVariance != 0 || a.BetweenRaw >= 0 || len(a.Warnings) != 1 {
		t.Errorf("%+v, %v", a, err)
	}
	// Nothing within: F has no bound.
	a, err = AnalyseOneWay(groups([]float64{0.1, 0.1, 0.1}, []float64{0.3, 0.3, 0.3}))
	if err != nil || !math.IsInf(a.F, 1) || a.P != 0 || len(a.Warnings) != 1 {
		t.Errorf("%+v, %v", a, err)
	}
}

// R's aov; the first case is e-Handbook 7.4.3, F 9.59 (printed).
func TestOneWayAgainstR(t *testing.T) {
	args, want := reference(t, "aov")
	for i, c := range args {
		p := int(c[0])
		x := c[1+p:]
		var g []Group
		for _, n := range c[1 : 1+p] {
			g = append(g, Group{Values: x[:int(n)]})
			x = x[int(n):]
		}
		a, err := AnalyseOneWay(g)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "between", a.BetweenSS, want[i][0], 1e-12)
		near(t, "within", a.WithinSS, want[i][1], 1e-12)
		near(t, "F", a.F, want[i][2], 1e-12)
		near(t, "P", a.P, want[i][3], 1e-11)
		if i == 0 && math.Abs(a.F-9.59) > 5e-3 {
			t.Errorf("F %.4f, want 9.59", a.F)
		}
	}
}

func TestGroupsSayWhy(t *testing.T) {
	_, err := AnalyseOneWay(groups([]float64{1, 2}))
	says(t, err, "at least two")
	_, err = AnalyseOneWay(groups([]float64{1, 2}, nil))
	says(t, err, "group 2 has no value")
	_, err = AnalyseOneWay([]Group{{"Monday", []float64{1, math.NaN()}}, {"Tuesday", []float64{1}}})
	says(t, err, "group Monday: value 2 is NaN")
	_, err = AnalyseOneWay(groups([]float64{1}, []float64{2}))
	says(t, err, "one value only")
	_, err = AnalyseOneWay(groups([]float64{1, 1}, []float64{1, 1}))
	says(t, err, "all 4 values are equal")
	_, err = AnalysePrecision(groups([]float64{1, 2}, []float64{2, 3}), 0.005)
	says(t, err, "at least three")
	_, err = AnalysePrecision(groups([]float64{1, 2}, []float64{2, 3}, []float64{4, 5}), 5)
	says(t, err, "level 5")
}

// ASTM E691, glucose in serum, material A: data printed, results recalled.
func TestStudyGlucose(t *testing.T) {
	p, err := AnalysePrecision(glucose(), 0.005)
	if err != nil {
		t.Fatal(err)
	}
	for what, v := range map[string][2]float64{
		"mean": {p.Mean, 41.5183}, "sd of means": {p.SDMeans, .6061}, "repeat": {p.SDRepeat, 1.0632}, "reproduce": {p.SDReproduce, 1.0632},
	} {
		if math.Abs(v[0]-v[1]) > 6e-5 {
			t.Errorf("%s: %.5f, want %.4f", what, v[0], v[1])
		}
	}
	near(t, "r", p.RepeatLimit, 2.8*p.SDRepeat, 1e-15)
	near(t, "R", p.ReproduceLimit, 2.8*p.SDReproduce, 1e-15)
	// s_R is s_r because the groups differ less than their own spread explains: said, not silent.
	if len(p.Warnings) != 1 {
		t.Errorf("warnings %q", p.Warnings)
	}
	// Table of E691 for 8 laboratories: h 2.15, k at 3 results each 2.06 (recalled).
	if math.Abs(p.HCritical-2.15) > 6e-3 || math.Abs(p.PerGroup[0].KCritical-2.06) > 6e-3 {
		t.Errorf("critical h %.4f, k %.4f", p.HCritical, p.PerGroup[0].KCritical)
	}
}

func glucose() []Group {
	return groups([]float64{41.03, 41.45, 41.37}, []float64{41.17, 42.00, 41.15}, []float64{41.01, 40.68, 42.66}, []float64{39.37, 42.37, 42.63},
		[]float64{41.88, 41.19, 41.32}, []float64{43.28, 40.50, 42.28}, []float64{41.08, 41.27, 39.02}, []float64{43.36, 42.65, 41.72})
}

// 1 3 | 5 7 | 4 4: means 2 6 4, sd 2, so h = -1 1 0. Within 4 of three degrees: s_r^2 = 4/3, k = sqrt(2/(4/3)) twice,
// and 0. Between (8 - 4/3)/2 = 10/3, s_R^2 = 14/3.
func TestStudyByHand(t *testing.T) {
	p, err := AnalysePrecision(groups([]float64{1, 3}, []float64{5, 7}, []float64{4, 4}), 0.005)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "s_r", p.SDRepeat, math.Sqrt(4./3), 1e-14)
	near(t, "s_L", p.SDBetween, math.Sqrt(10./3), 1e-14)
	near(t, "s_R", p.SDReproduce, math.Sqrt(14./3), 1e-14)
	for i, h := range []float64{-1, 1, 0} {
		near(t, "h", p.PerGroup[i].H, h, 1e-14)
	}
	near(t, "k", p.PerGroup[0].K, math.Sqrt(1.5), 1e-14)
	near(t, "k", p.PerGroup[2].K, 0, 0)
	// Three means: h = (2/sqrt 3) sin(angle) with t = tan of it, t of one degree at 0.0025 each side.
	near(t, "critical h", p.HCritical, 2/math.Sqrt(3)*math.Cos(math.Pi*0.0025), 1e-12)
	p, err = AnalysePrecision(groups([]float64{1, 3}, []float64{5, 7}, []float64{4}), 0.005)
	if err != nil || len(p.Warnings) != 1 || !math.IsNaN(p.PerGroup[2].K) {
		t.Errorf("%+v, %v", p, err)
	}
	// One group that repeated: its k is 1 by itself and cannot be flagged.
	p, err = AnalysePrecision(groups([]float64{1, 3}, []float64{5}, []float64{4}), 0.005)
	if err != nil || p.PerGroup[0].K != 1 || p.PerGroup[0].KFlagged || !math.IsInf(p.PerGroup[0].KCritical, 1) {
		t.Errorf("%+v, %v", p, err)
	}
	// One mean far out among many is flagged, and one wild group too.
	var many []Group
	for i := range 10 {
		many = append(many, Group{Values: []float64{float64(i % 3), float64(i%3) + 1}})
	}
	many[3].Values = []float64{50, 51}
	many[7].Values = []float64{-8, 9}
	p, err = AnalysePrecision(many, 0.005)
	if err != nil || !p.PerGroup[3].HFlagged || p.PerGroup[3].KFlagged || !p.PerGroup[7].KFlagged || p.PerGroup[7].HFlagged {
		t.Errorf("%+v, %v", p, err)
	}
}

func TestCriticalValuesAgainstR(t *testing.T) {
	for name, f := range map[string]func(a []float64) float64{
		"h":  func(a []float64) float64 { return hCritical(int(a[0]), a[1]) },
		"k":  func(a []float64) float64 { return kCritical(int(a[0]), int(a[1]), a[2]) },
		"qf": func(a []float64) float64 { return fUpper(a[0], a[1], a[2]) },
	} {
		args, want := reference(t, name)
		for i, a := range args {
			near(t, fmt.Sprint(name, a), f(a), want[i][0], 1e-10)
		}
	}
}

func BenchmarkStudy(b *testing.B) {
	g := glucose()
	for b.Loop() {
		if _, err := AnalysePrecision(g, 0.005); err != nil {
			b.Fatal(err)
		}
	}
}
