package exact

import (
	"math"
	"math/rand/v2"
	"testing"
)

// The ways of pairs as shares give what the ways themselves give, wherever these do not overflow.
func TestSharesAreWaysOverSplits(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	var strata []stratum
	splits, seen := 1.0, 0.0
	for _, n := range []int{7, 9, 12} {
		x := make([]float64, n)
		for i := range x {
			x[i] = float64(rng.IntN(4))
		}
		d := centred(x, n/3)
		splits *= binomial(n, d.nA)
		for _, v := range d.dev[:d.nA] {
			seen += v
		}
		strata = append(strata, d)
	}
	ways, ok := count(strata, 1e-9, false)
	parts, ok2 := count(strata, 1e-9, true)
	if !ok || !ok2 {
		t.Fatal("they are few enough to be counted")
	}
	w2, wg, wl := shares(ways, seen, 1e-9, splits)
	p2, pg, pl := shares(parts, seen, 1e-9, 1)
	for _, c := range [][2]float64{{w2, p2}, {wg, pg}, {wl, pl}} {
		if math.Abs(c[0]-c[1]) > 1e-12*c[0] || c[0] <= 0 {
			t.Errorf("by ways %g, by shares %g", c[0], c[1])
		}
	}
}

// Scores of two values have the sums and ways that choosing them one by one gives, also on top of other sums.
func TestTwoValuesAreCountedAtOnce(t *testing.T) {
	for _, c := range []struct{ n, ones, nA int }{{9, 4, 3}, {9, 1, 8}, {6, 5, 2}, {2, 1, 1}} {
		x := make([]float64, c.n)
		for i := range c.ones {
			x[i] = 1
		}
		d := centred(x, c.nA)
		two, ok := ofTwoValues(d)
		if !ok {
			t.Fatalf("%+v: not of two values", c)
		}
		start := tally{sum: []float64{-0.3, 0, 2}, ways: []float64{1, 5, 2}}
		by, ok := choices(start, d.dev, c.nA, c.nA, 1e-9, room)
		if !ok {
			t.Fatal("few enough")
		}
		got, want := convolved(start, two, 1e-9), by[c.nA]
		if len(got.sum) != len(want.sum) {
			t.Fatalf("%+v: sums %v, want %v", c, got.sum, want.sum)
		}
		for i := range want.sum {
			if math.Abs(got.sum[i]-want.sum[i]) > 1e-9 || math.Abs(got.ways[i]-want.ways[i]) > 1e-12*want.ways[i] {
				t.Errorf("%+v: %g in %g ways, want %g in %g", c, got.sum[i], got.ways[i], want.sum[i], want.ways[i])
			}
		}
	}
	if _, ok := ofTwoValues(centred([]float64{0, 1, 2}, 1)); ok {
		t.Error("three values are taken for two")
	}
}

// Four pairs of 250 against 250 with breaks have more splits than a float64 holds; their counts are tested exactly all the same. That all labels may be
// changed gives the same p for both directions.
func TestManyBreaksAreCounted(t *testing.T) {
	ones := func(n, k int) []float64 {
		x := make([]float64, n)
		for i := range k {
			x[i] = 1
		}
		return x
	}
	var pairs, turned []Pair
	for range 4 {
		a, b := ones(250, 100), ones(250, 120)
		pairs, turned = append(pairs, Pair{a, b}), append(turned, Pair{b, a})
	}
	p, err := MeanDifference(pairs, Sampling{})
	if err != nil || !p.Exact {
		t.Fatalf("%+v %v", p, err)
	}
	q, err := MeanDifference(turned, Sampling{})
	if err != nil || math.Abs(p.TwoSided-q.TwoSided) > 1e-12 || math.Abs(p.Less-q.Greater) > 1e-12 {
		t.Errorf("%+v against %+v, %v", p, q, err)
	}
	// The normal approximation of the Mantel-Haenszel statistic with its correction of 1/2: 400 in A of 440 expected, variance
	// 4 * 250*250*220*280/(500^2*499) = 123.45 (each pair 30.862).
	z := (440 - 400 - 0.5) / math.Sqrt(4*250*250*220*280/(500.*500*499))
	if want := math.Erfc(z / math.Sqrt2); math.Abs(p.TwoSided-want) > 0.02*want {
		t.Errorf("p is %g, the approximation gives %g", p.TwoSided, want)
	}
}

// Large groups are drawn less often, never fewer than 9,999 times, and drawing the smaller side gives the same test.
func TestDrawsOfLargeGroups(t *testing.T) {
	for _, c := range []struct{ n, nA, want int }{{80, 40, DefaultDraws}, {1000, 500, 40_000}, {4000, 2000, 10_000}, {8000, 4000, 9_999}, {8000, 40, DefaultDraws}} {
		if got := usualDraws([]stratum{{dev: make([]float64, c.n), nA: c.nA}}); got != c.want {
			t.Errorf("%d of %d: %d draws, want %d", c.nA, c.n, got, c.want)
		}
	}
	rng := rand.New(rand.NewPCG(1, 2))
	a, b := make([]float64, 6), make([]float64, 10)
	for i := range a {
		a[i] = rng.NormFloat64() + 0.7
	}
	for i := range b {
		b[i] = rng.NormFloat64()
	}
	for _, p := range []Pair{{a, b}, {b, a}} {
		all, err := MeanDifference([]Pair{p}, Sampling{})
		if err != nil {
			t.Fatal(err)
		}
		drawn, err := MeanDifference([]Pair{p}, Sampling{Source: rng, Always: true})
		if err != nil {
			t.Fatal(err)
		}
		for _, c := range [][2]float64{{all.TwoSided, drawn.TwoSided}, {all.Greater, drawn.Greater}, {all.Less, drawn.Less}} {
			if se := math.Sqrt(c[0] * (1 - c[0]) / DefaultDraws); math.Abs(c[0]-c[1]) > 5*se {
				t.Errorf("counted %g, drawn %g, standard error %g", c[0], c[1], se)
			}
		}
	}
}
