package reduce

import (
	"fmt"
	"math"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// proposed is the outcome that the record suggests.
type proposed struct {
	outcome  Proposal
	letGo    bool // the specimen broke or slipped: the arrest force is higher
	evidence []string
}

// propose says whether the specimen held, with the evidence: does the force unload as a spring or
// collapse; does the mass hang at the end; does it come taut again.
func (w *moved) propose() (out proposed) {
	votesHeld, votesBroke := 0, 0
	say := func(format string, args ...any) { out.evidence = append(out.evidence, fmt.Sprintf(format, args...)) }
	ms := func(s float64) string { return quantity.Duration(s).Text(3) }
	switch {
	case w.ev.endKind == "break":
		votesBroke += 2
		say("the force falls from 90 %% to 10 %% of the peak in %s, while loading took %s, and leaves the mass falling at %s: a break, not a spring", ms(math.Max(w.ev.fall, w.dt)), ms(w.ev.rise), quantity.Speed(w.motion.vEnd).Text(3))
	case !math.IsInf(w.ev.fall, 1):
		votesHeld++
		say("the force unloads from 90 %% to 10 %% of the peak in %s, after loading in %s: as a spring does", ms(w.ev.fall), ms(w.ev.rise))
	default:
		say("the force does not fall to a tenth of the peak within the record")
	}
	late := w.lateCollapse()
	if len(w.ev.later) > 0 {
		if late == 0 {
			votesHeld++
		}
		say("the force comes back %d time(s), first %s after it had gone to zero", len(w.ev.later), quantity.Duration(w.ev.later[0].taut-w.ev.end).Text(3))
	} else if w.ev.endKind != "end of record" {
		say("the force does not come back in the %s that the record goes on", quantity.Duration(float64(len(w.wholeN))*w.dt-w.ev.end).Text(3))
	}
	weight := quantity.Force(w.set.Mass.SI() * w.set.Gravity.SI())
	switch {
	case w.tail.rest:
		votesHeld += 2
		say("the mass hangs at the end: %s, where m g is %s", quantity.Force(w.tail.mean), weight)
	case w.tail.empty:
		votesBroke++
		say("nothing hangs at the end: %s, where m g is %s", quantity.Force(w.tail.mean).Text(2), weight)
	default:
		say("the end of the record does not tell: %s", w.tail.why)
	}
	switch {
	case late > 0:
		out.outcome = Proposal(drop.Broke)
		say("in later arrest %d the force collapses: the specimen held the first arrest and broke then", late)
		w.warn("the specimen broke in a later arrest: the peak of the first arrest is the arrest force, and the strength after one drop is that of the later one")
	case w.ev.endKind == "break" && (w.tail.rest || len(w.ev.later) > 0):
		out.outcome = Undecided
		w.warn("the force collapses, yet something holds the mass afterwards: a dropout of the logger, a strand that parted, or a second line; look at the record and decide")
	case w.ev.endKind == "break":
		out.outcome, out.letGo = Proposal(drop.Broke), true
	case votesHeld > 0 && votesBroke == 0:
		out.outcome = Proposal(drop.Held)
	case w.ev.endKind == "slack" && w.tail.empty && len(w.ev.later) == 0:
		out.outcome, out.letGo = Proposal(drop.Slipped), true
		say("the force faded without a collapse and nothing hangs: the specimen, a knot or the hold of the mass let go slowly")
	default:
		out.outcome = Undecided
		w.warn("the record does not tell whether the specimen held: look at it and decide")
	}
	if w.endUnseen() {
		out.outcome = Undecided
		w.warn("samples are missing where the force goes back, so that the record does not tell whether it unloaded or collapsed: look at the specimen and decide")
	}
	w.step("outcome", map[string]any{"proposal": string(out.outcome), "collapse_ratio": collapseRatio, "for_held": votesHeld, "for_broke": votesBroke})
	return out
}

// lateCollapse is the number (from 2) of the later arrest in which the force collapses and never comes
// back, or 0.
func (w *moved) lateCollapse() int {
	k := len(w.ev.later)
	if k == 0 || w.ev.endKind == "break" || !w.tail.empty {
		return 0
	}
	a := w.ev.later[k-1]
	x := w.wholeN
	at := a.from
	for i := a.from; i < a.to; i++ {
		if x[i] > x[at] {
			at = i
		}
	}
	rise := at
	for rise > a.from && x[rise] > 0.1*x[at] {
		rise--
	}
	fell := at
	for fell < len(x)-1 && x[fell] > 0.1*x[at] {
		fell++
	}
	high := fell
	for high > at && x[high] < 0.9*x[at] {
		high--
	}
	if float64(fell-high) < collapseRatio*float64(at-rise) {
		return k + 1
	}
	return 0
}

// endUnseen tells that samples are missing on the way from the peak down to a tenth of it.
func (w *moved) endUnseen() bool {
	x := w.wholeN
	for _, u := range w.unseen {
		if u.Is != drop.Lost && u.Is != drop.OutOfRange {
			continue
		}
		l, r := x[max(u.From-1, 0)], x[min(u.To, len(x)-1)]
		if u.To > w.ev.peakAt && l-r > 0.5*w.peak.value {
			return true
		}
	}
	return false
}
