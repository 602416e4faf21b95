package compare

import (
	"fmt"
	"math"
	"math/rand/v2"
	"reflect"
	"strings"
	"testing"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/num/censor"
	"github.com/hardcatch/hardcatch/internal/num/exact"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

func seen(x ...float64) []censor.Value {
	var v []censor.Value
	for _, s := range x {
		v = append(v, censor.Exact(s))
	}
	return v
}

func fitted(t *testing.T, values []censor.Value, o StrengthOptions) *Strength {
	t.Helper()
	if o.Confidence == 0 {
		o.Confidence = 0.95
	}
	s, err := FitStrength(values, o)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func told(s *Strength, what string) bool {
	return strings.Contains(strings.Join(message.Texts(s.Warnings), "\n"), what)
}

// Each sentence on a quantile by the sides that are bounded; only the 5 % quantile and the median are worded.
func TestStatementWordsTheQuantiles(t *testing.T) {
	lo, hi := 9.0, 12.0
	s := &Strength{Dist: "weibull", N: 7, Broke: 4, Held: 3, Quantiles: []Quantile{
		{P: 0.01, Value: 8, Lo: &lo, Hi: &hi, Confidence: 0.9}, {P: 0.05, Value: 10, Lo: &lo, Hi: &hi, Confidence: 0.9}, {P: 0.075, Value: 10.5, Confidence: 0.9},
		{P: 0.1, Value: 11, Confidence: 0.9}, {P: 0.5, Value: 13, Lo: &lo, Confidence: 0.9}, {P: 0.75, Value: 14, Confidence: 0.9}}}
	text := Printer{
		func(v float64) string { return fmt.Sprintf("<%g>", v) }, func(v float64) string { return fmt.Sprintf("<%g down>", v) }, func(v float64) string { return fmt.Sprintf("<%g up>", v) },
	}
	want := "7 specimens, 4 broke and 3 held. By the weibull fit 5 % of such specimens are weaker than <10> (<9 down> to <12 up>, 90 % confidence)." +
		" By the weibull fit 50 % of such specimens are weaker than <13> (at least <9 down>; these values give no upper bound)."
	if got := s.Statement(text).String(); got != want {
		t.Errorf("%s\nwant %s", got, want)
	}
	s.Quantiles = []Quantile{{P: 0.5, Value: 13, Hi: &hi, Confidence: 0.9}, {P: 0.05, Value: 10, Confidence: 0.9}}
	want = "7 specimens, 4 broke and 3 held. By the weibull fit 50 % of such specimens are weaker than <13> (at most <12 up>; these values give no lower bound)." +
		" By the weibull fit 5 % of such specimens are weaker than <10>, but these values bound that on neither side."
	if got := s.Statement(text).String(); got != want {
		t.Errorf("%s\nwant %s", got, want)
	}
	s.Other, s.Quantiles = 2, nil
	if got := s.Statement(text).String(); got != "7 specimens: the strength of 4 was seen, 3 held, and of 2 it is known between bounds or from above." {
		t.Error(got)
	}
}

// What is printed of a bound never claims more than it: 20.946 kN from below is 20.94 kN, from above 20.95 kN; bare numbers likewise, and of one unit throughout.
func TestPrinterRoundsOutwards(t *testing.T) {
	n, h, none := PrinterOf("N"), PrinterOf("h"), PrinterOf("")
	for got, want := range map[string]string{
		n.Value(20946): "20.95 kN", n.Down(20946): "20.94 kN", n.Up(20942): "20.95 kN", n.Up(999960): "1.000 MN", n.Down(20940): "20.94 kN",
		h.Value(540.74): "540.7 h", h.Up(540.74): "540.8 h", none.Down(10100.546497970712): "10100",
	} {
		if got != want {
			t.Errorf("%s, want %s", got, want)
		}
	}
}

// What is bounded above is neither broken nor held, and its curve is Turnbull's; the usual quantiles are 1, 5, 10 and 50 %.
func TestKindsOfStrength(t *testing.T) {
	values := append(seen(10, 12, 13), censor.AtMost(11), censor.Between(12, 14), censor.Between(11, 13), censor.AtLeast(12))
	s := fitted(t, values, StrengthOptions{Source: rand.New(rand.NewPCG(1, 1))})
	if s.N != 7 || s.Broke != 3 || s.Held != 1 || s.Other != 3 || s.Goodness != nil || s.Complete != nil {
		t.Errorf("%+v", s)
	}
	curve, err := censor.Turnbull(values, 0.95)
	if err != nil || len(curve.Points) != len(s.KM) || s.KM[0].Survival != curve.Points[0].Survival {
		t.Errorf("%+v against %+v, %v", s.KM, curve, err)
	}
	var p []float64
	for _, q := range s.Quantiles {
		p = append(p, q.P)
	}
	if fmt.Sprint(p) != "[0.01 0.05 0.1 0.5]" {
		t.Errorf("quantiles %v", p)
	}
	one := fitted(t, append(seen(10, 12, 13), censor.Between(11, 13)), StrengthOptions{})
	if one.Other != 1 || one.Broke != 3 || one.Complete != nil {
		t.Errorf("%+v", one)
	}
	if _, err := FitStrength([]censor.Value{censor.AtLeast(21346), {Lo: 22000, Hi: math.Inf(1), Count: 2}}, StrengthOptions{Confidence: 0.9}); err == nil ||
		!strings.Contains(err.Error(), "all 3 held at least 21340, so that at 90 % confidence at least 46 % of such specimens hold that") { // 0.1^(1/3) = 0.464
		t.Error(err)
	}
	for _, v := range []float64{math.NaN(), math.Inf(1), math.Inf(-1)} {
		if finite(v) != nil {
			t.Errorf("%g is a number", v)
		}
	}
	if v := finite(0); v == nil || *v != 0 {
		t.Error("0 is none")
	}
}

// Two values that were seen are complete: mean 11, standard deviation sqrt 2. Few values and what the mean less three deviations is not are said, and that the curve ends.
func TestTwoCompleteStrengths(t *testing.T) {
	s := fitted(t, seen(10, 12), StrengthOptions{Family: censor.Lognormal})
	if s.Complete == nil || math.Abs(s.Complete.SD-math.Sqrt2) > 1e-12 || s.Complete.Outlier.String() != "" {
		t.Fatalf("%+v", s.Complete)
	}
	for _, want := range []string{"only 2 values: the limit leans wholly", "mean less three standard deviations is common practice", "The curve ends at 0"} {
		if !told(s, want) {
			t.Errorf("%q lack %s", message.Texts(s.Warnings), want)
		}
	}
	if last := s.KM[len(s.KM)-1]; last.SE != nil || last.Lo != nil || last.Hi != nil {
		t.Errorf("%+v", last)
	}
}

// A value is flagged just where Grubbs' test gives it less than 5 %, and never dropped.
func TestOutliersAreFlaggedAtFivePerCent(t *testing.T) {
	flagged, near := 0, 0
	for x := 19800.0; x > 17000; x -= 50 {
		values := []float64{20000, 20200, 19800, 20100, 19900, x}
		s := fitted(t, seen(values...), StrengthOptions{})
		g, err := exact.Grubbs(values, exact.Either, 0.05)
		if err != nil {
			t.Fatal(err)
		}
		out := s.Complete.Outlier.String()
		if (out != "") != (g.P < 0.05) || told(s, "Grubbs' test") != (g.P < 0.05) || s.N != 6 {
			t.Fatalf("%g with p = %g: %q", x, g.P, out)
		}
		if out != "" {
			flagged++
			if !strings.HasPrefix(out, quantity.Significant(x, 4)+" lies far from the others (Grubbs' test, p = "+quantity.Significant(g.P, 2)) {
				t.Fatal(out)
			}
		} else if g.P < 0.075 {
			near++
		}
	}
	if flagged == 0 || near == 0 {
		t.Errorf("%d flagged, %d between 5 and 7.5 %%", flagged, near)
	}
}

// Another family is named when its criterion is lower by more than 2, the lowest of them, with both figures.
func TestOtherFamiliesFromTwoOn(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 1))
	var within, twoToThree, more int
	for range 60 {
		var values []censor.Value
		for range 8 + rng.IntN(8) {
			x := 20 * math.Exp(0.3*rng.NormFloat64())
			if rng.IntN(3) == 0 {
				x = 20 + 4*rng.NormFloat64()
			}
			values = append(values, censor.Exact(x))
		}
		for _, f := range []censor.Family{censor.Weibull, censor.Lognormal, censor.Normal} {
			s := fitted(t, values, StrengthOptions{Family: f, Quantiles: []float64{0.5}})
			best := Alternative{AIC: math.Inf(1)}
			for _, o := range s.Others {
				if o.AIC < best.AIC {
					best = o
				}
			}
			gain := s.AIC - best.AIC
			want := fmt.Sprintf("by Akaike's criterion a %s distribution describes these values better (%.1f against %.1f)", best.Dist, best.AIC, s.AIC)
			if told(s, want) != (gain > 2) || told(s, "Akaike") != (gain > 2) || len(s.Others) != 3 {
				t.Fatalf("gain %g by %+v: %q", gain, best, message.Texts(s.Warnings))
			}
			switch {
			case gain > 3:
				more++
			case gain > 2:
				twoToThree++
			case gain > 0:
				within++
			}
		}
	}
	if within == 0 || twoToThree == 0 || more == 0 {
		t.Errorf("gains up to 2: %d, up to 3: %d, more: %d", within, twoToThree, more)
	}
}

// Three breaks are held against their fit, two are not, nor are more than 2000 values. Two clumps are no Weibull: p = 1/500 of 499 samples.
func TestGoodnessFromThreeBreaksOn(t *testing.T) {
	source := func() censor.Source { return rand.New(rand.NewPCG(3, 3)) }
	held := func(v []censor.Value, n int) []censor.Value {
		return append(v, censor.Value{Lo: 13, Hi: math.Inf(1), Count: n})
	}
	if s := fitted(t, held(seen(10, 12), 1), StrengthOptions{Source: source()}); s.Goodness != nil {
		t.Errorf("two breaks: %+v", s.Goodness)
	}
	if s := fitted(t, held(seen(10, 12, 12.5), 1), StrengthOptions{Source: source()}); s.Goodness == nil || s.Goodness.Replicates != 499 || !told(s, "With 3 values seen of 4") || told(s, "does not describe") {
		t.Errorf("three breaks: %+v, %q", s.Goodness, message.Texts(s.Warnings))
	}
	if s := fitted(t, seen(10, 12, 12.5), StrengthOptions{}); s.Goodness != nil {
		t.Errorf("without a source: %+v", s.Goodness)
	}
	if s := fitted(t, held(seen(10, 12, 12.5), 1998), StrengthOptions{Source: source()}); s.Goodness != nil {
		t.Errorf("2001 values: %+v", s.Goodness)
	}
	var clumps []float64
	for i := range 20 {
		clumps = append(clumps, 10+15*float64(i%2)+.01*float64(i))
	}
	s := fitted(t, seen(clumps...), StrengthOptions{Source: source()})
	if s.Goodness == nil || math.Abs(s.Goodness.P-1.0/500) > 1e-12 || !told(s, "a weibull distribution does not describe these values (Anderson-Darling type test, p = 0.0020)") {
		t.Errorf("%+v, %q", s.Goodness, message.Texts(s.Warnings))
	}
}

// Evenly spaced forces from the 0.2 % to the 99.8 % quantile, or as far as the values go; nothing at 0 or below.
func TestCurveCoversTheValues(t *testing.T) {
	kind := func(f censor.Family, values ...float64) SpecimenKind {
		k := SpecimenKind{values: seen(values...)}
		k.fit(StrengthOptions{Family: f, Confidence: 0.95})
		if k.model == nil {
			t.Fatal(k.Unfitted)
		}
		return k
	}
	narrow := kind(censor.Lognormal, 20, 21, 22, 23)
	wide := kind(censor.Weibull, 1, 20, 20.1, 20.2, 20.3, 20.1, 20.2, 20, 20.1)
	high := kind(censor.Weibull, 20, 20.1, 20.2, 20.3, 20.1, 20.2, 20, 20.1, 60)
	high.values = append(high.values, censor.AtLeast(90))
	low := kind(censor.Normal, 1, 2, 6)
	for name, c := range map[string]struct {
		k      SpecimenKind
		lo, hi float64
	}{
		"narrow": {narrow, narrow.model.Quantile(0.002), narrow.model.Quantile(0.998)},
		"wide":   {wide, math.Min(1, wide.model.Quantile(0.002)), wide.model.Quantile(0.998)},
		"high":   {high, high.model.Quantile(0.002), 90},
		"low":    {low, 0, low.model.Quantile(0.998)},
	} {
		for _, n := range []int{2, 5} {
			got := c.k.Curve(n, 0.95)
			skip := 0
			if c.lo == 0 {
				skip = 1
			}
			if len(got) != n-skip {
				t.Fatalf("%s: %d points of %d", name, len(got), n)
			}
			for i, s := range got {
				x := c.lo + (c.hi-c.lo)*float64(i+skip)/float64(n-1)
				if math.Abs(s.Force-x) > 1e-9*x || math.Abs(s.Share-c.k.model.Survival(x)) > 1e-9 || !math.IsNaN(s.Lo) && !(s.Lo <= s.Share+1e-9 && s.Share <= s.Hi+1e-9 && s.Lo >= 0 && s.Hi <= 1) {
					t.Errorf("%s, %d of %d: %+v at %g", name, i, n, s, x)
				}
			}
		}
		if got := c.k.Curve(1, 0.95); got != nil {
			t.Errorf("%s: one point %v", name, got)
		}
	}
	if got := (SpecimenKind{}).Curve(5, 0.95); got != nil {
		t.Errorf("no fit: %v", got)
	}
}

// The ends of Fieller's interval solve (ma - rho mb)^2 = t^2 s^2 (1/na + rho^2/nb): 9, 11, 13 over 19, 21 have s^2 = (8 + 2)/3 and t(3) = 3.182446 (table);
// in units of a hundredth the same.
func TestFiellerOfUnequalGroups(t *testing.T) {
	for _, unit := range []float64{1, 0.01} {
		f, err := FiellerRatio([]float64{9 * unit, 11 * unit, 13 * unit}, []float64{19 * unit, 21 * unit}, 0.95)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(f.Ratio-11.0/20) > 1e-12 || !(f.Lo < f.Ratio && f.Ratio < f.Hi) {
			t.Errorf("%+v", f)
		}
		for _, rho := range []float64{f.Lo, f.Hi} {
			left, right := (11-rho*20)*(11-rho*20), 3.182446*3.182446*10/3*(1.0/3+rho*rho/2)
			if math.Abs(left/right-1) > 1e-6 {
				t.Errorf("%g: %g and %g", rho, left, right)
			}
		}
	}
	// Three specimens are enough: 9, 11 over 20 have s^2 = 2 and t(1) = 12.70620; the other way round 11, 13, 15 over 19, 20, 24 have (8 + 14)/4 and t(4) = 2.776445.
	for _, c := range []struct {
		a, b                   []float64
		ma, mb, na, nb, t2, s2 float64
	}{{[]float64{9, 11}, []float64{20}, 10, 20, 2, 1, 12.70620 * 12.70620, 2}, {[]float64{11, 13, 15}, []float64{19, 20, 24}, 13, 21, 3, 3, 2.776445 * 2.776445, 5.5}} {
		f, err := FiellerRatio(c.a, c.b, 0.95)
		if err != nil {
			t.Fatal(err)
		}
		for _, rho := range []float64{f.Lo, f.Hi} {
			if left, right := (c.ma-rho*c.mb)*(c.ma-rho*c.mb), c.t2*c.s2*(1/c.na+rho*rho/c.nb); math.Abs(left/right-1) > 1e-5 {
				t.Errorf("%v over %v at %g: %g and %g", c.a, c.b, rho, left, right)
			}
		}
	}
	for _, c := range [][2][]float64{{{1}, {2}}, {{1}, nil}, {nil, {1, 1.01, 1.02}}, {{1, 1.01, 1.02}, nil}} {
		if f, err := FiellerRatio(c[0], c[1], 0.95); err == nil || !strings.Contains(err.Error(), "too few specimens") {
			t.Errorf("%v: %+v, %v", c, f, err)
		}
	}
}

func TestRatioFamilies(t *testing.T) {
	of := func(f censor.Family) SpecimenKind { return SpecimenKind{model: &censor.Model{Family: f}} }
	for _, c := range []struct {
		a, b SpecimenKind
		want censor.Family
	}{
		{SpecimenKind{}, SpecimenKind{}, censor.Weibull},
		{of(censor.Normal), of(censor.Normal), censor.Weibull},
		{of(censor.Lognormal), of(censor.Exponential), censor.Lognormal},
		{of(censor.Normal), of(censor.Lognormal), censor.Lognormal},
		{SpecimenKind{}, of(censor.Lognormal), censor.Lognormal},
		{of(censor.Lognormal), SpecimenKind{}, censor.Lognormal},
	} {
		if got := ratioFamily(c.a, c.b); got != c.want {
			t.Errorf("%v, want %v", got, c.want)
		}
	}
}

// A knot stands over what is not tied, in whatever order the names stand; two knots, and two materials of which one is named like something not tied, in the order of their names. Kinds
// that differ in two things are not set against each other.
func TestWhatStandsOverWhat(t *testing.T) {
	var in []Entry
	add := func(material, knot string, peaks ...float64) {
		for _, p := range peaks {
			e := entry(fmt.Sprint(len(in)), knot, drop.Broke, p)
			e.Drop.Specimen.Material = material
			in = append(in, e)
		}
	}
	heads := func() []string {
		t.Helper()
		kinds, err := SpecimenKinds(in, StrengthOptions{Confidence: 0.9})
		if err != nil {
			t.Fatal(err)
		}
		var out []string
		for _, r := range StrengthRatios(kinds, Against{}, 0.9) {
			out = append(out, strings.SplitN(r.Statement.String(), ": ", 2)[0])
		}
		in = nil
		return out
	}
	add("aramid", "bowline", 9000, 9400, 9200)
	kinds, err := SpecimenKinds(in, StrengthOptions{Confidence: 0.9})
	if err != nil || len(kinds) != 1 || kinds[0].Name != "all specimens" {
		t.Errorf("%+v, %v", kinds, err)
	}
	add("aramid", "sewn", 12000, 12500, 12300)
	add("polyester", "bowline", 8000, 8400, 8100)
	add("polyester", "sewn", 11000, 11500, 11200)
	got := heads()
	for _, want := range []string{"knot efficiency of bowline, over sewn (aramid)", "knot efficiency of bowline, over sewn (polyester)", "strength of polyester over aramid (bowline)", "strength of polyester over aramid (sewn)"} {
		if !strings.Contains(strings.Join(got, "\n")+"\n", want+"\n") {
			t.Errorf("%q lack %s", got, want)
		}
	}
	if len(got) != 4 {
		t.Errorf("%q", got)
	}
	add("aramid", "open", 12000, 12500, 12300)
	add("aramid", "overhand", 9000, 9400, 9200)
	if got := heads(); len(got) != 1 || got[0] != "knot efficiency of overhand, over open" {
		t.Errorf("%q", got)
	}
	add("aramid", "bowline", 12000, 12500, 12300)
	add("aramid", "overhand", 9000, 9400, 9200)
	if got := heads(); len(got) != 1 || got[0] != "strength of overhand over bowline" {
		t.Errorf("%q", got)
	}
	add("aramid", "bowline", 12000, 12500, 12300)
	add("open weave", "bowline", 9000, 9400, 9200)
	if got := heads(); len(got) != 1 || got[0] != "strength of open weave over aramid" {
		t.Errorf("%q", got)
	}
	add("open weave", "bowline", 12000, 12500, 12300)
	add("polyester", "bowline", 9000, 9400, 9200)
	if got := heads(); len(got) != 1 || got[0] != "strength of polyester over open weave" {
		t.Errorf("%q", got)
	}
}

// The sentence gives the ratios of the median and of the 5 % quantile with their intervals, rounded outwards, the confidence and both numbers.
func TestRatioSentence(t *testing.T) {
	three := func(v float64) string { return quantity.Significant(v, 3) }
	kind := func(level string, values ...censor.Value) SpecimenKind {
		k := SpecimenKind{Levels: map[string]string{"material": level}, values: values}
		k.fit(StrengthOptions{Confidence: 0.9})
		return k
	}
	a, b := kind("aramid", seen(10, 11, 12)...), kind("polyester", seen(14, 15, 15.5, 17)...)
	r := strengthRatio("material", a, b, 0.9)
	m, err := RatioOf(b.values, a.values, censor.Weibull, 0.5, 0.9)
	if err != nil {
		t.Fatal(err)
	}
	l, err := RatioOf(b.values, a.values, censor.Weibull, 0.05, 0.9)
	if err != nil {
		t.Fatal(err)
	}
	f, err := FiellerRatio([]float64{14, 15, 15.5, 17}, []float64{10, 11, 12}, 0.9)
	if err != nil {
		t.Fatal(err)
	}
	want := fmt.Sprintf("strength of polyester over aramid: median %s times as high (%s to %s); 5 %% quantile %s times as high (%s to %s) (90 %% confidence, 4 and 3 specimens).",
		three(m.Estimate), quantity.Below(*m.Lo, 3), quantity.Above(*m.Hi, 3), three(l.Estimate), quantity.Below(*l.Lo, 3), quantity.Above(*l.Hi, 3))
	if got := r.Statement.String(); got != want || r.Means == nil || *r.Means != f || *r.Lo != *m.Lo || *r.Low.Hi != *l.Hi {
		t.Errorf("%s\nwant %s", got, want)
	}
	held := kind("polyester", append(seen(14, 15, 15.5), censor.AtLeast(17))...)
	for _, p := range [][2]SpecimenKind{{a, held}, {held, a}, {held, held}} {
		if r := strengthRatio("material", p[0], p[1], 0.9); r.Means != nil || r.Ratio == nil {
			t.Errorf("%+v", r)
		}
	}
	none := kind("polyester", censor.AtLeast(14), censor.AtLeast(15))
	if r := strengthRatio("material", a, none, 0.9); r.Ratio != nil || r.Lo != nil || r.Hi != nil || !strings.Contains(r.Statement.String(), "no number: ") {
		t.Errorf("%+v", r)
	}
}

// Draws of the two parameters have the means, variances and covariance of the fit, those above 0 on the logarithm: of 40 000 draws within five standard errors, sqrt(2/n) of a variance.
func TestPairsAreDrawnWithTheirCovariance(t *testing.T) {
	const n = 40000
	m := &censor.Model{Params: []censor.Param{{Name: "mu", Value: 3}, {Name: "sigma", Value: 0.4}}, Cov: [][]float64{{0.02, 0.0031}, {0.0031, 0.0008}}}
	for _, both := range []bool{false, true} {
		draw := pairDraw(m, both)
		rng := rand.New(rand.NewPCG(4, 4))
		var s1, s2, s11, s22, s12 float64
		for range n {
			p, q := draw(rng)
			x, y := p-3, math.Log(q/0.4)
			if both {
				x = math.Log(p / 3)
			}
			s1, s2, s11, s22, s12 = s1+x, s2+y, s11+x*x, s22+y*y, s12+x*y
		}
		v1, v2, c := 0.02, 0.0008/0.16, 0.0031/0.4
		if both {
			v1, c = v1/9, c/3
		}
		for what, x := range map[string][3]float64{
			"mean of the first": {s1 / n, 0, math.Sqrt(v1 / n)}, "mean of the second": {s2 / n, 0, math.Sqrt(v2 / n)},
			"variance of the first": {s11 / n, v1, v1 * math.Sqrt(2.0/n)}, "variance of the second": {s22 / n, v2, v2 * math.Sqrt(2.0/n)},
			"covariance": {s12 / n, c, math.Sqrt((v1*v2 + c*c) / n)},
		} {
			if math.Abs(x[0]-x[1]) > 5*x[2] {
				t.Errorf("both %v, %s: %g, want %g within %g", both, what, x[0], x[1], 5*x[2])
			}
		}
	}
	// Without any spread of the first the second keeps its own.
	m.Cov = [][]float64{{0, 0}, {0, 0.0016}}
	p, q := pairDraw(m, false)(rand.New(rand.NewPCG(5, 5)))
	rng := rand.New(rand.NewPCG(5, 5))
	rng.NormFloat64()
	if want := 0.4 * math.Exp(0.1*rng.NormFloat64()); p != 3 || math.Abs(q/want-1) > 1e-12 {
		t.Errorf("%g and %g, want %g", p, q, want)
	}
}

// A drawn strength is the distribution function of its family with the drawn parameters, of the logarithm of the force.
func TestDrawnStrengths(t *testing.T) {
	values := seen(10, 12, 13, 15, 11, 14)
	for _, f := range []censor.Family{censor.Weibull, censor.Lognormal, censor.Normal, censor.Exponential} {
		m, err := censor.Fit(values, f)
		if err != nil {
			t.Fatal(err)
		}
		for seed := range uint64(5) {
			cdf := strengthDraw(m)(rand.New(rand.NewPCG(seed, 9)))
			for _, x := range []float64{9, 12, 16} {
				var want float64
				switch f {
				case censor.Exponential:
					z := rand.New(rand.NewPCG(seed, 9)).NormFloat64()
					want = 1 - math.Exp(-x/(m.Params[0].Value*math.Exp(z*m.Params[0].SE/m.Params[0].Value)))
				default:
					p, q := pairDraw(m, f == censor.Weibull)(rand.New(rand.NewPCG(seed, 9)))
					switch f {
					case censor.Weibull:
						want = 1 - math.Exp(-math.Pow(x/q, p))
					case censor.Lognormal:
						want = math.Erfc(-(math.Log(x)-p)/q/math.Sqrt2) / 2
					default:
						want = math.Erfc(-(x-p)/q/math.Sqrt2) / 2
					}
				}
				if got := cdf(math.Log(x)); math.Abs(got-want) > 1e-9 {
					t.Errorf("%s at %g: %g, want %g", f, x, got, want)
				}
			}
		}
	}
}

// The sentence on a cell is that of its interference, each cell with a seed of its own, rounded outward; no digits below a thousandth.
func TestInterferenceSentences(t *testing.T) {
	in := entriesOf(cellData{"sewn", 0.45, []float64{12000, 12100, 12400}, nil}, cellData{"sewn", 0.9, []float64{17000, 16000, 16800}, []float64{17500, 18400, 17100}})
	kinds, err := SpecimenKinds(in, StrengthOptions{Confidence: 0.9})
	if err != nil || len(kinds) != 1 {
		t.Fatal(kinds, err)
	}
	cells, err := Cells(in, 0.9)
	if err != nil {
		t.Fatal(err)
	}
	got, err := Interferences(append([]Cell{{Levels: cells[0].Levels}}, cells...), kinds, 0.9, 11)
	if err != nil || len(got) != 2 {
		t.Fatalf("%+v, %v", got, err)
	}
	for i, c := range cells {
		var arrests []censor.Value
		for _, r := range c.Drops {
			if v, ok := r.arrest(); ok {
				arrests = append(arrests, v)
			}
		}
		m, err := censor.Fit(arrests, censor.Lognormal)
		if err != nil {
			t.Fatal(err)
		}
		v, err := interfere(m, kinds[0].model, 0.9, 11+uint64(i)+1)
		if err != nil {
			t.Fatal(err)
		}
		want := fmt.Sprintf("%s: by both fits %s of such drops break (%s %% to %s %%, 90 %% confidence); %d of %d did.", c.Name(), few(v.Probability),
			RoundOutward(100*v.Lo, math.Floor), RoundOutward(100*v.Hi, math.Ceil), c.Broke, c.N)
		if got[i].Statement.String() != want || !reflect.DeepEqual(*got[i].Interference, v) {
			t.Errorf("%s\nwant %s", got[i].Statement, want)
		}
	}
	if got, err := Interferences(cells, nil, 0.9, 11); err != nil || len(got) != 0 {
		t.Errorf("without a kind: %+v, %v", got, err)
	}
	for p, want := range map[float64]string{0: "fewer than 0.1 %", 0.00099: "fewer than 0.1 %", 0.001: "0.10 %", 0.0123: "1.2 %", 0.5: "50 %"} {
		if got := few(p); got != want {
			t.Errorf("%g: %s, want %s", p, got, want)
		}
	}
}
