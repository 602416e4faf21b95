package compare

import (
	"slices"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// FallsHeld is what the drops on one specimen say of how many falls it holds. It is an interval and never a number: a specimen that broke on its
// third fall held 2 and not 3, one that never broke holds as many as were made, or more. It is one specimen's, however many drops it has.
type FallsHeld struct {
	Specimen string           `json:"specimen"`
	Cell     string           `json:"cell"` // of its drops; empty where they are of several
	Drops    int              `json:"drops"`
	HeldFrom int              `json:"held_from"`
	HeldTo   *int             `json:"held_to"` // the fall that it did not hold; null where it has not let go
	Void     int              `json:"void"`    // drops that do not count and loaded it all the same
	First    *quantity.Force  `json:"first_peak_N"`
	Last     *quantity.Force  `json:"last_peak_N"` // of those that held
	Said     message.Sentence `json:"statement"`
}

// FallsHeldBy are the specimens with two valid drops or more, in the order of their first. Drops follow each other by day, then by place, then as
// entered; drops after the first that did not hold do not count.
func FallsHeldBy(entries []Entry) []FallsHeld {
	sorted := make([]Entry, 0, len(entries))
	for _, e := range entries {
		if !e.Planned && e.Drop.Role != drop.Check && e.Drop.Specimen.ID != "" {
			sorted = append(sorted, e)
		}
	}
	slices.SortStableFunc(sorted, func(a, b Entry) int { return inTime(a.Drop, b.Drop) })
	var drops []drop.Drop
	for _, e := range sorted {
		drops = append(drops, e.Drop)
	}
	factors := drop.VaryingFactors(drops)
	of := map[string]*FallsHeld{}
	var order []string
	for _, e := range sorted {
		id := e.Drop.Specimen.ID
		x := of[id]
		if x == nil {
			x = &FallsHeld{Specimen: id, Cell: levelText(levelsAmong(e.Drop, factors))}
			of[id], order = x, append(order, id)
		}
		x.add(e, levelText(levelsAmong(e.Drop, factors)))
	}
	out := []FallsHeld{}
	for _, id := range order {
		if x := of[id]; x.Drops > 1 {
			x.Said = x.say()
			out = append(out, *x)
		}
	}
	return out
}

// add counts one more drop on the specimen.
func (x *FallsHeld) add(e Entry, cell string) {
	switch {
	case x.HeldTo != nil:
		return
	case e.Outcome == drop.Void || e.Outcome == "":
		x.Void++
		return
	}
	x.Drops++
	if cell != x.Cell {
		x.Cell = ""
	}
	if e.Outcome != drop.Held {
		to := x.HeldFrom + 1
		x.HeldTo = &to
		return
	}
	x.HeldFrom++
	if peak := e.Row().Peak; peak != nil {
		if x.First == nil {
			x.First = peak
		}
		x.Last = peak
	}
}

func (x *FallsHeld) say() message.Sentence {
	var s message.Sentence
	if x.HeldTo != nil {
		s = message.Say("specimen %s held %d falls and not fall %d", message.Own(x.Specimen), x.HeldFrom, *x.HeldTo)
	} else {
		s = message.Say("specimen %s held %d falls, and may hold more", message.Own(x.Specimen), x.HeldFrom)
	}
	if x.First != nil && x.HeldFrom > 1 {
		s = s.Say("; its peaks went from %s to %s", x.First.Text(3), x.Last.Text(3))
	}
	if x.Void > 0 {
		s = s.Say("; %d void drops loaded it as well", x.Void)
	}
	if x.Cell == "" {
		s = s.Say("; its drops are not alike, so that the number says nothing of one fall repeated")
	}
	return s.Say("; it counts as one specimen")
}
