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
func (w *work) inside(t quantity.Duration) float64 { return t.SI() - w.trace.Start.SI() }

// RecordAlone is what the record alone gives where a person set the place of the peak.
type RecordAlone struct {
	Peak     quantity.Force    `json:"peak_N"`
	PeakU    quantity.Force    `json:"peak_u_N"` // standard
	PeakTime quantity.Duration `json:"peak_time_s"`
}

// handPeak is the sample at which a person set the peak, -1 when nobody did. The force there must be that
// of an arrest; largest is the largest of the record.
func (w *work) handPeak(largest float64) (at int, err error) {
	if w.set.Hand.None() || w.set.Hand.Peak == nil {
		return -1, nil
	}
	t := w.set.Hand.Peak.SI()
	n := len(w.forceN) - 1
	pos := w.inside(*w.set.Hand.Peak) / w.dt
	if !(pos >= 0 && pos <= float64(n)) {
		return 0, fmt.Errorf("the peak is set by hand at %.5f s, but the record begins at %.5f s and ends at %.5f s; set it between them", t, w.trace.Start.SI(), float64(w.clock(float64(n)*w.dt)))
	}
	at = int(math.Round(pos))
	if seen := w.seenN[at]; !(seen > 1e-3*largest) || seen < 8*w.noiseN {
		return 0, fmt.Errorf("the peak is set by hand at %.5f s, but the force there is %s (noise %s); set it on the arrest", t, quantity.Force(seen), quantity.Force(w.noiseN))
	}
	w.ev.handPeak = pos
	return at, nil
}

// handReach is how far off a person may place the peak, in samples: 0.5 ms, and at least two samples (common
// practice, no source).
func (w *work) handReach() int { return int(math.Max(2, 0.5e-3/w.dt)) }

// peakByHand reads the force where a person set the peak, from the curve that the program would have read its top
// from: the filtered one, and before a break the raw samples.
func (w *work) peakByHand(from, to int) {
	p := &w.peak
	pos := math.Max(math.Min(w.ev.handPeak, float64(to-1)), float64(from))
	p.byHand = true
	p.time, p.raw, p.filtered = pos*w.dt, between(w.forceN, pos), between(w.lowN, pos)
	p.value = p.filtered
	near := w.lowN
	if w.ev.endKind == "break" {
		w.fitByHand(from, to, pos)
		near = w.forceN
	}
	reach := w.handReach()
	for i := max(from, int(pos)-reach); i <= min(to-1, int(pos)+reach+1); i++ {
		p.placeN = math.Max(p.placeN, math.Abs(near[i]-p.value))
	}
}

// fitByHand reads the peak before a break from a parabola through the raw samples about the place, clear of the
// collapse.
func (w *work) fitByHand(from, to int, pos float64) {
	p := &w.peak
	p.oneSided = true
	l, r := max(from, int(pos)-2*w.handReach()), min(to, int(pos)+2*w.handReach()+1)
	if r-l < 5 {
		p.value, p.unfitted, p.fitU, p.fitDoF = p.raw, true, 0.05*p.raw, math.Inf(1)
		return
	}
	y := w.forceN[l:r]
	c0, c1, c2 := dsp.Quadratic(y)
	n, half := float64(r-l), float64(r-l-1)/2
	u, sd := pos-float64(l)-half, math.Sqrt(dsp.QuadraticLeft(y, c0, c1, c2)/(n-3))
	p.value, p.slope = c0+c1*u+c2*u*u, math.Abs(c1+2*c2*u)
	// As at the end of the fit, where its variance is largest.
	p.fitU, p.fitDoF = 3*sd/math.Sqrt(n), n-3
	p.ring = math.Sqrt(2 * math.Max(sd*sd-w.noiseN*w.noiseN, 0))
}

func (w *work) methodByHand() string {
	switch {
	case w.peak.oneSided:
		return "the unfiltered record before the break, at the place set by hand"
	case w.filter:
		return "the filtered record at the place set by hand"
	}
	return "the unfiltered record at the place set by hand"
}

// placeByHand is what the place of the peak leaves open: half the width is the largest change of the force within
// the reach of a hand.
func (w *work) placeByHand() []uncert.Component {
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

// tellAlone reduces the record without what a person set, and says what it gives.
func (w *work) tellAlone() {
	if !w.peak.byHand {
		return
	}
	s := w.set
	s.Hand = &EventsByHand{From: s.Hand.From, To: s.Hand.To}
	placed := fmt.Sprintf("the place of the peak was set by hand at %.5f s: %s there", float64(w.clock(w.peak.time)), quantity.Force(w.peak.value))
	alone, err := run(w.trace, s)
	if err != nil {
		w.out.warn("%s; the record alone gives no peak (%v)", placed, err)
		return
	}
	o := alone.out
	w.out.Alone = &RecordAlone{Peak: o.Peak, PeakU: o.PeakU, PeakTime: o.PeakTime}
	w.out.warn("%s; the record alone gives %s at %.5f s", placed, o.Peak, o.PeakTime.SI())
}

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
