package reduce

// Why a record without a gap does not show its peak.
const (
	endsRising = "the record ends before the force has fallen from its largest value"
	overflowed = "the force jumps from its largest value below zero between two samples, as a converter does that has run over"
)

// Shares of the largest force: a top is seen when the force has fallen from it by the first; a textile cannot push, so that a jump below minus the second is the
// converter's (common practice, no source).
const (
	fallenBy = 0.05
	pushedBy = 0.5
)

// endsTooSoon tells that the record ends within the arrest before its top was seen: the force may have risen further.
func (w *timed) endsTooSoon() bool {
	if w.ev.endKind != "end of record" {
		return false
	}
	for _, v := range w.forceN[w.ev.peakAt:] {
		if v < (1-fallenBy)*w.ev.topN {
			return false
		}
	}
	return true
}

// swingBack is the longest step between samples within which no rig swings from a large force to as large a negative one after a break, s: a quarter of the half
// period of a node of 500 Hz (common practice, no source).
const swingBack = 0.25e-3

// overflows tells that the force jumps from near its largest value to a large negative one from one sample to the next.
func (w *timed) overflows() bool {
	x := w.forceN
	if w.dt > swingBack {
		return false
	}
	for i := w.ev.first; i < min(w.ev.endAt+2, len(x)-1); i++ {
		if x[i] > pushedBy*w.ev.topN && x[i+1] < -pushedBy*w.ev.topN {
			return true
		}
	}
	return false
}

// cutShort makes a bound of a measure whose end the record does not show.
func (w *moved) cutShort(m Measure) Measure {
	switch {
	case w.bound.reason == endsRising && (m.Name == "impulse" || m.Name == "energy absorbed" || m.Name == "largest elongation" || m.Name == "duration"):
		m.Bound, m.Reason = AtLeast, endsRising
	case w.bound.reason == overflowed && m.Name != "impact speed":
		m.Bound, m.Reason = Nothing, overflowed
	}
	return m
}
