package reduce

import (
	"math"
	"strings"
	"testing"

	"github.com/hardcatch/hardcatch/internal/num/dsp"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// A parabola 1000 - 40 000 (t - 0.1)^2 /s2: curvature 80 000 N/s2, half-sine of that peak and curvature pi sqrt(1000/80000) = 351.2 ms,
// but not longer than four times the way up.
func TestCurvatureAndPulse(t *testing.T) {
	curve := func(set func(*told)) *told {
		w := bare()
		w.lowN = make([]float64, 201)
		for i := range w.lowN {
			w.lowN[i] = 1000 - 4e4*math.Pow(float64(i-100)*1e-3, 2)
		}
		w.forceN, w.seenN = w.lowN, w.lowN
		w.peak = peakResult{time: 0.1, value: 1000}
		w.noiseN = 2
		set(w)
		w.ev.first, w.ev.endAt = 0, 200
		w.peak = w.withCurvature(w.peak)
		return w
	}
	w := curve(func(*told) {})
	near(t, "curvature", w.peak.curvature, 8e4, 1e-9, 0)
	near(t, "pulse", w.peak.pulse, math.Pi*math.Sqrt(1000/8e4), 1e-9, 0)
	// dt/sqrt 12, and sqrt(2 noise/curvature)/sqrt 12: the stretch in which the top is flat within the noise.
	near(t, "time", w.peak.timeU, math.Hypot(1e-3, math.Sqrt(2*2/8e4))/math.Sqrt(12), 1e-9, 0)
	w = curve(func(w *told) { w.ev.taut = 0.05 })
	near(t, "four times the way up", w.peak.pulse, 0.2, 1e-12, 0)
	w = curve(func(w *told) { w.ev.taut = 0.1 })
	near(t, "four samples at the least", w.peak.pulse, 0.004, 1e-12, 0)
	w = curve(func(w *told) { w.peak.byHand = true }) // two samples of reach, over sqrt 3
	near(t, "time by hand", w.peak.timeU, math.Hypot(0.002/math.Sqrt(3), math.Hypot(1e-3, math.Sqrt(4/8e4))/math.Sqrt(12)), 1e-9, 0)
	q, err := dsp.ChannelClass(60, 1000, dsp.SAE)
	if err != nil {
		t.Fatal(err)
	}
	w = curve(func(w *told) { w.filter, w.q = true, q })
	near(t, "time after the filter", w.peak.timeU, math.Hypot(1e-3, math.Sqrt(4*q.NoiseGain()/8e4))/math.Sqrt(12), 1e-9, 0)
	w = curve(func(w *told) { w.filter, w.q, w.peak.read = true, q, beforeBreak })
	near(t, "time before a break", w.peak.timeU, math.Hypot(1e-3, math.Sqrt(4/8e4))/math.Sqrt(12), 1e-9, 0)

	// Only what is above 90 % counts: steeper below it (100 N of 1000: 50 samples to each side) changes nothing.
	w = curve(func(w *told) {
		for i := range w.lowN {
			if w.lowN[i] < 899.99 {
				w.lowN[i] -= 500
			}
		}
	})
	near(t, "above 90 %", w.peak.curvature, 8e4, 1e-9, 0)
	// A shoulder to one side is left out, unless the force broke off.
	shoulder := func(w *told) {
		for i := 151; i <= 180; i++ {
			w.lowN[i] = 905
		}
	}
	w = curve(shoulder)
	near(t, "same length to both sides", w.peak.curvature, 8e4, 1e-9, 0)
	w = curve(func(w *told) { shoulder(w); w.peak.read = beforeBreak })
	_, _, c2 := dsp.Quadratic(w.lowN[50:181])
	near(t, "all of it before a break", w.peak.curvature, -2*c2*1e6, 1e-9, 0)
	// Of a top of three samples the parabola through them, l - 2 c + r = -400 N a sample^2.
	w = curve(func(w *told) { clear(w.lowN); w.lowN[99], w.lowN[100], w.lowN[101] = 950, 1000, 650 })
	near(t, "three samples", w.peak.curvature, 0, 0, 1e-9) // 99 alone is above 90 %, 101 is not: no length to both sides
	w = curve(func(w *told) { clear(w.lowN); w.lowN[99], w.lowN[100], w.lowN[101] = 950, 1000, 950 })
	near(t, "three samples above 90 %", w.peak.curvature, 100/1e-6, 1e-9, 0)
	near(t, "without a curvature twice the way up", curve(func(w *told) {
		for i := range w.lowN {
			w.lowN[i] = 1000
		}
	}).peak.pulse, 0.2, 1e-12, 0)
}

// On a straight rise of 10 N a sample that breaks off at sample 200 the fit is exact: it is read half a sample after the last.
func TestOneSidedPeakOnAStraightRise(t *testing.T) {
	w := bare()
	w.dt = 1e-4
	w.forceN = make([]float64, 400)
	for i := range 201 {
		w.forceN[i] = 10 * float64(i)
	}
	w.peak.raw = 2000
	w.set.RigFrequency = 1000
	w.peak = w.oneSidedPeak(w.peak, 0, 201)
	near(t, "value", w.peak.value, 2005, 1e-12, 0)
	near(t, "time", w.peak.time, 200.5e-4, 1e-12, 0)
	near(t, "slope", w.peak.slope, 10, 1e-9, 0)
	near(t, "fit", w.peak.fitU, 0, 0, 1e-6)
	if w.peak.fitDoF != 37 || w.peak.read != beforeBreak { // 4 ms at 10 kHz: 40 samples
		t.Errorf("%+v", w.peak)
	}
	// 1.5 periods of 200 Hz are 7.5 ms; 35 % of a rise of 201 samples is 7.035 ms.
	w.set.RigFrequency = 200
	w.peak = w.oneSidedPeak(w.peak, 0, 201)
	if w.peak.fitDoF != 67 {
		t.Errorf("35 %% of the rise: %g", w.peak.fitDoF)
	}
	w.set.RigFrequency = 300 // 5 ms
	w.peak = w.oneSidedPeak(w.peak, 0, 201)
	if w.peak.fitDoF != 46 && w.peak.fitDoF != 47 {
		t.Errorf("1.5 periods: %g", w.peak.fitDoF)
	}
	// Without the rig's frequency what the fit lies above the largest sample counts, over sqrt 3, less the noise.
	w.set.RigFrequency, w.noiseN = 0, 2
	w.peak = w.oneSidedPeak(w.peak, 0, 201)
	near(t, "fit without the rig's period", w.peak.fitU, 3/math.Sqrt(3), 1e-6, 0)
	// 35 % of 14 samples is 4.9: too few, the last sample counts with 5 % of it; of 15 it is 5.25.
	w.peak = w.oneSidedPeak(w.peak, 187, 201)
	if w.peak.read != lastSample || w.peak.value != 2000 || w.peak.time != 200e-4 || !math.IsInf(w.peak.fitDoF, 1) {
		t.Errorf("%+v", w.peak)
	}
	near(t, "unfitted", w.peak.fitU, 100, 1e-12, 0)
	w.peak = peakResult{}
	w.peak = w.oneSidedPeak(w.peak, 186, 201)
	if w.peak.read == lastSample || w.peak.fitDoF != 2 {
		t.Errorf("%+v", w.peak)
	}
}

// A parabola over the last 41 samples with its top 5.25 samples before the end, and alternating residuals of 3 N: it is read at
// the top. Residuals r have s^2 = sum r^2/(n - 3), the fit 3 s/sqrt n at its end, the ringing sqrt(2 (s^2 - noise^2)).
func TestOneSidedPeakWithATop(t *testing.T) {
	w := bare()
	w.dt = 1e-4
	w.forceN = make([]float64, 200)
	n, noise := 40, 3.0
	for i := range 161 {
		u := float64(i) - 154.75
		w.forceN[i] = 9000 - 2*u*u + noise*float64(1-2*(i%2))
	}
	w.set.RigFrequency, w.noiseN = 1000, 2
	w.peak = w.oneSidedPeak(w.peak, 0, 161)
	near(t, "top", w.peak.value, 9000, 3e-5, 0)
	near(t, "time", w.peak.time, 154.75e-4, 3e-5, 0)
	s := math.Sqrt(9 * float64(n) / float64(n-3))
	near(t, "fit", w.peak.fitU, 3*s/math.Sqrt(float64(n)), 0.01, 0) // an alternating residual is nearly orthogonal to a parabola
	near(t, "ringing", w.peak.ring, math.Sqrt(2*(s*s-4)), 0.02, 0)
	if w.peak.slope != 0 {
		t.Errorf("past its top it does not rise: %g", w.peak.slope)
	}
	w.noiseN = 5
	w.peak = w.oneSidedPeak(w.peak, 0, 161)
	if w.peak.ring != 0 {
		t.Errorf("within the noise: %g", w.peak.ring)
	}
}

// A half-sine of length T and a rig of f: r = 1/(2 T f), bias 1/(1 - r^2) - 1 up to r = 0.7, half the peak from there on.
func TestRigBias(t *testing.T) {
	at := func(f, pulse float64) (float64, *Reduction) {
		w := bare()
		w.set.RigFrequency = quantity.Frequency(f)
		w.peak = peakResult{value: 1000, pulse: pulse}
		bias, term := w.rigBias()
		w.uncertainty.bias = []BiasTerm{term}
		return bias, w.written()
	}
	bias, o := at(100, 0.01) // r = 0.5
	near(t, "bias", bias, 1000.0/3, 1e-12, 0)
	near(t, "bias said", o.Bias[0].Bias.SI(), 1000.0/3, 1e-12, 0)
	if !strings.Contains(o.Bias[0].Text, "10.0 ms 33 % too high") {
		t.Error(o.Bias[0].Text)
	}
	bias, _ = at(100, 1/(2*0.6999*100))
	near(t, "r just below 0.7", bias, 1000*(1/(1-0.6999*0.6999)-1), 1e-9, 0)
	if bias, o = at(100, 1/(2*0.7001*100)); bias != 500 || o.Bias[0].Bias != nil || !strings.Contains(o.Warnings[0], "not the specimen's") {
		t.Errorf("%g %+v", bias, o)
	}
	if bias, o = at(0, 0.01); bias != 0 || o.Bias[0].Bias != nil || !strings.Contains(o.Warnings[0], "is not stated") {
		t.Errorf("%g %+v", bias, o)
	}
	if bias, o = at(1e-9, 1e9); bias == 0 {
		t.Errorf("%g %+v", bias, o)
	}
}

// Ringing of 50 N on a level of 1000 N, over whole periods about the peak: its amplitude, freed of the noise.
func TestResidual(t *testing.T) {
	at := func(set func(*told)) float64 {
		w := bare()
		w.forceN, w.seenN = make([]float64, 2001), make([]float64, 2001)
		for i := range w.forceN {
			w.seenN[i] = 1000
			w.forceN[i] = 1007 + 50*math.Sin(2*math.Pi*float64(i)/20)
		}
		w.peak = peakResult{time: 1, pulse: 0.4}
		w.ev.endAt = 2000
		set(w)
		return w.residual(w.peak, w.seenN)
	}
	// 201 samples; the mean of a sine squared is 1/2 of 200/201.
	near(t, "amplitude", at(func(*told) {}), 50, 1e-2, 0)
	near(t, "less the noise", at(func(w *told) { w.noiseN = 30 }), math.Sqrt(2500-2*900), 1e-2, 0)
	if got := at(func(w *told) { w.noiseN = 40 }); got != 0 {
		t.Errorf("all noise: %g", got)
	}
	// A quarter of the pulse to each side: what rings elsewhere does not count.
	quiet := func(from, to int) func(*told) {
		return func(w *told) {
			for i := from; i < to; i++ {
				w.forceN[i] = 1e6
			}
		}
	}
	near(t, "outside it", at(func(w *told) { quiet(0, 900)(w); quiet(1101, 2001)(w) }), 50, 1e-2, 0)
	if got := at(quiet(900, 901)); got < 1000 {
		t.Errorf("its first sample does not count: %g", got)
	}
	if got := at(quiet(1100, 1101)); got < 1000 {
		t.Errorf("its last sample does not count: %g", got)
	}
	// Before a break it keeps 6 ms clear of the collapse, and reaches as far back from there.
	broke := func(end int, more func(*told)) float64 {
		return at(func(w *told) { w.ev.endKind, w.ev.endAt = "break", end; more(w) })
	}
	near(t, "clear of the collapse", broke(1001, quiet(996, 2001)), 50, 1e-2, 0)
	if got := broke(1001, quiet(995, 996)); got < 1000 {
		t.Errorf("6 ms before the break do not count: %g", got)
	}
	if got := broke(1001, quiet(895, 896)); got < 1000 {
		t.Errorf("as far back does not count: %g", got)
	}
	near(t, "no further back", broke(1001, quiet(0, 895)), 50, 1e-2, 0)
	// Nine samples are enough, eight are not: 4 to each side at the least.
	if got := at(func(w *told) { w.peak.pulse = 1e-6; w.peak.time = 0.0045 }); got == 0 {
		t.Errorf("nine samples: %g", got)
	}
	if got := at(func(w *told) { w.peak.pulse, w.peak.time = 1e-6, 0.0035 }); got != 0 {
		t.Errorf("eight samples: %g", got)
	}
}

// What the filter lets through of the ringing: of an unknown rig as at 200 Hz.
func TestRingAmplitude(t *testing.T) {
	q, err := dsp.ChannelClass(180, 5000, dsp.SAE)
	if err != nil {
		t.Fatal(err)
	}
	at := func(set func(*told)) peakResult {
		w := bare()
		w.dt, w.filter, w.q = 1.0/5000, true, q
		w.forceN, w.seenN = make([]float64, 2001), make([]float64, 2001)
		for i := range w.forceN {
			w.forceN[i] = 50 * math.Sin(2*math.Pi*float64(i)/20)
		}
		w.peak = peakResult{time: 0.2, pulse: 0.2}
		w.ev.endAt = 2000
		set(w)
		w.peak.ring, w.peak.ringing = w.ringAmplitude(w.peak)
		return w.peak
	}
	p := at(func(w *told) { w.set.RigFrequency = 300 })
	near(t, "raw", p.ringing, 50, 1e-2, 0)
	near(t, "through the filter", p.ring, p.ringing*q.Gain(300, 5000), 1e-12, 0)
	p = at(func(*told) {})
	near(t, "unknown rig", p.ring, p.ringing*q.Gain(200, 5000), 1e-12, 0)
	p = at(func(w *told) { w.set.RigFrequency = 1e5 })
	near(t, "above what can be sampled", p.ring, p.ringing*q.Gain(0.49*5000, 5000), 1e-12, 0)
	p = at(func(w *told) { w.filter = false })
	near(t, "no filter", p.ring, p.ringing, 0, 0)
	p = at(func(w *told) { w.peak.read, w.peak.ring = beforeBreak, 3 })
	if p.ring != 3 || p.ringing == 0 {
		t.Errorf("before a break the fit's own counts: %+v", p)
	}
}

// The biases by their closed forms: a half-sine under-read by 1 - cos(pi dt/2T); the filter by its answer to that half-sine; before a
// break a sample's rise and no filter.
func TestBiases(t *testing.T) {
	q, err := dsp.ChannelClass(60, 1000, dsp.SAE)
	if err != nil {
		t.Fatal(err)
	}
	at := func(pulse float64, set func(*told)) (s, f float64, o *Reduction) {
		w := bare()
		w.forceN = make([]float64, 400)
		w.set.Filter, w.filter, w.q = DefaultFilter, true, q
		w.ev = events{first: 150, endAt: 250}
		w.peak = peakResult{value: 1000, pulse: pulse, filtered: 900, slope: 4}
		set(w)
		b := w.findBiases()
		w.uncertainty.bias = b.terms
		return b.sampling, b.filter, w.written()
	}
	s, f, o := at(0.05, func(*told) {})
	near(t, "sampling", s, -1000*(1-math.Cos(math.Pi*1e-3/0.1)), 1e-9, 0)
	near(t, "filter", f, 1000*(dsp.HalfSineFilterRatio(q, 0.05, 1000)-1), 1e-12, 0)
	if strings.Contains(strings.Join(o.Warnings, ""), "reduce again with a higher class") {
		t.Error(o.Warnings)
	}
	// 2 % off is where it warns: the shortest half-sine that keeps 98 % by bisection.
	lo, hi := 0.002, 0.05
	for range 60 {
		if mid := (lo + hi) / 2; dsp.HalfSineFilterRatio(q, mid, 1000) < 0.98 {
			lo = mid
		} else {
			hi = mid
		}
	}
	for pulse, warns := range map[float64]bool{lo * 0.98: true, hi * 1.02: false} {
		_, _, o = at(pulse, func(*told) {})
		if strings.Contains(strings.Join(o.Warnings, ""), "reduce again with a higher class") != warns {
			t.Errorf("%g s: %q", pulse, o.Warnings)
		}
	}
	s, f, o = at(0.05, func(w *told) { w.peak.read = beforeBreak })
	if s != -4 || f != 0 || !strings.Contains(o.Bias[1].Text, "would show 900.0 N, 90.0 % of it") || !strings.Contains(o.Bias[0].Text, "by at most 0.4 % and by 0.2 % on average") {
		t.Errorf("%g %g %+v", s, f, o.Bias)
	}
	if _, f, o = at(0.05, func(w *told) { w.filter = false }); f != 0 || !strings.Contains(o.Bias[1].Text, "no filter") {
		t.Errorf("%g %+v", f, o.Bias)
	}
}

// Against three and six times the filter's frequency the larger change counts: on a cusp, the sharper the filter the lower.
func TestFilterDifference(t *testing.T) {
	w := bare()
	w.dt, w.trace.Rate = 1e-4, 10000
	w.set.Filter = Filter{Cutoff: 100}
	w.forceN = make([]float64, 4001)
	for i := range w.forceN {
		w.forceN[i] = math.Max(0, 1000-5*math.Abs(float64(i)-2000)) // 20 ms up, 20 ms down
	}
	w.ev = events{first: 1800, endAt: 2200}
	through := func(f float64) float64 {
		q, err := dsp.LowPass3dB(f, 10000)
		if err != nil {
			t.Fatal(err)
		}
		y := make([]float64, len(w.forceN))
		q.FiltFilt(y, w.forceN, 0)
		return dsp.InterpolatePeak(y).Value
	}
	w.peak.value = through(100)
	opened := w.filterDifference()
	near(t, "opened", opened, through(600)-through(100), 1e-6, 0)
	if !(math.Abs(opened) > through(300)-through(100)) {
		t.Errorf("%g", opened)
	}
	// Where six times cannot be sampled three times it is: 3 * 500 of 10 kHz, 6 * 500 * 1.2465 = 3739 < 4500; of 700: 5235.
	w.set.Filter, w.peak = Filter{Cutoff: 700}, peakResult{value: through(700)}
	opened = w.filterDifference()
	near(t, "three times only", opened, through(2100)-through(700), 1e-6, 0)
	// Set by hand 50 samples beside the top, the change there: the force is 750 N through any filter wide enough.
	w.set.Filter, w.peak = Filter{Cutoff: 100}, peakResult{value: 700, time: 0.195, byHand: true}
	opened = w.filterDifference()
	near(t, "by hand", opened, 50, 0.02, 0)
	w.set.Filter, w.peak = Filter{Cutoff: 2000}, peakResult{}
	opened = w.filterDifference()
	if opened != 0 || !strings.Contains(w.Warnings[0], "could not be tested with a higher one") {
		t.Errorf("%g %v", opened, w.Warnings)
	}
}
