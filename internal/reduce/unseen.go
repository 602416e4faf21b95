package reduce

import (
	"math"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/num/dsp"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// unseen is a stretch of the first arrest that was not measured, samples from to to-1.
type unseen struct {
	drop.Stretch
	beyond  bool // the force lies beyond what stands in the record: saturated or out of range
	left    edge // the record on either side
	right   edge
	ceiling float64 // N: where the tangents at both ends meet; a force that bends downward between them stays below it
	top     bool    // the peak may lie in it
}

// edge is the force at the end of what was measured, with its slope toward greater times.
type edge struct {
	at           int     // sample
	force, slope float64 // N, N/s
	slopeU       float64 // standard error
	known        bool
}

// edgeSpan is over how long the force is fitted beside a stretch that was not measured (common practice, no source).
const edgeSpan = 3e-3

// edgeOf fits a parabola to the samples from to to-1 and reads force and slope at the sample at.
func edgeOf(x []float64, dt float64, from, to, at int, noise float64) edge {
	e := edge{at: at}
	n := to - from
	switch {
	case n < 1:
		return e
	case n < 3:
		e.force, e.known = x[at], true
		if n == 2 {
			e.slope = (x[to-1] - x[from]) / dt
		}
		e.slopeU = math.Abs(e.slope) + noise/dt
		return e
	}
	y := x[from:to]
	c0, c1, c2 := dsp.Quadratic(y)
	u := float64(at-from) - float64(n-1)/2
	e.force, e.slope, e.known = c0+c1*u+c2*u*u, (c1+2*c2*u)/dt, true
	sd := noise
	if n > 3 {
		sd = math.Max(noise, math.Sqrt(dsp.QuadraticLeft(y, c0, c1, c2)/float64(n-3)))
	}
	// At the end of n samples the slope of a fitted parabola has the variance 192 s^2/n^3 of a step (12 for the line, 180 for the bend).
	e.slopeU = sd * math.Sqrt(192/math.Pow(float64(n), 3)) / dt
	return e
}

// unseenIn lists what was not measured of the samples from to to-1, with what lies close together as one.
func unseenIn(m drop.Mask, from, to int) []unseen {
	var out []unseen
	for _, s := range m.Within(from, to) {
		beyond := s.Is == drop.Saturated || s.Is == drop.OutOfRange
		if n := len(out); n > 0 {
			if l := &out[n-1]; s.From-l.To <= max(2, (s.To-l.From)/8) {
				l.To, l.beyond = s.To, l.beyond || beyond
				if s.Is > l.Is {
					l.Is, l.Why = s.Is, s.Why
				}
				continue
			}
		}
		out = append(out, unseen{Stretch: s, beyond: beyond})
	}
	return out
}

// findUnseen lists the stretches of the first arrest that a mask leaves open, and tells of each whether the peak may lie there.
func (w *timed) findUnseen(mask drop.Mask) []unseen {
	x := w.forceN
	first, last := w.ev.first, w.ev.endAt
	list := unseenIn(mask, max(first-1, 0), min(last+2, len(x)))
	seenTop := w.largestMeasured(mask)
	for i := range list {
		u := &list[i]
		span := max(int(edgeSpan/w.dt), (u.To-u.From)/4, 5)
		l, r := max(u.From-span, first, 0), min(u.To+span, last+1, len(x))
		if i > 0 {
			l = max(l, min(list[i-1].To, u.From-1))
		}
		if i+1 < len(list) {
			r = min(r, max(list[i+1].From, u.To+1))
		}
		// Near an edge only as much as the force changes by a fifth of the largest: a long flank is no parabola.
		for l < u.From-4 && math.Abs(x[l]-x[u.From-1]) > 0.2*seenTop {
			l++
		}
		for r > u.To+4 && math.Abs(x[r-1]-x[u.To]) > 0.2*seenTop {
			r--
		}
		u.left = edgeOf(x, w.dt, l, u.From, u.From-1, w.noiseN)
		u.right = edgeOf(x, w.dt, u.To, r, u.To, w.noiseN)
		u.ceiling = ceiling(u.left, u.right, w.dt)
		if u.beyond {
			u.top = stands(x[max(u.From, 0):min(u.To, len(x))], 0.8*seenTop)
			if math.IsInf(u.ceiling, 1) || u.ceiling > seenTop {
				u.top = true
			}
			continue
		}
		u.top = !(u.ceiling <= seenTop)
	}
	return list
}

// stands tells that a value of x reaches level.
func stands(x []float64, level float64) bool {
	for _, v := range x {
		if v >= level {
			return true
		}
	}
	return false
}

// ceiling is the largest force between two edges of a curve that bends downward there: below both tangents. One that bends
// upward stays below the higher end. The slopes are taken at three standard errors to the unsafe side.
func ceiling(l, r edge, dt float64) float64 {
	switch {
	case !l.known && r.known && r.slope > 3*r.slopeU: // the rise goes on
		return r.force
	case !r.known && l.known && l.slope < -3*l.slopeU: // the fall goes on
		return l.force
	case !l.known || !r.known:
		return math.Inf(1)
	}
	top := math.Max(l.force, r.force)
	rise, fall := l.slope+3*l.slopeU, r.slope-3*r.slopeU
	span := float64(r.at-l.at) * dt
	if rise <= 0 || fall >= 0 {
		// The tangents leave the stretch on the same side: what is between them lies below the nearer one.
		a, b := l.force+math.Max(rise, 0)*span, r.force-math.Min(fall, 0)*span
		return math.Max(top, math.Min(a, b))
	}
	t := (r.force - l.force - fall*span) / (rise - fall)
	t = math.Min(math.Max(t, 0), span)
	return math.Max(top, l.force+rise*t)
}

// largestMeasured is the largest sample of the first arrest that was measured, and what stands where the channel was at the end
// of its range: the force was at least that.
func (w *timed) largestMeasured(mask drop.Mask) float64 {
	top := math.Inf(-1)
	at := w.ev.first
	see := func(to int) {
		for ; at < to; at++ {
			top = math.Max(top, w.forceN[at])
		}
	}
	for _, s := range mask.Within(w.ev.first, w.ev.endAt+1) {
		see(s.From)
		if s.Is != drop.Saturated {
			at = s.To
		}
	}
	see(w.ev.endAt + 1)
	return top
}

// hidden are the stretches in which the peak may lie; none when it was measured.
func (w *sight) hidden() (out []unseen) {
	for _, u := range w.unseen {
		if u.top {
			out = append(out, u)
		}
	}
	return out
}

// place says where a stretch lies on the record's clock.
func (w *given) place(s drop.Stretch) (from, to float64) {
	return float64(w.clock(float64(s.From) * w.dt)), float64(w.clock(float64(s.To-1) * w.dt))
}

// sayUnseen warns of what was not measured.
func (w *topped) sayUnseen() {
	for _, u := range w.unseen {
		from, to := w.place(u.Stretch)
		n := u.To - u.From
		switch {
		case u.top && u.beyond:
			w.warn("the record is cut off from %.4f s to %.4f s (%d samples %s): the peak is at least %s, and higher by an amount that was not measured; repeat the drop with a larger range", from, to, n, u.Is, quantity.Force(w.peak.value))
		case u.top:
			w.warn("%d samples from %.4f s to %.4f s were not measured (%s), and the peak may lie among them: it is at least %s; repeat the drop", n, from, to, u.Is, quantity.Force(w.peak.value))
		default:
			w.warn("%d samples from %.4f s to %.4f s were not measured (%s); the peak cannot lie there, as the force would have had to bend upward and back", n, from, to, u.Is)
		}
	}
}
