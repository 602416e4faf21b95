package reduce

import (
	"fmt"
	"math"

	"github.com/hardcatch/hardcatch/internal/num/dsp"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// events are the moments of a drop, seconds from sample 0 and sample indices.
type events struct {
	taut     float64 // interpolated
	tautU    float64
	first    int     // first sample after taut
	peakAt   int     // largest raw sample of the first arrest, or the one at which a person set the peak
	handPeak float64 // in samples, where a person set the peak
	topN     float64 // the force there
	end      float64
	endU     float64
	endAt    int    // last sample of the arrest
	endKind  string // "slack", "break", "end of record"
	rise     float64
	fall     float64 // 90 % to 10 % of the peak, +Inf when the force never fell that far
	collapse int     // sample at which the force begins to collapse, when it does
	later    []arrest
	bumps    int // stretches of force before the first arrest that are too small to be one
}

type arrest struct {
	taut     float64
	flight   quantity.Duration // since the arrest before went slack
	peakN    float64
	from, to int
}

// ringFloor is the fraction of the peak below which a rise of the filtered force is not an arrest.
const ringFloor = 0.08

// findEvents finds taut, the end of the first arrest, and later arrests.
func (w *signal) findEvents() (ev events, _ error) {
	seen := w.seenN
	top := 0.0
	for _, v := range seen {
		if v > top {
			top = v
		}
	}
	set, pos, err := w.handPeak(top)
	if err != nil {
		return ev, err
	}
	ev.handPeak = pos
	if set >= 0 {
		top = seen[set] // what is larger elsewhere is no measure of this arrest
	}
	noise := w.noiseN
	if !(top > 0) || top < 8*noise {
		return ev, fmt.Errorf("no arrest is found: the force stays within %s of zero (noise %s); check the channel, its unit and that the drop was recorded", quantity.Force(math.Max(top, 0)), quantity.Force(noise))
	}
	floor := math.Max(ringFloor*top, 6*noise)
	// A mass that swings about its weight crosses the floor without going slack: an arrest ends lower.
	slack := math.Min(floor, math.Max(0.15*w.set.Mass.SI()*w.set.Gravity.SI(), 6*noise))
	var first *arrest
	passed := 0
	for i := 0; i < len(seen); {
		if seen[i] < floor {
			i++
			continue
		}
		a := arrest{from: i, peakN: seen[i]}
		for i < len(seen) && seen[i] >= slack {
			if seen[i] > a.peakN {
				a.peakN = seen[i]
			}
			i++
		}
		a.to = i
		switch {
		case set >= a.to:
			passed++
		case first == nil && set < 0 && a.peakN < 0.25*top:
			ev.bumps++
		case first == nil:
			first = &a
		default:
			ev.later = append(ev.later, a)
		}
	}
	if ev.bumps > 0 {
		w.warn("the force rises %d time(s) by less than a quarter of the peak before the arrest; was the specimen plucked or the release caught?", ev.bumps)
	}
	if passed > 0 {
		w.warn("the force rises %d time(s) before the arrest in which the peak was set by hand; what was before is passed over", passed)
	}
	if set < 0 {
		if ev.later, err = w.whichArrest(first, ev.later); err != nil {
			return ev, err
		}
	}
	if ev, err = w.firstArrest(ev, first, top, set); err != nil {
		return ev, err
	}
	ev = w.endOfArrest(ev, first)
	if ev, err = w.handSlack(ev); err != nil {
		return ev, err
	}
	ev.later = w.laterArrests(ev.later, ev.end)
	w.step("events", map[string]any{"taut_s": float64(w.clock(ev.taut)), "taut_u_s": ev.tautU, "end": ev.endKind, "end_s": float64(w.clock(ev.end)), "end_u_s": ev.endU, "later_arrests": len(ev.later), "floor_N": floor})
	return ev, nil
}

// riseStart walks back from index i to where the force leaves zero, and extends the straight line
// between a low and a higher level to zero force.
func (w *signal) riseStart(i, limit int, peak float64) (at, u float64) {
	x := w.forceN
	low := math.Max(5*w.noiseN, 0.004*peak)
	high := math.Max(4*low, 0.03*peak)
	for i > limit && x[i] > high {
		i--
	}
	j := min(i+1, len(x)-1)
	for i > limit && x[i] > low {
		i--
	}
	cross := float64(i)
	if i+1 < len(x) && x[i+1] > x[i] {
		cross += math.Max(0, math.Min(1, (low-x[i])/(x[i+1]-x[i])))
	}
	at = cross
	if slope := (x[j] - low) / (float64(j) - cross); float64(j) > cross && slope > 0 {
		at = cross - math.Min(low/slope, 2e-3/w.dt+1)
	}
	at = math.Max(at, float64(limit))
	u = math.Max((cross-at)/2, 0.5)
	// The node under the load cell answers a ramp late, by a fraction of its period, and then rings about
	// it. A parabola over the rise to 40 % of the peak evens that out; it is believed when it stays near.
	if fit, ok := w.parabolaStart(j, peak); ok && math.Abs(fit-at) <= 2e-3/w.dt+2 {
		u = math.Max(u, math.Abs(fit-at))
		// The force cannot have begun while the record is still within its noise, but for the node's delay.
		quiet := i
		for quiet > limit && x[quiet] > 3*w.noiseN {
			quiet--
		}
		lag := 0.0
		if f := w.set.RigFrequency.SI(); f > 0 {
			lag = 0.25 / f / w.dt
		}
		at = math.Max(math.Max(fit, float64(quiet)-lag), float64(limit))
	}
	return at * w.dt, u * w.dt / math.Sqrt(3)
}

// onsetU is what hum and a node whose frequency is stated to a few percent leave open of an onset, s: hum shifts it by the hum over
// the slope of the flank, of so many samples, and the node by a thirtieth of its period (bench/truth).
func (w *signal) onsetU(samples int, peak float64) float64 {
	u := 0.0
	if peak > 0 {
		u = 1.5 * w.slowN / peak * float64(max(samples, 1)) * w.dt
	}
	if f := w.set.RigFrequency.SI(); f > 0 {
		u = math.Hypot(u, 1/(30*f))
	}
	return u
}

// swings is how many samples one and a half swings of the rig's node take.
func (w *signal) swings() int {
	if f := w.set.RigFrequency.SI(); f > 0 {
		return int(math.Min(1.5/f/w.dt, 1e6))
	}
	return 0
}

// node is the rig's node in samples.
func (w *signal) node() node {
	f := w.set.RigFrequency.SI()
	if f <= 0 || f*w.dt > 0.2 {
		return node{}
	}
	z := w.set.RigDamping.SI()
	if !(z > 0 && z < 1) {
		z = 0.03
	}
	return node{2 * math.Pi * f * w.dt, z}
}

// parabolaStart fits a parabola to the raw force from sample j, near 3 % of the peak, up to 40 % of it, and
// returns where it passes zero before them.
func (w *signal) parabolaStart(j int, peak float64) (at float64, ok bool) {
	x := w.forceN
	k := j
	for k < len(x) && x[k] < 0.4*peak {
		k++
	}
	if k-j < 8 || k == len(x) {
		return 0, false
	}
	c0, c1, c2 := dsp.Quadratic(x[j:k])
	mid := float64(j) + float64(k-1-j)/2
	disc := c1*c1 - 4*c0*c2
	if disc < 0 || c1 <= 0 {
		return 0, false
	}
	// The root at which the parabola rises, in the form that stays exact for small curvature.
	return mid - 2*c0/(c1+math.Sqrt(disc)), true
}

// firstArrest finds taut. set is the sample at which a person set the peak, -1 when nobody did.
func (w *signal) firstArrest(ev events, a *arrest, top float64, set int) (_ events, err error) {
	x := w.forceN
	// Smoothing smears a collapse outward: look for the raw peak inside the stretch only.
	ev.peakAt = a.from
	for i := a.from; i < a.to; i++ {
		if x[i] > x[ev.peakAt] {
			ev.peakAt = i
		}
	}
	ev.topN = x[ev.peakAt]
	if set >= 0 {
		ev.peakAt, ev.topN = set, math.Max(x[set], w.seenN[set])
	}
	peak := ev.topN
	// The detection filter starts to rise before the force does: begin where the raw force has risen.
	start := a.from
	for start < ev.peakAt && x[start] < 0.1*peak {
		start++
	}
	ev.taut, ev.tautU = w.riseStart(start, 0, top)
	if o := fitOnset(x[:a.to], ev.taut/w.dt, peak, w.noiseN, w.swings(), w.node()); o.ok {
		ev.taut, ev.tautU = math.Max(o.at, 0)*w.dt, o.u*w.dt
	} else if at, ok := sparseOnset(x[:a.to], ev.taut/w.dt, ev.peakAt, math.Max(5*w.noiseN, 0.004*peak)); ok {
		ev.taut, ev.tautU = at*w.dt, math.Max(w.dt/3, math.Abs(at*w.dt-ev.taut)/math.Sqrt(12))
	}
	ev.tautU = math.Hypot(math.Max(ev.tautU, 0.5*w.dt), w.onsetU(ev.peakAt-int(ev.taut/w.dt), peak))
	ev.taut = max(min(ev.taut, float64(ev.peakAt)*w.dt), 0) // a single sample can be all there is of a rise
	if ev, err = w.handTaut(ev); err != nil {
		return ev, err
	}
	ev.first = min(int(math.Ceil(ev.taut/w.dt)), len(x)-1)
	ev.rise = w.levelTime(ev.first, ev.peakAt, 0.9*peak) - w.levelTime(ev.first, ev.peakAt, 0.1*peak)
	return ev, nil
}

// levelTime is the interpolated time at which the force first reaches level on the way up.
func (w *signal) levelTime(from, to int, level float64) float64 {
	x := w.forceN
	for i := from; i <= to; i++ {
		if x[i] >= level {
			if i > 0 && x[i] > x[i-1] && x[i-1] < level {
				return (float64(i-1) + (level-x[i-1])/(x[i]-x[i-1])) * w.dt
			}
			return float64(i) * w.dt
		}
	}
	return float64(to) * w.dt
}

// collapseRatio is the largest unloading over loading time (90 % to 10 % of the peak) that is called a
// collapse. A spring unloads about as fast as it loads (ratio near 1; friction makes it smaller, to
// about 0.5); a break takes a millisecond or less.
const collapseRatio = 0.2

// endOfArrest finds where the first arrest ends, and how.
func (w *signal) endOfArrest(ev events, a *arrest) events {
	x := w.forceN
	peak := ev.topN
	low := math.Max(5*w.noiseN, 0.004*peak)
	ev.fall = math.Inf(1)
	// The last sample near the peak before the filtered force is gone, and the first one below a tenth after
	// it: a dropout or a dip on the way is passed over.
	high := ev.peakAt
	for i := ev.peakAt; i < a.to; i++ {
		if x[i] >= 0.9*peak {
			high = i
		}
	}
	fell := high
	for fell < len(x) && x[fell] >= 0.1*peak {
		fell++
	}
	if fell < len(x) {
		ev.fall = (float64(fell-high) - 0.5) * w.dt
		if ev.fall < math.Max(collapseRatio*ev.rise, 2*w.dt) || w.letGo(fell, ev) {
			ev.collapse = w.collapseStart(high, ev.first)
		}
	}
	if ev.collapse > 0 {
		ev.endKind, ev.endAt = "break", ev.collapse
		ev.end, ev.endU = w.breakOff(ev)
		return ev
	}
	for i := ev.peakAt; i < len(x); i++ {
		if x[i] > low {
			continue
		}
		ev.endKind, ev.endAt = "slack", i
		ev.end = float64(i) * w.dt
		// Extend the falling line to zero force, at most 2 ms.
		k := i
		for k > ev.peakAt && x[k] < 4*low {
			k--
		}
		if slope := (x[k] - x[i]) / float64(i-k); i > k && slope > 0 && x[i] > 0 {
			ev.end += math.Min(x[i]/slope, 2e-3/w.dt) * w.dt
		}
		return w.fitSlack(ev, peak)
	}
	ev.endKind, ev.endAt, ev.end = "end of record", len(x)-1, float64(len(x)-1)*w.dt
	if a.to < len(x) {
		w.warn("the force does not return to zero after the arrest: the arrest is taken to last to the end of the record")
	}
	return ev
}

// breakOff is the moment at which the force begins to collapse, between the last sample before the fall and the one that shows
// it. The node answers a force that falls by r a second late: its change stays below the noise n for (18 n/(r w^2))^(1/3), and is
// taken to last for a quarter of its period at most.
func (w *signal) breakOff(ev events) (at, u float64) {
	at, u = (float64(ev.collapse)+0.5)*w.dt, w.dt/2
	if f := w.set.RigFrequency.SI(); f > 0 {
		r := 0.8 * ev.topN / math.Max(ev.fall, w.dt)
		lag := math.Min(math.Cbrt(18*math.Max(w.noiseN, 1)/(r*sq(2*math.Pi*f))), 0.25/f)
		at, u = at-1.2*lag, math.Hypot(u, 0.6*lag)
	}
	return math.Max(at, math.Min(ev.taut+w.dt, float64(ev.collapse)*w.dt)), u
}

// believed is up to which share of the arrest a fitted end may be uncertain to be taken (common practice, no source).
const believed = 0.02

// fitSlack fits where the force is gone, as its onset seen backward.
func (w *signal) fitSlack(ev events, peak float64) events {
	x := w.forceN
	after := ev.endAt
	for after < len(x)-1 && after < ev.endAt+(ev.endAt-ev.peakAt) && x[after] < 0.05*peak {
		after++
	}
	back := make([]float64, 0, after-ev.peakAt)
	for i := after; i > ev.peakAt; i-- {
		back = append(back, x[i])
	}
	ev.endU = w.dt / math.Sqrt(3)
	if f := w.set.RigFrequency.SI(); f > 0 {
		// The node rings on where the force is gone, and hides the place by a twentieth of its period (bench/truth).
		ev.endU = math.Hypot(ev.endU, 0.05/f)
		return ev
	}
	o := fitOnset(back, float64(after)-ev.end/w.dt, peak, w.noiseN, 0, node{})
	if o.ok && float64(after)-o.at < float64(ev.peakAt) {
		return ev
	}
	if o.ok && o.u*w.dt > believed*(ev.end-ev.taut)+w.dt {
		ev.endU = math.Max(ev.endU, math.Abs((float64(after)-o.at)*w.dt-ev.end)/math.Sqrt(12))
		return ev
	}
	if !o.ok {
		if at, ok := sparseOnset(back, float64(after)-ev.end/w.dt, len(back)-1, math.Max(5*w.noiseN, 0.004*peak)); ok {
			ev.end, ev.endU = (float64(after)-at)*w.dt, w.dt/3
			ev.endAt = min(max(int(math.Ceil(ev.end/w.dt)), ev.peakAt+1), len(x)-1)
		}
		return ev
	}
	ev.end = (float64(after) - o.at) * w.dt
	ev.endU = math.Hypot(o.u*w.dt, w.onsetU(int(ev.end/w.dt)-ev.peakAt, peak))
	ev.endAt = min(max(int(math.Ceil(ev.end/w.dt)), ev.peakAt+1), len(x)-1)
	return ev
}

// letGo tells that the mass was still falling fast when the force had gone, at sample fell, and that nothing
// caught it afterwards although the record goes on for longer than any flight: whatever held it has parted,
// fast or slowly.
func (w *signal) letGo(fell int, ev events) bool {
	v0 := math.Sqrt(2 * w.set.Gravity.SI() * w.set.Fall.SI())
	if v0 == 0 || len(ev.later) > 0 || float64(len(w.forceN)-fell)*w.dt < 2.4*v0/w.set.Gravity.SI() {
		return false
	}
	end := float64(fell) * w.dt
	m := w.inputs(ev.taut).run(w.forceN, w.dt, fell, end, end)
	return !m.bottomed && m.vEnd > 0.4*v0
}

// collapseStart walks from a sample near 90 % of the peak back up the falling edge to where it began.
func (w *signal) collapseStart(i, first int) int {
	x := w.forceN
	for i > first && x[i-1] > x[i]+3*w.noiseN {
		i--
	}
	return i
}

// laterArrests locates the taut moment of each later arrest, clear of the rig's ringing in flight, after the first that ended at prev.
func (w *signal) laterArrests(found []arrest, prev float64) []arrest {
	out := append([]arrest(nil), found...)
	for k := range out {
		a := &out[k]
		start := a.from
		for start < a.to-1 && w.forceN[start] < 0.1*a.peakN {
			start++
		}
		a.taut, _ = w.riseStart(start, int(prev/w.dt), a.peakN)
		a.flight = quantity.Duration(a.taut - prev)
		prev = float64(a.to) * w.dt
	}
	return out
}
