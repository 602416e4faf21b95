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
	for _, c := range []struct{ n, nA, want int }{{80, 20, DefaultDraws}, {80, 40, 62_500}, {400, 200, 12_500}, {1000, 500, 9_999}, {8000, 4000, 9_999}, {8000, 40, 62_500}} {
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
		drawn, err := MeanDifference([]Pair{p}, Sampling{Source: rng, Always: true, Draws: DefaultDraws})
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

// Drawing ends with the 400th split as far out as what was seen: a p-value near 1 takes a few hundred draws, one of 0.05 some 8,000, and each lies within five of the standard
// errors that it states of what counting gives.
func TestDrawingEndsWhenEnoughIsKnown(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	for _, shift := range []float64{0, 0.5, 1, 1.6} {
		a, b := make([]float64, 8), make([]float64, 9)
		for i := range a {
			a[i] = rng.NormFloat64() + shift
		}
		for i := range b {
			b[i] = rng.NormFloat64()
		}
		all, err := MeanDifference([]Pair{{a, b}}, Sampling{})
		if err != nil || !all.Exact {
			t.Fatal(err)
		}
		drawn, err := MeanDifference([]Pair{{a, b}}, Sampling{Source: rng, Always: true})
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(drawn.TwoSided-all.TwoSided) > 5*drawn.SE {
			t.Errorf("counted %g, drawn %g, standard error %g", all.TwoSided, drawn.TwoSided, drawn.SE)
		}
		if drawn.Draws < DefaultDraws && (math.Abs(drawn.TwoSided-enough/float64(drawn.Draws)) > 1e-12 || drawn.SE > 0.05*drawn.TwoSided) {
			t.Errorf("%+v", drawn)
		}
		if all.TwoSided > 0.3 && drawn.Draws > 2000 {
			t.Errorf("p = %g took %d draws", all.TwoSided, drawn.Draws)
		}
	}
}

// What cannot be counted is seen before it is begun: three pairs of ten against ten values of no pattern; but scores on one grid, and ties, are counted.
func TestCountingIsForeseen(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	pairs := func(round float64) (out []stratum) {
		for range 3 {
			x := make([]float64, 20)
			for i := range x {
				x[i] = rng.NormFloat64()
				if round > 0 {
					x[i] = math.Round(x[i]/round) * round
				}
			}
			out = append(out, centred(x, 10))
		}
		return out
	}
	if countable(pairs(0), 1e-9) {
		t.Error("184,756 cubed splits fall into two halves of which one is too large")
	}
	if s := pairs(0.1); !countable(s, 1e-9) {
		t.Error("tenths add up to few sums")
	}
	if !countable(pairs(0)[:2], 1e-9) || !countable(pairs(0)[:1], 1e-9) {
		t.Error("184,756 sums to a side fit")
	}
	if got := sums([]float64{1, 1, 1, 2, 2}, 5, 1e-9); got != 12 {
		t.Errorf("%g sums of three ones and two twos, 4 x 3 choices", got)
	}
	if got := sums([]float64{0, 1, 2, 3, 4, 5, 6, 7, 8, 9}, 2, 1e-9); got != 57 {
		t.Errorf("%g: up to two of ten places, (2 x 9 + 1) 3", got)
	}
}
