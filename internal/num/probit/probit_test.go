package probit

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

func near(t *testing.T, what string, got, want, rel float64) {
	t.Helper()
	if math.IsInf(want, 0) && got == want {
		return
	}
	if !(math.Abs(got-want) <= rel*math.Abs(want)+1e-14) {
		t.Errorf("%s: %.15g, want %.15g", what, got, want)
	}
}

func fit(t testing.TB, levels ...Level) *Fit {
	t.Helper()
	f, err := New(levels)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// Two levels are met exactly by a line: 1 of 3 broke at 1.0, 2 of 3 at 1.2. By symmetry Mu = 1.1, and
// Sigma = 0.1/Phi^-1(2/3) = 0.1/0.430727299295457; l = 2 (ln(1/3) + 2 ln(2/3)).
func TestTwoLevelsByHand(t *testing.T) {
	f := fit(t, Level{1.2, 2, 1}, Level{1.0, 1, 2})
	if f.State != Identified {
		t.Fatalf("state %v", f.State)
	}
	near(t, "mu", f.Mu, 1.1, 1e-12)
	near(t, "sigma", f.Sigma, 0.1/0.430727299295457, 1e-11)
	near(t, "l", f.LogLik, 2*(math.Log(1./3)+2*math.Log(2./3)), 1e-13)
	near(t, "third", f.Quantile(1./3), 1.0, 1e-12)
}

// R 4.2.2, glm with family binomial(probit), profiles by optimize and uniroot: bench/power/reference.R.
func TestAgainstR(t *testing.T) {
	big := fit(t, Level{.8, 0, 2}, Level{1.1, 2, 18}, Level{1.4, 18, 9}, Level{1.7, 10, 0}, Level{2, 1, 0})
	near(t, "mu", big.Mu, 1.32167575195, 1e-11)
	near(t, "sigma", big.Sigma, 0.166778948174, 1e-11)
	near(t, "l", big.LogLik, -23.8263197098, 1e-11)
	small := fit(t, Level{1, 0, 1}, Level{1.2, 1, 2}, Level{1.4, 2, 1}, Level{1.6, 1, 0})
	near(t, "mu", small.Mu, 1.3, 1e-12)
	near(t, "sigma", small.Sigma, 0.171280297785, 1e-9) // where glm stopped
	for _, c := range []struct {
		f          *Fit
		p, lo, hi  float64
		estimate   float64
		confidence float64
	}{
		{big, .5, 1.24949953, 1.39345065, 1.32167575195, .95},
		{big, .05, 0.845061893, 1.15848938, 1.04734879415, .95},
		{small, .5, math.Inf(-1), math.Inf(1), 1.3, .95},
		{small, .05, math.Inf(-1), 1.23453616, 1.01826898096, .95},
	} {
		v, err := c.f.Interval(c.p, c.confidence)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "estimate", v.Estimate, c.estimate, 1e-10)
		near(t, "lo", v.Lo, c.lo, 2e-8)
		near(t, "hi", v.Hi, c.hi, 2e-8)
	}
}

// The profile of a separated series has closed forms. One held at 0, one broke at 1, p = 1/2: one probability for all gives
// l = -2 ln 2 = -1.386, within 1.92 of the least upper bound 0, so that both sides are open. With two of each, 4 ln 2 = 2.77:
// both closed; a median x < 0 gives 2 ln Phi(s x) + 2 ln Phi(s (1-x)), at s = 0+ and x = 0- still -2 ln 2, so that the
// ends lie outside the gap. With three of each the profile falls from 0 to -3 ln 2 = -2.08 at the ends of the gap.
func TestSeparated(t *testing.T) {
	f := fit(t, Level{0, 0, 1}, Level{1, 1, 0})
	v, err := f.Interval(.5, .95)
	if err != nil || f.State != Separated || f.LogLik != 0 || !math.IsInf(v.Lo, -1) || !math.IsInf(v.Hi, 1) || !math.IsNaN(f.Mu) {
		t.Errorf("%+v %+v %v", f, v, err)
	}
	f = fit(t, Level{0, 0, 2}, Level{1, 2, 0})
	v, err = f.Interval(.5, .95)
	if err != nil || !(v.Lo < 0 && v.Hi > 1) || math.IsInf(v.Lo, 0) {
		t.Errorf("%+v %v", v, err)
	}
	near(t, "symmetry", v.Lo, 1-v.Hi, 1e-9)
	best := math.Inf(-1)
	for s := 0.0; s < 20; s += 1e-4 {
		best = math.Max(best, 2*LogPhi(s*v.Lo)+2*LogPhi(s*(1-v.Lo)))
	}
	near(t, "profile at the end", best, -1.920729410347062, 1e-6) // half the 95 % point of chi-squared, 3.841458820694124
	if f.HeldTo != 0 || f.BrokeFrom != 1 {
		t.Errorf("gap %g to %g", f.HeldTo, f.BrokeFrom)
	}
	v, err = fit(t, Level{0, 0, 3}, Level{1, 3, 0}).Interval(.5, .95)
	if err != nil || math.Abs(v.Lo) > 1e-9 || math.Abs(v.Hi-1) > 1e-9 {
		t.Errorf("%+v %v", v, err)
	}
}

func TestStates(t *testing.T) {
	for _, c := range []struct {
		levels []Level
		want   Identification
		l      float64
	}{
		{[]Level{{1, 0, 3}, {2, 0, 1}}, OneOutcome, 0},
		{[]Level{{1, 2, 0}}, OneOutcome, 0},
		{[]Level{{1, 0, 1}, {2, 1, 2}, {3, 1, 0}}, Touching, math.Log(1./3) + 2*math.Log(2./3)},
		{[]Level{{1, 1, 1}}, Touching, -2 * math.Ln2},
		{[]Level{{1, 1, 0}, {2, 0, 1}}, Flat, -2 * math.Ln2},
		{[]Level{{1, 1, 1}, {2, 1, 1}}, Flat, -4 * math.Ln2},
	} {
		f := fit(t, c.levels...)
		if f.State != c.want || !math.IsNaN(f.Mu) {
			t.Errorf("%v: %v %v, want %v", c.levels, f.State, f.Mu, c.want)
		}
		near(t, "l", f.LogLik, c.l, 1e-13)
		_, err := f.Interval(.5, .95)
		if (err != nil) != (c.want == OneOutcome) {
			t.Errorf("%v: %v", c.levels, err)
		}
	}
	if _, err := New(nil); err == nil {
		t.Error("nothing was fitted")
	}
	if _, err := New([]Level{{math.NaN(), 1, 0}}); err == nil {
		t.Error("NaN was fitted")
	}
	if _, err := fit(t, Level{1, 1, 1}).Interval(5, .95); err == nil {
		t.Error("a quantile of 5 was accepted")
	}
}

// Far tails by R 4.2.2: pnorm(-40, log.p = TRUE), pnorm(8, log.p = TRUE), and exp(dnorm(-30, log = TRUE) - pnorm(-30, log.p = TRUE)).
func TestTails(t *testing.T) {
	near(t, "ln Phi(-40)", LogPhi(-40), -804.608442013754, 1e-13)
	near(t, "ln Phi(8)", LogPhi(8), -6.220960574271786e-16, 1e-12)
	near(t, "Mills(-30)", Mills(-30), 30.0332596674347, 1e-9)
	near(t, "mills joins", Mills(-30-1e-9), Mills(-30+1e-9), 1e-8)
	near(t, "log joins", LogPhi(-30-1e-9), LogPhi(-30+1e-9), 1e-9)
}

func series(t *rapid.T) []Level {
	n := rapid.IntRange(2, 6).Draw(t, "levels")
	out := make([]Level, n)
	for i := range out {
		out[i] = Level{1 + 0.1*float64(i), rapid.IntRange(0, 4).Draw(t, "broke"), rapid.IntRange(0, 4).Draw(t, "held")}
	}
	return out
}

// The interval holds the estimate, its finite ends are where it stops to hold, and everything moves with the levels' origin and unit.
func TestIntervalProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		levels := series(t)
		p := rapid.SampledFrom([]float64{.05, .3, .5, .9}).Draw(t, "p")
		f, err := New(levels)
		if err != nil || f.State == OneOutcome {
			return
		}
		v, err := f.Interval(p, .95)
		if err != nil {
			t.Fatal(err)
		}
		if f.State == Identified && !(v.Lo <= v.Estimate && v.Estimate <= v.Hi) {
			t.Fatalf("%+v", v)
		}
		for _, c := range []struct{ x, outward float64 }{{v.Lo, -1}, {v.Hi, 1}} {
			if math.IsInf(c.x, 0) || math.Abs(c.x) > 1e4 {
				continue
			}
			if in, out := f.Holds(p, c.x, .95), f.Holds(p, c.x+c.outward*1e-7, .95); !in || out {
				t.Fatalf("at %g of %v: holds %v, beyond %v", c.x, levels, in, out)
			}
		}
		moved := make([]Level, len(levels))
		for i, l := range levels {
			moved[i] = Level{3*l.X + 7, l.Broke, l.Held}
		}
		g, _ := New(moved)
		w, err := g.Interval(p, .95)
		if err != nil {
			t.Fatal(err)
		}
		for _, pair := range [][2]float64{{v.Lo, w.Lo}, {v.Hi, w.Hi}} {
			if a, b := 3*pair[0]+7, pair[1]; a != b && math.Abs(a-b) > 1e-5*(1+math.Abs(a)) {
				t.Fatalf("%v became %v", v, w)
			}
		}
	})
}

func BenchmarkInterval(b *testing.B) {
	f := fit(b, Level{.8, 0, 2}, Level{1.1, 2, 18}, Level{1.4, 18, 9}, Level{1.7, 10, 0}, Level{2, 1, 0})
	b.ReportAllocs()
	for b.Loop() {
		if _, err := f.Interval(.05, .95); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkFit(b *testing.B) {
	levels := []Level{{.8, 0, 2}, {1.1, 2, 18}, {1.4, 18, 9}, {1.7, 10, 0}, {2, 1, 0}}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := New(levels); err != nil {
			b.Fatal(err)
		}
	}
}
