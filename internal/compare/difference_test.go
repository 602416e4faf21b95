package compare

import (
	"math"
	"strings"
	"testing"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/num/censor"
	"github.com/hardcatch/hardcatch/internal/num/exact"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

func near(t *testing.T, what string, got *float64, want, tolerance float64) {
	t.Helper()
	if got == nil || !(math.Abs(*got-want) <= tolerance*math.Abs(want)+1e-12) {
		if got == nil {
			t.Errorf("%s: nothing, want %g", what, want)
			return
		}
		t.Errorf("%s: %g, want %g", what, *got, want)
	}
}

// counts makes pairs of cells from broke and held at A and B.
func counts(all ...[4]int) []cellPair {
	var out []cellPair
	for _, c := range all {
		out = append(out, cellPair{Cell{N: c[0] + c[1], Broke: c[0]}, Cell{N: c[2] + c[3], Broke: c[2]}})
	}
	return out
}

// The penicillin table (Mantel 1963, as in Agresti, Categorical Data Analysis, 1990, p. 234) by R's mantelhaen.test(exact = TRUE):
// 10.36102, 1.077401 to 529.837399 (recalled; R's root finder stops at 1e-4, hence the tolerances). The tea tasting table by R's fisher.test and one table by hand:
// 1 of 1 against 0 of 1 has P(T >= 1) = r/(1 + r) = 0.025 at r = 1/39 and no upper end.
func TestCommonOdds(t *testing.T) {
	d := Difference{Confidence: 0.95}
	d.odds(counts([4]int{0, 6, 0, 5}, [4]int{3, 3, 0, 6}, [4]int{6, 0, 2, 4}, [4]int{5, 1, 6, 0}, [4]int{2, 0, 5, 0}))
	near(t, "ratio", d.Ratio, 10.36102, 1e-5)
	near(t, "lo", d.Lo, 1.077401, 1e-4)
	near(t, "hi", d.Hi, 529.837399, 5e-3)
	if d.Pairs != 3 {
		t.Errorf("%d pairs say something, want 3", d.Pairs)
	}
	d = Difference{Confidence: 0.95}
	d.odds(counts([4]int{1, 0, 0, 1}))
	near(t, "lo by hand", d.Lo, 1.0/39, 1e-9)
	if d.Hi != nil || d.Ratio != nil {
		t.Errorf("an upper end %v %v", d.Hi, d.Ratio)
	}
	d = Difference{Confidence: 0.95}
	d.odds(counts([4]int{0, 3, 0, 3}, [4]int{2, 0, 2, 0}))
	if len(d.Missing) == 0 || d.Lo != nil {
		t.Errorf("%+v", d)
	}
	f, err := exact.Fisher(7, 1, 3, 9, 0.9)
	if err != nil {
		t.Fatal(err)
	}
	d = Difference{Confidence: 0.9}
	d.odds(counts([4]int{7, 1, 3, 9}))
	near(t, "one pair", d.Ratio, f.OddsRatio, 1e-9)
	near(t, "one pair, lo", d.Lo, f.Lo, 1e-9)
	near(t, "one pair, hi", d.Hi, f.Hi, 1e-9)
}

// Broke: 10 of 36 at A against 0 of 8 at B where falls are long, 8 of 8 against 21 of 36 where they are short. Added up, 18 of 44 against 21 of 44, A looks
// better, while it is worse in both pairs: the common odds ratio is above 1 and no sum is printed.
func TestUnlikeCellsAreNotAddedUp(t *testing.T) {
	cell := func(knot, fall string, broke, n int) Cell {
		return Cell{Levels: map[string]string{"knot": knot, "fall": fall}, N: n, Broke: broke, Held: n - broke}
	}
	cells := []Cell{cell("A", "1 m", 10, 36), cell("B", "1 m", 0, 8), cell("A", "2 m", 8, 8), cell("B", "2 m", 21, 36)}
	for _, k := range LikeForLike(cells, Against{Reference: map[string]string{"knot": "B"}}) {
		if k.Factor != "knot" {
			continue
		}
		if k.Odds.Lo == nil || !(*k.Odds.Lo > 1) || k.Odds.Pairs != 2 {
			t.Errorf("%+v", k.Odds)
		}
		s := k.Statement.String()
		for _, want := range []string{"the odds of breaking are at least ", "10 of 36 against 0 of 8 (1 m); 8 of 8 against 21 of 36 (2 m)"} {
			if !strings.Contains(s, want) {
				t.Errorf("%s\nwant %s", s, want)
			}
		}
		if strings.Contains(s, "18 of 44") {
			t.Error(s)
		}
	}
}

func cellOf(levels map[string]string, o drop.Outcome, kN ...float64) Cell {
	c := Cell{Levels: levels, N: len(kN)}
	for _, v := range kN {
		p := quantity.Force(1000 * v)
		c.Drops = append(c.Drops, Row{Outcome: o, Peak: &p})
	}
	if o == drop.Broke {
		c.Broke = c.N
	}
	return c
}

// 10, 12, 14 against 20, 24, 28: relative standard deviation 1/6 in both, 4 degrees of freedom, t = 2.776445 (JCGM 100
// table G.2: 2.78), half = 2.776445 x sqrt(2/3)/6 = 0.377832: 0.5 x exp(-+0.377832).
func TestRatioOfMeansByHand(t *testing.T) {
	p := []cellPair{{cellOf(nil, drop.Held, 10, 12, 14), cellOf(nil, drop.Held, 20, 24, 28)}, {cellOf(nil, drop.Broke, 9), cellOf(nil, drop.Held, 9)}}
	d := Difference{Confidence: 0.95}
	d.means(p, ReadPeak)
	near(t, "ratio", d.Ratio, 0.5, 1e-12)
	near(t, "lo", d.Lo, 0.5*math.Exp(-0.377832), 1e-5)
	near(t, "hi", d.Hi, 0.5*math.Exp(0.377832), 1e-5)
	if d.Pairs != 1 {
		t.Errorf("%d pairs: one that broke shows no arrest force", d.Pairs)
	}
	d = Difference{Confidence: 0.95}
	d.means([]cellPair{{cellOf(nil, drop.Held, 10), cellOf(nil, drop.Held, 8)}}, ReadPeak)
	near(t, "one against one", d.Ratio, 1.25, 1e-12)
	if d.Lo != nil || d.Hi != nil {
		t.Error("one against one has an interval")
	}
	d = Difference{Confidence: 0.95}
	if d.means(p[1:], ReadPeak); len(d.Missing) == 0 || d.Ratio != nil {
		t.Errorf("%+v", d)
	}
}

// Every strength of one side three times that of the other: the ratio of medians is 3. A second kind with ten times the strength and the same ratio changes
// nothing; the same drops set against each other as two kinds agree.
func TestStrengthRatioByHand(t *testing.T) {
	kind := func(name string, by float64) cellPair {
		a := cellOf(map[string]string{"age": "old", "material": name}, drop.Broke, 3*by, 6*by)
		held := quantity.Force(12000 * by)
		a.Drops, a.N = append(a.Drops, Row{Outcome: drop.Held, Peak: &held}), 3
		b := cellOf(map[string]string{"age": "new", "material": name}, drop.Broke, by, 2*by)
		third := held / 3
		b.Drops, b.N = append(b.Drops, Row{Outcome: drop.Held, Peak: &third}), 3
		return cellPair{a, b}
	}
	for _, p := range [][]cellPair{{kind("x", 1)}, {kind("x", 1), kind("y", 10)}} {
		d := Difference{Factor: "age", Confidence: 0.95}
		d.strength(p, censor.Exponential)
		near(t, "ratio", d.Ratio, 3, 1e-6)
		if d.Lo == nil || d.Hi == nil || !(*d.Lo < 1 && *d.Hi > 3) {
			t.Errorf("%+v", d)
		}
	}
	// The same cells at two falls are one kind: the strength does not depend on the fall.
	p := kind("x", 1)
	q := kind("x", 1)
	for _, c := range []*Cell{&p.a, &p.b} {
		c.Levels["fall"] = "1 m"
	}
	d := Difference{Factor: "age", Confidence: 0.95}
	d.strength([]cellPair{p, q}, censor.Weibull)
	want, err := RatioOf(append(strengths(p.a), strengths(q.a)...), append(strengths(p.b), strengths(q.b)...), censor.Weibull, 0.5, 0.95)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "as two samples", d.Ratio, want.Estimate, 1e-5)
	near(t, "as two samples, lo", d.Lo, *want.Lo, 1e-4)
	d = Difference{Factor: "age", Confidence: 0.95}
	if d.strength([]cellPair{{cellOf(nil, drop.Held, 1), cellOf(nil, drop.Held, 2)}}, censor.Weibull); len(d.Missing) == 0 {
		t.Errorf("%+v", d)
	}
}

// Three against three: no test can go below 0.1, and the verdict says so.
func TestVerdicts(t *testing.T) {
	for _, c := range []struct {
		test *ExactTest
		want Verdict
	}{
		{nil, Untested}, {&ExactTest{P: 0.1, PHolm: 0.1, SmallestP: 0.1}, CouldNotShow}, {&ExactTest{P: 0.01, PHolm: 0.04, SmallestP: 0.001}, BeyondChance},
		{&ExactTest{P: 0.01, PHolm: 0.06, SmallestP: 0.001}, Chance}, {&ExactTest{P: 0.029, PHolm: 0.116, SmallestP: 0.029}, AsClearAsCan},
	} {
		if got := c.test.Verdict(); got != c.want {
			t.Errorf("%+v: %s", c.test, got)
		}
	}
	var in []Entry
	for i, knot := range []string{"a", "a", "a", "b", "b", "b"} {
		in = append(in, entry(string(rune('1'+i)), knot, drop.Held, 10000+1000*float64(i)))
	}
	cells, err := Cells(in, 0.95)
	if err != nil {
		t.Fatal(err)
	}
	tested, err := Contrasts(cells, Against{}, 1)
	if err != nil {
		t.Fatal(err)
	}
	// Another measure, which is the peak's double, has the ratio and the test of the peak.
	double := func(r Row) (censor.Value, bool) {
		v, ok := r.arrest()
		return censor.Exact(2 * v.Lo), ok
	}
	peaks, err := Differences(cells, tested, OfPeak, ReadPeak, censor.Weibull, 0.95, 1)
	if err != nil {
		t.Fatal(err)
	}
	doubles, err := Differences(cells, tested, "double", double, censor.Weibull, 0.95, 1)
	if err != nil {
		t.Fatal(err)
	}
	if len(peaks) != 3 || peaks[1].Of != OfPeak || peaks[1].Verdict != CouldNotShow || len(peaks[0].Missing) == 0 || len(peaks[2].Missing) == 0 {
		t.Fatalf("%+v", peaks)
	}
	near(t, "ratio", peaks[1].Ratio, tested[0].Ratio.SI(), 1e-12)
	near(t, "ratio of doubles", doubles[1].Ratio, *peaks[1].Ratio, 1e-12)
	if doubles[1].Test == nil || doubles[1].Test.P != peaks[1].Test.P || doubles[1].Verdict != CouldNotShow {
		t.Errorf("%+v", doubles[1].Test)
	}
	e, err := MeasureEffects(in, "double", double, Against{}, 0.95)
	if err != nil || len(e.Effects) != 1 {
		t.Fatalf("%+v %v", e, err)
	}
	p, err := PeakEffects(in, Against{}, 0.95)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "effect of doubles", &e.Effects[0].Ratio, p.Effects[0].Ratio, 1e-9)
}

// Lognormal strength against lognormal arrest force: Phi((mu_A - mu_S)/hypot(sigma_A, sigma_S)), the closed form of load-strength interference.
func TestInterferenceByOtherFamilies(t *testing.T) {
	var in []Entry
	for i, v := range []float64{9, 10, 11, 12} {
		in = append(in, entry(string(rune('a'+i)), "sewn", drop.Held, 1000*v))
	}
	for i, v := range []float64{11.5, 13, 14, 15} {
		in = append(in, entry(string(rune('p'+i)), "sewn", drop.Broke, 1000*v))
	}
	cells, err := Cells(in, 0.95)
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range []censor.Family{censor.Weibull, censor.Lognormal, censor.Normal, censor.Exponential} {
		kinds, err := SpecimenKinds(in, StrengthOptions{Family: f, Confidence: 0.95, Quantiles: []float64{0.05}})
		if err != nil || len(kinds) != 1 || kinds[0].Fit == nil || kinds[0].Fit.Dist != f.String() {
			t.Fatalf("%s: %+v %v", f, kinds, err)
		}
		x, err := Interferences(cells, kinds, 0.95, 1)
		if err != nil || len(x) != 1 || x[0].Interference == nil {
			t.Fatalf("%s: %+v %v", f, x, err)
		}
		if !(x[0].Lo < x[0].Probability && x[0].Probability < x[0].Hi) {
			t.Errorf("%s: %+v", f, x[0].Interference)
		}
		if f == censor.Lognormal {
			arrest, err := censor.Fit([]censor.Value{censor.Exact(9000), censor.Exact(10000), censor.Exact(11000), censor.Exact(12000), censor.AtLeast(11500), censor.AtLeast(13000), censor.AtLeast(14000), censor.AtLeast(15000)}, censor.Lognormal)
			if err != nil {
				t.Fatal(err)
			}
			a, s := arrest.Params, kinds[0].model.Params
			near(t, "closed form", &x[0].Probability, math.Erfc(-(a[0].Value-s[0].Value)/math.Hypot(a[1].Value, s[1].Value)/math.Sqrt2)/2, 1e-9)
		}
		curve := kinds[0].Curve(9, 0.95)
		if len(curve) < 8 {
			t.Fatalf("%s: %v", f, curve)
		}
		for i, p := range curve {
			if !(p.Lo <= p.Share && p.Share <= p.Hi) || i > 0 && p.Share > curve[i-1].Share {
				t.Errorf("%s: %+v", f, p)
			}
		}
	}
	kinds, err := SpecimenKinds(in[:4], StrengthOptions{Family: censor.Weibull, Confidence: 0.95})
	if err != nil || len(kinds) != 1 {
		t.Fatal(err)
	}
	if c := kinds[0].Curve(9, 0.95); c != nil || len(kinds[0].Values()) != 4 || kinds[0].Values()[0].Broke {
		t.Errorf("%v %v", c, kinds[0].Values())
	}
}
