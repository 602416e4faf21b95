package question

import (
	"slices"

	"github.com/hardcatch/hardcatch/internal/compare"
	"github.com/hardcatch/hardcatch/internal/drop"
)

// group is the drops of one part of an answer: one kind, or the two of a ratio.
type group struct {
	name         string
	levels       map[string]string
	upper, lower []compare.Entry // lower is empty but of a ratio
}

func (g group) entries() []compare.Entry { return slices.Concat(g.upper, g.lower) }

func (g group) n() int { return len(g.upper) + len(g.lower) }

func (g group) broke() int { return broke(g.upper) + broke(g.lower) }

func broke(entries []compare.Entry) int {
	n := 0
	for _, e := range entries {
		if e.Outcome == drop.Broke {
			n++
		}
	}
	return n
}

func (g group) part() Part {
	return Part{Name: g.name, Levels: g.levels, N: len(g.upper), NLower: len(g.lower), Broke: g.broke(), Verdict: CannotTell, of: g}
}

// groups are the drops that answer a question, one group for each kind of specimen where strengths are asked about and for each cell of the campaign else,
// in the order in which they were taken. Of a ratio each upper kind stands with the lower one that is like it in all that the question does not name.
// aloneUpper and aloneLower count the drops of a ratio that have no such partner.
func groups(q drop.Question, entries []compare.Entry) (out []group, aloneUpper, aloneLower int) {
	var upper, lower []compare.Entry
	for _, e := range entries {
		if !e.Counts() {
			continue
		}
		switch levels := e.Drop.Levels(); {
		case drop.Fits(levels, q.Where):
			upper = append(upper, e)
		case q.Of.IsRatio() && drop.Fits(levels, q.Lower()):
			lower = append(lower, e)
		}
	}
	factors := factorsOf(q, slices.Concat(upper, lower))
	list := parted(upper, factors)
	if !q.Of.IsRatio() {
		return list, 0, 0
	}
	aloneUpper, aloneLower = len(upper), len(lower)
	below := parted(lower, factors)
	for _, g := range list {
		for _, k := range below {
			if k.name == g.name {
				g.lower = k.upper
				out = append(out, g)
				aloneUpper, aloneLower = aloneUpper-len(g.upper), aloneLower-len(g.lower)
			}
		}
	}
	return out, aloneUpper, aloneLower
}

// factorsOf are the factors by which the drops of a question are parted: those that vary among them and are not named in it; of strengths only those of
// the specimen.
func factorsOf(q drop.Question, entries []compare.Entry) []string {
	drops := make([]drop.Drop, len(entries))
	for i, e := range entries {
		drops[i] = e.Drop
	}
	strength := q.Of == drop.AskStrength || q.Of == drop.AskStrengthRatio
	return slices.DeleteFunc(drop.VaryingFactors(drops), func(f string) bool {
		_, named := q.Where[f]
		_, against := q.Against[f]
		return named || against || strength && compare.OfTheFall(f)
	})
}

// parted groups drops by their levels of the factors.
func parted(entries []compare.Entry, factors []string) []group {
	var out []group
	for _, e := range entries {
		all := e.Drop.Levels()
		levels := map[string]string{}
		for _, f := range factors {
			if all[f] != "" {
				levels[f] = all[f]
			}
		}
		name := compare.Cell{Levels: levels}.Key()
		i := slices.IndexFunc(out, func(g group) bool { return g.name == name })
		if i < 0 {
			i = len(out)
			out = append(out, group{name: name, levels: levels})
		}
		out[i].upper = append(out[i].upper, e)
	}
	return out
}
