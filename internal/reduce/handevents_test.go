package reduce

import (
	"math"
	"testing"

	"github.com/hardcatch/hardcatch/internal/quantity"
)

// Each of the five alone is something, and tells two apart.
func TestEventsByHandAreTold(t *testing.T) {
	one := func(k int, at float64) *EventsByHand {
		h := &EventsByHand{}
		*[]**quantity.Duration{&h.Taut, &h.Peak, &h.Slack, &h.From, &h.To}[k] = seconds(at)
		return h
	}
	if !(*EventsByHand)(nil).None() || !(&EventsByHand{}).None() || !(*EventsByHand)(nil).Same(&EventsByHand{}) {
		t.Error("nothing is nothing")
	}
	for k := range 5 {
		a := one(k, 1)
		if a.None() || a.Same(nil) || (&EventsByHand{}).Same(a) || a.Same(one(k, 2)) || !a.Same(one(k, 1)) {
			t.Errorf("%d is not told", k)
		}
		for other := range 5 {
			if k != other && a.Same(one(other, 1)) {
				t.Errorf("%d is taken for %d", k, other)
			}
		}
	}
}

// A place is an arrest's where the force is more than a thousandth of the largest, and at least eight times the noise.
func TestPeakByHandLimits(t *testing.T) {
	at := func(force, noise, t0 float64) (int, float64, error) {
		x := make([]float64, 100)
		x[40] = force
		w := eventWork(x)
		w.noiseN, w.set.Hand = noise, &EventsByHand{Peak: seconds(t0)}
		return w.handPeak(10000)
	}
	for _, c := range []struct {
		force, noise float64
		ok           bool
	}{{10.001, 0, true}, {10, 0, false}, {80, 10, true}, {79.9, 10, false}} {
		i, pos, err := at(c.force, c.noise, 0.0402)
		if (err == nil) != c.ok || c.ok && (i != 40 || math.Abs(pos-40.2) > 1e-9) {
			t.Errorf("%+v: %d %g %v", c, i, pos, err)
		}
	}
	if i, _, err := at(100, 0, 0.0396); err != nil || i != 40 {
		t.Errorf("the nearest sample: %d %v", i, err)
	}
	x := make([]float64, 100) // the first and the last sample belong to the record
	x[0], x[99] = 100, 100
	w := eventWork(x)
	for t0, ok := range map[float64]bool{0: true, 0.099: true, 0.0991: false, -0.0001: false} {
		w.set.Hand = &EventsByHand{Peak: seconds(t0)}
		if _, _, err := w.handPeak(100); (err == nil) != ok {
			t.Errorf("%g: %v", t0, err)
		}
	}
	w.set.Hand = nil
	if i, _, err := w.handPeak(100); i != -1 || err != nil {
		t.Errorf("nobody set it: %d %v", i, err)
	}
}

// Half a millisecond, and two samples at least.
func TestReachOfAHand(t *testing.T) {
	w := bare()
	for dt, want := range map[float64]int{1e-3: 2, 1e-4: 5, 0.25e-3: 2, 1e-5: 50} {
		if w.dt = dt; w.handReach() != want {
			t.Errorf("%g s: %d", dt, w.handReach())
		}
	}
}

// On a rise of 10 N a sample, read at 50.5: two samples of reach, from 48 to 53, of which 48 is 25 N and 53 also 25 N away.
func TestPlaceOfAPeakByHand(t *testing.T) {
	w := bare()
	w.forceN, w.lowN = make([]float64, 100), make([]float64, 100)
	for i := range 100 {
		w.forceN[i], w.lowN[i] = 20*float64(i), 10*float64(i)
	}
	w.ev.handPeak, w.ev.endKind = 50.5, "slack"
	p := w.peakByHand(10, 90)
	if p.value != 505 || p.filtered != 505 || p.raw != 1010 || !p.byHand {
		t.Errorf("%+v", p)
	}
	near(t, "time", p.time, 50.5e-3, 1e-12, 0)
	near(t, "place", p.placeN, 25, 1e-12, 0)
	w.lowN[47], w.lowN[54] = 1e6, 1e6
	near(t, "no farther", w.peakByHand(10, 90).placeN, 25, 1e-12, 0)
	for _, i := range []int{48, 53} {
		was := w.lowN[i]
		w.lowN[i] = 605
		near(t, "as far as", w.peakByHand(10, 90).placeN, 100, 1e-12, 0)
		w.lowN[i] = was
	}
	// It stays in the arrest, from 50 on to 51, and so does the reach.
	w.ev.handPeak = 20
	if p := w.peakByHand(50, 52); p.time != 0.05 || p.value != 500 || math.Abs(p.placeN-10) > 1e-9 {
		t.Errorf("%+v", p)
	}
	w.ev.handPeak = 80
	if p := w.peakByHand(50, 52); math.Abs(p.time-0.051) > 1e-12 || math.Abs(p.placeN-10) > 1e-9 {
		t.Errorf("%+v", p)
	}
	// Before a break from the samples themselves, by a parabola over nine of them: exact on a straight rise.
	w.ev.handPeak, w.ev.endKind = 50.5, "break"
	p = w.peakByHand(10, 90)
	near(t, "before a break", p.value, 1010, 1e-12, 0)
	near(t, "slope", p.slope, 20, 1e-9, 0)
	near(t, "fit", p.fitU, 0, 0, 1e-9)
	near(t, "place", p.placeN, 50, 1e-9, 0)
	if p.fitDoF != 6 || p.read != beforeBreak {
		t.Errorf("%+v", p)
	}
	// Four samples are too few for it: the place itself, with 5 % of it.
	if p := w.peakByHand(49, 53); p.read != lastSample || p.value != 1010 || p.fitU != 50.5 {
		t.Errorf("%+v", p)
	}
	if p := w.peakByHand(48, 53); p.read != beforeBreak || p.fitDoF != 2 {
		t.Errorf("%+v", p)
	}
}

// Residuals of 3 N up and down over nine samples: s^2 = 9 * 9/6 less what a parabola takes of them; the fit 3 s/sqrt 9, the ringing sqrt(2 (s^2 - noise^2)).
func TestFitByHandWithNoise(t *testing.T) {
	w := bare()
	w.forceN = make([]float64, 100)
	for i := range w.forceN {
		w.forceN[i] = 1000 + 3*float64(1-2*(i%2))
	}
	w.noiseN = 2
	p := w.fitByHand(peakResult{}, 10, 90, 50)
	s := p.fitU // 3 s/sqrt 9 = s
	if s < 3 || s > 3*math.Sqrt(9.0/6) {
		t.Errorf("s = %g", s)
	}
	near(t, "ringing", p.ring, math.Sqrt(2*(s*s-4)), 1e-12, 0)
	w.noiseN = 100
	near(t, "all noise", w.fitByHand(peakResult{}, 10, 90, 50).ring, 0, 0, 0)
}

// Taut lies from the first sample to before the peak, the end from after the peak to the last; what was uncertain stays so.
func TestTautAndSlackByHand(t *testing.T) {
	ev := events{taut: 0.03, tautU: 0.1e-3, peakAt: 50, end: 0.07, endAt: 70, endKind: "break", collapse: 60}
	for at, ok := range map[float64]bool{0: true, 0.02: true, 0.0499: true, 0.05: false, -1e-6: false} {
		w := eventWork(make([]float64, 101))
		w.set.Hand = &EventsByHand{Taut: seconds(at)}
		got, err := w.handTaut(ev)
		if (err == nil) != ok || ok && (got.taut != at || got.tautU != 1e-3/math.Sqrt(3) || len(w.Warnings) != 1) {
			t.Errorf("taut at %g: %+v %v", at, got, err)
		}
	}
	wide := ev
	wide.tautU = 5e-3
	w := eventWork(make([]float64, 101))
	w.set.Hand = &EventsByHand{Taut: seconds(0.02)}
	if got, _ := w.handTaut(wide); got.tautU != 5e-3 {
		t.Errorf("%+v", got)
	}
	for at, endAt := range map[float64]int{0.0501: 50, 0.08: 80, 0.0807: 80, 0.1: 100, 0.05: -1, 0.1001: -1} {
		w := eventWork(make([]float64, 101))
		w.set.Hand = &EventsByHand{Slack: seconds(at)}
		got, err := w.handSlack(ev)
		if (err == nil) != (endAt >= 0) || endAt >= 0 && (got.end != at || got.endAt != endAt || got.endKind != "slack" || got.collapse != 0 || len(w.Warnings) != 1) {
			t.Errorf("slack at %g: %+v %v", at, got, err)
		}
	}
	w = eventWork(make([]float64, 101))
	w.set.Hand = &EventsByHand{Peak: seconds(0.05)}
	if a, err := w.handTaut(ev); err != nil || a.taut != ev.taut {
		t.Error(err)
	}
	if a, err := w.handSlack(ev); err != nil || a.endKind != "break" {
		t.Error(err)
	}
}
