package reduce

import (
	"math"
	"testing"

	"github.com/hardcatch/hardcatch/internal/quantity"
)

// slackAt is a force that falls as 10 000 N * (s + s^2/2)/1.5, s = (300.3 - i)/100, to zero between samples 300 and 301 and stays there, with 1 N
// up and down of noise.
func slackAt(n int) *told {
	x := make([]float64, n)
	for i := range x {
		if s := (300.3 - float64(i)) / 100; s > 0 && i >= 200 {
			x[i] = 1e4 * (s + s*s/2) / 1.5
		}
		x[i] += float64(1 - 2*(i%2))
	}
	w := eventWork(x)
	w.dt, w.noiseN = 1e-4, 1
	return w
}

func slackEvents() events {
	return events{taut: 0.01, peakAt: 200, topN: 1e4, end: 300.2e-4, endAt: 300, endKind: "slack"}
}

// The onset seen backward: 300.3 samples, to half a sample at best, and the first sample at which the force is gone ends the arrest.
func TestFitSlack(t *testing.T) {
	w := slackAt(600)
	ev := w.fitSlack(slackEvents(), 1e4)
	near(t, "end", ev.end, 300.3e-4, 0, 3e-7)
	near(t, "u", ev.endU, 0.5e-4, 1e-3, 0)
	if ev.endAt != 301 {
		t.Errorf("%d", ev.endAt)
	}
	// Hum of 20 N of 10 kN over a fall of 100 samples: 1.5 * 0.002 * 100 samples.
	w.slowN = 20
	near(t, "with hum", w.fitSlack(slackEvents(), 1e4).endU, math.Hypot(0.5, 0.3)*1e-4, 2e-2, 0)
	// The record may end with the arrest: the last sample is its last.
	w = slackAt(301)
	if ev := w.fitSlack(slackEvents(), 1e4); ev.endAt != 300 {
		t.Errorf("%d", ev.endAt)
	}
	// A node rings on where the force is gone: its end stays, to a twentieth of the period and a sample over sqrt 3.
	w = slackAt(600)
	w.set.RigFrequency = 200
	ev = w.fitSlack(slackEvents(), 1e4)
	if ev.end != 300.2e-4 || ev.endAt != 300 {
		t.Errorf("%+v", ev)
	}
	near(t, "with a node", ev.endU, math.Hypot(1e-4/math.Sqrt(3), 0.05/200), 1e-12, 0)
}

// A fit that is uncertain by more than a fiftieth of the arrest and a sample leaves the end where it was, and half the distance over sqrt 3 to it.
func TestFitSlackNotBelieved(t *testing.T) {
	w := slackAt(600)
	w.noiseN = 600
	ev := slackEvents()
	ev.taut = 299e-4 // an arrest of 1.2 samples: more than 1.02 of a sample are too many
	o := fitOnset(backward(w.forceN, 201, 401), 400-300.2, 1e4, w.noiseN, 0, node{})
	if !o.ok || o.u < 1.1 {
		t.Fatalf("%+v", o)
	}
	got := w.fitSlack(ev, 1e4)
	if got.end != ev.end || got.endAt != ev.endAt {
		t.Errorf("%+v", got)
	}
	if after := 300.0 + 100; got.endU < 1e-4/math.Sqrt(3) || math.Abs(got.endU-math.Max(1e-4/math.Sqrt(3), math.Abs((after-o.at)*1e-4-ev.end)/math.Sqrt(12))) > 1e-6 {
		t.Errorf("u %g, fit at %g", got.endU, after-o.at)
	}
}

// backward are the samples from to to-1, the last first.
func backward(x []float64, from, to int) (out []float64) {
	for i := to - 1; i >= from; i-- {
		out = append(out, x[i])
	}
	return out
}

// Of few samples the line through the two last above 0.4 % of the peak: 4000 and 1500 N, 2500 N a sample, zero 0.6 samples on.
func TestFitSlackOfFewSamples(t *testing.T) {
	w := eventWork([]float64{0, 5000, 10000, 8000, 4000, 1500, 0, 0, 0, 0})
	ev := w.fitSlack(events{taut: 0.5e-3, peakAt: 2, topN: 1e4, end: 6e-3, endAt: 6, endKind: "slack"}, 1e4)
	near(t, "end", ev.end, 5.6e-3, 1e-12, 0)
	near(t, "u", ev.endU, 1e-3/3, 1e-12, 0)
	if ev.endAt != 6 {
		t.Errorf("%d", ev.endAt)
	}
}

// The line through the first two samples above low reaches zero between the last below and the first above.
func TestSparseOnset(t *testing.T) {
	for _, c := range []struct {
		what      string
		x         []float64
		near, low float64
		peakAt    int
		at        float64
		ok        bool
	}{
		{"a line to zero", []float64{0, 0, 0, 60, 160, 200}, 2, 5, 5, 2.4, true},
		{"no farther back than the sample before", []float64{0, 0, 0, 150, 160, 200}, 2, 5, 5, 2, true},
		{"what is low does not count", []float64{0, 0, 5, 60, 160, 200}, 2, 5, 5, 2.4, true},
		{"looked for from two samples before", []float64{0, 0, 0, 0, 60, 160, 200}, 5, 5, 6, 3.4, true},
		{"none below before it", []float64{60, 160, 200, 300}, 0, 5, 3, 0, false},
		{"it stands above already", []float64{0, 60, 70, 80, 90, 95}, 4.5, 5, 5, 0, false},
		{"it does not rise on", []float64{0, 0, 0, 60, 60, 200}, 2, 5, 5, 0, false},
		{"the first above is the peak", []float64{0, 0, 0, 60, 40}, 2, 5, 3, 0, false},
		{"the second above is the peak", []float64{0, 0, 0, 60, 160}, 2, 5, 4, 2.4, true},
		{"it never rises", []float64{0, 0, 0, 0}, 1, 5, 3, 0, false},
		{"nothing after it", []float64{0, 0, 0, 60}, 2, 5, 4, 0, false},
	} {
		at, ok := sparseOnset(c.x, c.near, c.peakAt, c.low)
		if ok != c.ok || math.Abs(at-c.at) > 1e-12 {
			t.Errorf("%s: %g %v, want %g", c.what, at, ok, c.at)
		}
	}
	x := make([]float64, 60)
	for i := range x {
		x[i] = math.Max(0, float64(i)-9.5)
	}
	for peakAt, want := range map[int]bool{50: true, 51: false} { // 40 samples from the first above: no longer few
		if _, ok := sparseOnset(x, 10, peakAt, 0.1); ok != want {
			t.Errorf("peak at %d: %v", peakAt, ok)
		}
	}
}

// A ramp of 10 N a sample from 100.3 on, with 5 sd of noise 8 N: the line through 40 and 160 N leads back to zero, and half the way is its error.
func TestRiseStart(t *testing.T) {
	x := make([]float64, 400)
	for i := range x {
		x[i] = 10 * math.Max(0, float64(i)-100.3)
	}
	w := eventWork(x)
	w.noiseN = 8
	// A peak of 300 N is not reached for eight samples up to 40 % of it: there is no parabola, and the line remains, for 2 ms and a sample at most.
	at, u := w.riseStart(200, 0, 300)
	near(t, "three samples at 1 kHz", at, 101.3e-3, 1e-9, 0)
	near(t, "half the way", u, 1.5e-3/math.Sqrt(3), 1e-9, 0)
	w.dt = 1e-4
	at, u = w.riseStart(200, 0, 300)
	near(t, "the whole line at 10 kHz", at, 100.3e-4, 1e-9, 0)
	near(t, "half the way", u, 2e-4/math.Sqrt(3), 1e-9, 0)
	at, _ = w.riseStart(200, 102, 300)
	near(t, "no farther than the limit", at, 102e-4, 1e-9, 0)
}

// A node is looked at where its frequency is stated and the record can show it, to a fifth of the sample rate; a damping that is none is 0.03.
func TestNodeOfTheRig(t *testing.T) {
	w := bare()
	for f, want := range map[float64]float64{0: 0, -1: 0, 199.9: 2 * math.Pi * 0.1999, 200.1: 0} {
		w.set.RigFrequency = quantity.Frequency(f)
		if got := w.node(); math.Abs(got.omega-want) > 1e-12 {
			t.Errorf("%g Hz: %+v", f, got)
		}
	}
	w.set.RigFrequency = 100
	for z, want := range map[float64]float64{0: 0.03, 1: 0.03, -0.1: 0.03, 0.2: 0.2, math.NaN(): 0.03} {
		w.set.RigDamping = quantity.Ratio(z)
		if got := w.node().zeta; got != want {
			t.Errorf("damping %g: %g", z, got)
		}
	}
}

// One and a half swings of 100 Hz are 15 ms; hum of 20 N on a flank of 10 kN and 50 samples shifts it by 1.5 * 0.002 * 50 samples, and the node by a
// thirtieth of its period.
func TestWhatAnOnsetLeavesOpen(t *testing.T) {
	w := bare()
	if w.swings() != 0 || w.onsetU(50, 1e4) != 0 {
		t.Errorf("%d %g", w.swings(), w.onsetU(50, 1e4))
	}
	w.slowN = 20
	near(t, "hum", w.onsetU(50, 1e4), 0.15e-3, 1e-12, 0)
	near(t, "one sample at the least", w.onsetU(0, 1e4), 0.003e-3, 1e-12, 0)
	near(t, "no peak", w.onsetU(50, 0), 0, 0, 0)
	w.set.RigFrequency = 100
	near(t, "and a node", w.onsetU(50, 1e4), math.Hypot(0.15e-3, 1.0/3000), 1e-12, 0)
	if w.swings() != 15 {
		t.Errorf("%d", w.swings())
	}
	w.set.RigFrequency = 1e-9
	if w.swings() != 1e6 {
		t.Errorf("%d", w.swings())
	}
}

// A force that falls by 0.8 of 10 kN in 8 ms, r = 1 MN/s, through a node of 100 Hz: with noise of 2 N the fall stays unseen for
// (36/(1e6 w^2))^(1/3), at most a quarter of the period; 1.2 of it lie before the sample, and 0.6 are open.
func TestBreakOff(t *testing.T) {
	w := bare()
	w.noiseN = 2
	ev := events{taut: 0.05, topN: 1e4, fall: 8e-3, collapse: 100}
	at, u := w.breakOff(ev)
	near(t, "between two samples", at, 0.1005, 1e-12, 0)
	near(t, "half a sample", u, 0.5e-3, 1e-12, 0)
	w.set.RigFrequency = 100
	lag := math.Cbrt(36 / (1e6 * sq(200*math.Pi)))
	at, u = w.breakOff(ev)
	near(t, "with a node", at, 0.1005-1.2*lag, 1e-12, 0)
	near(t, "its error", u, math.Hypot(0.5e-3, 0.6*lag), 1e-12, 0)
	w.noiseN = 0.1 // counts as 1 N
	lag = math.Cbrt(18 / (1e6 * sq(200*math.Pi)))
	at, _ = w.breakOff(ev)
	near(t, "with little noise", at, 0.1005-1.2*lag, 1e-12, 0)
	w.noiseN = 1e9
	at, _ = w.breakOff(ev)
	near(t, "a quarter of the period", at, 0.1005-1.2*2.5e-3, 1e-12, 0)
	ev.taut = 0.0985
	at, _ = w.breakOff(ev)
	near(t, "a sample after taut", at, 0.0995, 1e-12, 0)
	ev.taut = 0.0999
	at, _ = w.breakOff(ev)
	near(t, "or the sample before the fall", at, 0.1, 1e-12, 0)
	ev.taut, ev.fall, w.noiseN = 0.05, 0, 2 // a fall of no length takes a sample
	lag = math.Cbrt(36 / (8e6 * sq(200*math.Pi)))
	at, _ = w.breakOff(ev)
	near(t, "at once", at, 0.1005-1.2*lag, 1e-12, 0)
}
