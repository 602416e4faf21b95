package compare

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/num/censor"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// Each verdict at its limit: the smallest p that the sample could give at the level, the adjusted p at the level, and the p seen at the smallest.
func TestVerdictsAtTheirLimits(t *testing.T) {
	above := math.Nextafter(SignificanceLevel, 1)
	for _, c := range []struct {
		smallest, p, holm float64
		want              Verdict
	}{
		{above, 0.01, 0.01, CouldNotShow},
		{SignificanceLevel, SignificanceLevel, SignificanceLevel, BeyondChance},
		{0.01, 0.02, above, Chance},
		{0.02, 0.02, 0.06, AsClearAsCan},
		{0.02, 0.02 * (1 + 5e-10), 0.06, AsClearAsCan}, // rounding
		{0.02, 0.025, 0.06, Chance},
	} {
		x := &ExactTest{SmallestP: c.smallest, P: c.p, PHolm: c.holm}
		if got := x.Verdict(); got != c.want {
			t.Errorf("%+v: %s", c, got)
		}
	}
	if got := (*ExactTest)(nil).Verdict(); got != Untested {
		t.Error(got)
	}
}

// Strength does not depend on what the specimen fell: fall, fall factor, mass and slack make no kind of their own, in the fits as in the ratios.
func TestTheFallMakesNoKind(t *testing.T) {
	var in []Entry
	for i, p := range []float64{9000, 9400, 9200, 9100} {
		e := entry(fmt.Sprint(i), "bowline", drop.Broke, p)
		e.Drop.Fall, e.Drop.Mass = quantity.Length(0.45*float64(1+i%2)), quantity.Mass(80+20*(i/2))
		e.Drop.Factors = map[string]string{"slack": fmt.Sprint(i)}
		e.Drop.Specimen.Material = []string{"aramid", "polyester"}[i/2]
		in = append(in, e)
	}
	kinds, err := SpecimenKinds(in, StrengthOptions{Confidence: 0.95})
	if err != nil || len(kinds) != 2 || len(kinds[0].Levels) != 1 || kinds[0].Levels["material"] != "aramid" {
		t.Errorf("%+v, %v", kinds, err)
	}
	levels := func(age, material string, fall int) map[string]string {
		n := fmt.Sprint(fall)
		return map[string]string{"age": age, "material": material, "fall": n, "fall factor": n, "mass": n, "slack": n}
	}
	var pairs []cellPair
	for fall := range 4 {
		pairs = append(pairs, cellPair{cellOf(levels("old", "x", fall), drop.Broke, 8+float64(fall), 9), cellOf(levels("new", "x", fall), drop.Broke, 11, 12-0.5*float64(fall))})
	}
	all, one := Difference{Factor: "age", Confidence: 0.9}, Difference{Factor: "age", Confidence: 0.9}
	all.strength(pairs, censor.Weibull)
	var a, b []censor.Value
	for _, p := range pairs {
		a, b = append(a, strengths(p.a)...), append(b, strengths(p.b)...)
	}
	v, err := RatioOf(a, b, censor.Weibull, 0.5, 0.9)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "ratio", all.Ratio, v.Estimate, 1e-5)
	near(t, "lo", all.Lo, *v.Lo, 1e-4)
	near(t, "hi", all.Hi, *v.Hi, 1e-4)
	if all.Pairs != 4 || !strings.HasPrefix(all.Method.String(), "medians by a weibull regression") {
		t.Errorf("%+v", all)
	}
	// A kind of which nothing broke says nothing: neither the ratio nor the pairs change. A pair of which one side broke is one.
	more := append(pairs, cellPair{cellOf(levels("old", "y", 0), drop.Held, 30, 31), cellOf(levels("new", "y", 0), drop.Held, 40)})
	one.strength(more, censor.Normal) // a ratio needs logarithms: taken as Weibull
	near(t, "with a kind that held", one.Ratio, v.Estimate, 1e-5)
	if one.Pairs != 4 {
		t.Errorf("%d pairs", one.Pairs)
	}
	for _, p := range []cellPair{
		{cellOf(levels("old", "z", 0), drop.Broke, 9, 10), cellOf(levels("new", "z", 0), drop.Held, 8, 11)},
		{cellOf(levels("old", "z", 0), drop.Held, 9, 10), cellOf(levels("new", "z", 0), drop.Broke, 8, 11)},
		{cellOf(levels("old", "z", 0), drop.Broke, 9, 10), cellOf(levels("new", "z", 0), drop.Broke, 8, 11)},
	} {
		d := Difference{Factor: "age", Confidence: 0.9}
		if d.strength([]cellPair{p}, censor.Weibull); d.Pairs != 1 {
			t.Errorf("%d pairs", d.Pairs)
		}
	}
	held := Difference{Factor: "age", Confidence: 0.9}
	if held.strength(more[4:], censor.Weibull); held.Ratio != nil || held.Pairs != 0 || !strings.Contains(held.Missing.String(), "no specimen broke") {
		t.Errorf("%+v", held)
	}
}

// Two pairs: 10, 12 over 20, 22, 24 and 5, 6, 7 over 9, 11. The mean logarithm of the ratios (1/2 and 3/5); squares (n-1) s^2/m^2 = 2/121 + 8/484 + 2/36 + 2/100 on six degrees,
// t(6) = 2.446912; weights 1/2 + 1/3 + 1/3 + 1/2.
func TestRatioOfMeansOverTwoPairs(t *testing.T) {
	d := Difference{Confidence: 0.95}
	d.means([]cellPair{{cellOf(nil, drop.Held, 10, 12), cellOf(nil, drop.Held, 20, 22, 24)}, {cellOf(nil, drop.Held, 5, 6, 7), cellOf(nil, drop.Held, 9, 11)}}, ReadPeak)
	centre := (math.Log(0.5) + math.Log(0.6)) / 2
	half := 2.446912 * math.Sqrt((2./121+8./484+2./36+2./100)/6*(5./3)) / 2
	near(t, "ratio", d.Ratio, math.Exp(centre), 1e-12)
	near(t, "lo", d.Lo, math.Exp(centre-half), 1e-6)
	near(t, "hi", d.Hi, math.Exp(centre+half), 1e-6)
	if d.Pairs != 2 {
		t.Errorf("%+v", d)
	}
}

// What the valid drops of a cell show: void drops and those without an outcome do not count, a bound or nothing makes the mean one of those that are seen.
func TestMeasureOfACell(t *testing.T) {
	read := func(r Row) (censor.Value, bool) {
		switch r.Drop {
		case "none":
			return censor.Value{}, false
		case "zero":
			return censor.Exact(0), true
		}
		return ReadPeak(r)
	}
	row := func(name string, o drop.Outcome, kN float64) Row {
		p := quantity.Force(1000 * kN)
		return Row{Drop: name, Outcome: o, Peak: &p}
	}
	seen := []Row{row("a", drop.Held, 10), row("b", drop.Held, 12), row("c", drop.Held, 14)}
	out := []Row{row("v", drop.Void, 99), row("o", "", 99)}
	for name, c := range map[string]struct {
		rows    []Row
		values  int
		mean    float64
		spread  bool
		atLeast bool
		shown   bool
	}{
		"all seen":    {append(append([]Row{}, seen...), out...), 3, 12000, true, false, true},
		"one seen":    {seen[:1], 1, 10000, false, false, true},
		"two seen":    {seen[:2], 2, 11000, true, false, true},
		"a bound":     {append([]Row{row("x", drop.Broke, 30)}, seen...), 4, 12000, true, true, false},
		"one last":    {append(append([]Row{}, seen...), row("x", drop.Slipped, 30)), 4, 12000, true, true, false},
		"one silent":  {append([]Row{row("none", drop.Held, 30)}, seen...), 3, 12000, true, true, false},
		"one at zero": {append([]Row{row("zero", drop.Held, 30)}, seen...), 4, 9000, true, false, false},
		"none":        {out, 0, math.NaN(), false, false, false},
		"bounds only": {[]Row{row("x", drop.Broke, 30)}, 1, math.NaN(), false, true, false},
	} {
		m := MeasureCell(Cell{Drops: c.rows}, read, 0.95)
		if len(m.Values) != c.values || (m.Mean == nil) != math.IsNaN(c.mean) || m.Mean != nil && math.Abs(*m.Mean-c.mean) > 1e-9 ||
			(m.SD != nil) != c.spread || (m.Lo != nil) != c.spread || (m.Hi != nil) != c.spread || m.AtLeast != c.atLeast {
			t.Errorf("%s: %+v", name, m)
		}
		for _, v := range m.Values {
			if v.AtLeast != (v.Outcome != drop.Held) {
				t.Errorf("%s: %+v", name, v)
			}
		}
		if got, ok := shown(Cell{Drops: c.rows}, read); ok != c.shown || ok && len(got) != c.values {
			t.Errorf("%s: %v, %v", name, got, ok)
		}
	}
	p := cellPair{Cell{Drops: seen}, Cell{Drops: out}}
	if _, _, ok := p.shown(read); ok {
		t.Error("one side alone is a pair")
	}
	if _, _, ok := (cellPair{p.b, p.a}).shown(read); ok {
		t.Error("one side alone is a pair")
	}
}

// The sentence on a level by the sides that are bounded, and on chance by the adjusted p at the level.
func TestEffectSentences(t *testing.T) {
	lo, hi := 1.23456, 2.34567
	x := Effect{Factor: "knot", Level: "bowline", Base: "sewn", Ratio: 1.56789, PHolm: SignificanceLevel}
	const head = "knot bowline against sewn: median strength 1.57 times as high"
	for _, c := range []struct {
		lo, hi *float64
		p      float64
		want   string
	}{
		{&lo, &hi, SignificanceLevel, head + " (1.23 to 2.35); more than chance would explain (p = 0.050, adjusted; 90 % confidence)."},
		{&lo, nil, 0.2, head + " (at least 1.23; the data give no upper bound); chance alone may explain it (p = 0.20, adjusted; 90 % confidence)."},
		{nil, &hi, 0.001, head + " (at most 2.35; the data give no lower bound); more than chance would explain (p = 0.0010, adjusted; 90 % confidence)."},
		{nil, nil, 1, head + " (the data bound it on neither side); chance alone may explain it (p = 1.0, adjusted; 90 % confidence)."},
	} {
		x.Lo, x.Hi, x.PHolm = c.lo, c.hi, c.p
		if got := x.say("strength", 0.9).String(); got != c.want {
			t.Errorf("%s\nwant %s", got, c.want)
		}
	}
	e := Effects{Of: "strength", Interactions: []Interaction{{A: "knot", B: "age", P: SignificanceLevel / 2}, {A: "knot", B: "wet", P: 0.4}}}
	if err := e.adjust(); err != nil {
		t.Fatal(err)
	}
	if got := e.Interactions[0].Statement.String(); got != "The effect of knot on the strength depends on age (p = 0.050, adjusted): the ratios above are averages; look at the cells." {
		t.Error(got)
	}
	if got := e.Interactions[1].Statement.String(); got != "No sign that the effect of knot on the strength depends on wet (p = 0.40, adjusted), which does not show that it does not." {
		t.Error(got)
	}
}

// Values seen beyond the coefficients: fewer than five are said. What the design cannot tell, what it does not cross, and what too few values cannot say, is left out by name.
func TestWhatARegressionLeavesOut(t *testing.T) {
	const few = "the intervals and p-values of this regression allow for that"
	warned := func(e *Effects, what string) bool {
		return strings.Contains(strings.Join(message.Texts(e.Warnings), "\n"), what)
	}
	left := func(e *Effects, what string) bool {
		return strings.Contains(strings.Join(message.Texts(e.LeftOut), "\n"), what)
	}
	peaks := func(n int, base float64) []float64 {
		var x []float64
		for i := range n {
			x = append(x, base+100*float64(i*i%5))
		}
		return x
	}
	for n := 3; n <= 4; n++ {
		e, err := PeakEffects(entriesOf(cellData{"overhand", 0.9, peaks(n, 9000), nil}, cellData{"sewn", 0.9, peaks(3, 12000), nil}), Against{}, 0.9)
		if err != nil || len(e.Effects) != 1 {
			t.Fatalf("%+v, %v", e, err)
		}
		// n + 3 values less one level and the reference.
		if warned(e, few) != (n+3-2 < 5) || n == 3 && !warned(e, "6 values were seen for 2 coefficients of the peak force") {
			t.Errorf("%d: %q", n, message.Texts(e.Warnings))
		}
		if len(e.LeftOut) != 0 || e.Reference["knot"] != "sewn" {
			t.Errorf("%d: %q, %v", n, message.Texts(e.LeftOut), e.Reference)
		}
	}
	// Only one of three knots fell less: which of the two it is cannot be told.
	e, err := PeakEffects(entriesOf(cellData{"overhand", 0.45, peaks(4, 9000), nil}, cellData{"sewn", 0.9, peaks(4, 12000), nil}, cellData{"bowline", 0.9, peaks(4, 10000), nil}), Against{}, 0.9)
	if err != nil || !left(e, "the design cannot tell these apart from the others: ") {
		t.Errorf("%+v, %v", e, err)
	}
	// Three of four cells: nothing crosses.
	e, err = PeakEffects(entriesOf(cellData{"overhand", 0.9, peaks(4, 9000), nil}, cellData{"sewn", 0.9, peaks(4, 12000), nil}, cellData{"sewn", 0.45, peaks(4, 8000), nil}), Against{}, 0.9)
	if err != nil || !left(e, "the cells of the design do not cross these factors") || len(e.Interactions) != 0 {
		t.Errorf("%+v, %v", e, err)
	}
	// All four cells need three levels and one interaction: at least six values.
	for n := 1; n <= 2; n++ {
		e, err = PeakEffects(entriesOf(cellData{"overhand", 0.9, peaks(2, 9000), nil}, cellData{"overhand", 0.45, peaks(1, 7000), nil},
			cellData{"sewn", 0.9, peaks(1, 12000), nil}, cellData{"sewn", 0.45, peaks(n, 8000), nil}), Against{}, 0.9)
		if err != nil {
			t.Fatal(err)
		}
		if tooFew := n == 1; left(e, fmt.Sprintf("%d values are too few to ask", n+4)) != tooFew || (len(e.Interactions) == 0) != tooFew {
			t.Errorf("%d: %q, %+v", n, message.Texts(e.LeftOut), e.Interactions)
		}
	}
}

// Without bounds the ratios of levels are those of the geometric means of their peaks where the cells are equally filled: knots at e^9, e^9.3, e^9.1 and falls 0.4 apart, materials 0.2. Three
// factors make three pairs.
func TestEffectsOfThreeFactors(t *testing.T) {
	var in []Entry
	knots, materials := map[string]float64{"bowline": 9, "overhand": 9.3, "sewn": 9.1}, map[string]float64{"aramid": 0, "polyester": 0.2}
	for knot, base := range knots {
		for material, more := range materials {
			for fall := range 2 {
				for _, off := range []float64{-0.01, 0.01} {
					e := entry(fmt.Sprint("e", len(in)), knot, drop.Held, math.Exp(base+more+0.4*float64(fall)+off))
					e.Drop.Specimen.Material, e.Drop.Fall = material, quantity.Length(0.45*float64(1+fall))
					in = append(in, e)
				}
			}
		}
	}
	e, err := PeakEffects(in, Against{}, 0.95)
	if err != nil || len(e.Effects) != 4 || len(e.Interactions) != 3 || len(e.LeftOut) != 1 || !strings.Contains(e.LeftOut[0].String(), "fall factor goes with fall in every drop") {
		t.Fatalf("%+v, %v", e, err)
	}
	want := map[string]float64{"overhand": 0.2, "bowline": 0.1, "polyester": 0.2, "aramid": 0.2} // over sewn, and either material over the one that was entered first
	for _, x := range e.Effects {
		log, ok := want[x.Level]
		if !ok {
			log = 0.4
		}
		if math.Abs(math.Abs(math.Log(x.Ratio))-log) > 1e-9 || !(*x.Lo < x.Ratio && x.Ratio < *x.Hi) || !(x.P < 1e-3) {
			t.Errorf("%+v, want e^%g", x, log)
		}
	}
	pairs := map[string]bool{}
	for _, i := range e.Interactions {
		pairs[i.A+i.B] = true
	}
	if len(pairs) != 3 {
		t.Errorf("%+v", e.Interactions)
	}
}

// Percentiles by position: of 1 to 100 at a half the 26th and the 76th, of 1 to 3 the first and the last. One draw in twenty may fail, not more; groups below eight are counted.
func TestPercentilesByPosition(t *testing.T) {
	one := &Bootstrap{figures: []figure{{name: message.Say("f"), value: 7}}}
	draws := func(n, failed int) [][]float64 {
		var out [][]float64
		for i := range n {
			x := float64(n - i)
			if i < failed {
				x = math.NaN()
			}
			out = append(out, []float64{x})
		}
		return out
	}
	for _, c := range []struct {
		n, failed int
		lo, hi    float64
	}{{100, 0, 26, 76}, {3, 0, 1, 3}, {100, 5, 24, 73}} {
		out, warnings := one.SumUp(draws(c.n, c.failed), 0.5)
		if len(warnings) != 0 || len(out) != 1 || out[0].Lo == nil || *out[0].Lo != c.lo || *out[0].Hi != c.hi || out[0].Value != 7 || out[0].Draws != c.n || out[0].Failed != c.failed {
			t.Errorf("%+v: %+v, %v", c, out, warnings)
		}
	}
	out, warnings := one.SumUp(draws(1000, 125), 0.5)
	if len(warnings) != 1 || !strings.HasPrefix(warnings[0].String(), "f: 12 % of the draws gave no number") && !strings.HasPrefix(warnings[0].String(), "f: 13 % of the draws gave no number") || out[0].Lo != nil || out[0].Hi != nil || out[0].Failed != 125 {
		t.Errorf("%+v, %v", out, warnings)
	}
	if out, _ := one.SumUp(draws(1000, 51), 0.5); out[0].Lo != nil {
		t.Errorf("51 of 1000 failed: %+v", out)
	}
	if out, _ := one.SumUp(draws(1000, 50), 0.5); out[0].Lo == nil {
		t.Errorf("50 of 1000 failed: %+v", out)
	}
	groups := &Bootstrap{cells: [][]float64{make([]float64, 7), make([]float64, 8)}, kinds: [][]censor.Value{make([]censor.Value, 7), make([]censor.Value, 8), make([]censor.Value, 3)}}
	if _, w := groups.SumUp(nil, 0.9); len(w) != 1 || !strings.Contains(w[0].String(), "in 3 of 5 groups") {
		t.Errorf("%v", w)
	}
}

// Two held drops make a mean, one does not, nor does a cell with a break. The ratio of pairs is the mean of the differences of their mean logarithms; the median is that of the fit.
func TestBootstrapFigures(t *testing.T) {
	in := entriesOf(
		cellData{"overhand", 0.45, []float64{8000, 9000}, nil}, cellData{"sewn", 0.45, []float64{12000, 12500}, nil},
		cellData{"overhand", 0.9, []float64{9000, 9900}, nil}, cellData{"sewn", 0.9, []float64{15000, 15500, 16000}, nil},
		cellData{"overhand", 1.35, []float64{9500, 9600}, []float64{9700, 9800, 9750}}, cellData{"sewn", 1.35, []float64{20000, 20500}, nil},
		cellData{"overhand", 1.8, []float64{9700, 9900}, nil}, cellData{"sewn", 1.8, []float64{22000}, nil})
	kinds, err := SpecimenKinds(in, StrengthOptions{Confidence: 0.95})
	if err != nil {
		t.Fatal(err)
	}
	cells, err := Cells(in, 0.95)
	if err != nil {
		t.Fatal(err)
	}
	b := NewBootstrap(cells, kinds, Against{})
	means, ratios, medians := 0, 0, 0
	low := math.Log(8000*9000)/2 - math.Log(12000*12500)/2
	high := math.Log(9000*9900)/2 - math.Log(15000.0*15500*16000)/3
	for _, f := range b.figures {
		switch name := f.name.String(); {
		case strings.HasPrefix(name, "geometric mean peak"):
			means++
		case strings.Contains(name, "peak ratio") && strings.Contains(name, "overhand"):
			ratios++
			want := math.Exp((low + high) / 2)
			if strings.HasPrefix(name, "peak ratio, sewn over") {
				want = 1 / want
			}
			if !(math.Abs(f.value/want-1) <= 1e-9) {
				t.Errorf("%s: %g, want %g", name, f.value, want)
			}
		case strings.HasPrefix(name, "median strength"):
			medians++
			k := kinds[0]
			if want := k.model.Quantile(0.5); math.Abs(f.value/want-1) > 1e-9 {
				t.Errorf("%s: %g, want %g", name, f.value, want)
			}
		}
	}
	if means != 6 || ratios != 1 || medians != 1 || len(b.cells) != 6 || len(b.kinds) != 1 {
		t.Errorf("%d means, %d ratios, %d medians: %+v", means, ratios, medians, b)
	}
	out := make([][]float64, 40)
	for i := range out {
		out[i] = make([]float64, b.Figures())
	}
	b.Part(1, 0, out)
	for j, f := range b.figures {
		different, number := false, 0
		for _, d := range out {
			different = different || d[j] != out[0][j]
			if !math.IsNaN(d[j]) {
				number++
			}
		}
		if !different || number < 20 {
			t.Errorf("%s: %d numbers, different %v", f.name, number, different)
		}
	}
}
