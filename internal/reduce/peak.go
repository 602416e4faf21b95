package reduce

import (
	"fmt"
	"math"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/num/dsp"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// reading is how the peak was read.
type reading int

// From the top of a curve; from the fit to the samples before a break; as the last sample before it, which is too near for a fit.
const (
	atTop reading = iota
	beforeBreak
	lastSample
)

// peakResult is the peak of the first arrest.
type peakResult struct {
	value     float64 // N
	time      float64 // s from sample 0
	timeU     float64
	raw       float64
	filtered  float64
	curvature float64 // N/s2, magnitude
	pulse     float64 // s: half-sine of this peak and curvature
	read      reading
	fitU      float64 // standard error of a fit before a break
	fitDoF    float64
	slope     float64 // N a sample, before a break
	ring      float64 // amplitude of the rig's ringing about the top, in the curve the peak is read from
	ringing   float64 // the same in the raw record
	byHand    bool    // a person set the place
	placeN    float64 // largest change of the force within the reach of a hand
	method    string
	coarse    string // why the sample rate cannot show it; empty where it can
}

// oneSided tells that the peak was read from one side, before a break.
func (p peakResult) oneSided() bool { return p.read != atTop }

// findPeak reads the peak of the first arrest: largest raw sample, largest filtered sample, and the best
// value. After a held arrest that is the parabola through the top of the filtered curve. Before a
// break the filter would mix the collapse into the top, so that a parabola is fitted to the raw
// samples up to the break and read at its top, or at the break while it still rises. It fails where nothing rises above zero.
func (w *sight) findPeak() (*topped, error) {
	p := w.readPeak()
	p = w.withCurvature(p)
	p.ring, p.ringing = w.ringAmplitude(p)
	p.method = w.peakMethod(p)
	w.step("peak", map[string]any{"method": p.method, "raw_N": p.raw, "filtered_N": p.filtered, "value_N": p.value, "pulse_length_s": p.pulse})
	if p.coarse = w.isCoarse(p); p.coarse != "" && !p.byHand {
		p.raw = w.measuredN
		p.value, p.method = p.raw, "largest sample; the top lies between samples"
	}
	if !(p.value > 0) {
		return nil, fmt.Errorf("%s: no arrest is found: what rises at %.4f s has no peak above zero (%s); check the channel and that the record begins before the drop", w.trace.Name, float64(w.clock(w.ev.taut)), quantity.Force(p.value))
	}
	return &topped{sight: w, peak: p}, nil
}

// readPeak reads value and place: where a person set it, from the record alone, or the largest force that was measured.
func (w *sight) readPeak() peakResult {
	from, to := w.ev.first, w.ev.endAt+1
	var p peakResult
	if w.peakSet() {
		p = w.peakByHand(from, to)
	} else {
		p = w.peakAlone(from, to)
	}
	if len(w.hidden()) > 0 {
		p = w.peakAtLeast(p)
	}
	return p
}

func (w *sight) peakMethod(p peakResult) string {
	switch {
	case len(w.hidden()) > 0:
		return "largest force that was measured; the top was not"
	case p.byHand:
		return w.methodByHand(p)
	case p.read == lastSample:
		return "last unfiltered sample before the break"
	case p.read == beforeBreak:
		return "parabola fitted to the unfiltered samples before the break, read at its top or at the break"
	case !w.filter:
		return "parabola through the top of the unfiltered record"
	}
	return "parabola through the top of the filtered record"
}

// peakAtLeast reads the largest force that was measured: of the filtered record, so that noise does not raise it, and no more
// than the largest sample.
func (w *sight) peakAtLeast(p peakResult) peakResult {
	at, top := -1, math.Inf(-1)
	for i := w.ev.first; i <= w.ev.endAt; i++ {
		if is := w.evidence.At(i); (is == drop.Measured || is == drop.Saturated) && w.lowN[i] > top {
			at, top = i, w.lowN[i]
		}
	}
	if at < 0 {
		return p
	}
	p.raw = w.measuredN
	p.value, p.filtered, p.time = math.Min(top, p.raw), top, float64(at)*w.dt
	p.read = atTop
	return p
}

// peakAlone finds the top of the first arrest.
func (w *timed) peakAlone(from, to int) peakResult {
	p := peakResult{raw: w.forceN[w.ev.peakAt]}
	// A filtered collapse ends later than the raw one.
	reach := min(to+int(0.02/w.dt), len(w.lowN))
	if w.ev.endKind != "break" {
		reach = to
	}
	low := dsp.InterpolatePeak(w.lowN[from:max(reach, from+1)])
	p.filtered = w.lowN[from+low.Index]
	top := dsp.InterpolatePeak(w.lowN[from:max(to, from+1)])
	p.value, p.time = top.Value, (float64(from)+top.Position)*w.dt
	if w.ev.endKind == "break" {
		return w.oneSidedPeak(p, from, to)
	}
	return p
}

// oneSidedPeak fits c0 + c1 u + c2 u^2 to the raw samples before the collapse, over at least one and a half
// periods of the rig's ringing, and takes the largest value of the fit.
func (w *signal) oneSidedPeak(p peakResult, from, to int) peakResult {
	span := 4e-3
	if f := w.set.RigFrequency.SI(); f > 0 {
		span = math.Max(span, 1.5/f)
	}
	span = math.Min(span, 0.35*float64(to-from)*w.dt)
	n := int(span / w.dt)
	if n < 5 {
		w.warn("too few samples before the break to fit its peak: the last raw sample before it is used")
		p.value, p.time, p.read = w.forceN[to-1], float64(to-1)*w.dt, lastSample
		p.fitU, p.fitDoF = 0.05*p.value, math.Inf(1)
		return p
	}
	y := w.forceN[to-n : to]
	c0, c1, c2 := dsp.Quadratic(y)
	half := float64(n-1) / 2
	// The break came up to a sample later than the last sample: read the parabola half a sample on.
	at := half + 0.5
	if c2 < 0 {
		at = math.Max(-half, math.Min(at, -c1/(2*c2)))
	}
	// At the end of its range a fitted parabola has the variance s^2/n (1 + 3 + 5), the squares of the
	// first three normalised Legendre polynomials there.
	s := math.Sqrt(dsp.QuadraticLeft(y, c0, c1, c2) / float64(n-3))
	p.read = beforeBreak
	p.value = c0 + c1*at + c2*at*at
	p.time = (float64(to-n) + half + at) * w.dt
	p.fitU, p.fitDoF = 3*s/math.Sqrt(float64(n)), float64(n-3)
	p.slope = math.Max(0, c1+2*c2*half)
	if w.set.RigFrequency == 0 {
		// Without the rig's period the span of the fit may hold part of a swing only.
		p.fitU = math.Hypot(p.fitU, math.Max(0, math.Abs(p.value-p.raw)-w.noiseN)/math.Sqrt(3))
	}
	p.ring = math.Sqrt(2 * math.Max(s*s-w.noiseN*w.noiseN, 0))
	return p
}

// withCurvature fits a parabola to the stretch about the peak where the force is above 90 % of it.
func (w *timed) withCurvature(p peakResult) peakResult {
	from, to := w.ev.first, w.ev.endAt+1
	x := w.lowN
	at := min(max(int(math.Round(p.time/w.dt)), from), to-1)
	l, r := at, at
	level := 0.9 * x[at]
	for l > from && x[l-1] >= level {
		l--
	}
	for r+1 < to && x[r+1] >= level {
		r++
	}
	if !p.oneSided() {
		// The same length to both sides, so that a skewed pulse does not tilt the parabola.
		half := min(at-l, r-at)
		l, r = at-half, at+half
	}
	if r-l >= 4 {
		_, _, c2 := dsp.Quadratic(x[l : r+1])
		p.curvature = math.Max(0, -2*c2/(w.dt*w.dt))
	} else if r > l {
		p.curvature = math.Max(0, -dsp.InterpolatePeak(x[max(at-1, 0):min(at+2, len(x))]).Curvature/(w.dt*w.dt))
	}
	if p.curvature > 0 && p.value > 0 {
		p.pulse = math.Pi * math.Sqrt(p.value/p.curvature)
	} else {
		p.pulse = 2 * (p.time - w.ev.taut)
	}
	// A half-sine cannot be longer than twice the way up by much; skewed tops are flatter.
	p.pulse = math.Min(p.pulse, 4*math.Max(p.time-w.ev.taut, w.dt))
	noise := w.noiseN
	if w.hasQuiet {
		noise = w.whiteN
	}
	if w.filter && !p.oneSided() {
		noise *= w.q.NoiseGain()
	}
	noise = math.Hypot(noise, 2*w.slowN)
	p.timeU = w.dt / math.Sqrt(12)
	if p.curvature > 0 {
		p.timeU = math.Hypot(p.timeU, math.Sqrt(2*noise/p.curvature)/math.Sqrt(12))
	}
	if p.byHand {
		p.timeU = math.Hypot(p.timeU, float64(w.handReach())*w.dt/math.Sqrt(3))
	}
	return p
}

// ringAmplitude estimates what rings on top of the pulse from the raw minus the filtered record over one
// pulse length about the peak, freed of noise: sqrt(2 (ms - noise^2)).
func (w *timed) ringAmplitude(p peakResult) (ring, ringing float64) {
	// Against the detection filter, so that ringing which the chosen filter lets through is seen.
	ringing = w.residual(p, w.seenN)
	if p.oneSided() {
		return p.ring, ringing // what the fit before the break has left over counts
	}
	if !w.filter {
		return ringing, ringing
	}
	f := w.set.RigFrequency.SI()
	if f <= 0 {
		f = 200 // of an unknown rig: twice the detection filter's 3 dB frequency
	}
	return ringing * w.q.Gain(math.Min(f, 0.49/w.dt), 1/w.dt), ringing
}

func (w *timed) residual(p peakResult, smooth []float64) float64 {
	from, to := w.ev.first, w.ev.endAt+1
	mid := int(p.time / w.dt)
	reach := max(int(0.25*p.pulse/w.dt), 4)
	l, r := max(mid-reach, from), min(mid+reach, to-1)
	if w.ev.endKind == "break" {
		// Keep clear of the smeared collapse.
		keep := 6e-3
		r = min(r, w.ev.endAt-int(keep/w.dt))
		l = min(l, max(from, r-reach))
	}
	if r-l < 8 {
		return 0
	}
	ss, mean := 0.0, 0.0
	for i := l; i <= r; i++ {
		d := w.forceN[i] - smooth[i]
		mean += d
		ss += d * d
	}
	n := float64(r - l + 1)
	mean /= n
	return math.Sqrt(2 * math.Max(ss/n-mean*mean-w.noiseN*w.noiseN, 0))
}
