package reduce

import (
	"fmt"
	"math"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/num/dsp"
	"github.com/hardcatch/hardcatch/internal/quantity"
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
	oneSided  bool
	unfitted  bool    // too few samples for a one-sided fit
	fitU      float64 // standard error of a one-sided fit
	fitDoF    float64
	slope     float64 // N a sample, before a break
	opened    float64 // N, change of the peak through filters of higher frequency
	ring      float64 // amplitude of the rig's ringing about the top, in the curve the peak is read from
	ringing   float64 // the same in the raw record
	byHand    bool    // a person set the place
	placeN    float64 // largest change of the force within the reach of a hand
}

// findPeak reads the peak of the first arrest: largest raw sample, largest filtered sample, and the best
// value. After a held arrest that is the parabola through the top of the filtered curve. Before a
// break the filter would mix the collapse into the top, so that a parabola is fitted to the raw
// samples up to the break and read at its top, or at the break while it still rises.
func (w *work) findPeak() {
	from, to := w.ev.first, w.ev.endAt+1
	p := &w.peak
	if !w.set.Hand.None() && w.set.Hand.Peak != nil {
		w.peakByHand(from, to)
	} else {
		w.peakAlone(from, to)
	}
	if len(w.hidden()) > 0 {
		w.peakAtLeast()
	}
	w.curvature(from, to)
	w.ringAmplitude(from, to)
	w.out.Peak, w.out.PeakRaw, w.out.PeakFiltered = quantity.Force(p.value), quantity.Force(p.raw), quantity.Force(p.filtered)
	w.out.PeakTime, w.out.TimeToPeak = w.clock(p.time), quantity.Duration(p.time-w.ev.taut)
	w.out.PulseLength = quantity.Duration(p.pulse)
	w.out.PeakMethod = "parabola through the top of the filtered record"
	if !w.filter {
		w.out.PeakMethod = "parabola through the top of the unfiltered record"
	}
	if p.oneSided {
		w.out.PeakMethod = "parabola fitted to the unfiltered samples before the break, read at its top or at the break"
	}
	if p.unfitted {
		w.out.PeakMethod = "last unfiltered sample before the break"
	}
	if p.byHand {
		w.out.PeakMethod = w.methodByHand()
	}
	if len(w.hidden()) > 0 {
		w.out.PeakMethod = "largest force that was measured; the top was not"
	}
	w.out.step("peak", map[string]any{"method": w.out.PeakMethod, "raw_N": p.raw, "filtered_N": p.filtered, "value_N": p.value, "pulse_length_s": p.pulse})
	if w.coarse = w.isCoarse(); w.coarse != "" && !p.byHand {
		p.raw = w.largestMeasured()
		p.value = p.raw
		w.out.Peak, w.out.PeakRaw, w.out.PeakMethod = quantity.Force(p.value), quantity.Force(p.raw), "largest sample; the top lies between samples"
	}
}

// peakAtLeast reads the largest force that was measured: of the filtered record, so that noise does not raise it, and no more
// than the largest sample.
func (w *work) peakAtLeast() {
	p := &w.peak
	at, top := -1, math.Inf(-1)
	for i := w.ev.first; i <= w.ev.endAt; i++ {
		if is := w.mask.At(i); (is == drop.Measured || is == drop.Saturated) && w.lowN[i] > top {
			at, top = i, w.lowN[i]
		}
	}
	if at < 0 {
		return
	}
	p.raw = w.largestMeasured()
	p.value, p.filtered, p.time = math.Min(top, p.raw), top, float64(at)*w.dt
	p.oneSided, p.unfitted = false, false
}

// peakAlone finds the top of the first arrest.
func (w *work) peakAlone(from, to int) {
	p := &w.peak
	p.raw = w.forceN[w.ev.peakAt]
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
		w.oneSidedPeak(from, to)
	}
}

// oneSidedPeak fits c0 + c1 u + c2 u^2 to the raw samples before the collapse, over at least one and a half
// periods of the rig's ringing, and takes the largest value of the fit.
func (w *work) oneSidedPeak(from, to int) {
	span := 4e-3
	if f := w.set.RigFrequency.SI(); f > 0 {
		span = math.Max(span, 1.5/f)
	}
	span = math.Min(span, 0.35*float64(to-from)*w.dt)
	n := int(span / w.dt)
	if n < 5 {
		w.out.warn("too few samples before the break to fit its peak: the last raw sample before it is used")
		w.peak.value, w.peak.time, w.peak.oneSided, w.peak.unfitted = w.forceN[to-1], float64(to-1)*w.dt, true, true
		w.peak.fitU, w.peak.fitDoF = 0.05*w.peak.value, math.Inf(1)
		return
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
	w.peak.oneSided = true
	w.peak.value = c0 + c1*at + c2*at*at
	w.peak.time = (float64(to-n) + half + at) * w.dt
	w.peak.fitU, w.peak.fitDoF = 3*s/math.Sqrt(float64(n)), float64(n-3)
	w.peak.slope = math.Max(0, c1+2*c2*half)
	if w.set.RigFrequency == 0 {
		// Without the rig's period the span of the fit may hold part of a swing only.
		w.peak.fitU = math.Hypot(w.peak.fitU, math.Max(0, math.Abs(w.peak.value-w.peak.raw)-w.noiseN)/math.Sqrt(3))
	}
	w.peak.ring = math.Sqrt(2 * math.Max(s*s-w.noiseN*w.noiseN, 0))
}

// curvature fits a parabola to the stretch about the peak where the force is above 90 % of it.
func (w *work) curvature(from, to int) {
	p := &w.peak
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
	if !p.oneSided {
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
	if w.filter && !p.oneSided {
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
}

// ringAmplitude estimates what rings on top of the pulse from the raw minus the filtered record over one
// pulse length about the peak, freed of noise: sqrt(2 (ms - noise^2)).
func (w *work) ringAmplitude(from, to int) {
	p := &w.peak
	// Against the detection filter, so that ringing which the chosen filter lets through is seen.
	p.ringing = w.residual(w.seenN, from, to)
	if p.oneSided {
		return // what the fit before the break has left over counts
	}
	p.ring = p.ringing
	if !w.filter {
		return
	}
	f := w.set.RigFrequency.SI()
	if f <= 0 {
		f = 200 // of an unknown rig: twice the detection filter's 3 dB frequency
	}
	p.ring *= w.q.Gain(math.Min(f, 0.49/w.dt), 1/w.dt)
}

func (w *work) residual(smooth []float64, from, to int) float64 {
	mid := int(w.peak.time / w.dt)
	reach := max(int(0.25*w.peak.pulse/w.dt), 4)
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

// biases lists what makes the peak read wrong, one term each. Shown minus true, N.
func (w *work) biases() (sampling, filter, rig float64) {
	p := w.peak
	worst, mean := dsp.HalfSineSamplingLoss(w.dt, p.pulse)
	sampling = -worst * p.value
	if p.oneSided {
		// A force that rises until it breaks off is under-read by up to a sample's rise.
		sampling = -p.slope
		worst, mean = p.slope/p.value, p.slope/p.value/2
	}
	text := fmt.Sprintf("at %s a half-sine as sharp as this peak (%s) is under-read by at most %.2g %% and by %.2g %% on average before interpolation", w.trace.Rate.Text(3), quantity.Duration(p.pulse).Text(3), 100*worst, 100*mean)
	w.addBias("sampling", &sampling, text)
	switch {
	case p.oneSided:
		filter = 0
		shown := p.filtered - p.value
		w.addBias("filter", &filter, fmt.Sprintf("the peak is read from unfiltered samples before the break; %s would show %s, %.1f %% of it", w.set.Filter, quantity.Force(p.filtered), 100*(1+shown/p.value)))
	case w.filter:
		ratio := dsp.HalfSineFilterRatio(w.q, p.pulse, 1/w.dt)
		filter = (ratio - 1) * p.value
		w.filterDifference()
		w.addBias("filter", &filter, fmt.Sprintf("%s shows %.2f %% of the peak of a half-sine of %s", w.set.Filter, 100*ratio, quantity.Duration(p.pulse).Text(3)))
		if ratio < 0.98 {
			w.out.warn("the filter %s takes %.1f %% off a peak as sharp as this one (%s); reduce again with a higher class", w.set.Filter, 100*(1-ratio), quantity.Duration(p.pulse).Text(3))
		}
	default:
		w.addBias("filter", &filter, "no filter is applied")
	}
	rig = w.rigBias()
	return sampling, filter, rig
}

// filterDifference is the larger change of the peak when the filter is opened to three and to six times its
// frequency. Pulses that are no half-sines (friction makes a cusp) show their filter error in it.
func (w *work) filterDifference() {
	tried := false
	var y []float64
	for _, times := range []quantity.Frequency{3, 6} {
		q, err := Filter{Cutoff: times * w.set.Filter.Cut3dB()}.biquad(w.trace.Rate)
		if err != nil {
			continue
		}
		tried = true
		pad := q.Settle()
		from, to := max(0, w.ev.first-pad), min(len(w.forceN), w.ev.endAt+pad)
		if cap(y) < to-from {
			y = make([]float64, to-from)
		}
		y = y[:to-from]
		q.FiltFilt(y, w.forceN[from:to], 0)
		top := dsp.InterpolatePeak(y[w.ev.first-from : max(w.ev.endAt+1-from, w.ev.first-from+1)]).Value
		if w.peak.byHand {
			top = between(y, w.peak.time/w.dt-float64(from))
		}
		if d := top - w.peak.value; math.Abs(d) > math.Abs(w.peak.opened) {
			w.peak.opened = d
		}
	}
	if !tried {
		w.out.warn("the error of the filter could not be tested with a higher one at this sample rate")
	}
}

func (w *work) rigBias() float64 {
	p := w.peak
	f := w.set.RigFrequency.SI()
	if f <= 0 {
		w.addBias("rig frequency", nil, "the natural frequency of the load cell with its node is not stated, so that its share of the peak cannot be told; strike the empty hook and read the ringing")
		w.out.warn("the rig's natural frequency is not stated: the budget of the peak holds the ringing seen, not the dynamic error of the rig")
		return 0
	}
	r := 1 / (2 * p.pulse * f)
	if r > 0.7 {
		w.addBias("rig frequency", nil, fmt.Sprintf("the rig's natural frequency %s is too low for a pulse of %s: the record shows the rig, not the specimen", quantity.Frequency(f).Text(3), quantity.Duration(p.pulse).Text(3)))
		w.out.warn("the rig rings at %s, too slowly for a pulse of %s: the peak is not the specimen's", quantity.Frequency(f).Text(3), quantity.Duration(p.pulse).Text(3))
		return 0.5 * p.value
	}
	bias := (1/(1-r*r) - 1) * p.value
	w.addBias("rig frequency", &bias, fmt.Sprintf("a node that rings at %s shows a half-sine of %s %.2g %% too high; ringing of %s is seen on the raw record about the peak", quantity.Frequency(f).Text(3), quantity.Duration(p.pulse).Text(3), 100*bias/p.value, quantity.Force(p.ringing).Text(2)))
	return bias
}

func (w *work) addBias(source string, v *float64, text string) {
	t := BiasTerm{Source: source, Text: text}
	if v != nil {
		f := quantity.Force(*v)
		t.Bias = &f
	}
	w.out.Bias = append(w.out.Bias, t)
}
