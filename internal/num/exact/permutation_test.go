package exact

import (
	"fmt"
	"math"
	"math/rand/v2"
	"sort"
	"testing"

	"github.com/hardcatch/hardcatch/internal/num/censor"
)

func seeded() Source { return rand.New(rand.NewPCG(1, 2)) }

// 5 6 | 1 2: six splits with sums in A 11, 8, 7, 7, 6 and 3; the seen one is the highest:
// 1/6 one-sided, with its mirror image 2/6.
func TestPermutationByHand(t *testing.T) {
	p, err := MeanDifference([]Pair{{A: []float64{5, 6}, B: []float64{1, 2}}}, Sampling{})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "difference", p.Difference, 4, 1e-14)
	near(t, "two-sided", p.TwoSided, 2./6, 1e-14)
	near(t, "greater", p.Greater, 1./6, 1e-14)
	near(t, "less", p.Less, 1, 1e-14)
	near(t, "splits", p.Splits, 6, 0)
	near(t, "smallest", p.SmallestValues, 2./6, 1e-14)
	// 4 | 1 1 1: A alone above is 1 of 4, and no other split is as far away.
	p, _ = MeanDifference([]Pair{{A: []float64{4}, B: []float64{1, 1, 1}}}, Sampling{})
	near(t, "one against three", p.TwoSided, 1./4, 1e-14)
	near(t, "smallest of these", p.SmallestValues, 1./4, 1e-14)
	near(t, "smallest of the design", p.SmallestDesign, 1./4, 1e-14)
	// Ranks 4 | 1 2 3: the lowest rank is as far from 2.5 as the highest.
	p, _ = rankSum([]Pair{{A: []float64{40}, B: []float64{1, 2, 3}}}, Sampling{})
	near(t, "one rank against three", p.TwoSided, 2./4, 1e-14)
	near(t, "smallest of these ranks", p.SmallestValues, 2./4, 1e-14)
	near(t, "difference of ranks", p.Difference, (4.-2)/5, 1e-14)
	// Two pairs of one against one: differences 3 and 1, weights 1/2 each. Sums of half differences are
	// +-1.5 +- 0.5: 2, 1, -1, -2.
	p, _ = MeanDifference([]Pair{{A: []float64{4}, B: []float64{1}}, {A: []float64{6}, B: []float64{5}}}, Sampling{})
	near(t, "mean of the differences", p.Difference, 2, 1e-14)
	near(t, "greater", p.Greater, 1./4, 1e-14)
	near(t, "two-sided", p.TwoSided, 2./4, 1e-14)
	near(t, "smallest", p.SmallestDesign, 2./4, 1e-14)
}

// 3 against 3 can never give less than 2/20.
func TestThreeAgainstThree(t *testing.T) {
	p, err := MeanDifference([]Pair{{A: []float64{21.3, 22.9, 24}, B: []float64{17.1, 18.2, 20.4}}}, Sampling{})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "two-sided", p.TwoSided, 0.1, 1e-14)
	near(t, "design", p.SmallestDesign, 0.1, 1e-14)
}

func TestPermutationAgainstR(t *testing.T) {
	for name, f := range map[string]func([]Pair, Sampling) (Permutation, error){"means": MeanDifference, "ranks": rankSum} {
		for _, c := range reference(t, name) {
			nA, x := int(c.args[0]), c.args[1:]
			p, err := f([]Pair{{A: x[:nA], B: x[nA:]}}, Sampling{})
			if err != nil || !p.Exact {
				t.Fatal(p, err)
			}
			for i, got := range []float64{p.TwoSided, p.Greater, p.Less} {
				near(t, fmt.Sprint(name, " ", len(x)), got, c.want[i], 1e-10)
			}
		}
	}
	for _, c := range reference(t, "strata") {
		x := c.args[4:]
		p, err := MeanDifference([]Pair{{A: x[:3], B: x[3:7]}, {A: x[7:9], B: x[9:]}}, Sampling{})
		if err != nil || !p.Exact {
			t.Fatal(p, err)
		}
		for i, got := range []float64{p.TwoSided, p.Greater, p.Less} {
			near(t, "strata", got, c.want[i], 1e-12)
		}
	}
}

// listed is the plain way: every split of every pair in turn.
func listed(pairs []Pair) (two, greater, less, smallest float64) {
	var sums []float64
	sums = append(sums, 0)
	seen := 0.0
	for _, p := range pairs {
		d := centred(append(append([]float64{}, p.A...), p.B...), len(p.A))
		for _, v := range d.dev[:d.nA] {
			seen += v
		}
		var one []float64
		var walk func(from, left int, sum float64)
		walk = func(from, left int, sum float64) {
			if left == 0 {
				one = append(one, sum)
				return
			}
			for i := from; i <= len(d.dev)-left; i++ {
				walk(i+1, left-1, sum+d.dev[i])
			}
		}
		walk(0, d.nA, 0)
		var next []float64
		for _, s := range sums {
			for _, o := range one {
				next = append(next, s+o)
			}
		}
		sums = next
	}
	far, ties := 0.0, 0.0
	for _, s := range sums {
		if math.Abs(s) >= math.Abs(seen)-1e-9 {
			two++
		}
		if s >= seen-1e-9 {
			greater++
		}
		if s <= seen+1e-9 {
			less++
		}
		if math.Abs(s) > far+1e-9 {
			far, ties = math.Abs(s), 0
		}
		if math.Abs(s) >= far-1e-9 {
			ties++
		}
	}
	n := float64(len(sums))
	return two / n, greater / n, less / n, ties / n
}

func TestCountingAgainstListing(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	for range 200 {
		var pairs []Pair
		for range 1 + r.IntN(3) {
			p := Pair{}
			coarse := r.IntN(2) == 0
			side := func(n int) (x []float64) {
				for range n {
					v := r.NormFloat64()
					if coarse {
						v = math.Round(2 * v)
					}
					x = append(x, v)
				}
				return x
			}
			p.A, p.B = side(1+r.IntN(4)), side(1+r.IntN(4))
			pairs = append(pairs, p)
		}
		p, err := MeanDifference(pairs, Sampling{})
		if err != nil {
			continue // all equal
		}
		two, greater, less, smallest := listed(pairs)
		near(t, "two-sided", p.TwoSided, two, 1e-12)
		near(t, "greater", p.Greater, greater, 1e-12)
		near(t, "less", p.Less, less, 1e-12)
		near(t, "smallest", p.SmallestValues, smallest, 1e-12)
		if p.SmallestDesign > p.SmallestValues*(1+1e-12) {
			t.Errorf("%v: the design's smallest %g is above that of its values %g", pairs, p.SmallestDesign, p.SmallestValues)
		}
	}
}

// Drawing agrees with counting within four standard errors, and says how far it may be off.
func TestDrawingAgainstCounting(t *testing.T) {
	pairs := []Pair{{A: []float64{12.1, 13.4, 11.8, 15.2, 14.4}, B: []float64{10.9, 11.1, 12, 9.8, 13.1, 10.2}}, {A: []float64{3, 4}, B: []float64{2, 5, 1}}}
	exact, err := MeanDifference(pairs, Sampling{})
	if err != nil {
		t.Fatal(err)
	}
	drawn, err := MeanDifference(pairs, Sampling{Source: seeded(), Always: true, Draws: 20_000})
	if err != nil {
		t.Fatal(err)
	}
	if drawn.Exact || drawn.Draws != 20_000 || !(drawn.SE > 0) {
		t.Errorf("%+v does not say that it was drawn", drawn)
	}
	for i, d := range []float64{drawn.TwoSided - exact.TwoSided, drawn.Greater - exact.Greater, drawn.Less - exact.Less} {
		if math.Abs(d) > 4*math.Sqrt(0.25/20_000) {
			t.Errorf("share %d is off by %g", i, d)
		}
	}
	again, _ := MeanDifference(pairs, Sampling{Source: seeded(), Always: true, Draws: 20_000})
	if again.TwoSided != drawn.TwoSided {
		t.Error("the same seed gave another value")
	}
	near(t, "standard error", drawn.SE, math.Sqrt(drawn.TwoSided*(1-drawn.TwoSided)/20_001), 1e-12)
}

func TestPermutationSaysWhy(t *testing.T) {
	if testing.Short() {
		t.Skip("takes seconds")
	}
	_, err := MeanDifference([]Pair{{A: []float64{2, 2}, B: []float64{2}}}, Sampling{})
	says(t, err, "all 3 values are equal")
	_, err = MeanDifference([]Pair{{A: []float64{2, math.NaN()}, B: []float64{2}}}, Sampling{})
	says(t, err, "value 2 is NaN")
	_, err = MeanDifference([]Pair{{A: []float64{2}}}, Sampling{})
	says(t, err, "nothing to compare")
	p, err := MeanDifference([]Pair{{A: []float64{2}}, {A: []float64{1, 2}, B: []float64{3}}}, Sampling{})
	if err != nil || len(p.Warnings) != 1 || p.Pairs != 1 {
		t.Errorf("%+v, %v", p, err)
	}
	r := rand.New(rand.NewPCG(5, 6))
	var many Pair
	for range 40 {
		many.A, many.B = append(many.A, r.Float64()), append(many.B, r.Float64())
	}
	_, err = MeanDifference([]Pair{many}, Sampling{})
	says(t, err, "seeded source")
	p, err = MeanDifference([]Pair{many}, Sampling{Source: seeded(), Draws: 999})
	if err != nil || p.Exact {
		t.Errorf("%+v, %v", p, err)
	}
	_, err = MeanDifference([]Pair{many}, Sampling{Source: seeded(), Draws: 9})
	says(t, err, "at least 99")
	// Eighty ranks are few sums: they are counted.
	if p, err = rankSum([]Pair{many}, Sampling{}); err != nil || !p.Exact {
		t.Errorf("%+v, %v", p, err)
	}
}

// By hand, A = 3, 5+ and B = 1, 2, 4: surely below less surely above, over 6:
// 1: -4; 2: -2; 3: 2-2 = 0; 4: 3-1 = 2; 5+: 4.
func TestGehanByHand(t *testing.T) {
	pair := CensoredPair{A: []censor.Value{censor.Exact(3), censor.AtLeast(5)}, B: []censor.Value{censor.Exact(1), censor.Exact(2), censor.Exact(4)}}
	p, err := CensoredRanks([]CensoredPair{pair}, Gehan, Sampling{})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "difference", p.Difference, (4./2+4./3)/6, 1e-12)
	// Pairs of scores that add to 4 or more: {0,4}, {2,4} of 10; to -4 or less: {-4,0}, {-4,-2}.
	near(t, "greater", p.Greater, 2./10, 1e-12)
	near(t, "two-sided", p.TwoSided, 4./10, 1e-12)
	if len(p.Warnings) != 1 {
		t.Errorf("warnings %q, want the one about censoring", p.Warnings)
	}
	// Every kind: [.., 2], [1, 3], 3, 3.5+ twice. [1,3] touches 3 and counts as below it.
	all := []censor.Value{censor.AtMost(2), censor.Between(1, 3), censor.Exact(3), {Lo: 3.5, Hi: math.Inf(1), Count: 2}}
	one, err := spread(all)
	if err != nil {
		t.Fatal(err)
	}
	for i, want := range []float64{-3, -3, 0, 3, 3} {
		near(t, fmt.Sprint("score ", i), gehanScores(one)[i]*6, want, 1e-14)
	}
}

// Without censoring Gehan's scores are the ranks.
func TestGehanIsRankSumWithoutCensoring(t *testing.T) {
	a, b := []float64{3, 7, 7, 9}, []float64{1, 7, 4, 2, 2}
	var pair CensoredPair
	for _, v := range a {
		pair.A = append(pair.A, censor.Exact(v))
	}
	for _, v := range b {
		pair.B = append(pair.B, censor.Exact(v))
	}
	g, err := CensoredRanks([]CensoredPair{pair}, Gehan, Sampling{})
	if err != nil {
		t.Fatal(err)
	}
	r, err := rankSum([]Pair{{a, b}}, Sampling{})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "two-sided", g.TwoSided, r.TwoSided, 1e-12)
	near(t, "difference", g.Difference, 2*r.Difference, 1e-12)
	if len(g.Warnings) != 0 {
		t.Errorf("nothing is censored, and it warns %q", g.Warnings)
	}
}

// The sum of the scores over A is expected less observed of the log-rank test, as R's survdiff has it.
func TestLogRankSumsAgainstR(t *testing.T) {
	for _, c := range reference(t, "logrank") {
		nA, n := int(c.args[0]), int(c.args[1])
		var v []censor.Value
		for i := range n {
			x := censor.AtLeast(c.args[2+i])
			if c.args[2+n+i] == 1 {
				x = censor.Exact(c.args[2+i])
			}
			v = append(v, x)
		}
		s, err := logRankScores(v)
		if err != nil {
			t.Fatal(err)
		}
		sum := 0.0
		for _, x := range s[:nA] {
			sum += x
		}
		near(t, "expected less observed", sum, -c.want[0], 1e-12)
		if _, err := CensoredRanks([]CensoredPair{{A: v[:nA], B: v[nA:]}}, LogRank, Sampling{}); err != nil {
			t.Error(err)
		}
	}
}

func TestCensoredRanksSayWhy(t *testing.T) {
	held := []censor.Value{censor.AtLeast(3), censor.AtLeast(5)}
	_, err := CensoredRanks([]CensoredPair{{held, held}}, Gehan, Sampling{})
	says(t, err, "surely above another")
	_, err = CensoredRanks([]CensoredPair{{held, held}}, LogRank, Sampling{})
	says(t, err, "surely above another")
	_, err = CensoredRanks([]CensoredPair{{held, []censor.Value{censor.AtMost(2)}}}, LogRank, Sampling{})
	says(t, err, "use Gehan's")
	_, err = CensoredRanks([]CensoredPair{{held, []censor.Value{{Lo: 2, Hi: 1}}}}, Gehan, Sampling{})
	says(t, err, "pair 1, B: value 1")
	_, err = CensoredRanks([]CensoredPair{{held, nil}}, Gehan, Sampling{})
	says(t, err, "nothing to compare")
	_, err = CensoredRanks([]CensoredPair{{held, held}}, Scores(9), Sampling{})
	says(t, err, "not known")
}

// Counting by sums against listing; the listing of 10 against 10 stands for the plain way.
func BenchmarkPermutation(b *testing.B) {
	r := rand.New(rand.NewPCG(7, 8))
	for _, n := range []int{3, 5, 10, 15, 20} {
		var p Pair
		for range n {
			p.A, p.B = append(p.A, r.NormFloat64()), append(p.B, r.NormFloat64())
		}
		b.Run(fmt.Sprintf("count/%d", n), func(b *testing.B) {
			for b.Loop() {
				if t, err := MeanDifference([]Pair{p}, Sampling{}); err != nil || !t.Exact {
					b.Fatal(t, err)
				}
			}
		})
		b.Run(fmt.Sprintf("draw/%d", n), func(b *testing.B) {
			for b.Loop() {
				if _, err := MeanDifference([]Pair{p}, Sampling{Source: seeded(), Always: true}); err != nil {
					b.Fatal(err)
				}
			}
		})
		if n <= 10 {
			b.Run(fmt.Sprintf("list/%d", n), func(b *testing.B) {
				for b.Loop() {
					listed([]Pair{p})
				}
			})
		}
	}
	// Six pairs of cells of 3 against 3: 20^6 = 64 million splits.
	var six []Pair
	for range 6 {
		p := Pair{}
		for range 3 {
			p.A, p.B = append(p.A, r.NormFloat64()), append(p.B, r.NormFloat64())
		}
		six = append(six, p)
	}
	b.Run("count/six pairs of 3", func(b *testing.B) {
		for b.Loop() {
			if t, err := MeanDifference(six, Sampling{}); err != nil || !t.Exact {
				b.Fatal(t, err)
			}
		}
	})
}

// rankSum is MeanDifference of the ranks within each pair (tied values share the mean of their ranks),
// each divided by the number of values in the pair plus one: Wilcoxon's test, over several pairs van
// Elteren's. Sources: Wilcoxon 1945; van Elteren, Bull. Int. Stat. Inst. 37 (1960) 351-361 (recalled).
func rankSum(pairs []Pair, s Sampling) (Permutation, error) {
	return permute(pairs, s, func(all []float64) ([]float64, error) {
		r := midranks(all)
		for i := range r {
			r[i] /= float64(len(all) + 1)
		}
		return r, nil
	})
}

// midranks are ranks from 1; equal values share the mean of theirs.
func midranks(x []float64) []float64 {
	order := make([]int, len(x))
	for i := range order {
		order[i] = i
	}
	sort.SliceStable(order, func(a, b int) bool { return x[order[a]] < x[order[b]] })
	r := make([]float64, len(x))
	for i := 0; i < len(order); {
		j := i
		for j < len(order) && x[order[j]] == x[order[i]] {
			j++
		}
		for _, k := range order[i:j] {
			r[k] = float64(i+j+1) / 2
		}
		i = j
	}
	return r
}
