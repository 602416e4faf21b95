package look

import (
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/reduce"
)

// Planned tells a drop that is on the plan and was not taken: no record is named or kept, and nobody has settled it.
func Planned(d drop.Drop, traced bool, decisions []drop.Decision) bool {
	return d.Record == "" && !traced && (len(decisions) == 0 || decisions[len(decisions)-1].Withdrawn)
}

// Standing is the latest decision's outcome, else what the record proposes; empty when neither tells.
func Standing(r *reduce.Reduction, decisions []drop.Decision) (drop.Outcome, bool) {
	if n := len(decisions); n > 0 && !decisions[n-1].Withdrawn {
		return decisions[n-1].Outcome, true
	}
	if r == nil || r.Outcome == reduce.Undecided {
		return "", false
	}
	return drop.Outcome(r.Outcome), false
}
