package compare

import (
	"sort"
	"strings"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/message"
)

// UsedSpecimenWarnings warns of specimens that count more than once, or had been dropped before: every estimate and test here takes each
// drop as a new specimen of its own. Empty when there are none.
func UsedSpecimenWarnings(entries []Entry) []message.Sentence {
	drops, before := map[string]int{}, map[string]bool{}
	for _, e := range entries {
		if e.Drop.Role == drop.Check || e.Planned || e.Outcome == drop.Void || e.Outcome == "" {
			continue
		}
		drops[e.Drop.Specimen.ID]++
		if e.Drop.Prior > 0 {
			before[e.Drop.Specimen.ID] = true
		}
	}
	var names []string
	for id, n := range drops {
		if n > 1 || before[id] {
			names = append(names, id)
		}
	}
	if len(names) == 0 {
		return nil
	}
	sort.Strings(names)
	shown := names
	var more message.Sentence
	if len(shown) > 8 {
		shown, more = shown[:8], message.Say(" and %d more", len(names)-8)
	}
	return []message.Sentence{message.Say("%d specimens (%s%s) were dropped more than once: the fits and tests take every drop as a new specimen, so that their intervals are too narrow and earlier drops may have changed stiffness and strength; void the later drops with a reason, or compare them as a factor of their own", len(names), message.Own(strings.Join(shown, ", ")), more)}
}
