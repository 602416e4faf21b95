package reduce

import (
	"fmt"
	"math"

	"github.com/hardcatch/hardcatch/internal/num/dsp"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// Bound is how a number is known.
type Bound string

// The ways in which a number is known.
const (
	Value   Bound = ""         // a value with an uncertainty
	AtLeast Bound = "at_least" // it is no smaller than the value given
	AtMost  Bound = "at_most"  // it is no larger than the value given
	Between Bound = "interval" // it lies in the interval given
	Nothing Bound = "none"     // nothing can be said
)

// tooFew is how many samples above half of its peak an arrest must have for the peak to be read, and tooSharp the share by
// which the largest sample of a half-sine as short may lie below its top (common practice, no source).
const (
	tooFew   = 5
	tooSharp = 0.02
)

// peakBound is how the peak is known.
type peakBound struct {
	how      Bound
	reason   string // empty where it is a value
	clipped  bool   // the force lies beyond what stands in the record
	interval *[2]quantity.Force
}

// hidden tells that the record does not show the peak.
func (b peakBound) hidden() bool { return b.how != Value }

// boundPeak makes the peak a bound where the record cannot show it, or an interval where its top was rebuilt.
func (w *topped) boundPeak(r *rebuilt) (b peakBound) {
	w.sayUnseen()
	w.sayNearCapacity()
	hidden := w.hidden()
	switch {
	case len(hidden) > 0:
		u := hidden[0]
		from, to := w.place(u.Stretch)
		b.reason = fmt.Sprintf("%s from %.4f s to %.4f s", u.Is, from, to)
		for _, u := range hidden {
			b.clipped = b.clipped || u.beyond
		}
	case w.endsTooSoon() && !w.peak.byHand:
		b.reason = endsRising
		w.warn("the peak is at least %s: %s; record for longer", quantity.Force(w.peak.value), endsRising)
	case w.overflows() && !w.peak.byHand:
		b.reason, b.clipped = overflowed, true
		w.warn("the peak is at least %s: %s; repeat the drop with a larger range", quantity.Force(w.peak.value), overflowed)
	case w.peak.coarse != "":
		b.reason = w.peak.coarse
		w.warn("the peak is at least %s: %s; sample faster", quantity.Force(w.peak.value), w.peak.coarse)
	default:
		return b
	}
	b.how = AtLeast
	if r != nil {
		b.how, b.interval = Between, &[2]quantity.Force{quantity.Force(r.lo), quantity.Force(r.hi)}
		w.warn("the peak lies between %s and %s, rebuilt from %s", b.interval[0], b.interval[1], r.from)
	}
	return b
}

// isCoarse tells why the sample rate cannot show the peak of this arrest; empty when it can.
func (w *timed) isCoarse(p peakResult) string {
	if w.ev.endKind == "break" && p.read == beforeBreak {
		return "" // read at the end of a rise
	}
	x, half := w.forceN, 0.5*w.ev.topN
	n := 0
	for i := w.ev.first; i <= w.ev.endAt; i++ {
		if x[i] > half {
			n++
		}
	}
	// What the samples above half of the peak say of a half-sine's length: it is above half for two thirds of it.
	length := 1.5 * float64(n+1) * w.dt
	worst, _ := dsp.HalfSineSamplingLoss(w.dt, length)
	if n < tooFew || worst > tooSharp {
		return fmt.Sprintf("only %d samples of the arrest lie above half of it, and the largest may lie %.2g %% below the top of a half-sine as short", n, 100*worst)
	}
	return ""
}

// bounded says how a measure is known where samples of the arrest were not measured.
func (w *moved) bounded(m Measure, of func(motion) float64) Measure {
	if w.peak.coarse != "" && m.Name != "impact speed" {
		m.Bound, m.Reason = Nothing, w.peak.coarse
		if of == nil {
			// Both ends lie between two samples, or a sample beside them.
			m.Bound, m.Interval = Between, &[2]float64{math.Max(m.Value-4*w.dt, 0), m.Value + 4*w.dt}
		}
		return m
	}
	if len(w.unseen) == 0 {
		return w.cutShort(m)
	}
	u := w.unseen[0]
	if h := w.hidden(); len(h) > 0 {
		u = h[0]
	}
	from, to := w.place(u.Stretch)
	m.Reason = fmt.Sprintf("%s from %.4f s to %.4f s", u.Is, from, to)
	switch {
	case m.Name == "impact speed":
		m.Reason = ""
		return m
	case w.slewed:
		m.Bound = Nothing
		return m
	}
	if of == nil { // a duration: only its ends count
		for _, u := range w.unseen {
			if u.From <= w.ev.first || u.To > w.ev.endAt {
				// The end lies somewhere in the stretch.
				m.Bound = Between
				half := float64(u.To-u.From+1) * w.dt
				m.Interval = &[2]float64{math.Max(m.Value-half-2*m.U, 0), m.Value + half + 2*m.U}
				return m
			}
		}
		m.Reason = ""
		return m
	}
	if w.fills != nil {
		a, b := of(w.fills[0]), of(w.fills[1])
		if !isNumber(a) || !isNumber(b) {
			m.Bound = Nothing
			return m
		}
		m.Bound, m.Interval = Between, &[2]float64{math.Min(math.Min(a, b), m.Value) - 2*m.U, math.Max(math.Max(a, b), m.Value) + 2*m.U}
		return m
	}
	// With too little force the mass goes on too fast and too far.
	switch m.Name {
	case "impulse":
		m.Bound = AtLeast
	case "largest elongation":
		m.Bound = AtMost
	case "energy absorbed":
		m.Bound = AtMost
		if !w.motion.bottomed {
			m.Bound = AtLeast
		}
	case "rebound speed":
		m.Bound = AtLeast
	default:
		m.Bound = Nothing
	}
	return m
}

func isNumber(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }

// filled are the motions with the force forceN as low and as high as it may have been where it was not measured: as rebuilt where the
// peak may lie, and elsewhere the straight line and the curve between the tangents. It is nil where nothing bounds it, or all was
// measured.
func (w *topped) filled(forceN []float64, r *rebuilt) *[2]motion {
	if len(w.unseen) == 0 {
		return nil
	}
	low := append([]float64(nil), forceN[:w.ev.endAt+1]...)
	high := append([]float64(nil), low...)
	for _, u := range w.unseen {
		from, to := max(u.From, 0), min(u.To, len(low))
		switch {
		case r != nil && r.of.From == u.From:
			copy(low[from:to], r.low)
			copy(high[from:to], r.high)
		case u.top || !u.left.known || !u.right.known:
			return nil
		default:
			u.tangents(low[from:to], high[from:to], w.dt)
		}
	}
	in := w.inputsNow()
	return &[2]motion{w.motionOver(low, in), w.motionOver(high, in)}
}

// tangents fills the samples with the lowest and the highest force between the straight line and both tangents.
func (u unseen) tangents(low, high []float64, dt float64) {
	span := float64(u.right.at-u.left.at) * dt
	for i := range low {
		t := float64(u.From+i-u.left.at) * dt
		line := u.left.force + (u.right.force-u.left.force)*t/span
		a, b := u.left.force+u.left.slope*t, u.right.force-u.right.slope*(span-t)
		low[i], high[i] = math.Min(line, math.Max(a, b)), math.Max(line, math.Min(a, b))
	}
}
