package reduce

import (
	"math"
	"strings"
	"testing"

	"github.com/hardcatch/hardcatch/internal/num/dsp"
)

func TestWholeSwings(t *testing.T) {
	for _, c := range []struct {
		x        []float64
		from, to int
		cycles   float64
	}{
		{[]float64{1, -1, 1, -1, 1}, 2, 4, 1},
		{[]float64{-1, 1, -1, 1, -1, 1, -1}, 1, 5, 2},
		{[]float64{-1, 0, -1, 0}, 1, 3, 1}, // at the mean counts as above
		{[]float64{-1, 1, 1}, 0, 3, 0},     // one crossing is no swing
		{[]float64{1, 1}, 0, 2, 0},
	} {
		if from, to, cycles := wholeSwings(c.x, 0); from != c.from || to != c.to || cycles != c.cycles {
			t.Errorf("%v: %d %d %g, want %d %d %g", c.x, from, to, cycles, c.from, c.to, c.cycles)
		}
	}
}

// tailWork has 2 s at 1 kHz of a level, so that the tail is the last 0.2 s from sample 1800 on; the arrest is over at 0.3 s.
func tailWork(level func(i int) float64) *told {
	w := bare()
	w.forceN = make([]float64, 2000)
	for i := range w.forceN {
		w.forceN[i] = level(i)
	}
	w.seenN = w.forceN
	w.ev = events{taut: 0.2, endAt: 300, end: 0.3, endKind: "slack"}
	w.peak.time = 0.25
	w.zeroDoF = 5
	return w
}

// The weight is 800 N. Nothing hangs below 15 % of it with swings below 25 %; at rest hangs what stays above 10 %, with swings below 40 %.
func TestTailLimits(t *testing.T) {
	constant := func(v float64) func(int) float64 { return func(int) float64 { return v } }
	swing := func(mean, half float64) func(int) float64 {
		return func(i int) float64 { return mean + half*math.Sin(2*math.Pi*float64(i)/40) }
	}
	for _, c := range []struct {
		what        string
		level       func(int) float64
		rest, empty bool
	}{
		{"zero", constant(0), false, true},
		{"below 15 %", constant(119.99), false, true},
		{"above 15 %", constant(120.01), true, false},
		{"below -15 %", constant(-120.01), false, false},
		{"above -15 %", constant(-119.99), false, true},
		{"zero with swings below 25 %", swing(0, 199.9), false, true},
		{"zero with swings above 25 %", swing(0, 200.1), false, false},
		{"hangs", constant(800), true, false},
		{"hangs, swings below 40 %", swing(800, 319.9), true, false},
		{"hangs, swings above 40 %", swing(800, 320.1), false, false},
		{"hangs, lowest above 10 %", swing(200, 119.9), true, false},
		{"hangs, lowest below 10 %", swing(200, 120.1), false, false},
	} {
		w := tailWork(c.level)
		w.tail = w.findTail(w.motion)
		if w.tail.rest != c.rest || w.tail.empty != c.empty || !c.rest && !c.empty && !strings.Contains(w.tail.why, "not at rest at the end") {
			t.Errorf("%s: %+v", c.what, w.tail)
		}
		if w.tail.dof != 5 {
			t.Error(w.tail.dof)
		}
	}
}

// Five whole swings of 40 samples in 200: the mean is taken over four of them, from the first to the last upward crossing.
func TestTailUncertainty(t *testing.T) {
	w := tailWork(func(i int) float64 { return 800 + 100*math.Sin(2*math.Pi*(float64(i)-10)/40) })
	w.zeroU = 3
	w.tail = w.findTail(w.motion)
	near(t, "mean", w.tail.mean, 800, 1e-9, 0)
	near(t, "swing", w.tail.swing, 100, 1e-9, 0)
	// sd of a sine is a/sqrt 2 (160 samples, 158 of freedom, the fitted line's slope 6 (a/pi n... ) is in the level), swing/(pi 4)/sqrt 3.
	level := dsp.MeasureLevel(w.forceN[1810:1970])
	near(t, "u", w.tail.u, math.Hypot(3, math.Hypot(level.SD/math.Sqrt(160), 100/(4*math.Pi)/math.Sqrt(3))), 1e-9, 0)

	// Without whole swings: the level's own error; half the width over sqrt 3 where the swing passes 2 % of the weight, 16 N.
	for _, c := range []struct{ half, more float64 }{{15.9, 0}, {16.1, 16.1 / math.Sqrt(3)}} {
		w = tailWork(func(i int) float64 { return 800 + c.half*float64(i-1800)/99.5 - c.half })
		w.tail = w.findTail(w.motion)
		level = dsp.MeasureLevel(w.forceN[1800:])
		near(t, "u of a ramp", w.tail.u, math.Hypot(level.SD/math.Sqrt(200), math.Max(level.MeanU, c.more)), 1e-6, 1e-9)
	}
	// The zero drifts by 0.01 N a sample, its error 0, over the 1900 - 50 samples from the middle of the quiet stretch.
	w = tailWork(func(int) float64 { return 800 })
	w.hasQuiet, w.quietN, w.quiet = true, 100, dsp.Level{Slope: 0.006, SlopeU: 0.008}
	w.tail = w.findTail(w.motion)
	near(t, "drift", w.tail.u, 0.01*1850, 1e-9, 0)
}

// The tail is a tenth of the record, between 0.1 s and 0.5 s, seen here by where a step before it no longer counts.
func TestTailLength(t *testing.T) {
	for n, size := range map[int]int{600: 100, 1000: 100, 2000: 200, 5000: 500, 9000: 500} {
		for _, off := range []int{0, 1} {
			w := tailWork(func(i int) float64 { return 800 })
			w.forceN = make([]float64, n)
			for i := range w.forceN {
				w.forceN[i] = 800
			}
			w.forceN[n-size-1+off] = 8000
			w.seenN = w.forceN
			w.tail = w.findTail(w.motion)
			if w.tail.rest != (off == 0) {
				t.Errorf("%d samples, a step at %d from the end: %+v", n, size+1-off, w.tail)
			}
		}
	}
}

// A record that ends while the mass may be in flight tells nothing: 1.3 times the last flight after the last arrest.
func TestTailInFlight(t *testing.T) {
	at := func(set func(*told)) tail {
		w := tailWork(func(int) float64 { return 0 })
		set(w)
		w.tail = w.findTail(w.motion)
		return w.tail
	}
	// Rebound at v: 2 v/10 s of flight; the tail begins at 1.8 s, the arrest ended at 0.3 s: 1.5/1.3 = 1.1538 s, v = 5.769 m/s.
	if got := at(func(w *told) { w.motion.vEnd = -5.768 }); !got.empty {
		t.Errorf("%+v", got)
	}
	if got := at(func(w *told) { w.motion.vEnd = -5.770 }); got.empty || !strings.Contains(got.why, "may still be in flight") {
		t.Errorf("%+v", got)
	}
	if got := at(func(w *told) { w.motion.vEnd = 9 }); !got.empty { // falling on is no flight
		t.Errorf("%+v", got)
	}
	if got := at(func(w *told) { w.motion.vEnd, w.ev.endKind = -9, "break" }); !got.empty {
		t.Errorf("%+v", got)
	}
	// A later arrest that ended at 1.0 s after a flight of 0.6 s: 1.0 + 0.78 s; of 0.62 s: 1.0 + 0.806 s.
	later := func(flight float64) func(*told) {
		return func(w *told) {
			w.ev.later = []arrest{{to: 700, flight: 5}, {to: 1000, flight: *seconds(flight)}}
			w.motion.vEnd = -9
		}
	}
	if got := at(later(0.6)); !got.empty {
		t.Errorf("%+v", got)
	}
	if got := at(later(0.62)); got.empty {
		t.Errorf("%+v", got)
	}
}

func TestTailTooSoon(t *testing.T) {
	at := func(set func(*told)) bool {
		w := tailWork(func(int) float64 { return 800 })
		set(w)
		w.tail = w.findTail(w.motion)
		return strings.Contains(w.tail.why, "ends too soon")
	}
	for _, c := range []struct {
		what string
		set  func(*told)
		want bool
	}{
		{"arrest ends a sample before the tail", func(w *told) { w.ev.endAt = 1799 }, false},
		{"arrest ends where the tail begins", func(w *told) { w.ev.endAt = 1800 }, true},
		// An arrest that lasts to the end: the tail must begin two times the way up after the peak, 1.8 s.
		{"long after the peak", func(w *told) { w.ev.endKind, w.ev.endAt, w.ev.taut, w.peak.time = "end of record", 1999, 0.2, 0.7333 }, false},
		{"too soon after the peak", func(w *told) { w.ev.endKind, w.ev.endAt, w.ev.taut, w.peak.time = "end of record", 1999, 0.2, 0.7334 }, true},
		{"seven samples", func(w *told) { w.dt = 0.1 / 7.5 }, false},
	} {
		if got := at(c.set); got != c.want {
			t.Errorf("%s: %v", c.what, got)
		}
	}
	w := tailWork(func(int) float64 { return 800 })
	w.dt, w.forceN = 0.1/7.9, w.forceN[:70] // 7 samples in 0.1 s
	w.ev.endAt = 3
	w.seenN = w.forceN
	w.tail = w.findTail(w.motion)
	if !strings.Contains(w.tail.why, "ends too soon") {
		t.Errorf("%+v", w.tail)
	}
	w.dt = 0.1 / 8.1
	w.tail, w.motion.vEnd, w.ev.end = tail{}, 0, 0
	w.tail = w.findTail(w.motion)
	if !w.tail.rest {
		t.Errorf("eight samples: %+v", w.tail)
	}
}
