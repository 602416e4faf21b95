package variation

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/hardcatch/hardcatch/internal/num/uncert"
)

func rules(c Chart) map[Rule]int {
	out := map[Rule]int{}
	for _, v := range c.Violations {
		out[v.Rule]++
	}
	return out
}

func chart(t *testing.T, known float64, x ...float64) Chart {
	t.Helper()
	c, err := ChartPoints(x, known, 0.2, 0.01)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// Three points that agree to 0.01 and one at twice their value: it lies outside the limits of the others, wherever it stands, and they inside.
func TestOneFarPointIsSeenAmongFew(t *testing.T) {
	for at := range 4 {
		x := []float64{15.00, 15.01, 15.00, 15.01}
		x[at] = 30
		c := chart(t, 0, x...)
		single := 0
		for _, v := range c.Violations {
			if v.Rule == BeyondOthers {
				single++
				if v.Index != at {
					t.Errorf("point %d for %d", v.Index, at)
				}
			}
		}
		if single != 1 || c.Upper > 16 || math.Abs(c.Centre-15.005) > 0.01 {
			t.Errorf("%d: %+v", at, c)
		}
	}
}

// 0, 2, 1, 9 and 3: the others of the fourth are 0, 2, 1, 3 with mean 1.5 and sum of squares 5, standard deviation sqrt(5/3) and limits 1.5 -+ t(3) sqrt(5/3 x 5/4),
// t(3) two-sided at 0.01/4/5 = 0.0005: 17.5992 (four rules, five points; the quantile by the incomplete beta function, checked with its own tests). Of the ranges 8 is
// the largest: S = 50, line sqrt(2 x 50 t^2/(3 + t^2)), t at 0.01/4/4. The average is 0.2 x 0 + 0.8 x 3 = 2.4 first; its contrast is 0.2 (0 - 3).
func TestChartByHand(t *testing.T) {
	c := chart(t, 0, 0, 2, 1, 9, 3)
	q := func(p float64) float64 { return -uncert.StudentQuantile(p/2, 3) }
	near(t, "upper of the fourth", c.UpperEach[3], 1.5+q(0.0005)*math.Sqrt(5./3*1.25), 1e-12)
	near(t, "lower of the fourth", c.LowerEach[3], 1.5-q(0.0005)*math.Sqrt(5./3*1.25), 1e-12)
	near(t, "range", c.RangeUpper, math.Sqrt(100*q(0.000625)*q(0.000625)/(3+q(0.000625)*q(0.000625))), 1e-12)
	near(t, "average", c.Average[0], 2.4, 1e-12)
	near(t, "average", c.Average[1], 2.32, 1e-12)
	// Length of 0.2 (e1 - 1/5): 0.2 sqrt(4/5); value -0.6 over it squared = 11.25; of the rest 50 - 11.25.
	near(t, "limit of the average", c.AverageUpper[0]-3, 0.2*math.Sqrt(0.8)*q(0.0005)*math.Sqrt((50-11.25)/3), 1e-12)
	near(t, "centre", c.Centre, 3, 1e-12)
	// Mean 3, sd sqrt(50/4), four degrees for a further point.
	near(t, "upper", c.Upper, 3-uncert.StudentQuantile(0.00025, 4)*math.Sqrt(12.5*1.2), 1e-12)
	if len(c.Violations) != 0 || c.Ranges[2] != 8 || c.Widest <= 0 {
		t.Errorf("%+v", c)
	}
}

// Of a known spread of 0.1 five rules share 0.01; among three points each is held to z at 0.01/5/3 two-sided, 3.4029 (tables: 3.403), times 0.1 sqrt(3/2).
func TestAKnownSpreadSharpensFewPoints(t *testing.T) {
	x := []float64{15, 15.01, 16}
	if c := chart(t, 0, x...); len(c.Violations) != 0 {
		t.Errorf("without a known spread: %+v", c.Violations)
	}
	c := chart(t, 0.1, x...)
	if r := rules(c); r[BeyondKnown] != 1 || c.Violations[0].Index != 2 {
		t.Errorf("%+v", c.Violations)
	}
	z := uncert.NormalQuantile(1 - 0.01/4/3/2)
	near(t, "upper", c.UpperEach[2], 15.005+z*0.1*math.Sqrt(1.5), 1e-9)
	// Where the others scatter more than is known, their scatter counts: 0 and 2 about 1 give sqrt 2.
	c = chart(t, 0.1, 0, 2, 7)
	near(t, "upper", c.UpperEach[2], 1+z*math.Sqrt2*math.Sqrt(1.5), 1e-9)
	// Values read alike show no scatter; the known one is used, so that the last digit is no alarm.
	if c := chart(t, 0.1, 15, 15, 15, 15.01); len(c.Violations) != 0 {
		t.Errorf("%+v", c.Violations)
	}
	if c := chart(t, 0, 15, 15, 15, 15.5); rules(c)[BeyondOthers] != 1 {
		t.Errorf("%+v", c.Violations)
	}
	// Enough points speak for themselves.
	if c := chart(t, 1e-6, 1, 2, 1, 2, 1, 2, 1, 2); rules(c)[BeyondKnown] != 0 {
		t.Errorf("%+v", c.Violations)
	}
}

// Six at 10.0 and 10.1 by turns and six at 11.0 and 11.1: the change stands between the sixth and the seventh, and no single drop is to blame.
func TestALastingShiftIsSeen(t *testing.T) {
	var x []float64
	for i := range 12 {
		x = append(x, 10+0.1*float64(i%2)+float64(i/6))
	}
	c := chart(t, 0, x...)
	r := rules(c)
	if r[BeyondOthers] != 0 || r[LastingShift] != 1 {
		t.Errorf("%+v", c.Violations)
	}
	for _, v := range c.Violations {
		if v.Rule == LastingShift && (v.First != 6 || v.Index != 11) {
			t.Errorf("%+v", v)
		}
	}
	// Three at the end of twenty that are all higher: the average rises past its limit at the last but one or the last, once.
	x = nil
	for i := range 20 {
		x = append(x, 0.1*float64(i%3)+float64(i/17))
	}
	if r := rules(chart(t, 0, x...)); r[AverageBeyond] != 1 || r[LastingShift] != 1 {
		t.Errorf("%v", r)
	}
	// A spike back and forth: the range.
	x = nil
	for i := range 20 {
		x = append(x, 0.1*float64(i%3))
	}
	x[9], x[10] = -0.9, 1.1
	if r := rules(chart(t, 0, x...)); r[RangeBeyond] != 1 {
		t.Errorf("%v", r)
	}
}

// How often charts of steady normal points raise any alarm: at most the 1 % that is stated, also with the known spread where it is the true one, and single points at
// their share. The comparisons of a rule go together, so that the whole is below 1 %.
func TestFalseAlarmsOfAChart(t *testing.T) {
	r := rand.New(rand.NewPCG(11, 12))
	const series = 8000
	for _, n := range []int{3, 4, 6, 20} {
		for _, known := range []float64{0, 1} {
			any, single := 0, 0
			x := make([]float64, n)
			for range series {
				for i := range x {
					x[i] = 100 + r.NormFloat64()
				}
				c, err := ChartPoints(x, known, 0.2, 0.01)
				if err != nil {
					t.Fatal(err)
				}
				if len(c.Violations) > 0 {
					any++
				}
				if rules(c)[BeyondOthers] > 0 {
					single++
				}
			}
			t.Logf("%d points, known %g: %.2f %% of charts, single points %.2f %%", n, known, 100*float64(any)/series, 100*float64(single)/series)
			if share := float64(any) / series; share > 0.01+3*math.Sqrt(0.01/series) || share < 0.003 {
				t.Errorf("%d points, known %g: %.4f of the charts", n, known, share)
			}
		}
	}
}

func TestChartsSayWhy(t *testing.T) {
	for _, c := range []struct {
		x             []float64
		weight, alarm float64
		words         string
	}{
		{[]float64{1, 2}, 0.2, 0.01, "at least 3"}, {[]float64{1, 1, 1}, 0.2, 0.01, "all 3 points are equal"}, {[]float64{1, math.NaN(), 1}, 0.2, 0.01, "point 2 is NaN"},
		{[]float64{1, 2, math.Inf(-1)}, 0.2, 0.01, "point 3 is -Inf"}, {[]float64{1, 2, 3}, 0, 0.01, "weight of 0"}, {[]float64{1, 2, 3}, 1.2, 0.01, "weight of 1.2"},
		{[]float64{1, 2, 3}, 0.2, 0, "false alarm of 0"}, {[]float64{1, 2, 3}, 0.2, 1, "false alarm of 1"},
	} {
		_, err := ChartPoints(c.x, 0, c.weight, c.alarm)
		says(t, err, c.words)
	}
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
				if _, err := ChartPoints(x, 0, 0.2, 0.01); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
