package reduce

import (
	"fmt"
	"math"

	"hardcatch/internal/quantity"
)

// Hand are events that a person set because the record misleads the search for them, on the record's
// clock. What is nil is found from the record. The reduction says what it would have found.
type Hand struct {
	Taut  *quantity.Duration `json:"taut_s,omitempty"`
	Slack *quantity.Duration `json:"slack_s,omitempty"` // end of the first arrest
}

// None tells that nothing is set.
func (h *Hand) None() bool { return h == nil || h.Taut == nil && h.Slack == nil }

// Same tells that both set the same.
func (h *Hand) Same(o *Hand) bool {
	if h.None() || o.None() {
		return h.None() == o.None()
	}
	same := func(a, b *quantity.Duration) bool { return a == b || a != nil && b != nil && *a == *b }
	return same(h.Taut, o.Taut) && same(h.Slack, o.Slack)
}

// inside is a time on the record's clock as seconds from sample 0.
func (w *work) inside(t quantity.Duration) float64 { return t.SI() - w.trace.Start.SI() }

// handTaut puts taut where a person set it, between the start of the record and the peak.
func (w *work) handTaut() error {
	if w.set.Hand.None() || w.set.Hand.Taut == nil {
		return nil
	}
	at, top := w.inside(*w.set.Hand.Taut), float64(w.ev.peakAt)*w.dt
	if !(at >= 0 && at < top) {
		return fmt.Errorf("taut is set by hand at %.5f s, but the record begins at %.5f s and peaks at %.5f s; set it between them", w.set.Hand.Taut.SI(), w.trace.Start.SI(), float64(w.clock(top)))
	}
	w.out.warn("the moment of taut was set by hand at %.5f s; the record alone suggests %.5f s", w.set.Hand.Taut.SI(), float64(w.clock(w.ev.taut)))
	// A person can place it no better than between two samples.
	w.ev.taut, w.ev.tautU = at, max(w.ev.tautU, w.dt/math.Sqrt(3))
	return nil
}

// handSlack ends the first arrest where a person set it, after the peak.
func (w *work) handSlack() error {
	if w.set.Hand.None() || w.set.Hand.Slack == nil {
		return nil
	}
	n := len(w.forceN) - 1
	at, top := w.inside(*w.set.Hand.Slack), float64(w.ev.peakAt)*w.dt
	if !(at > top && at <= float64(n)*w.dt) {
		return fmt.Errorf("the end of the arrest is set by hand at %.5f s, but the peak is at %.5f s and the record ends at %.5f s; set it between them", w.set.Hand.Slack.SI(), float64(w.clock(top)), float64(w.clock(float64(n)*w.dt)))
	}
	w.out.warn("the end of the arrest was set by hand at %.5f s, as slack; the record alone suggests %s at %.5f s", w.set.Hand.Slack.SI(), w.ev.endKind, float64(w.clock(w.ev.end)))
	w.ev.end, w.ev.endAt, w.ev.endKind, w.ev.collapse = at, min(int(at/w.dt), n), "slack", 0
	return nil
}
