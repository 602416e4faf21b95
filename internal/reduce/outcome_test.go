package reduce

import (
	"math"
	"strings"
	"testing"

	"github.com/hardcatch/hardcatch/internal/drop"
)

// What each course of events is called, by the rule: collapse with nothing after it is a break and its force a lower bound
// of the arrest force; fading with nothing hanging is a slip and a lower bound; a cut-off top is a lower bound whatever it is.
func TestProposal(t *testing.T) {
	held, broke, slipped := Proposal(drop.Held), Proposal(drop.Broke), Proposal(drop.Slipped)
	later := []arrest{{taut: 0.8}}
	for _, c := range []struct {
		what     string
		set      func(*told)
		want     Proposal
		lower    bool
		evidence string
	}{
		{"a spring that hangs", func(w *told) { w.ev.endKind, w.ev.fall, w.tail.rest = "slack", 0.02, true }, held, false, "as a spring does"},
		{"a spring that comes taut again", func(w *told) { w.ev.endKind, w.ev.fall, w.ev.later, w.tail.why = "slack", 0.02, later, "?" }, held, false, "comes back 1 time(s), first 500 ms after"},
		{"a spring, end unknown", func(w *told) { w.ev.endKind, w.ev.fall, w.tail.why = "slack", 0.02, "?" }, held, false, "does not come back in the 700 ms"},
		{"unloads, nothing hangs", func(w *told) { w.ev.endKind, w.ev.fall, w.tail.empty = "slack", 0.02, true }, slipped, true, "let go slowly"},
		{"never unloads, nothing hangs", func(w *told) { w.ev.endKind, w.ev.fall, w.tail.empty = "slack", math.Inf(1), true }, slipped, true, "does not fall to a tenth"},
		{"comes back, nothing hangs in the end", func(w *told) {
			w.ev.endKind, w.ev.fall, w.ev.later, w.tail.empty = "slack", 0.02, []arrest{{taut: 0.8, from: 800, to: 800}}, true
			w.wholeN[800] = 1
		}, Undecided, false, "nothing hangs at the end"},
		{"collapse", func(w *told) { w.ev.endKind, w.ev.fall, w.tail.empty = "break", 0.0001, true }, broke, true, "from 90 % to 10 % of the peak in 1.00 ms"},
		{"collapse, end unknown", func(w *told) { w.ev.endKind, w.tail.why = "break", "?" }, broke, true, ""},
		{"collapse, yet it hangs", func(w *told) { w.ev.endKind, w.tail.rest = "break", true }, Undecided, false, "the mass hangs"},
		{"collapse, yet it comes back", func(w *told) { w.ev.endKind, w.ev.later, w.tail.why = "break", later, "?" }, Undecided, false, ""},
		{"the record ends", func(w *told) { w.ev.endKind, w.ev.fall, w.tail.why = "end of record", math.Inf(1), "too short" }, Undecided, false, "does not tell: too short"},
		{"the record ends after unloading", func(w *told) { w.ev.endKind, w.ev.fall, w.tail.why = "end of record", 0.02, "?" }, held, false, ""},
		{"cut off at the top and held", func(w *told) { w.ev.endKind, w.ev.fall, w.tail.rest, w.bound.how = "slack", 0.02, true, AtLeast }, held, true, ""},
		{"cut off at the top and broken", func(w *told) { w.ev.endKind, w.tail.empty, w.bound.how = "break", true, AtLeast }, broke, true, ""},
	} {
		w := bare()
		w.wholeN = make([]float64, 1000)
		w.ev.end = 0.3
		c.set(w)
		w.proposal = w.propose()
		o := w.written()
		if o.Outcome != c.want || o.LowerBound != c.lower || !strings.Contains(strings.Join(o.Evidence, "\n"), c.evidence) {
			t.Errorf("%s: %s, lower bound %v, %q", c.what, o.Outcome, o.LowerBound, o.Evidence)
		}
		if strings.Contains(strings.Join(o.Evidence, "\n"), "come back in") && c.what == "the record ends" {
			t.Errorf("%s: %q", c.what, o.Evidence)
		}
	}
}

// A later arrest that loads in 100 samples and collapses (90 % to 10 %) in fewer than a fifth of them is a break in that arrest.
func TestCollapseInALaterArrest(t *testing.T) {
	at := func(fall int, set func(*told)) (int, *Reduction) {
		w := bare()
		w.wholeN = make([]float64, 1500)
		for i := range 100 {
			w.wholeN[900+i] = 10 * float64(i+1)
		}
		for i := range fall { // from the top at 999 to zero in fall steps
			w.wholeN[1000+i] = 1000 * (1 - float64(i+1)/float64(fall))
		}
		w.ev = events{end: 0.3, endKind: "slack", fall: 0.02, later: []arrest{{from: 500, to: 600, taut: 0.5}, {from: 900, to: 1450, taut: 0.9}}}
		w.tail.empty = true
		if set != nil {
			set(w)
		}
		w.proposal = w.propose()
		return w.lateCollapse(), w.written()
	}
	// Rise from 10 % (sample 909) to the top: 90 samples; a fifth is 18. A fall in n steps passes 90 % to 10 % in 0.8 n.
	for fall, want := range map[int]int{2: 3, 10: 3, 20: 3, 21: 3, 24: 0, 30: 0, 200: 0} {
		got, o := at(fall, nil)
		if got != want || (want > 0) != (o.Outcome == Proposal(drop.Broke)) || o.LowerBound {
			t.Errorf("fall in %d: later arrest %d, %s", fall, got, o.Outcome)
		}
	}
	for what, set := range map[string]func(*told){
		"first arrest a break": func(w *told) { w.ev.endKind = "break" },
		"it hangs":             func(w *told) { w.tail.empty = false; w.tail.rest = true },
		"no later arrest":      func(w *told) { w.ev.later = nil },
	} {
		if got, _ := at(5, set); got != 0 {
			t.Errorf("%s: %d", what, got)
		}
	}
}
