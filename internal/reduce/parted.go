package reduce

import (
	"math"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// Limits of the test for an amplifier that was at its end, or could not follow, before a break. There is no motion after the arrest that could
// tell; what tells is the force against the way of the mass up to the break. From good and spoilt records of bench/truth, see docs/methods.md.
const (
	partedShort = 0.05 // share of the largest force by which the line through the middle of the rise passes it at the break
	partedStiff = 0.65 // stiffness over the last twentieth of the force, over that in the middle of the rise
	partedNode  = 0.75 // the same where the rig rings: over the last tenth
	partedFew   = 6    // samples
	partedRings = 1.5  // periods of the rig that the rise lasts at least: in less, what the force does over the way is the rig's own swing
	partedLevel = 2e-3 // share of the largest force by which a level swings
	slewFall    = 0.35 // of the time of the rise: what falls faster has followed the collapse
	slewLike    = 0.06 // by which the fastest rise and the fastest fall differ at most
	slewNoisy   = 0.4  // what slewShare comes to in noise, where they differ by no more than
	slewSame    = 0.02
)

// Why samples before a break are masked.
const (
	stopped = "the force stops rising while the specimen goes on stretching"
	limited = "the force falls as fast as it rose, and no faster: the amplifier could not follow"
)

// softened tells that, before a break, the force rises no more as it did although the mass goes on: the amplifier was at its end, or the specimen
// tore. It gives the stretch, and by how many times the stiffness fell.
func (w *timed) softened() (s drop.Stretch, stiff float64, ok bool) {
	if w.ev.endKind != "break" || !(w.set.Fall > 0) {
		return s, 0, false
	}
	if f := w.set.RigFrequency.SI(); f > 0 && float64(w.ev.peakAt-w.ev.first)*w.dt < partedRings/f {
		return s, 0, false
	}
	// What tears slowly falls from its largest force on: only what comes before is looked at.
	end := w.ev.endAt
	for end > w.ev.peakAt && w.forceN[end] < w.ev.topN-math.Max(6*w.noiseN, partedLevel*w.ev.topN) {
		end--
	}
	x, f := make([]float64, 0, w.ev.endAt-w.ev.first+1), w.forceN[w.ev.first:end+1]
	w.walk(w.forceN, func(_ int, at, _ float64) { x = append(x, at) })
	x = x[:len(f)]
	// above is the first sample from which on the force stays above a share of the largest, to the end or up to another share.
	above := func(share float64) int {
		i := len(f)
		for i > 0 && f[i-1] >= share*w.ev.topN {
			i--
		}
		return i
	}
	slope := func(from, to int) line { return lineThrough(x[from:to], f[from:to]) }
	near, most := 0.95, partedStiff
	if w.set.RigFrequency > 0 {
		near, most = 0.9, partedNode
	}
	from := above(near)
	if len(f)-from < partedFew {
		if from = above(0.9); len(f)-from < partedFew {
			return s, 0, false
		}
	}
	middle, low := 0, 0
	for i, v := range f {
		if v < 0.35*w.ev.topN {
			low = i + 1
		}
		if v < 0.5*w.ev.topN {
			middle = i + 1
		}
	}
	high := low
	for high < len(f) && f[high] < 0.8*w.ev.topN {
		high++
	}
	mid, top := slope(min(middle, high), high), slope(from, len(f))
	all := slope(low, high)
	if mid.n < partedFew || !(mid.slope > 0) {
		return s, 0, false
	}
	short := all.at(x[len(x)-1])/w.ev.topN - 1
	noise := 4 * w.noiseN / math.Sqrt(top.spread) // of the slope at the top
	if short < partedShort || top.slope+noise > most*mid.slope {
		return s, 0, false
	}
	return drop.Stretch{From: w.ev.first + from, To: end + 1, Is: drop.Saturated, Why: stopped}, top.slope / mid.slope, true
}

// line is a straight line by least squares.
type line struct {
	n               int
	slope, mean, mx float64
	spread          float64 // sum of squares of x about its mean
}

func (l line) at(x float64) float64 { return l.mean + l.slope*(x-l.mx) }

func lineThrough(x, y []float64) line {
	l := line{n: len(x)}
	for i := range x {
		l.mx += x[i] / float64(l.n)
		l.mean += y[i] / float64(l.n)
	}
	xy := 0.0
	for i := range x {
		l.spread += sq(x[i] - l.mx)
		xy += (x[i] - l.mx) * (y[i] - l.mean)
	}
	if l.spread > 0 {
		l.slope = xy / l.spread
	}
	return l
}

// limitedBothWays tells that the force fell after a break as fast as it had risen, in straight lines: what broke off lets go faster.
func (w *timed) limitedBothWays() bool {
	if w.ev.endKind != "break" || !(w.ev.fall > slewFall*w.ev.rise) || math.IsInf(w.ev.fall, 1) {
		return false
	}
	fell := min(w.ev.endAt+int(w.ev.fall/w.dt)+2, len(w.forceN)-1)
	for fell < len(w.forceN)-1 && w.forceN[fell] > 0.05*w.ev.topN {
		fell++
	}
	up, fastest := w.straight(w.ev.first, w.ev.peakAt, 1)
	down, slowest := w.straight(w.ev.peakAt, fell, -1)
	if !(slowest > 0) {
		return false
	}
	share, unlike := math.Max(up, down), math.Abs(fastest/slowest-1)
	return share > slewShare && unlike < slewLike || share > slewNoisy && unlike < slewSame
}

// saySoftened says what a peak before a break rests on, where the record does not show it.
func (w *timed) saySoftened(s drop.Stretch, stiff float64) {
	from, to := w.place(s)
	w.warn("from %.4f s to %.4f s, before it let go, the specimen went on stretching and the force rose only %.2g times as steeply as before: the amplifier was at its end, or the specimen tore; the peak is at least what is shown, and only a person who saw it tear may set the peak by hand", from, to, math.Max(stiff, 0))
}

// nearCapacity is the share of the load cell's capacity from which on a peak before a break is doubted (common practice, no source).
const nearCapacity = 0.85

// sayNearCapacity warns of a peak before a break that lies near the end of the load cell's range: where a soft knee begins only at the very top, the
// record cannot show it.
func (w *topped) sayNearCapacity() {
	c := w.set.Capacity
	if w.ev.endKind == "break" && c > 0 && len(w.hidden()) == 0 && !w.peak.byHand && w.peak.value > nearCapacity*c.SI() {
		w.warn("the specimen let go at %s, %.0f %% of the load cell's capacity (%s): a chain that is near its end shows too little, and after a break nothing in the record can tell; use a larger range, or take the peak as a lower bound", quantity.Force(w.peak.value), 100*w.peak.value/c.SI(), c)
	}
}
