package compare

import (
	"fmt"

	"github.com/hardcatch/hardcatch/internal/drop"
)

// FindCell finds the cell that a drop falls into among all drops of a campaign: the levels of the factors that vary,
// and the indices of the trial drops that share them, d itself included when it is among them. Check drops have no
// cell: levels is nil then. It gives the cells of Cells without their statistics.
func FindCell(drops []drop.Drop, d drop.Drop) (levels map[string]string, of []int) {
	if d.Role == drop.Check {
		return nil, nil
	}
	trials := make([]drop.Drop, 0, len(drops)+1)
	at := make([]int, 0, len(drops))
	known := false
	for i, x := range drops {
		if x.Role == drop.Check {
			continue
		}
		if x.ID == d.ID {
			x, known = d, true
		}
		trials, at = append(trials, x), append(at, i)
	}
	if !known {
		trials = append(trials, d)
	}
	factors := drop.VaryingFactors(trials)
	levels = levelsAmong(d, factors)
	key := levelText(levels)
	for i, x := range trials {
		if i < len(at) && levelText(levelsAmong(x, factors)) == key {
			of = append(of, at[i])
		}
	}
	return levels, of
}

// levelsAmong is a drop's levels of the factors given.
func levelsAmong(d drop.Drop, factors []string) map[string]string {
	l, all := map[string]string{}, d.Levels()
	for _, f := range factors {
		if v, ok := all[f]; ok {
			l[f] = v
		}
	}
	return l
}

// OneCell sums up the entries of one cell, as Cells does for each.
func OneCell(levels map[string]string, entries []Entry, confidence float64) (Cell, error) {
	if !(confidence > 0.5 && confidence < 1) {
		return Cell{}, fmt.Errorf("confidence %g is outside 0.5 to 1; 0.95 is usual", confidence)
	}
	return sumUp(levels, MarkAgain(entries), confidence)
}
