package variation

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// d2 1.128 and D4 3.267 (printed in every table of chart factors).
func TestChartFactors(t *testing.T) {
	if math.Abs(D2-1.128) > 5e-4 || math.Abs(D4-3.267) > 5e-4 {
		t.Errorf("d2 %.5f, D4 %.5f", D2, D4)
	}
}

// e-Handbook 6.3.2.2, flow rate of ten batches: mean 50.81, mean range 1.8778, limits 55.8041 and
// 45.8159 (recalled; they use d2 = 1.128).
func TestIndividualsFlowRate(t *testing.T) {
	x := []float64{49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1}
	b, err := TakeBaseline(x)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "centre", b.Centre, 50.81, 1e-12)
	near(t, "mean range", b.MeanRange, 16.9/9, 1e-12)
	c, err := ChartIndividuals(b, x, RunRules)
	if err != nil {
		t.Fatal(err)
	}
	if math.Abs(c.Upper-55.8041) > 3e-3 || math.Abs(c.Lower-45.8159) > 3e-3 || len(b.Warnings) != 1 {
		t.Errorf("limits %.4f and %.4f, warnings %q", c.Lower, c.Upper, b.Warnings)
	}
	near(t, "limit of the range", c.RangeUpper, 3.267*b.MeanRange, 2e-4)
	if len(c.Violations) != 0 {
		t.Errorf("violations %v", c.Violations)
	}
}

// 1 3 2: centre 2, ranges 2 and 1, sigma 1.5 sqrt(pi)/2. A later point at 30 is beyond 3 sigma, and so is its range.
func TestIndividualsByHand(t *testing.T) {
	b, err := TakeBaseline([]float64{1, 3, 2})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "sigma", b.Sigma, 1.5*math.Sqrt(math.Pi)/2, 1e-14)
	c, err := ChartIndividuals(b, []float64{2, 30, 29}, RunRules)
	if err != nil {
		t.Fatal(err)
	}
	var said []string
	for _, v := range c.Violations {
		said = append(said, v.String())
	}
	want := []string{"point 2: beyond 3 sigma", "point 3: beyond 3 sigma", "points 1 to 3: two of three beyond 2 sigma on one side", "points 1 to 2: moving range beyond its upper limit"}
	if !slices.Equal(said, want) {
		t.Errorf("%q, want %q", said, want)
	}
}

// Each rule by the shortest series that breaks it, at its last point, and by its mirror image; one point
// less, or a last point that is not part of it, breaks nothing.
func TestRunRules(t *testing.T) {
	for _, c := range []struct {
		rule Rule
		z    []float64
		not  []float64
	}{
		{Beyond3Sigma, []float64{3.01}, []float64{3}},
		{NineOneSide, []float64{.1, .2, .1, .2, .1, .2, .1, .2, .1}, []float64{.1, .2, .1, .2, .1, .2, .1, .2, 0}},
		{SixSteady, []float64{-.3, -.2, -.1, 0, .1, .2}, []float64{-.3, -.2, -.1, 0, .1, .1}},
		{FourteenZigzag, []float64{0, 1, 0, 1, 0, 1, 0, 1, 0, 1, 0, 1, 0, 1}, []float64{0, 1, 0, 1, 0, 1, 0, 1, 0, 1, 0, 1, 0, 0}},
		{TwoOfThree, []float64{2.1, 0, 2.1}, []float64{2.1, 2, 2}},
		{FourOfFive, []float64{1.1, 1.1, 0, 1.1, 1.1}, []float64{1.1, 1.1, 1.1, 1, 1}},
		{FifteenInside, make([]float64, 15), append(make([]float64, 14), 1.1)},
		{EightOutside, []float64{1.1, -1.1, 1.1, 1.1, -1.1, 1.1, -1.1, -1.1}, []float64{1.1, -1.1, 1.1, 1.1, -1.1, 1.1, -1.1, -1}},
	} {
		for _, z := range [][]float64{c.z, mirror(c.z)} {
			all, err := broken(z, []Rule{c.rule})
			if err != nil || len(all) != 1 || all[0].Index != len(z)-1 || all[0].First != 0 {
				t.Errorf("%v: %v, %v", c.rule, all, err)
			}
			if all, _ = broken(z[:len(z)-1], []Rule{c.rule}); len(all) != 0 {
				t.Errorf("%v, one point less: %v", c.rule, all)
			}
		}
		if all, _ := broken(c.not, []Rule{c.rule}); len(all) != 0 {
			t.Errorf("%v: %v breaks it", c.rule, c.not)
		}
	}
	// A run of twelve on one side is one violation; one that changes sides is two.
	run := slices.Repeat([]float64{0.5}, 12)
	if all, _ := broken(run, []Rule{NineOneSide}); len(all) != 1 || all[0].Index != 8 {
		t.Errorf("%v", all)
	}
	if all, _ := broken(append(run, mirror(run)...), []Rule{NineOneSide}); len(all) != 2 || all[1].Index != 20 {
		t.Errorf("%v", all)
	}
	if _, err := broken(run, []Rule{RangeBeyond}); err == nil {
		t.Error("a rule of ranges was taken for single values")
	}
}

// How often the rules call a steady normal process, against the shares that the algebra gives: 2 q, 2/2^9,
// and with the last point beyond 2 q(1 - (1-q)^2) and 2 q(4 q^3 (1-q) + q^4).
func TestFalseAlarms(t *testing.T) {
	r := rand.New(rand.NewPCG(11, 12))
	const n = 400_000
	z := make([]float64, n)
	for i := range z {
		z[i] = r.NormFloat64()
	}
	tail := func(x float64) float64 { return math.Erfc(x/math.Sqrt2) / 2 }
	q2, q1 := tail(2), tail(1)
	for rule, want := range map[Rule]float64{
		Beyond3Sigma: 2 * tail(3), NineOneSide: 2. / 512, TwoOfThree: 2 * q2 * (1 - (1-q2)*(1-q2)),
		FourOfFive: 2 * q1 * (4*q1*q1*q1*(1-q1) + q1*q1*q1*q1), FifteenInside: math.Pow(1-2*q1, 15), EightOutside: math.Pow(2*q1, 8),
	} {
		p, count := patterns[rule], 0
		for i := p.length; i <= n; i++ {
			if p.side(z[i-p.length:i]) != 0 {
				count++
			}
		}
		// Runs overlap, so that their counts scatter more than independent ones: up to about 9 times the variance.
		if got := float64(count) / n; math.Abs(got-want) > 4*math.Sqrt(9*want/n) {
			t.Errorf("%v: %.5f of the points, want %.5f", rule, got, want)
		}
	}
}

// The error that is told of a sigma from few points, against 4000 series of 8.
func TestRangeError(t *testing.T) {
	r := rand.New(rand.NewPCG(13, 14))
	const series, n = 4000, 8
	sum, squares := 0.0, 0.0
	for range series {
		x := make([]float64, n)
		for i := range x {
			x[i] = r.NormFloat64()
		}
		b, err := TakeBaseline(x)
		if err != nil {
			t.Fatal(err)
		}
		sum += b.Sigma
		squares += b.Sigma * b.Sigma
	}
	mean := sum / series
	sd := math.Sqrt(squares/series - mean*mean)
	if math.Abs(mean-1) > 4*sd/math.Sqrt(series) || math.Abs(sd/rangeError(n)-1) > 0.06 {
		t.Errorf("mean %.4f, sd %.4f; told %.4f", mean, sd, rangeError(n))
	}
}

// e-Handbook 6.3.2.4: centre 50, sigma 2.0539, lambda 0.3, limits 52.5884 and 47.4115 (recalled; they use the
// steady ones).
func TestEWMAHandbook(t *testing.T) {
	x := []float64{52, 47, 53, 49.3, 50.1, 47, 51, 50.1, 51.2, 50.5, 49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1}
	want := []float64{50.60, 49.52, 50.56, 50.18, 50.16, 49.21, 49.75, 49.85, 50.26, 50.33, 50.11, 49.36, 49.52, 50.05, 49.38, 49.92, 50.73, 51.23, 51.94, 51.99}
	c, err := ChartEWMA(Baseline{Centre: 50, Sigma: 2.0539}, x, 0.3, 3)
	if err != nil {
		t.Fatal(err)
	}
	for i, z := range c.Z {
		if math.Abs(z-want[i]) > 6e-3 {
			t.Errorf("point %d: %.4f, want %.2f", i+1, z, want[i])
		}
	}
	if math.Abs(c.SteadyUp-52.5884) > 2e-4 || math.Abs(c.SteadyLow-47.4115) > 2e-4 || len(c.Violations) != 0 {
		t.Errorf("limits %.4f, %.4f; %v", c.SteadyLow, c.SteadyUp, c.Violations)
	}
}

// lambda 1/2, centre 0, sigma 1, L 3. First limit 3 x 1/2, second 3 sqrt(1/4 + 1/16); 3.2 gives 1.6, beyond;
// then (1.6 + 2)/2 = 1.8 > 1.677, the same violation; then -12 gives -5.1, another.
func TestEWMAByHand(t *testing.T) {
	c, err := ChartEWMA(Baseline{Sigma: 1}, []float64{3.2, 2, -12}, 0.5, 3)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "first limit", c.Upper[0], 1.5, 1e-14)
	near(t, "second limit", c.Upper[1], 3*math.Sqrt(5./16), 1e-14)
	near(t, "lower", c.Lower[1], -c.Upper[1], 0)
	near(t, "z", c.Z[1], 1.8, 1e-14)
	if len(c.Violations) != 2 || c.Violations[0].Index != 0 || c.Violations[1].Index != 2 {
		t.Errorf("%v", c.Violations)
	}
	// With all weight on the newest point it is the chart of single values.
	c, _ = ChartEWMA(Baseline{Centre: 1, Sigma: 2}, []float64{4, 5}, 1, 3)
	near(t, "limit", c.Upper[1], 7, 1e-14)
	near(t, "z", c.Z[1], 5, 1e-14)
}

func TestChartsSayWhy(t *testing.T) {
	_, err := TakeBaseline([]float64{1, 2})
	says(t, err, "at least 3")
	_, err = TakeBaseline([]float64{1, 1, 1})
	says(t, err, "all 3 points are equal")
	_, err = TakeBaseline([]float64{1, math.NaN(), 1})
	says(t, err, "point 2 is NaN")
	good := Baseline{Sigma: 1}
	_, err = ChartIndividuals(Baseline{}, []float64{1}, RunRules)
	says(t, err, "sigma above 0")
	_, err = ChartIndividuals(good, nil, RunRules)
	says(t, err, "no point")
	_, err = ChartIndividuals(good, []float64{math.Inf(1)}, RunRules)
	says(t, err, "point 1 is +Inf")
	_, err = ChartIndividuals(good, []float64{1}, []Rule{99})
	says(t, err, "rule 99")
	_, err = ChartEWMA(Baseline{Centre: math.NaN(), Sigma: 1}, []float64{1}, 0.2, 3)
	says(t, err, "centre must be finite")
	_, err = ChartEWMA(good, []float64{1}, 1.2, 3)
	says(t, err, "weight of 1.2")
	_, err = ChartEWMA(good, []float64{1}, 0.2, 0)
	says(t, err, "limits at 0 sigma")
	_, err = ChartEWMA(good, nil, 0.2, 3)
	says(t, err, "no point")
	_, err = ChartEWMA(good, []float64{math.NaN()}, 0.2, 3)
	says(t, err, "point 1 is NaN")
}

func BenchmarkChart(b *testing.B) {
	r := rand.New(rand.NewPCG(15, 16))
	for _, n := range []int{20, 1000} {
		x := make([]float64, n)
		for i := range x {
			x[i] = r.NormFloat64()
		}
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			for b.Loop() {
				if _, err := ChartIndividuals(Baseline{Sigma: 1}, x, RunRules); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// String names points from 1.
func (v Violation) String() string {
	if v.First == v.Index {
		return fmt.Sprintf("point %d: %s", v.Index+1, v.Rule)
	}
	return fmt.Sprintf("points %d to %d: %s", v.First+1, v.Index+1, v.Rule)
}
