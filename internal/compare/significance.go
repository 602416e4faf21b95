package compare

import (
	"fmt"
	"math"
	"math/rand/v2"
	"runtime"
	"slices"
	"strings"
	"sync"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/num/censor"
	"github.com/hardcatch/hardcatch/internal/num/exact"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// SignificanceLevel is the chance of a false claim that the sentences allow. Common practice, no source.
const SignificanceLevel = 0.05

// ExactTest is a test that needs no large-sample approximation.
type ExactTest struct {
	P     float64 `json:"p"`      // two-sided
	PHolm float64 `json:"p_holm"` // adjusted over all tests of this kind in the campaign
	Tests int     `json:"tests"`  // of this kind
	// SmallestP is the smallest two-sided p that groups of these sizes could ever have given.
	SmallestP float64 `json:"smallest_p"`
	// SmallestHolm is what that would be after the adjustment, the other tests being as they are.
	SmallestHolm float64            `json:"smallest_p_holm"`
	Exact        bool               `json:"exact"` // every split was counted; otherwise splits were drawn
	Pairs        int                `json:"pairs"`
	Method       message.Sentence   `json:"method"`
	Statement    message.Sentence   `json:"statement"`
	Warnings     []message.Sentence `json:"warnings"`
}

// TestedContrast is a contrast with the tests that its pairs of cells allow; a test is null where nothing could be tested.
type TestedContrast struct {
	Contrast
	Break    *ExactTest `json:"break_test"`
	Peak     *ExactTest `json:"peak_test"`
	Strength *ExactTest `json:"strength_test"`
	// Untested says why a test is missing.
	Untested []message.Sentence `json:"untested"`
}

// Contrasts tests each contrast of LikeForLike within its pairs of cells: the numbers of breaks (Fisher's exact test for
// one pair, else the permutation test of the counts within the pairs, conditional on their totals), the
// logarithms of the peaks over the pairs in which every specimen held (permutation test of the difference of means), and
// the strengths over the pairs in which one broke at least (permutation test of log-rank scores, those that
// held censored at their peak). Holm's adjustment goes over the tests of one kind. The seed is used where splits are too
// many to be counted.
func Contrasts(cells []Cell, against Against, seed uint64) ([]TestedContrast, error) {
	like := LikeForLike(cells, against)
	out := make([]TestedContrast, len(like))
	var all sync.WaitGroup
	free := make(chan struct{}, runtime.GOMAXPROCS(0))
	for i, k := range like {
		all.Go(func() {
			free <- struct{}{}
			defer func() { <-free }()
			// Each contrast draws from a stream of its own, so that its p does not depend on which other runs at the same time.
			out[i] = tested(cells, k, rand.New(rand.NewPCG(seed, 0xc0+uint64(i)<<8)))
		})
	}
	all.Wait()
	kinds := []struct {
		what string
		of   func(*TestedContrast) *ExactTest
	}{
		{"Break counts", func(t *TestedContrast) *ExactTest { return t.Break }},
		{"Peaks", func(t *TestedContrast) *ExactTest { return t.Peak }},
		{"Strengths", func(t *TestedContrast) *ExactTest { return t.Strength }},
	}
	for _, kind := range kinds {
		var of []*ExactTest
		for i := range out {
			if e := kind.of(&out[i]); e != nil {
				of = append(of, e)
			}
		}
		if err := adjust(kind.what, of); err != nil {
			return nil, err
		}
	}
	return out, nil
}

func tested(cells []Cell, k Contrast, rng *rand.Rand) TestedContrast {
	t := TestedContrast{Contrast: k, Untested: []message.Sentence{}}
	var err error
	p := pairsOf(cells, k.Factor, k.A, k.B)
	if t.Break, err = testBreaks(p, rng); err != nil {
		t.Untested = append(t.Untested, message.Say("break counts: ").Say("%s", err))
	}
	if t.Peak, err = testPeaks(p, rng); err != nil {
		t.Untested = append(t.Untested, message.Say("peaks: ").Say("%s", err))
	}
	if t.Strength, err = testStrengths(p, rng); err != nil {
		t.Untested = append(t.Untested, message.Say("strengths: ").Say("%s", err))
	}
	return t
}

func adjust(what string, tests []*ExactTest) error {
	p := make([]float64, len(tests))
	for i, t := range tests {
		p[i] = t.P
	}
	adjusted, err := exact.Holm(p)
	if err != nil {
		return fmt.Errorf("%s: %w", strings.ToLower(what), err)
	}
	for i, t := range tests {
		least := slices.Clone(p)
		least[i] = min(p[i], t.SmallestP)
		if least, err = exact.Holm(least); err != nil {
			return fmt.Errorf("%s: %w", strings.ToLower(what), err)
		}
		t.PHolm, t.Tests, t.SmallestHolm = adjusted[i], len(tests), least[i]
		t.Statement = t.say(what)
	}
	return nil
}

// say words a test. A p above the level is never called "no difference".
func (t *ExactTest) say(what string) message.Sentence {
	var s message.Sentence
	s = s.Say("%s: p = %s (%s)", what, probability(t.P), t.Method)
	if t.Tests > 1 {
		s = s.Say(", %s after Holm's adjustment over %d tests", probability(t.PHolm), t.Tests)
	}
	switch t.Verdict() {
	case CouldNotShow:
		if t.SmallestP > SignificanceLevel {
			s = s.Say("; so few specimens could never have given less than %s, so this test could not have shown a difference.", probability(t.SmallestP))
			break
		}
		s = s.Say("; so few specimens could never have given less than %s, and after the adjustment %s, so this test could not have shown a difference.", probability(t.SmallestP), probability(t.SmallestHolm))
	case BeyondChance:
		s = s.Say("; more than chance would explain (smallest p this design could give: %s).", probability(t.SmallestP))
	case AsClearAsCan:
		s = s.Say("; as clear a difference as so few specimens can show (smallest p this design could give: %s), but after the adjustment not beyond chance.", probability(t.SmallestP))
	default:
		s = s.Say("; chance alone may explain it, which does not show that there is no difference (smallest p this design could give: %s).", probability(t.SmallestP))
	}
	return s
}

// probability prints a p-value; one below leastP only as that.
func probability(p float64) string {
	if p < leastP {
		return "1e-9 or less"
	}
	return quantity.Significant(p, 2)
}

// leastP is the least p-value printed: no model of a measurement holds so far out.
const leastP = 1e-9

// Reading says what keeps two of the tests from contradicting each other; empty where they do not seem to. Specimens may break more often because they are
// loaded more, not because they are weaker.
func (t *TestedContrast) Reading() message.Sentence {
	clear := func(x *ExactTest) bool { return x.Verdict() == BeyondChance }
	switch {
	case clear(t.Break) && t.Strength != nil && !clear(t.Strength):
		return message.Say("That the numbers of breaks differ and the strengths are not seen to is no contradiction: at one fall what stretches less, or falls further, is loaded more and breaks more often without being weaker.")
	case clear(t.Strength) && t.Break != nil && !clear(t.Break):
		return message.Say("That the strengths differ and the numbers of breaks are not seen to is no contradiction: the forces at the breaks tell more than their number.")
	}
	return nil
}

type cellPair struct{ a, b Cell }

// pairsOf are the cells at two levels of a factor that differ in nothing else.
func pairsOf(cells []Cell, factor, a, b string) []cellPair {
	var out []cellPair
	for _, x := range cells {
		if x.Levels[factor] != a || x.N == 0 {
			continue
		}
		for _, y := range cells {
			if y.Levels[factor] == b && y.N > 0 && alike(x.Levels, y.Levels, factor) {
				out = append(out, cellPair{x, y})
			}
		}
	}
	return out
}

func testBreaks(pairs []cellPair, rng *rand.Rand) (*ExactTest, error) {
	if len(pairs) == 1 {
		p := pairs[0]
		f, err := exact.Fisher(p.a.Broke, p.a.N-p.a.Broke, p.b.Broke, p.b.N-p.b.Broke, 0.95)
		if err != nil {
			return nil, err
		}
		if p.a.Broke+p.b.Broke == 0 || p.a.Broke+p.b.Broke == p.a.N+p.b.N {
			return nil, message.Say("all ended alike, so there is nothing to test").Error()
		}
		return &ExactTest{P: f.TwoSided, SmallestP: f.SmallestDesign, Exact: true, Pairs: 1, Method: message.Say("Fisher's exact test, two-sided"), Warnings: message.TellAll(f.Warnings)}, nil
	}
	in := make([]exact.Pair, len(pairs))
	ones := func(c Cell) []float64 {
		x := make([]float64, c.N)
		for i := range c.Broke {
			x[i] = 1
		}
		return x
	}
	total, broke := 0, 0
	for i, p := range pairs {
		in[i] = exact.Pair{A: ones(p.a), B: ones(p.b)}
		total, broke = total+p.a.N+p.b.N, broke+p.a.Broke+p.b.Broke
	}
	if broke == 0 || broke == total {
		return nil, message.Say("all ended alike, so there is nothing to test").Error()
	}
	return permuted(exact.MeanDifference(in, exact.Sampling{Source: rng}))(message.Say("permutation test of the counts within the pairs, two-sided"))
}

func testPeaks(pairs []cellPair, rng *rand.Rand) (*ExactTest, error) {
	var in []exact.Pair
	for _, p := range pairs {
		if p.a.MeanIsLowerBound || p.b.MeanIsLowerBound {
			continue
		}
		in = append(in, exact.Pair{A: logPeaks(p.a), B: logPeaks(p.b)})
	}
	if len(in) == 0 {
		return nil, message.Say("there is no pair of cells in which every specimen held; the peaks at a break are lower bounds of the arrest force").Error()
	}
	return permuted(exact.MeanDifference(in, exact.Sampling{Source: rng}))(message.Say("permutation test of log peaks where every specimen held, two-sided"))
}

func testStrengths(pairs []cellPair, rng *rand.Rand) (*ExactTest, error) {
	var in []exact.CensoredPair
	for _, p := range pairs {
		if p.a.Broke+p.b.Broke > 0 {
			in = append(in, exact.CensoredPair{A: strengths(p.a), B: strengths(p.b)})
		}
	}
	if len(in) == 0 {
		return nil, message.Say("no specimen broke").Error()
	}
	return permuted(exact.CensoredRanks(in, exact.LogRank, exact.Sampling{Source: rng}))(message.Say("permutation test of log-rank scores, held ones censored, two-sided"))
}

func permuted(p exact.Permutation, err error) func(method message.Sentence) (*ExactTest, error) {
	return func(method message.Sentence) (*ExactTest, error) {
		if err != nil {
			return nil, err
		}
		if !p.Exact {
			method = message.Say("%s, %d splits drawn", method, p.Draws)
		}
		return &ExactTest{P: p.TwoSided, SmallestP: p.SmallestDesign, Exact: p.Exact, Pairs: p.Pairs, Method: method, Warnings: message.TellAll(p.Warnings)}, nil
	}
}

func logPeaks(c Cell) []float64 {
	var out []float64
	for _, r := range c.Drops {
		if r.Outcome == drop.Held && r.Peak != nil && !r.CutOff && !r.Again {
			out = append(out, math.Log(r.Peak.SI()))
		}
	}
	return out
}

// strengths are a cell's strengths in N: seen where a specimen broke, at least the peak where it did not.
func strengths(c Cell) []censor.Value {
	var out []censor.Value
	for _, r := range c.Drops {
		if v, ok := r.strength(); ok {
			out = append(out, v)
		}
	}
	return out
}

func (r Row) strength() (censor.Value, bool) { return r.peakWhere(drop.Broke) }

// arrest is the drop's arrest force in N: seen where it held, at least the peak where it did not.
func (r Row) arrest() (censor.Value, bool) { return r.peakWhere(drop.Held) }

// peakWhere is the peak in N as a value of what an outcome shows whole: a lower bound of it after any other outcome and where the
// record does not show it; an interval where its top was rebuilt.
func (r Row) peakWhere(whole drop.Outcome) (censor.Value, bool) {
	switch {
	case r.Again, r.Peak == nil || !(r.Peak.SI() > 0):
		return censor.Value{}, false
	case r.Outcome == whole && !r.CutOff:
		return censor.Exact(r.Peak.SI()), true
	case r.Outcome == whole && r.Rebuilt != nil && r.Rebuilt[0] > 0 && r.Rebuilt[1] > r.Rebuilt[0]:
		return censor.Between(r.Rebuilt[0].SI(), r.Rebuilt[1].SI()), true
	case r.Outcome == drop.Broke, r.Outcome == drop.Held, r.Outcome == drop.Slipped:
		return censor.AtLeast(r.Peak.SI()), true
	}
	return censor.Value{}, false
}
