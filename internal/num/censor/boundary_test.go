package censor

import (
	"errors"
	"math"
	"math/big"
	"math/rand/v2"
	"strings"
	"testing"
)

// What a value may not be, with what is said of it; zeros and counts are values.
func TestValuesRefused(t *testing.T) {
	inf, nan := math.Inf(1), math.NaN()
	for _, c := range []struct {
		v    Value
		want string
	}{
		{Value{Lo: nan, Hi: 1}, "not a number"},
		{Value{Lo: 1, Hi: nan}, "not a number"},
		{Value{Lo: inf, Hi: inf}, "a value at infinity"},
		{Value{Lo: -inf, Hi: -inf}, "a value at infinity"},
		{Value{Lo: -inf, Hi: inf}, "without any bound"},
		{Value{Lo: 2, Hi: 1}, "the lower bound 2 lies above the upper bound 1"},
		{Value{Lo: 1, Hi: 1, Count: -1}, "a count of -1"},
	} {
		if err := c.v.Check(); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%+v: %v", c.v, err)
		}
	}
	for v, kind := range map[Value]Kind{AtLeast(1): RightCensored, AtMost(1): LeftCensored, Between(1, 2): IntervalCensored, Exact(0): Observed, {Count: 7}: Observed} {
		if err := v.Check(); err != nil || v.Kind() != kind {
			t.Errorf("%+v: kind %v, %v", v, v.Kind(), err)
		}
	}
}

// Confidences and probabilities lie between 0 and 1, and neither is one of them.
func TestQuestionsOutOfRange(t *testing.T) {
	m := mustFit(t, handbook(), Weibull)
	for _, p := range []float64{-0.1, 0, 1, 1.2, 95, math.NaN()} {
		if _, err := ExactBinomial(1, 3, p); err == nil {
			t.Errorf("binomial at confidence %g", p)
		}
		if s, err := SuccessRun(3, p); !errors.Is(err, ErrArgument) || s != 0 {
			t.Errorf("success run at confidence %g: %g, %v", p, s, err)
		}
		if _, err := m.QuantileInterval(p, .95); !errors.Is(err, ErrArgument) {
			t.Errorf("quantile %g: %v", p, err)
		}
		if _, err := m.QuantileInterval(.05, p); !errors.Is(err, ErrArgument) {
			t.Errorf("quantile at confidence %g: %v", p, err)
		}
	}
	// One specimen that held: (1 - confidence)^1.
	s, err := SuccessRun(1, .9)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "success run of one", s, .1, 1e-14, 0)
	if s, err := SuccessRun(0, .9); !errors.Is(err, ErrArgument) || s != 0 {
		t.Errorf("a success run of none: %g, %v", s, err)
	}
	b, err := ExactBinomial(3, 12, .95)
	if err != nil || b.Estimate != .25 {
		t.Errorf("3 of 12: %+v, %v", b, err)
	}
}

func TestFamilyNames(t *testing.T) {
	for f := Weibull; f <= Exponential; f++ {
		if got, err := ParseFamily(" " + strings.ToUpper(f.String()) + " "); err != nil || got != f {
			t.Errorf("%s: %v, %v", f, got, err)
		}
	}
	for _, f := range []Family{-1, Exponential + 1} {
		if f.String() != "unknown family" {
			t.Errorf("%d is %s", int(f), f)
		}
		if _, err := Fit([]Value{Exact(1), Exact(2)}, f); !errors.Is(err, ErrArgument) {
			t.Errorf("family %d: %v", int(f), err)
		}
	}
	if f, err := ParseFamily("gamma"); !errors.Is(err, ErrArgument) || f != 0 {
		t.Errorf("gamma: %v, %v", f, err)
	}
}

// Densities and means of the textbooks: Weibull of shape k and scale s, k/s (x/s)^(k-1) exp(-(x/s)^k) with mean s Gamma(1 + 1/k), at k = 2 s sqrt(pi)/2;
// exponential; normal; lognormal with mean exp(mu + sigma^2/2). Nothing lies at 0 or below where logarithms are taken.
func TestDensitiesAndMeans(t *testing.T) {
	const k, s, x = 2.0, 3.0, 2.5
	w := located{Weibull, math.Log(s), 1 / k}
	near(t, "Weibull density", w.logDensity(x), math.Log(k/s)+(k-1)*math.Log(x/s)-math.Pow(x/s, k), 1e-13, 0)
	near(t, "Weibull mean", w.mean(), s*math.Sqrt(math.Pi)/2, 1e-13, 0)
	e := located{Exponential, math.Log(s), 1}
	near(t, "exponential density", e.logDensity(x), -math.Log(s)-x/s, 1e-13, 0)
	near(t, "exponential mean", e.mean(), s, 1e-13, 0)
	n := located{Normal, 1, 2}
	near(t, "normal density", n.logDensity(4), -math.Log(2*math.Sqrt(2*math.Pi))-1.5*1.5/2, 1e-13, 0)
	near(t, "normal density below 0", n.logDensity(-2), -math.Log(2*math.Sqrt(2*math.Pi))-1.5*1.5/2, 1e-13, 0)
	near(t, "normal mean", n.mean(), 1, 0, 0)
	l := located{Lognormal, 1, 2}
	near(t, "lognormal density", l.logDensity(math.Exp(4)), -math.Log(2*math.Sqrt(2*math.Pi))-1.5*1.5/2-4, 1e-13, 0)
	near(t, "lognormal mean", l.mean(), math.Exp(3), 1e-13, 0)
	for _, d := range []located{w, e, l} {
		for _, x := range []float64{0, -1} {
			if y := d.logDensity(x); !math.IsInf(y, -1) {
				t.Errorf("%s: density at %g: %g", d.family, x, y)
			}
			if c, s := d.cdf(x), d.survival(x); c != 0 || s != 1 {
				t.Errorf("%s: %g up to %g, %g above", d.family, c, x, s)
			}
		}
		if y := d.logDensity(.5); math.IsInf(y, 0) {
			t.Errorf("%s: density at .5: %g", d.family, y)
		}
	}
	// The tail of chi-squared with two degrees of freedom is exp(-x/2).
	near(t, "chi-squared", chi2Tail(3, 2), math.Exp(-1.5), 1e-13, 0)
	near(t, "chi-squared at 0", chi2Tail(0, 2), 1, 0, 0)
	near(t, "chi-squared below 0", chi2Tail(-1, 2), 1, 0, 0)
}

// h (h - z) of the far tail from the continued fraction in 200 bits (Abramowitz and Stegun 26.2.14).
func TestHazardSlopeFarOut(t *testing.T) {
	for _, z := range []float64{30.001, 31, 40, 100} {
		_, slope := normalHazard(z)
		x := big.NewFloat(z).SetPrec(200)
		h := new(big.Float).Copy(x)
		for k := 300; k > 0; k-- {
			h.Quo(new(big.Float).SetPrec(200).SetInt64(int64(k)), h)
			h.Add(h, x)
		}
		want, _ := new(big.Float).Mul(h, new(big.Float).Sub(h, x)).Float64()
		near(t, "slope", slope, want, 3e-11, 0)
		near(t, "tail", millsSeries(z), z*mills(z), 5e-14, 0)
	}
}

// Differences that would lose their digits: ln(1 - e^-d) = ln d - d/2 + d^2/24 for small d and -e^-d for large d; the extreme-value probability of a narrow interval
// from a is exp(-e^a) (1 - exp(-e^a (e^w - 1))).
func TestNarrowAndWide(t *testing.T) {
	for _, d := range []float64{1e-12, 1e-6, 1e-3} {
		near(t, "small d", logOneMinusExp(d), math.Log(d)-d/2+d*d/24, 1e-14, 0)
	}
	for _, d := range []float64{20.0, 40, 600} {
		near(t, "large d", logOneMinusExp(d), -math.Exp(-d)-math.Exp(-2*d)/2, 1e-12, 0)
	}
	for _, a := range []float64{-3, 0, 3} {
		b := a + 1e-9
		d := math.Exp(a) * math.Expm1(b-a)
		near(t, "narrow extreme", logExtremeBetween(a, b), -math.Exp(a)+math.Log(d)-d/2, 0, 1e-12)
	}
	if l := logExtremeBetween(710, 711); !math.IsInf(l, -1) {
		t.Errorf("beyond the range of numbers: %g", l)
	}
}

// Below w = e^z = 1e-5 the term of a left-censored extreme value goes by its series. r = w/(e^w - 1) keeps its digits there, and so does ln(1 - e^-w);
// r (1 - w - r) keeps ten.
func TestSmallLeftTerm(t *testing.T) {
	for _, w := range []float64{0.99e-5, 3e-6, 1e-7} {
		s := belowTerm(true, math.Log(w))
		r := w / math.Expm1(w)
		near(t, "value", s.l, math.Log(-math.Expm1(-w)), 3e-15, 0)
		near(t, "first", s.d1, r, 3e-15, 0)
		near(t, "second", s.d2, -w/2*(1-w/3), 1e-13, 0)
		near(t, "second, by differences", s.d2, r*(1-w-r), 1e-14/w, 0)
	}
	// Far above, everything lies below.
	if s := belowTerm(true, math.Log(701)); s != (slopes1{}) {
		t.Errorf("%+v", s)
	}
}

// A functional, its slope (by differences with d = 1e-6) and its plane agree away from the estimate too: a.phi = d where it has the value, and a.phi - d
// changes with the value as constraintSlope says.
func TestFunctionals(t *testing.T) {
	phi := []float64{0.7, -1.3, 1.9}
	for _, f := range []*functional{
		{kind: ratio, c: []float64{2, -0.5}, z: 0.4},
		{kind: tail, c: []float64{2, -0.5}, y: 1.7},
		{kind: precision},
	} {
		v := f.at(phi)
		want := map[functionalKind]float64{ratio: (2*0.7 + 0.5*1.3 + 0.4) / 1.9, tail: 1.9*1.7 - (2*0.7 + 0.5*1.3), precision: 1.9}[f.kind]
		near(t, "value", v, want, 1e-14, 0)
		g := make([]float64, 3)
		f.slope(g, phi)
		on := plane{a: make([]float64, 3)}
		f.hold(&on, v)
		near(t, "plane", dot(on.a, phi), on.d, 1e-13, 1e-14)
		missed := func(v float64) float64 { f.hold(&on, v); return dot(on.a, phi) - on.d }
		const d = 1e-6
		near(t, "constraint", f.constraintSlope(phi), (missed(v+d)-missed(v-d))/(2*d), 1e-8, 0)
		for i := range phi {
			up, down := append([]float64{}, phi...), append([]float64{}, phi...)
			up[i] += d
			down[i] -= d
			near(t, "slope", g[i], (f.at(up)-f.at(down))/(2*d), 1e-8, 1e-9)
		}
	}
}

// An interval is open where the search did not close it or where it reaches the end of what is possible, and says so.
func TestIntervalSettles(t *testing.T) {
	for _, c := range []struct {
		v                Interval
		openLo, openHi   bool
		lo, hi           float64
		note, confidence string
	}{
		{Interval{Lo: 1, Hi: 2}, false, false, 1, 2, "", ""},
		{Interval{Lo: 0, Hi: 2}, true, false, 0, 2, "from below", "at 90 % confidence"},
		{Interval{Lo: 1, Hi: 9}, false, true, 1, 9, "from above", "at 90 % confidence"},
		{Interval{Lo: 1, Hi: 2, OpenLo: true}, true, false, 0, 2, "from below", ""},
		{Interval{Lo: 1, Hi: 2, OpenHi: true}, false, true, 1, 9, "from above", ""},
		{Interval{Lo: 1, Hi: 2, OpenLo: true, OpenHi: true}, true, true, 0, 9, "on either side", ""},
		{Interval{Lo: -1, Hi: 10}, true, true, 0, 9, "on either side", ""},
	} {
		c.v.Confidence = .9
		v := c.v.settle("median", 0, 9)
		if v.OpenLo != c.openLo || v.OpenHi != c.openHi || v.Lo != c.lo || v.Hi != c.hi || (v.Note == "") != (c.note == "") ||
			!strings.Contains(v.Note, c.note) || !strings.Contains(v.Note, c.confidence) || c.note != "" && !strings.Contains(v.Note, "the median") {
			t.Errorf("%+v became %+v", c.v, v)
		}
	}
}

// Six values, all seen, with a tie: S = 4/6, 3/6, 2/6, 1/6, 0 after 2 (twice), 3, 4, 5, 6. At the end nothing is left to be wrong about, and nothing is said of it. With z = 1.96 the
// plain interval after 5 is cut at 0: Greenwood's error of a share 1/6 of 6 is sqrt(1/6 5/6 / 6) = 0.152.
func TestCurveWithATie(t *testing.T) {
	c, err := KaplanMeier([]Value{Exact(2), Exact(3), Exact(4), Exact(2), Exact(5), Exact(6)}, .95)
	if err != nil {
		t.Fatal(err)
	}
	want := []float64{4. / 6, 3. / 6, 2. / 6, 1. / 6, 0}
	if len(c.Points) != len(want) {
		t.Fatalf("%+v", c.Points)
	}
	for i, p := range c.Points {
		near(t, "survival", p.Survival, want[i], 1e-14, 0)
		if i < 4 {
			near(t, "error", p.SE, math.Sqrt(want[i]*(1-want[i])/6), 1e-12, 0)
		}
	}
	if c.Points[0].Events != 2 || c.Points[0].AtRisk != 6 || c.Points[1].AtRisk != 4 {
		t.Errorf("%+v", c.Points)
	}
	if p := c.Points[3]; p.Lo != 0 || !(p.Hi > 0 && p.LogLogLo > 0 && p.LogLogLo < p.LogLogHi) {
		t.Errorf("%+v", p)
	}
	if p := c.Points[4]; !math.IsNaN(p.Lo) || !math.IsNaN(p.Hi) || !math.IsNaN(p.LogLogLo) || !math.IsNaN(p.LogLogHi) {
		t.Errorf("%+v", p)
	}
	says := func(values []Value) (ends, few bool) {
		t.Helper()
		c, err := KaplanMeier(values, .95)
		if err != nil {
			t.Fatal(err)
		}
		for _, w := range c.Warnings {
			ends = ends || strings.Contains(w, "The curve ends at 0")
			few = few || strings.Contains(w, "fewer than five values")
		}
		return ends, few
	}
	for _, c := range []struct {
		values    []Value
		ends, few bool
	}{
		{[]Value{Exact(1), Exact(2), Exact(3), Exact(4), Exact(5)}, true, false},
		{[]Value{Exact(1), Exact(2), Exact(3), Exact(4), Exact(5), AtLeast(6)}, false, false},
		{[]Value{Exact(1), Exact(2), Exact(3), Exact(4)}, true, true},
		{[]Value{Exact(1), Exact(1), AtLeast(4)}, false, true},
	} {
		if ends, few := says(c.values); ends != c.ends || few != c.few {
			t.Errorf("%v: ends %v, few %v", c.values, ends, few)
		}
	}
	if _, err := KaplanMeier([]Value{Exact(1), Exact(2), AtMost(3)}, .95); err == nil || !strings.HasPrefix(err.Error(), "value 3 ") {
		t.Errorf("%v", err)
	}
	if _, err := KaplanMeier([]Value{Exact(1), Exact(2), Exact(math.NaN())}, .95); err == nil || !strings.HasPrefix(err.Error(), "value 3: ") {
		t.Errorf("%v", err)
	}
}

// The product limit of the bounds themselves, by hand: of 2, 2+, 4, 5+, 7, 9+ one of five bounds lies at 2 (what broke at 2 no longer has one), one of the three left at 5, the last at 9.
// Cumulative: 1/5, 1 - 4/5 2/3 = 7/15, 1.
func TestBoundsByHand(t *testing.T) {
	all, counts, err := steps([]Value{Exact(2), AtLeast(2), Exact(4), AtLeast(5), Exact(7), AtLeast(9)}, "", "")
	if err != nil {
		t.Fatal(err)
	}
	b := newBounds(all, counts.N)
	if len(b.x) != 3 {
		t.Fatalf("%+v", b)
	}
	for i, want := range []struct{ x, cumulative float64 }{{2, 1. / 5}, {5, 7. / 15}, {9, 1}} {
		near(t, "bound", b.x[i], want.x, 0, 0)
		near(t, "cumulative", b.cumulative[i], want.cumulative, 1e-14, 0)
	}
	for _, c := range []struct{ u, want float64 }{{0, 2}, {.19, 2}, {b.cumulative[0], 5}, {.46, 5}, {.47, 9}, {.999, 9}} {
		if got := b.draw(constant(c.u)); got != c.want {
			t.Errorf("a draw of %g is bounded at %g, want %g", c.u, got, c.want)
		}
	}
	if x := (censorBounds{x: []float64{1}, cumulative: []float64{.5}}).draw(constant(.7)); !math.IsInf(x, 1) {
		t.Errorf("what remains is bounded at %g", x)
	}
	// 2 twice, 2+, 4, 5+ twice, 7 and 9+ against an exponential of scale 4: the integral over each piece of KM = c by Simpson's rule.
	d := located{family: Exponential, mu: math.Log(4), sigma: 1}
	all, counts, err = steps([]Value{Exact(2), Exact(2), AtLeast(2), Exact(4), {Lo: 5, Hi: math.Inf(1), Count: 2}, Exact(7), AtLeast(9)}, "", "")
	if err != nil {
		t.Fatal(err)
	}
	total := 0.0
	// KM: 0; 6/8 after 2; 6/8 4/5 after 4; 6/8 4/5 1/2 after 7.
	for _, p := range []struct{ from, to, c float64 }{{0, 2, 0}, {2, 4, 2. / 8}, {4, 7, 1 - 6./8*4/5}, {7, 9, 1 - 6./8*4/5/2}} {
		a, b := d.cdf(p.from), d.cdf(p.to)
		f := func(u float64) float64 {
			if p.c == 0 {
				return u / (1 - u)
			}
			return (p.c - u) * (p.c - u) / (u * (1 - u))
		}
		const n = 2000
		s := f(a) + f(b)
		for i := 1; i < n; i++ {
			s += float64(2+2*(i%2)) * f(a+(b-a)*float64(i)/n)
		}
		total += s * (b - a) / (3 * n)
	}
	near(t, "A2", andersonDarling(all, counts.N, d), 8*total, 1e-9, 0)
}

type constant float64

func (c constant) Float64() float64 { return float64(c) }

// counting counts what it was asked for.
type counting struct {
	r     *rand.Rand
	calls int
}

func (c *counting) Float64() float64 { c.calls++; return c.r.Float64() }

// p is (1 + more)/(1 + replicates): two clumps with nothing between are farther from a Weibull than any of 99 samples, p = 1/100.
// Each sample asks for two numbers a value. Where no sample has an estimate the search ends after 20 tries a replicate and one more.
func TestGoodnessByCount(t *testing.T) {
	var clumps []Value
	for i := range 20 {
		clumps = append(clumps, Exact(10+15*float64(i%2)+.01*float64(i)))
	}
	source := &counting{r: rand.New(rand.NewPCG(1, 2))}
	g, err := GoodnessOfFit(mustFit(t, clumps, Weibull), source, 99)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "p", g.P, 1./100, 1e-14, 0)
	if g.Redrawn != 0 || source.calls != 99*20*2 || len(g.Warnings) != 0 {
		t.Errorf("%+v after %d numbers", g, source.calls)
	}
	g, err = GoodnessOfFit(mustFit(t, clumps[:19], Weibull), source, 99)
	if err != nil || len(g.Warnings) != 1 || !strings.Contains(g.Warnings[0], "With 19 values seen of 19") {
		t.Errorf("%+v, %v", g, err)
	}

	m := mustFit(t, []Value{Exact(1), Exact(2), Exact(3), AtLeast(4)}, Weibull)
	always := &counting{r: rand.New(constantSource{})}
	if _, err := GoodnessOfFit(m, always, 99); !errors.Is(err, ErrNotIdentified) || always.calls != (20*99+1)*4*2 {
		t.Errorf("%v after %d numbers", err, always.calls)
	}
	for n, ok := range map[int]bool{2: false, 3: true} {
		m := mustFit(t, []Value{Exact(1), Exact(2), Exact(3)}[:n], Weibull)
		if _, err := GoodnessOfFit(m, source, 99); (err == nil) != ok {
			t.Errorf("%d values: %v", n, err)
		}
	}
	for n, ok := range map[int]bool{98: false, 99: true} {
		if _, err := GoodnessOfFit(m, rand.New(rand.NewPCG(5, 6)), n); (err == nil) != ok {
			t.Errorf("%d replicates: %v", n, err)
		}
	}
}

// constantSource gives the greatest number below 1 for ever: every specimen is strong and held.
type constantSource struct{}

func (constantSource) Uint64() uint64 { return math.MaxUint64 }

// More than a tenth of the samples drawn again is said, a tenth is not. A sample with one value seen has no estimate worth a statistic, one with two has.
func TestGoodnessDrawsAgain(t *testing.T) {
	values := []Value{Exact(10), Exact(12), Exact(13), {Lo: 14, Hi: math.Inf(1), Count: 3}}
	m := mustFit(t, values, Weibull)
	below, at, above := 0, 0, 0
	for seed := range uint64(25) {
		g, err := GoodnessOfFit(m, rand.New(rand.NewPCG(seed, 1)), 100)
		if err != nil {
			t.Fatal(err)
		}
		said := false
		for _, w := range g.Warnings {
			said = said || strings.Contains(w, "were drawn again")
		}
		if said != (10*g.Redrawn > 100) {
			t.Errorf("%d of 100 drawn again: %v", g.Redrawn, g.Warnings)
		}
		switch {
		case g.Redrawn == 10:
			at++
		case g.Redrawn > 10:
			above++
		default:
			below++
		}
	}
	if at == 0 || above == 0 || below == 0 {
		t.Errorf("%d below, %d at, %d above a tenth", below, at, above)
	}
	if _, ok := refit([]Value{Exact(10), AtLeast(12), AtLeast(9)}, Weibull); ok {
		t.Error("one value seen was compared")
	}
	if _, ok := refit([]Value{Exact(10), Exact(12), AtLeast(9)}, Weibull); !ok {
		t.Error("two values seen were not compared")
	}
}
