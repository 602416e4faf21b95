package compare

import (
	"cmp"
	"fmt"
	"slices"
	"sort"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/message"
)

// counted tells that a drop is one of those that statistics are made of: a trial that was made, has a valid outcome and is not left out by a finding.
func (e Entry) counted() bool {
	return e.Drop.Role != drop.Check && !e.Planned && e.LeftOut == "" && (e.Outcome == drop.Held || e.Outcome == drop.Broke || e.Outcome == drop.Slipped)
}

// inTime compares drops by when they were made: by day, then by their place in the run order. Those that it calls equal follow each other as entered.
func inTime(a, b drop.Drop) int {
	return cmp.Or(cmp.Compare(a.Taken, b.Taken), cmp.Compare(a.Order, b.Order))
}

// MarkAgain marks, in a copy, the drops of specimens of which an earlier drop counts: estimates and tests take every value as that of a specimen of
// its own, so that the first drop counts (by day, then by place, then as entered). Drops of one specimen that differ in a factor of the user's own, which
// asks about dropping again, count once for each of its levels.
func MarkAgain(entries []Entry) []Entry {
	out := slices.Clone(entries)
	order := make([]int, len(out))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(i, j int) int { return inTime(out[i].Drop, out[j].Drop) })
	seen := map[string]bool{}
	for _, i := range order {
		e := &out[i]
		if !e.counted() || e.Again || e.Drop.Specimen.ID == "" {
			continue
		}
		key := e.Drop.Specimen.ID + "\x00" + fmt.Sprint(e.Drop.Factors) // maps print in the order of their keys
		e.Again = seen[key]
		seen[key] = true
	}
	return out
}

// UsedSpecimenWarnings names the drops that are left out because their specimen counts already, and warns of specimens that count although they had been
// dropped before. Empty when there are none.
func UsedSpecimenWarnings(entries []Entry) []message.Sentence {
	var again, used []string
	drops := map[string]int{}
	for _, e := range MarkAgain(entries) {
		id := e.Drop.Specimen.ID
		switch {
		case !e.counted():
		case e.Again:
			again = append(again, e.Drop.ID)
		default:
			drops[id]++
			if (drops[id] > 1 || e.Drop.Prior > 0) && !slices.Contains(used, id) {
				used = append(used, id)
			}
		}
	}
	var out []message.Sentence
	if len(again) > 0 {
		out = append(out, message.Say("%d {drop is of a specimen|drops are of specimens} of which an earlier drop counts, and {is|are} left out of every count, fit and test: %s; to compare, give the drops a factor of your own, such as how often the specimen had been dropped", len(again), listed(again)))
	}
	if len(used) > 0 {
		out = append(out, message.Say("%d {specimen|specimens} had been dropped before a drop that counts (%s), which may have changed stiffness and strength; tests take {it|them} as new, so that their p-values and intervals are in doubt", len(used), listed(used)))
	}
	return out
}

// listed names up to eight, in their order.
func listed(names []string) message.Sentence {
	sort.Strings(names)
	return message.Listed(names, 8)
}
