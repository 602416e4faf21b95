package limits

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/hardcatch/hardcatch/internal/quantity"
)

func measured(forceN ...float64) []Peak {
	var out []Peak
	for _, f := range forceN {
		out = append(out, Peak{Lo: quantity.Force(f), Hi: quantity.Force(f)})
	}
	return out
}

func judged(t *testing.T, peaks []Peak, limit quantity.Force) Judgement {
	t.Helper()
	j, err := JudgeNext(peaks, limit, Usual())
	if err != nil {
		t.Fatal(err)
	}
	return j
}

// Five peaks of 4.8, 4.9, 5.0, 5.1, 5.2 kN: mean 5.0, sd sqrt(0.1/4) = 0.15811 kN. The one-sided factor of 95 % at 95 % from 5 values is 4.203 (ISO 16269-6, and the
// table of Natrella 1963 A-7: 4.202; from memory), so that the bound is 5.0 + 4.203 x 0.15811 = 5.6645 kN. One more lies below mean + t(0.95, 4) sd sqrt(1 + 1/5)
// = 5.0 + 2.1318 x 0.15811 x 1.09545 = 5.3692 kN (t from JCGM 100 table G.2, 90 % two-sided: 2.13).
func TestBoundsByHand(t *testing.T) {
	peaks := measured(4800, 4900, 5000, 5100, 5200)
	j := judged(t, peaks, 5700)
	if j.Verdict != Below || math.Abs(j.Bound.SI()-5664.5) > 0.5 || math.Abs(j.Next.SI()-5369.2) > 0.5 || j.MoreDrops != nil || j.N != 5 {
		t.Errorf("%+v (%v, %v)", j, j.Bound, j.Next)
	}
	if got := j.Text.String(); got != "stays below: 95 % of such specimens peak below 5.67 kN (95 % confidence, 5 specimens)" {
		t.Error(got)
	}
	// The limit in the middle of the bound and the estimate 5.0 + 1.645 x 0.15811 = 5.2601 kN: more drops tell. With four chances in five the factor and so far
	// as the estimate may move, 0.8416 sqrt(1/m + 1.645^2/(2(m-1))), must come down to (5.5 - 5.0)/0.15811 = 3.162: 2.815 + 0.400 at 11, 2.736 + 0.382 at 12 (factors of
	// Natrella's table): 7 more.
	j = judged(t, peaks, 5500)
	if j.Verdict != CannotTell || j.MoreDrops == nil || *j.MoreDrops != 7 || !strings.Contains(j.Text.String(), "about 7 more drops would tell, with four chances in five, if they scatter as these do") {
		t.Errorf("%+v", j)
	}
	// Between the highest peak and the estimate none would.
	if j = judged(t, peaks, 5250); j.Verdict != WithinReach || j.MoreDrops != nil || !strings.Contains(j.Text.String(), "would not show otherwise") {
		t.Errorf("%+v", j)
	}
	if j = judged(t, peaks, 5261); j.Verdict != CannotTell || j.MoreDrops != nil || !strings.Contains(j.Text.String(), "more than 2000 more drops") {
		t.Errorf("%+v", j)
	}
	if j = judged(t, peaks, 5199); j.Verdict != Exceeds {
		t.Errorf("%+v", j)
	}
	// The quantile's lower bound uses the factor of 5 % confidence, 0.81778 (the 5 % point of the noncentral t by Simpson's rule over the chi density,
	// reckoned apart, which gives 4.20268 for the 95 % point): 5.0 + 0.81778 x 0.15811.
	if !(math.Abs(j.QuantileLo.SI()-5129.3) <= 0.5) { // a bound that is no number is none
		t.Errorf("lower bound %v", j.QuantileLo)
	}
	// One more drop is said in the singular: of 4.9, 5.0 and 5.1 kN the factor 7.656 comes down to 5.144 + 0.8416 sqrt(1/4 + 1.645^2/6) = 5.849 of 0.1 kN.
	if j = judged(t, measured(4900, 5000, 5100), 5590); *j.MoreDrops != 1 || !strings.Contains(j.Text.String(), "about 1 more drop would tell, with four chances in five, if it is like these") {
		t.Errorf("%+v", j)
	}
}

// What is measured with a doubt in common moves the bound: with U = 0.4 kN (u = 0.2) the margins (4.203 - 1.645) 0.15811 = 0.4045 and 1.645 x 0.2 = 0.3290 combine to
// 0.5214 kN over the estimate of 5.2601 kN.
func TestMeasurementMovesTheBound(t *testing.T) {
	peaks := measured(4800, 4900, 5000, 5100, 5200)
	for i := range peaks {
		peaks[i].Expanded = -400 // the sign says nothing
	}
	j := judged(t, peaks, 5790)
	if math.Abs(j.Bound.SI()-5781.5) > 0.6 || j.Verdict != Below {
		t.Errorf("%+v %v", j, j.Bound)
	}
	// sqrt((2.1318 x 0.15811 x 1.09545)^2 + 0.3290^2) = 0.4948
	if math.Abs(j.Next.SI()-5494.8) > 0.6 {
		t.Errorf("next %v", j.Next)
	}
	if j = judged(t, peaks, 5600); j.Verdict != WithinReach || !strings.Contains(j.Text.String(), "may be as high") {
		t.Errorf("a peak of 5.2 ± 0.4 kN against 5.6: %+v", j)
	}
	if j = judged(t, peaks, 4799); j.Verdict != Exceeds {
		t.Errorf("5.2 ± 0.4 kN against 4.799: %+v", j)
	}
	if j = judged(t, peaks, 4800); j.Verdict != WithinReach {
		t.Errorf("5.2 ± 0.4 kN against 4.8: %+v", j)
	}
}

// One drop of 5.6 kN keeps below nothing, nor do bounds, peaks that do not differ, and what is no number.
func TestWhatKeepsBelowNothing(t *testing.T) {
	inf := quantity.Force(math.Inf(1))
	for name, c := range map[string]struct {
		peaks   []Peak
		limit   quantity.Force
		verdict Verdict
		text    string
	}{
		"nothing":        {nil, 6000, CannotTell, "no peak counts yet"},
		"one":            {measured(5600), 6000, CannotTell, "from one specimen"},
		"one far below":  {measured(100), 60000, CannotTell, "from one specimen"},
		"one above":      {measured(6100), 6000, Exceeds, "exceeds"},
		"a bound":        {append(measured(1000, 1010, 990), Peak{Lo: 900, Hi: inf}), 60000, CannotTell, "of 4 specimens 1 shows only that a whole arrest asks for at least its peak"},
		"a bound above":  {append(measured(1000, 1010, 990), Peak{Lo: 6100, Hi: inf}), 6000, Exceeds, "exceeds"},
		"a bound near":   {append(measured(1000, 1010, 990), Peak{Lo: 5950, Hi: inf, Expanded: 100}), 6000, WithinReach, "may be as high"},
		"all the same":   {measured(5000, 5000, 5000), 60000, CannotTell, "no scatter"},
		"no uncertainty": {[]Peak{{5000, 5000, quantity.Force(math.NaN())}, {5100, 5100, 10}}, 60000, CannotTell, "not known"},
		"no peak":        {[]Peak{{quantity.Force(math.NaN()), 5000, 10}, {5100, 5100, 10}}, 60000, CannotTell, "not known"},
		"a rebuilt top":  {append(measured(5000, 5010, 4990), Peak{Lo: 5000, Hi: 6050}), 6000, WithinReach, "may be as high"},
	} {
		j := judged(t, c.peaks, c.limit)
		if j.Verdict != c.verdict || !strings.Contains(j.Text.String(), c.text) {
			t.Errorf("%s: %s, %s", name, j.Verdict, j.Text)
		}
		if c.verdict != Exceeds && c.verdict != WithinReach && j.Bound != nil {
			t.Errorf("%s: a bound of %v", name, j.Bound)
		}
	}
	// One drop of 5.6 kN against 6 kN: (6 - 5.6)/1.645 = 0.2432 kN, rounded up.
	if got := judged(t, measured(5600), 6000).Text.String(); !strings.Contains(got, "a scatter above 244 N") {
		t.Error(got)
	}
	for _, r := range []Rule{{0.4, 0.95}, {1, 0.95}, {0.95, 0.5}, {0.95, 1}, {math.NaN(), 0.95}, {0.95, math.NaN()}} {
		if _, err := JudgeNext(measured(1, 2), 3, r); err == nil {
			t.Errorf("%+v was taken", r)
		}
	}
}

// A peak that lies in an interval moves the upper bound to the end that is worse, the lower one to the other: of 4, 5 and 6 kN with the last anywhere in 5.5 to
// 7 kN, the upper bound is that of 4, 5, 7 (mean 16/3, sd 1.5275; factor 7.656 at 3): 5.3333 + 7.656 x 1.5275 = 17.028 kN.
func TestIntervalsTakeTheWorseEnd(t *testing.T) {
	j := judged(t, append(measured(4000, 5000), Peak{Lo: 5500, Hi: 7000}), 20000)
	if math.Abs(j.Bound.SI()-17028) > 3 || j.Verdict != Below {
		t.Errorf("%+v %v", j, j.Bound)
	}
	// A low peak counts with its low end: 4, 6, 6 kN spread more than 5, 6, 6.
	a, b := judged(t, append(measured(6000, 6100), Peak{Lo: 4000, Hi: 5000}), 2e5), judged(t, measured(4000, 6000, 6100), 2e5)
	if *a.Bound != *b.Bound {
		t.Errorf("%v and %v", a.Bound, b.Bound)
	}
}

// The bound holds what it says: 95 % of specimens lie below it in at least 95 % of samples, with and without a doubt that all peaks share; and one more peak lies
// below its own bound as often.
func TestBoundsHold(t *testing.T) {
	const runs = 4000
	for _, n := range []int{2, 3, 5, 10, 20} {
		for _, u := range []float64{0, 50, 100, 300} {
			rng := rand.New(rand.NewPCG(7, uint64(n*1000)+uint64(u)))
			kept, next := 0, 0
			for range runs {
				shift := u * rng.NormFloat64()
				var peaks []Peak
				for range n {
					f := quantity.Force(10000 + 100*rng.NormFloat64() + shift)
					peaks = append(peaks, Peak{f, f, quantity.Force(2 * u)})
				}
				j, err := JudgeNext(peaks, 1, Usual())
				if err != nil {
					t.Fatal(err)
				}
				if j.Bound.SI() >= 10000+100*1.6448536 {
					kept++
				}
				if j.Next.SI() >= 10000+100*rng.NormFloat64() {
					next++
				}
			}
			// Three standard errors of 4000 runs are 1.0 %.
			k, x := float64(kept)/runs, float64(next)/runs
			t.Logf("n %d, u/sd %g: tolerance %.1f %%, next %.1f %%", n, u/100, 100*k, 100*x)
			if k < 0.94 || x < 0.94 {
				t.Errorf("n %d, u %g: %.3f and %.3f", n, u, k, x)
			}
			if u == 0 && (k > 0.96 || x > 0.96) {
				t.Errorf("n %d: %.3f and %.3f are wider than exact bounds", n, k, x)
			}
		}
	}
}

// Three digits whatever the force is; above 0 never less than it.
func TestUpperBoundsArePrintedUpward(t *testing.T) {
	for _, c := range []struct {
		force float64
		want  string
	}{{12341, "12.4 kN"}, {12300, "12.3 kN"}, {999.1, "1.00 kN"}, {-1234.5, "-1.23 kN"}} {
		if got := up(ptr(c.force)); got != c.want {
			t.Errorf("%g N is printed as %q, not %q", c.force, got, c.want)
		}
	}
}
