package compare

import (
	"slices"
	"strings"

	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// Against says which levels of a factor are set against each other: every one against the reference, or all pairs.
type Against struct {
	Reference map[string]string // by factor, as far as named
	AllPairs  bool
}

// reference is the level of a factor against which the others stand, whatever they are called otherwise: the one named; the smallest of quantities; the sewn,
// spliced or new one, of a knot the one without; else the one entered first. The levels stand in their order, entered says when each was.
func (a Against) reference(factor string, levels []string, entered map[string]int) string {
	if r, ok := a.Reference[factor]; ok {
		if i := slices.IndexFunc(levels, func(l string) bool { return SameLevel(l, r) }); i >= 0 {
			return levels[i]
		}
	}
	if quantities(levels) {
		return levels[0]
	}
	best := ""
	for k, l := range levels {
		if k == 0 || plain(factor, l) && !plain(factor, best) || plain(factor, l) == plain(factor, best) && entered[l] < entered[best] {
			best = l
		}
	}
	return best
}

// SameLevel tells that two texts name one level: the same words, or the same quantity in another unit.
func SameLevel(a, b string) bool {
	if a == b {
		return true
	}
	x, ux, _, errX := quantity.ParseAny(a)
	y, uy, _, errY := quantity.ParseAny(b)
	return errX == nil && errY == nil && ux.Dim == uy.Dim && x == y
}

// quantities tells that all levels are quantities.
func quantities(levels []string) bool {
	for _, l := range levels {
		if _, _, _, err := quantity.ParseAny(l); err != nil {
			return false
		}
	}
	return len(levels) > 0
}

// plain tells a level that stands for nothing done to the specimen.
func plain(factor, level string) bool {
	if factor == "knot" {
		return untied(level)
	}
	first, _, _ := strings.Cut(strings.ToLower(level), " ")
	return slices.Contains([]string{"new", "unused", "sewn", "spliced"}, first)
}

// ordered are the levels of a factor with the reference first.
func (a Against) ordered(factor string, levels []string, entered map[string]int) []string {
	if len(levels) < 2 {
		return levels
	}
	r := a.reference(factor, levels, entered)
	out := []string{r}
	for _, l := range levels {
		if l != r {
			out = append(out, l)
		}
	}
	return out
}

// levelPair is a level that stands over another.
type levelPair struct{ over, under string }

// pairs are the pairs of a factor's levels: each over the reference, with AllPairs also each over those before it.
func (a Against) pairs(cells []Cell, factor string) []levelPair {
	entered := map[string]int{}
	for _, c := range cells {
		l := c.Levels[factor]
		if at, ok := entered[l]; !ok || c.entered < at {
			entered[l] = c.entered
		}
	}
	levels := a.ordered(factor, levelsOf(cells, factor), entered)
	var out []levelPair
	for i, under := range levels {
		if i > 0 && !a.AllPairs {
			break
		}
		for _, over := range levels[i+1:] {
			out = append(out, levelPair{over, under})
		}
	}
	return out
}

// Unpaired says which levels are tested against nothing, since no cell with them differs from one of the reference in that factor alone.
func (a Against) Unpaired(cells []Cell) []message.Sentence {
	out := []message.Sentence{}
	for _, f := range Factors(cells) {
		paired := map[string]bool{}
		all := a.pairs(cells, f)
		for _, p := range all {
			if len(pairsOf(cells, f, p.over, p.under)) > 0 {
				paired[p.over], paired[p.under] = true, true
			}
		}
		if len(all) == 0 {
			continue
		}
		for _, p := range all[:len(levelsOf(cells, f))-1] {
			if !paired[p.over] {
				out = append(out, message.Say("%s %s: no cell with it differs from one with %s in that alone", f, message.Names(p.over), message.Names(p.under)))
			}
		}
	}
	return out
}
