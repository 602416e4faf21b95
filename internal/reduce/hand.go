package reduce

import (
	"fmt"
	"math"

	"github.com/hardcatch/hardcatch/internal/num/dsp"
	"github.com/hardcatch/hardcatch/internal/num/uncert"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// EventsByHand are events that a person set because the record misleads the search for them, on the record's
// clock. What is nil is found from the record. The reduction says what it would have found.
type EventsByHand struct {
	Taut  *quantity.Duration `json:"taut_s,omitempty"`
	Peak  *quantity.Duration `json:"peak_s,omitempty"`  // the peak force is read there, and the arrest about it is the first
	Slack *quantity.Duration `json:"slack_s,omitempty"` // end of the first arrest
	From  *quantity.Duration `json:"from_s,omitempty"`  // the drop lies in the part of the record from here
	To    *quantity.Duration `json:"to_s,omitempty"`    // to here
}

// None tells that nothing is set.
func (h *EventsByHand) None() bool {
	return h == nil || h.Taut == nil && h.Peak == nil && h.Slack == nil && h.From == nil && h.To == nil
}

// Same tells that both set the same.
func (h *EventsByHand) Same(o *EventsByHand) bool {
	if h.None() || o.None() {
		return h.None() == o.None()
	}
	same := func(a, b *quantity.Duration) bool { return a == b || a != nil && b != nil && *a == *b }
	return same(h.Taut, o.Taut) && same(h.Peak, o.Peak) && same(h.Slack, o.Slack) && same(h.From, o.From) && same(h.To, o.To)
}

// inside is a time on the record's clock as seconds from sample 0.
func (w *given) inside(t quantity.Duration) float64 { return t.SI() - w.trace.Start.SI() }

// RecordAlone is what the record alone gives where a person set the place of the peak.
type RecordAlone struct {
	Peak     quantity.Force    `json:"peak_N"`
	PeakU    quantity.Force    `json:"peak_u_N"` // standard
	PeakTime quantity.Duration `json:"peak_time_s"`
}

// handPeak is the sample at which a person set the peak, and its place in samples; -1 when nobody did. The force there must be that
// of an arrest; largest is the largest of the record.
func (w *signal) handPeak(largest float64) (at int, pos float64, err error) {
	if !w.peakSet() {
		return -1, 0, nil
	}
	t := w.set.Hand.Peak.SI()
	n := len(w.forceN) - 1
	pos = w.inside(*w.set.Hand.Peak) / w.dt
	if !(pos >= 0 && pos <= float64(n)) {
		return 0, pos, fmt.Errorf("the peak is set by hand at %.5f s, but the record begins at %.5f s and ends at %.5f s; set it between them", t, w.trace.Start.SI(), float64(w.clock(float64(n)*w.dt)))
	}
	at = int(math.Round(pos))
	if seen := w.seenN[at]; !(seen > 1e-3*largest) || seen < 8*w.noiseN {
		return 0, pos, fmt.Errorf("the peak is set by hand at %.5f s, but the force there is %s (noise %s); set it on the arrest", t, quantity.Force(seen), quantity.Force(w.noiseN))
	}
	return at, pos, nil
}

// handReach is how far off a person may place the peak, in samples: 0.5 ms, and at least two samples (common
// practice, no source).
func (w *given) handReach() int { return int(math.Max(2, 0.5e-3/w.dt)) }

// peakByHand reads the force where a person set the peak, from the curve that the program would have read its top
// from: the filtered one, and before a break the raw samples.
func (w *sight) peakByHand(from, to int) peakResult {
	pos := math.Max(math.Min(w.ev.handPeak, float64(to-1)), float64(from))
	p := peakResult{byHand: true, time: pos * w.dt, raw: between(w.forceN, pos), filtered: between(w.lowN, pos)}
	p.value = p.filtered
	near := w.lowN
	if w.ev.endKind == "break" {
		p = w.fitByHand(p, from, to, pos)
		near = w.forceN
	}
	reach := w.handReach()
	for i := max(from, int(pos)-reach); i <= min(to-1, int(pos)+reach+1); i++ {
		p.placeN = math.Max(p.placeN, math.Abs(near[i]-p.value))
	}
	return p
}

// fitByHand reads the peak before a break from a parabola through the raw samples about the place, clear of the
// collapse.
func (w *signal) fitByHand(p peakResult, from, to int, pos float64) peakResult {
	l, r := max(from, int(pos)-2*w.handReach()), min(to, int(pos)+2*w.handReach()+1)
	if r-l < 5 {
		p.read, p.value, p.fitU, p.fitDoF = lastSample, p.raw, 0.05*p.raw, math.Inf(1)
		return p
	}
	y := w.forceN[l:r]
	c0, c1, c2 := dsp.Quadratic(y)
	n, half := float64(r-l), float64(r-l-1)/2
	u, sd := pos-float64(l)-half, math.Sqrt(dsp.QuadraticLeft(y, c0, c1, c2)/(n-3))
	p.read, p.value, p.slope = beforeBreak, c0+c1*u+c2*u*u, math.Abs(c1+2*c2*u)
	// As at the end of the fit, where its variance is largest.
	p.fitU, p.fitDoF = 3*sd/math.Sqrt(n), n-3
	p.ring = math.Sqrt(2 * math.Max(sd*sd-w.noiseN*w.noiseN, 0))
	return p
}

func (w *signal) methodByHand(p peakResult) string {
	switch {
	case p.oneSided():
		return "the unfiltered record before the break, at the place set by hand"
	case w.filter:
		return "the filtered record at the place set by hand"
	}
	return "the unfiltered record at the place set by hand"
}

// placeByHand is what the place of the peak leaves open: half the width is the largest change of the force within
// the reach of a hand.
func (w *topped) placeByHand() []uncert.Component {
	if !w.peak.byHand {
		return nil
	}
	return []uncert.Component{{Label: "place of the peak, set by hand", Kind: "B", Shape: "rectangular", U: uncert.RectangularUncertainty(w.peak.placeN), Sensitivity: 1, DoF: math.Inf(1)}}
}

// between is the value of x at a place between two samples.
func between(x []float64, pos float64) float64 {
	i := min(max(int(pos), 0), len(x)-1)
	if i+1 == len(x) {
		return x[i]
	}
	return x[i] + (x[i+1]-x[i])*(pos-float64(i))
}

// tellAlone reduces the record without what a person set, and says what it gives; nil where nobody set the peak.
func (w *topped) tellAlone() *RecordAlone {
	if !w.peak.byHand {
		return nil
	}
	s := w.set
	s.Hand = &EventsByHand{From: s.Hand.From, To: s.Hand.To}
	placed := fmt.Sprintf("the place of the peak was set by hand at %.5f s: %s there", float64(w.clock(w.peak.time)), quantity.Force(w.peak.value))
	alone, err := Reduce(w.trace, s)
	if err != nil {
		w.warn("%s; the record alone gives no peak (%v)", placed, err)
		return nil
	}
	w.warn("%s; the record alone gives %s at %.5f s", placed, alone.Peak, alone.PeakTime.SI())
	return &RecordAlone{Peak: alone.Peak, PeakU: alone.PeakU, PeakTime: alone.PeakTime}
}

// handTaut puts taut where a person set it, between the start of the record and the peak.
func (w *signal) handTaut(ev events) (events, error) {
	if w.set.Hand.None() || w.set.Hand.Taut == nil {
		return ev, nil
	}
	at, top := w.inside(*w.set.Hand.Taut), float64(ev.peakAt)*w.dt
	if !(at >= 0 && at < top) {
		return ev, fmt.Errorf("taut is set by hand at %.5f s, but the record begins at %.5f s and peaks at %.5f s; set it between them", w.set.Hand.Taut.SI(), w.trace.Start.SI(), float64(w.clock(top)))
	}
	w.warn("the moment of taut was set by hand at %.5f s; the record alone suggests %.5f s", w.set.Hand.Taut.SI(), float64(w.clock(ev.taut)))
	// A person can place it no better than between two samples.
	ev.taut, ev.tautU = at, max(ev.tautU, w.dt/math.Sqrt(3))
	return ev, nil
}

// handSlack ends the first arrest where a person set it, after the peak.
func (w *signal) handSlack(ev events) (events, error) {
	if w.set.Hand.None() || w.set.Hand.Slack == nil {
		return ev, nil
	}
	n := len(w.forceN) - 1
	at, top := w.inside(*w.set.Hand.Slack), float64(ev.peakAt)*w.dt
	if !(at > top && at <= float64(n)*w.dt) {
		return ev, fmt.Errorf("the end of the arrest is set by hand at %.5f s, but the peak is at %.5f s and the record ends at %.5f s; set it between them", w.set.Hand.Slack.SI(), float64(w.clock(top)), float64(w.clock(float64(n)*w.dt)))
	}
	w.warn("the end of the arrest was set by hand at %.5f s, as slack; the record alone suggests %s at %.5f s", w.set.Hand.Slack.SI(), ev.endKind, float64(w.clock(ev.end)))
	ev.end, ev.endAt, ev.endKind, ev.collapse = at, min(int(at/w.dt), n), "slack", 0
	return ev, nil
}
