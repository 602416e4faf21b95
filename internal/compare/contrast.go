package compare

import (
	"math"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// Contrast sets two levels of a factor against each other over the pairs of cells that differ in nothing else.
type Contrast struct {
	Factor string `json:"factor"`
	A      string `json:"a"`
	B      string `json:"b"`
	Pairs  int    `json:"pairs"` // of cells, both with valid drops
	// NA to BrokeB are sums over the pairs. Where there are several, their quotients may point the other way than every pair does: Odds and
	// Counts are what may be read.
	NA     int `json:"n_a"`
	NB     int `json:"n_b"`
	BrokeA int `json:"broke_a"`
	BrokeB int `json:"broke_b"`
	// Counts are those of each pair, Odds what the pairs have in common (95 % confidence).
	Counts []PairCount `json:"pair_counts"`
	Odds   CommonOdds  `json:"break_odds"`
	// Ratio is the geometric mean, over the pairs in which every specimen held, of mean peak at A over mean peak at
	// B; null when there is no such pair.
	Ratio      *quantity.Ratio  `json:"peak_ratio"`
	RatioPairs int              `json:"peak_ratio_pairs"`
	Statement  message.Sentence `json:"statement"`
}

// PairCount is how many broke in the two cells of one pair.
type PairCount struct {
	Rest   string `json:"all_else"` // the levels that both share
	NA     int    `json:"n_a"`
	NB     int    `json:"n_b"`
	BrokeA int    `json:"broke_a"`
	BrokeB int    `json:"broke_b"`
}

// contrastConfidence is that of the odds beside the counts.
const contrastConfidence = 0.95

// LikeForLike makes the contrasts of the levels of each factor with its reference, A over B. Counts of unlike cells stand
// beside each other and are not added up in words; no test is made here.
func LikeForLike(cells []Cell, against Against) []Contrast {
	factors := Factors(cells)
	out := []Contrast{}
	for _, f := range factors {
		for _, p := range against.pairs(cells, f) {
			if c, ok := contrast(cells, f, p.over, p.under); ok {
				out = append(out, c)
			}
		}
	}
	return out
}

// Factors are those of which any of the cells has a level, in the order in which they are shown.
func Factors(cells []Cell) []string {
	rows := make([]map[string]string, len(cells))
	for i, c := range cells {
		rows[i] = c.Levels
	}
	return drop.Factors(rows...)
}

// LevelsOf lists a factor's levels among cells, quantities by size and words by the alphabet.
func LevelsOf(cells []Cell, factor string) []string { return levelsOf(cells, factor) }

// levelsOf lists a factor's levels in the order of the cells when these are sorted by that factor first.
func levelsOf(cells []Cell, factor string) []string {
	seen := map[string]bool{}
	var out []string
	for _, c := range cells {
		l := c.Levels[factor]
		if seen[l] {
			continue
		}
		seen[l] = true
		at := len(out)
		for at > 0 && before(map[string]string{factor: l}, map[string]string{factor: out[at-1]}, []string{factor}) {
			at--
		}
		out = append(out[:at], append([]string{l}, out[at:]...)...)
	}
	return out
}

func contrast(cells []Cell, factor, a, b string) (Contrast, bool) {
	k := Contrast{Factor: factor, A: a, B: b}
	logs := 0.0
	pairs := pairsOf(cells, factor, a, b)
	for _, p := range pairs {
		x, y := p.a, p.b
		k.Pairs++
		k.Counts = append(k.Counts, PairCount{Rest: x.Name(factor), NA: x.N, NB: y.N, BrokeA: x.Broke, BrokeB: y.Broke})
		k.NA, k.NB, k.BrokeA, k.BrokeB = k.NA+x.N, k.NB+y.N, k.BrokeA+x.Broke, k.BrokeB+y.Broke
		if !x.MeanIsLowerBound && !y.MeanIsLowerBound && x.Mean != nil && y.Mean != nil {
			logs += math.Log(x.Mean.SI() / y.Mean.SI())
			k.RatioPairs++
		}
	}
	if k.Pairs == 0 {
		return k, false
	}
	k.Odds = commonOdds(pairs, contrastConfidence)
	s := message.Say("%s against %s, all else alike (%d %s of cells): ", message.Names(a), message.Names(b), k.Pairs, pair(k.Pairs))
	if k.Pairs == 1 {
		s = s.Say("%d of %d broke against %d of %d.", k.BrokeA, k.NA, k.BrokeB, k.NB)
	} else {
		s = s.Say("%s. Broke, pair by pair: %s.", k.Odds.say(), k.Split())
	}
	if k.RatioPairs > 0 {
		r := quantity.Ratio(math.Exp(logs / float64(k.RatioPairs)))
		k.Ratio = &r
		s = s.Say(" Where every specimen held (%d %s) the mean peak was %s times as high.", k.RatioPairs, pair(k.RatioPairs), r.Text(3))
	}
	k.Statement = s
	return k, true
}

// shownPairs keeps a sentence readable.
const shownPairs = 8

// Split are the break counts pair by pair: those of unlike cells are never added up.
func (k Contrast) Split() message.Sentence {
	var parts []message.Sentence
	for i, c := range k.Counts {
		if i == shownPairs {
			parts = append(parts, message.Say("%d more {pair|pairs}", len(k.Counts)-i))
			break
		}
		part := message.Say("%d of %d against %d of %d", c.BrokeA, c.NA, c.BrokeB, c.NB)
		if len(k.Counts) > 1 && c.Rest != "" {
			part = part.Say(" (%s)", message.Names(c.Rest))
		}
		parts = append(parts, part)
	}
	return message.Join("; ", parts...)
}

func pair(n int) string {
	if n == 1 {
		return "pair"
	}
	return "pairs"
}

func alike(a, b map[string]string, but string) bool {
	for k, v := range a {
		if k != but && b[k] != v {
			return false
		}
	}
	for k := range b {
		if _, ok := a[k]; !ok && k != but {
			return false
		}
	}
	return true
}
