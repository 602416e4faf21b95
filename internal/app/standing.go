package app

import (
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/reduce"
)

// planned tells a drop that is on the plan and was not taken: no record is named or kept, and nobody has settled it.
func planned(d drop.Drop, traced bool, decisions []drop.Decision) bool {
	return d.Record == "" && !traced && (len(decisions) == 0 || decisions[len(decisions)-1].Withdrawn)
}

// standing is the latest decision's outcome, else what the record proposes; empty when neither tells.
func standing(r *reduce.Reduction, decisions []drop.Decision) (drop.Outcome, bool) {
	if n := len(decisions); n > 0 && !decisions[n-1].Withdrawn {
		return decisions[n-1].Outcome, true
	}
	if r == nil || r.Outcome == reduce.Undecided {
		return "", false
	}
	return drop.Outcome(r.Outcome), false
}
