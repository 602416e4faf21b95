package probit

import (
	"math"
	"math/big"
	"testing"

	"pgregory.net/rapid"
)

// Slope and separation by hand. 3/2, 1/1 and 3/2 broke/held at 1, 1.1 and 1.2: the broken lie at (3*1 + 1*1.1 + 3*1.2)/7 = 7.7/7
// = 1.1 on average, the held at (2*1 + 1*1.1 + 2*1.2)/5 = 5.5/5 = 1.1: no slope at all, whatever 1.1 is in binary. With 1.201
// for 1.2 they lie at 7.703/7 and 5.502/5, apart by (5*7.703 - 7*5.502)/35 = +0.001/35; with 1.199 at 7.697/7 and 5.498/5, apart by
// (5*7.697 - 7*5.498)/35 = -0.001/35.
func TestSlopeByHand(t *testing.T) {
	at := func(first, middle, last float64) []Level {
		return []Level{{first, 3, 2}, {middle, 1, 1}, {last, 3, 2}}
	}
	for _, c := range []struct {
		levels []Level
		log    bool
		want   Identification
	}{
		{at(1, 1.1, 1.2), false, Flat},
		{at(1, 1.1, 1.201), false, Identified},
		{at(1, 1.1, 1.199), false, Flat},
		{at(1e-300, 1.1e-300, 1.2e-300), false, Flat},
		{at(1e300, 1.1e300, 1.2e300), false, Flat},
		{at(-1.2, -1.1, -1), false, Flat},
		// Equal ratios are equal steps of the logarithm, and its sum is that of the steps above: 0.
		{at(0.6, 1.2, 2.4), true, Flat},
		{at(0.7, 2.1, 6.3), true, Flat},
		{at(0.6, 1.2, 2.401), true, Identified},
		{at(0.6, 1.2, 2.399), true, Flat},
		// 1.2 less 0.1 less 0.1 is 1 in heights, and not in binary: at one height one held and one broke.
		{[]Level{{1.2 - 0.1 - 0.1 - 1e-16, 0, 1}, {1, 1, 0}}, false, Touching},
		{[]Level{{1, 0, 1}, {0.9999999999999999, 1, 0}, {1.1, 1, 0}}, true, Touching},
		// The eleventh figure is one that somebody wrote.
		{[]Level{{1, 0, 1}, {1.0000000001, 1, 0}}, false, Separated},
		{[]Level{{0, 1, 1}}, false, Touching},
	} {
		f, err := newFit(c.levels, c.log)
		if err != nil {
			t.Fatal(err)
		}
		if f.State != c.want || math.IsNaN(f.Mu) == (c.want == Identified) {
			t.Errorf("%v: state %d with %g, want state %d", c.levels, f.State, f.Mu, c.want)
		}
	}
}

// A fit of logarithms is the fit of the logarithms.
func TestLogarithms(t *testing.T) {
	levels := []Level{{1, 1, 5}, {1.2, 2, 4}, {1.4, 4, 3}, {1.6, 5, 1}}
	f, err := NewLog(levels)
	if err != nil {
		t.Fatal(err)
	}
	for i := range levels {
		levels[i].X = math.Log(levels[i].X)
	}
	g := fit(t, levels...)
	near(t, "mu", f.Mu, g.Mu, 1e-12)
	near(t, "sigma", f.Sigma, g.Sigma, 1e-12)
	near(t, "held to", f.HeldTo, math.Log(1.6), 1e-15)
	for _, x := range []float64{0, -1} {
		if _, err := NewLog([]Level{{x, 1, 1}}); err == nil {
			t.Errorf("the logarithm of %g was fitted", x)
		}
	}
}

// The state is what the counts say in fractions, in whatever unit and from whatever origin the heights are written, and looked at
// in a mirror (what broke held, and heights turn round). An identified maximum is one: the likelihood's slopes are 0 there.
func TestStateProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 5).Draw(t, "levels")
		tenths := rapid.SliceOfN(rapid.IntRange(-30, 30), n, n).Draw(t, "tenths")
		broke := rapid.SliceOfN(rapid.IntRange(0, 4), n, n).Draw(t, "broke")
		held := rapid.SliceOfN(rapid.IntRange(0, 4), n, n).Draw(t, "held")
		make := func(unit, origin, mirror float64) []Level {
			var out []Level
			for i, k := range tenths {
				l := Level{origin + unit*mirror*(float64(k)/10), broke[i], held[i]}
				if mirror < 0 {
					l.Broke, l.Held = l.Held, l.Broke
				}
				out = append(out, l)
			}
			return out
		}
		f, err := New(make(1, 0, 1))
		if err != nil {
			return
		}
		if want := stateInFractions(tenths, broke, held); f.State != want {
			t.Fatalf("state %d, want %d", f.State, want)
		}
		for _, c := range []struct{ unit, origin, mirror float64 }{{0.3, 7, 1}, {1e-3, 0.2, 1}, {1, 0, -1}, {0.7, -3.3, -1}} {
			g, err := New(make(c.unit, c.origin, c.mirror))
			if err != nil {
				t.Fatal(err)
			}
			if g.State != f.State {
				t.Fatalf("state %d became %d with %+v", f.State, g.State, c)
			}
			want := c.origin + c.unit*c.mirror*f.Mu
			if tol := 1e-7 * (math.Abs(want) + c.unit*f.Sigma); f.State == Identified && !(math.Abs(g.Mu-want) <= tol && math.Abs(g.Sigma-c.unit*f.Sigma) <= tol) {
				t.Fatalf("%g, %g became %g, %g with %+v", f.Mu, f.Sigma, g.Mu, g.Sigma, c)
			}
		}
		if f.State != Identified {
			if !math.IsNaN(f.Mu) || !math.IsNaN(f.Sigma) {
				t.Fatalf("state %d with %g, %g", f.State, f.Mu, f.Sigma)
			}
			return
		}
		if !(f.Sigma > 0) {
			t.Fatalf("spread %g", f.Sigma)
		}
		a, b := (f.centre-f.Mu)/f.Sigma, f.scale/f.Sigma
		var ga, gb float64
		for _, l := range f.levels {
			d, _ := derivatives(a+b*l.X, l)
			ga += d
			gb += d * l.X
		}
		if math.Abs(ga) > 1e-6 || math.Abs(gb) > 1e-6 {
			t.Fatalf("slopes %g and %g of the likelihood at %g, %g", ga, gb, f.Mu, f.Sigma)
		}
	})
}

// stateInFractions goes by the definitions, in fractions.
func stateInFractions(tenths, broke, held []int) Identification {
	var b, h, sumB, sumH int64
	heldTo, brokeFrom := math.MinInt, math.MaxInt
	for i, k := range tenths {
		b += int64(broke[i])
		h += int64(held[i])
		sumB += int64(broke[i] * k)
		sumH += int64(held[i] * k)
		if held[i] > 0 {
			heldTo = max(heldTo, k)
		}
		if broke[i] > 0 {
			brokeFrom = min(brokeFrom, k)
		}
	}
	switch {
	case b == 0 || h == 0:
		return OneOutcome
	case heldTo < brokeFrom:
		return Separated
	case heldTo == brokeFrom:
		return Touching
	case big.NewRat(sumB, b).Cmp(big.NewRat(sumH, h)) <= 0:
		return Flat
	}
	return Identified
}
