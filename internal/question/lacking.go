package question

import (
	"maps"
	"slices"
	"strings"

	"github.com/hardcatch/hardcatch/internal/compare"
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/message"
)

// lacking says which levels of a question no drop that counts has, and which there are: a misspelt level would else look like one that is still to be
// dropped. It is empty before the first drop that counts.
func lacking(q drop.Question, entries []compare.Entry) (s message.Sentence) {
	has := map[string][]string{}
	counted := false
	for _, e := range entries {
		if !e.Counts() {
			continue
		}
		counted = true
		for f, l := range e.Drop.Levels() {
			if l != "" && !slices.Contains(has[f], l) {
				has[f] = append(has[f], l)
			}
		}
	}
	if !counted {
		return nil
	}
	for _, levels := range []map[string]string{q.Where, q.Against} {
		for _, f := range slices.Sorted(maps.Keys(levels)) {
			there := has[f]
			switch {
			case slices.ContainsFunc(there, func(l string) bool { return drop.SameLevel(l, levels[f]) }):
			case len(there) == 0:
				s = s.Say(" No drop that counts states this: %s.", message.Names(f))
			default:
				slices.Sort(there)
				s = s.Say(" No drop that counts has %s; there are: %s.", message.Names(LevelWords(map[string]string{f: levels[f]})), message.Names(strings.Join(there, ", ")))
			}
		}
	}
	return s
}
