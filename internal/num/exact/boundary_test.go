package exact

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/hardcatch/hardcatch/internal/num/censor"
)

// Levels, confidences, contents and powers lie between 0 and 1, and neither is one of them.
func TestRangesOfProbabilities(t *testing.T) {
	for _, p := range []float64{-0.1, 0, 1, 1.2, math.NaN()} {
		_, err := GrubbsCritical(5, Either, p)
		says(t, err, "level")
		_, err = R10.Critical(5, p)
		says(t, err, "level")
		_, err = OneSidedFactor(5, p, .75)
		says(t, err, fmt.Sprintf("content %g does not lie between 0 and 1", p))
		_, err = OneSidedFactor(5, .95, p)
		says(t, err, fmt.Sprintf("confidence %g does not lie between 0 and 1", p))
		_, err = Fisher(1, 2, 2, 1, p)
		says(t, err, "confidence")
		_, err = TTest{5, 5, p, 2}.Power(1)
		says(t, err, "level")
		_, err = TTest{5, 5, .05, 2}.Detectable(p)
		says(t, err, "power")
		_, _, err = SampleSize(2, 1, p, .05, 2)
		says(t, err, "power")
	}
	_, err := TTest{5, 5, .3, 2}.Detectable(.3)
	says(t, err, "power 0.3 does not lie between the level 0.3 and 1")
	n, _, err := SampleSize(2, 1, .3, .3, 2)
	says(t, err, "power 0.3 does not lie between the level 0.3 and 1")
	if n != 0 {
		t.Errorf("a sample of %d beside an error", n)
	}
	for _, q := range []float64{-0.1, 1.1, math.NaN()} {
		_, err := R10.Tail(q, 5)
		says(t, err, "ratio")
	}
	for _, k := range []float64{math.NaN(), math.Inf(1), math.Inf(-1)} {
		_, err := ContentShown(5, k, .75)
		says(t, err, "is no number")
		_, err = TTest{5, 5, .05, 2}.Power(k)
		says(t, err, "is no number")
	}
	for _, g := range [][2]int{{0, 5}, {0, 0}, {5, -1}, {1, 0}, {1, 1}} {
		_, err := TTest{g[0], g[1], .05, 2}.Power(1)
		says(t, err, "leave nothing to estimate the spread from")
	}
	for _, g := range []int{0, 3, -1} {
		_, _, err := SampleSize(g, 1, .8, .05, 2)
		says(t, err, "1 or 2 groups")
	}
}

// R 4.2.2, power.t.test: one sample and delta 0.5 with 33 and 34 values 0.7953648 and 0.8077767, two samples with 63 and 64 0.7951673 and 0.8014586; one-sided, one sample of 5,
// delta 2: 0.97483056636. It leaves out the other tail, about 1e-6 here.
func TestSampleSizes(t *testing.T) {
	n, p, err := SampleSize(1, .5, .8, .05, 2)
	if err != nil || n != 34 {
		t.Errorf("%d, %v", n, err)
	}
	near(t, "power", p, 0.807776685515, 2e-6)
	n, p, err = SampleSize(2, .5, .8, .05, 2)
	if err != nil || n != 64 {
		t.Errorf("%d, %v", n, err)
	}
	near(t, "power", p, 0.801458623368, 2e-6)
	p, err = TTest{5, 0, .05, 1}.Power(2)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "one-sided", p, 0.97483056636, 1e-9)
	// The detectable difference is the one whose power is that asked, small and large.
	for _, power := range []float64{.06, .5, .99999} {
		plan := TTest{4, 3, .05, 2}
		d, err := plan.Detectable(power)
		if err != nil {
			t.Fatal(err)
		}
		back, err := plan.Power(d)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "there and back", back, power, 1e-7)
	}
	// Two values a group suffice for what nobody overlooks.
	if n, p, err = SampleSize(2, 100, .8, .05, 2); err != nil || n != 2 || !(p > .8) {
		t.Errorf("%d with %g, %v", n, p, err)
	}
}

// From here on sums of squares leave no room for a second value as far out: (n-1)/2 for either side, (n-1)(n-2)/(2n) for one, under the root.
func TestWhereOneValueIsAlone(t *testing.T) {
	for _, c := range []struct {
		n    int
		side Side
		want float64
	}{{5, Either, math.Sqrt(2)}, {7, Either, math.Sqrt(3)}, {5, High, math.Sqrt(1.2)}, {7, Low, math.Sqrt(15. / 7)}} {
		near(t, fmt.Sprint(c), aloneFrom(c.n, c.side), c.want, 1e-14)
	}
	// 0, 0, 0, 0, 10: G = 8/sqrt(20) = 1.789; 1, 2, 3, 4, 5: G = 2/sqrt(2.5) = 1.265 is below sqrt 2 and above sqrt 1.2.
	for _, c := range []struct {
		x     []float64
		side  Side
		bound bool
		index int
		alone bool
	}{
		{[]float64{0, 0, 0, 0, 10}, Either, false, 4, true},
		{[]float64{10, 0, 0, 0, 0}, Either, false, 0, true},
		{[]float64{-10, 0, 0, 0, 0}, Either, false, 0, true},
		{[]float64{0, 0, -10, 0, 0}, Low, false, 2, true},
		{[]float64{10, 0, 0, 0, 1}, Either, false, 0, false},
		{[]float64{1, 2, 3, 4, 5}, Either, true, 0, false},
		{[]float64{1, 2, 3, 4, 5}, High, false, 4, false},
		{[]float64{1, 2, 3, 4, 5}, Low, false, 0, false},
	} {
		o, err := Grubbs(c.x, c.side, .05)
		if err != nil {
			t.Fatal(err)
		}
		if o.PIsBound != c.bound || o.Index != c.index || o.Value != c.x[c.index] || (len(o.Warnings) == 1) != c.alone {
			t.Errorf("%v: %+v", c.x, o)
		}
	}
	// Two clumps: a chance of no more than 1.
	o, err := Grubbs([]float64{-1, -1, 1, 1}, Either, .05)
	if err != nil || o.P != 1 || o.Flagged {
		t.Errorf("%+v, %v", o, err)
	}
}

// The suspect value is the outermost on the side with the higher ratio, the first of equals; P is a bound for either side unless r10 passes 1/2.
func TestDixonNamesTheSuspect(t *testing.T) {
	for _, c := range []struct {
		x         []float64
		side      Side
		index     int
		statistic float64
		bound     bool
	}{
		{[]float64{10, 1, 11, 10.5}, Either, 1, 9. / 10, false},
		{[]float64{10, 1, 11, 10.5}, Low, 1, 9. / 10, false},
		{[]float64{10, 1, 11, 10.5}, High, 2, .5 / 10, false},
		{[]float64{1, 11, 2, 11.0, 3}, Either, 0, .1, true},
		{[]float64{11, 1, 2, 11, 3}, High, 0, 0, false},
		{[]float64{11, 1, 2, 1, 3}, Low, 1, 0, false},
		{[]float64{0, 2, 1, 4}, Either, 3, .5, true},
		{[]float64{4, 2, 1, 0}, Low, 3, .25, false},
		{[]float64{1, 2, 3, 4, 5, 6, 7, 8, 20}, Either, 8, 12. / 18, true},
		{[]float64{1, 2, 3, 4, 5, 6, 7, 8, 20}, High, 8, 12. / 18, false},
		{[]float64{1, 1, 1, 1, 1, 1, 1, 5}, Low, 0, 0, false},
	} {
		o, err := Dixon(c.x, c.side, .05)
		if err != nil {
			t.Fatal(err)
		}
		if o.Index != c.index || o.Value != c.x[c.index] || math.Abs(o.Statistic-c.statistic) > 1e-12 || o.PIsBound != c.bound || !(o.P <= 1) {
			t.Errorf("%v, side %d: %+v, want index %d, statistic %g", c.x, c.side, o, c.index, c.statistic)
		}
	}
	// Nothing stands apart: the chance is 1, doubled or not.
	for _, side := range []Side{Either, High} {
		o, err := Dixon([]float64{-1, -1, 1, 1}, side, .05)
		if err != nil || o.P != 1 {
			t.Errorf("%+v, %v", o, err)
		}
	}
}

// A million specimens are a table, one more is not, wherever it stands; no sum of large counts runs over into a small one.
func TestLargeAndEmptyTables(t *testing.T) {
	if f, err := Fisher(1, 999997, 1, 1, .95); err != nil || !(f.TwoSided <= 1) {
		t.Errorf("%+v, %v", f, err)
	}
	for i := range 4 {
		for _, n := range []int{999998, 1000001, math.MaxInt, math.MaxInt - 2} {
			x := [4]int{1, 1, 1, 1}
			x[i] = n
			_, err := Fisher(x[0], x[1], x[2], x[3], .95)
			says(t, err, "more than 1000000 together")
		}
		x := [4]int{5, 5, 5, 5}
		x[i] = -1
		_, err := Fisher(x[0], x[1], x[2], x[3], .95)
		says(t, err, "a count cannot be negative")
	}
	_, err := Fisher(0, 0, 1, 2, .95)
	says(t, err, "a group has no specimen")
	_, err = Fisher(1, 2, 0, 0, .95)
	says(t, err, "a group has no specimen")
	for what, x := range map[string][4]int{"every specimen of both groups had the event": {3, 0, 2, 0}, "no specimen of either group had the event": {0, 3, 0, 2}} {
		f, err := Fisher(x[0], x[1], x[2], x[3], .95)
		if err != nil || f.TwoSided != 1 || f.Greater != 1 || f.Less != 1 || f.SmallestMargins != 1 || f.Lo != 0 || !math.IsInf(f.Hi, 1) || !math.IsNaN(f.OddsRatio) ||
			!strings.HasPrefix(strings.Join(f.Warnings, ""), what) {
			t.Errorf("%v: %+v, %v", x, f, err)
		}
	}
	// 3 against 3 can give 2/C(6, 3) = 0.1 at best, 1 against 2 1/3, 1 against 1 nothing.
	for _, c := range []struct {
		x    [4]int
		best float64
	}{{[4]int{2, 1, 1, 2}, .1}, {[4]int{0, 1, 1, 1}, 1. / 3}, {[4]int{0, 1, 1, 0}, 1}} {
		f, err := Fisher(c.x[0], c.x[1], c.x[2], c.x[3], .95)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "best", f.SmallestDesign, c.best, 1e-13)
	}
	// One table only, and none.
	for _, c := range []struct{ m, n, k, lo int }{{0, 3, 2, 0}, {3, 0, 2, 2}, {2, 2, 0, 0}, {4, 4, 8, 4}} {
		if lo, p := FisherOfMargin(c.m, c.n, c.k); lo != c.lo || len(p) != 1 || p[0] != 1 {
			t.Errorf("%+v: from %d, %v", c, lo, p)
		}
	}
	for _, c := range [][3]int{{-1, 5, 2}, {5, -1, 2}, {2, 2, -1}, {2, 2, 5}, {-1, -1, -2}} {
		if lo, p := FisherOfMargin(c[0], c[1], c[2]); lo != 0 || p != nil {
			t.Errorf("%v: from %d, %v", c, lo, p)
		}
	}
	adjusted, err := Holm([]float64{.9, .9})
	if err != nil || adjusted[0] != 1 || adjusted[1] != 1 {
		t.Errorf("%v, %v", adjusted, err)
	}
}

// Sums that differ by no more than the tolerance are one, from the first on; a count that grows beyond its room is given up.
func TestTallies(t *testing.T) {
	one := func(s, w float64) tally { return tally{[]float64{s}, []float64{w}} }
	for _, c := range []struct {
		a, b       tally
		shift, tol float64
		want       int
	}{{one(1, 2), one(0, 3), 1, 0, 1}, {one(1, 2), one(0, 3), 1.5, .5, 1}, {one(1, 2), one(0, 3), 1.5, .4, 2}, {one(3, 2), one(0, 3), 1, 0, 2}} {
		m := merged(c.a, c.b, c.shift, c.tol)
		total := 0.0
		for _, w := range m.ways {
			total += w
		}
		if len(m.sum) != c.want || total != 5 {
			t.Errorf("%+v: %+v", c, m)
		}
	}
	if by, ok := choices(one(0, 1), []float64{1, 2, 4}, 0, 1, 0, 4); !ok || len(by[1].sum) != 3 {
		t.Errorf("four sums in a room of four: %v, %v", by, ok)
	}
	if _, ok := choices(one(0, 1), []float64{1, 2, 4}, 0, 1, 0, 3); ok {
		t.Error("four sums in a room of three")
	}
	// Sums 3 and 4 in one way, 6 and 7 in ten.
	h := halves{tally{[]float64{1, 2}, []float64{1, 1}}, tally{[]float64{2, 5}, []float64{1, 10}}}
	for bound, want := range map[float64]float64{3: 22, 3.5: 21, 4: 21, 6: 20, 7: 10, 7.5: 0} {
		if got := h.atLeast(bound); got != want {
			t.Errorf("at least %g: %g, want %g", bound, got, want)
		}
	}
	for bound, want := range map[float64]float64{2.9: 0, 3: 1, 3.5: 1, 4: 2, 6: 12, 7: 22} {
		if got := h.atMost(bound); got != want {
			t.Errorf("at most %g: %g, want %g", bound, got, want)
		}
	}
}

// Upper tails 9.865876450376981e-10 and 1.279812543885835e-12 at 6 and 7 (mpmath 1.3.0); ln Phi(-40) = -804.608442013754 (R 4.2.2).
func TestLogPhiFarOut(t *testing.T) {
	for z, q := range map[float64]float64{6: 9.865876450376981e-10, 7: 1.279812543885835e-12} {
		near(t, "upper", logPhi(z), -q-q*q/2, 1e-12)
	}
	near(t, "lower", logPhi(-40), -804.608442013754, 1e-13)
}

// A limit above 0 is no warning, one at or below is; a value that is no logarithm, and one that was not measured, is named. First and last alike are not all alike.
func TestLimitsAtTheirLimits(t *testing.T) {
	x := []float64{10, 10.1, 9.9, 10.05, 10}
	c, err := LowerLimit(x, Normal, .95, .75)
	if err != nil || len(c.Warnings) != 0 || c.Family.String() != "normal" {
		t.Errorf("%+v, %v", c, err)
	}
	for i := range x {
		x[i] -= 9.5
	}
	if c, err = LowerLimit(x, Normal, .95, .75); err != nil || !(c.Value > 0 && c.Value < .5) || len(c.Warnings) != 0 {
		t.Errorf("%+v, %v", c, err)
	}
	for i := range x {
		x[i] -= .5
	}
	if c, err = LowerLimit(x, Normal, .95, .75); err != nil || len(c.Warnings) != 1 || !strings.Contains(c.Warnings[0], "is not above 0") {
		t.Errorf("%+v, %v", c, err)
	}
	if LogNormal.String() != "lognormal" {
		t.Error(LogNormal)
	}
	for _, bad := range []float64{0, -1} {
		_, err := LowerLimit([]float64{1, 2, bad}, LogNormal, .95, .75)
		says(t, err, fmt.Sprintf("value 3 is %g: a lognormal value lies above 0", bad))
	}
	if c, err = LowerLimit([]float64{.5, .6, .7}, LogNormal, .95, .75); err != nil || len(c.Warnings) != 1 {
		t.Errorf("%+v, %v", c, err)
	}
	for _, bad := range []float64{math.NaN(), math.Inf(1), math.Inf(-1)} {
		_, err := LowerLimit([]float64{1, 2, bad}, Normal, .95, .75)
		says(t, err, "value 3 is")
	}
	if mean, sd, err := moments([]float64{1, 2, 1}, 2); err != nil || math.Abs(mean-4./3) > 1e-15 || math.Abs(sd-math.Sqrt(1./3)) > 1e-15 {
		t.Errorf("%g, %g, %v", mean, sd, err)
	}
	m, err := MeanLessThreeSD([]float64{1, 2, 3})
	if err != nil || m.K != 3 || m.Value != -1 || !strings.Contains(m.Warnings[0], fmt.Sprintf("3 normal values show only that %.3g %% of the population", 100*m.Content)) {
		t.Errorf("%+v, %v", m, err)
	}
	// What the factor of a content shows is that content.
	k, err := OneSidedFactor(6, .9, .75)
	if err != nil {
		t.Fatal(err)
	}
	content, err := ContentShown(6, k, .75)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "content", content, .9, 1e-8)
}

// A pair that says nothing is left out and named, one that contradicts itself is refused and named.
func TestCensoredPairsAreNamed(t *testing.T) {
	e, held := censor.Exact, censor.AtLeast
	good := CensoredPair{A: []censor.Value{e(1), e(2)}, B: []censor.Value{e(3), held(4)}}
	p, err := CensoredRanks([]CensoredPair{good, {A: []censor.Value{e(1)}}, {B: []censor.Value{e(1), e(2)}}}, Gehan, Sampling{})
	if err != nil {
		t.Fatal(err)
	}
	all := strings.Join(p.Warnings, "\n")
	for _, want := range []string{"pair 2 has 1 against 0 values", "pair 3 has 0 against 2 values", "some values are bounds"} {
		if !strings.Contains(all, want) {
			t.Errorf("%q lacks %s", all, want)
		}
	}
	// Single values are a pair: of two splits one is as seen.
	p, err = CensoredRanks([]CensoredPair{{A: []censor.Value{e(2)}, B: []censor.Value{e(1)}}}, Gehan, Sampling{})
	if err != nil || p.Greater != .5 || p.TwoSided != 1 {
		t.Errorf("%+v, %v", p, err)
	}
	nan := censor.Value{Lo: math.NaN(), Hi: 1}
	for want, pair := range map[string]CensoredPair{
		"pair 2, A: value 2: ": {A: []censor.Value{e(1), nan}, B: good.B},
		"pair 2, B: value 3: ": {A: good.A, B: []censor.Value{e(1), e(2), nan}},
	} {
		_, err := CensoredRanks([]CensoredPair{good, pair}, Gehan, Sampling{})
		says(t, err, want)
	}
	_, err = CensoredRanks([]CensoredPair{good, {A: []censor.Value{censor.AtMost(1)}, B: good.B}}, LogRank, Sampling{})
	says(t, err, "pair 2: log-rank scores take exact values")
}
