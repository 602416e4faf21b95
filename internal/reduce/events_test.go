package reduce

import (
	"math"
	"strings"
	"testing"
)

// eventWork has the forces given at 1 kHz, seen as they are: 80 kg at g = 10, so that 0.15 m g = 120 N.
func eventWork(force []float64) *told {
	w := bare()
	w.forceN, w.seenN, w.lowN = force, force, force
	return w
}

// found keeps the events where later steps look for them.
func (w *told) found() (err error) {
	w.ev, err = w.findEvents()
	return err
}

// hill puts a half-sine of the height given into x from one sample to another.
func hill(x []float64, from, to int, high float64) {
	for i := from; i < to; i++ {
		x[i] = high * math.Sin(math.Pi*(float64(i-from)+0.5)/float64(to-from))
	}
}

// Nothing is an arrest that stays below 8 times the noise.
func TestNoArrestWithinTheNoise(t *testing.T) {
	for _, c := range []struct {
		noise float64
		ok    bool
	}{{1000.0 / 8, true}, {1000.0/8 + 0.1, false}} {
		x := make([]float64, 1000)
		hill(x, 300, 400, 1000)
		x[350] = 1000
		w := eventWork(x)
		w.noiseN = c.noise
		if err := w.found(); (err == nil) != c.ok {
			t.Errorf("noise %g: %v", c.noise, err)
		}
	}
	if err := eventWork(make([]float64, 100)).found(); err == nil || !strings.Contains(err.Error(), "no arrest is found") {
		t.Error(err)
	}
}

// What rises later to at least 8 % of the peak (ringFloor), and to six times the noise, is a later arrest.
func TestLaterArrestsAndRinging(t *testing.T) {
	for _, c := range []struct {
		high, noise float64
		later       int
	}{{799, 0, 0}, {801, 0, 1}, {1100, 180, 1}, {1070, 180, 0}} {
		x := make([]float64, 2000)
		hill(x, 300, 400, 10000)
		x[349], x[350] = 10000, 10000
		hill(x, 900, 1000, c.high)
		x[949], x[950] = c.high, c.high
		w := eventWork(x)
		w.noiseN = c.noise
		if err := w.found(); err != nil || len(w.ev.later) != c.later {
			t.Errorf("%+v: %d later (%v)", c, len(w.ev.later), err)
		}
	}
}

// A rise before the arrest to less than a quarter of the peak is a pluck; from a quarter on the record does not tell which is the drop.
func TestPluck(t *testing.T) {
	for high, bumps := range map[float64]int{2499: 1, 2501: 0} {
		x := make([]float64, 2000)
		hill(x, 300, 400, high)
		x[349], x[350] = high, high
		hill(x, 900, 1000, 10000)
		x[949], x[950] = 10000, 10000
		w := eventWork(x)
		if bumps == 0 {
			if err := w.found(); err == nil || !strings.Contains(err.Error(), "a rebound cannot be harder than the first arrest") || !strings.Contains(err.Error(), "2.501 kN at 0.3") || !strings.Contains(err.Error(), "--from 0.6") {
				t.Errorf("%g: %v", high, err)
			}
			continue
		}
		if err := w.found(); err != nil || w.ev.bumps != bumps || (w.ev.taut > 0.8) != (bumps == 1) || strings.Contains(strings.Join(w.Warnings, ""), "rises 1 time(s) by less than a quarter") != (bumps == 1) {
			t.Errorf("%g: %d bumps, taut %g (%v)", high, w.ev.bumps, w.ev.taut, err)
		}
	}
}

// A mass that swings about its weight without going below 0.15 m g = 120 N has not come taut again; below it has.
func TestSwingIsNoSlack(t *testing.T) {
	for low, later := range map[float64]int{121: 0, 119: 1} {
		x := make([]float64, 2000)
		hill(x, 300, 500, 10000)
		for i := 480; i < 700; i++ {
			x[i] = math.Max(x[i], low)
		}
		hill(x, 700, 900, 5000)
		for i := 700; i < 900; i++ {
			x[i] = math.Max(x[i], low)
		}
		w := eventWork(x)
		if err := w.found(); err != nil || len(w.ev.later) != later {
			t.Errorf("low %g: %d later (%v)", low, len(w.ev.later), err)
		}
	}
}

func TestLevelTime(t *testing.T) {
	w := eventWork([]float64{0, 0, 100, 300, 200, 400})
	for _, c := range []struct {
		from, to int
		level, t float64
	}{
		{0, 5, 50, 1.5}, {0, 5, 100, 2}, {0, 5, 200, 2.5}, {0, 5, 350, 4.75}, {0, 5, 500, 5}, {0, 2, 200, 2}, {3, 5, 200, 2.5},
		{3, 5, 50, 3}, // it stands above the level already
		{0, 5, 0, 0},
	} {
		near(t, "level time", w.levelTime(c.from, c.to, c.level), c.t*1e-3, 1e-12, 1e-15)
	}
}

// A force that loads in 40 samples (10 % to 90 %: 32 ms of a straight rise) and falls in n has collapsed when 90 % to 10 % take less
// than a fifth of the rise (collapseRatio), or less than two samples.
func TestCollapseRatio(t *testing.T) {
	at := func(rise, fall int) *told {
		x := make([]float64, 4000)
		for i := range rise {
			x[301+i] = 10000 * float64(i+1) / float64(rise)
		}
		top := 300 + rise
		for i := range fall {
			x[top+1+i] = 10000 * (1 - float64(i+1)/float64(fall))
		}
		w := eventWork(x)
		w.set.Fall = 0 // so that nothing but the ratio tells
		if err := w.found(); err != nil {
			t.Fatal(err)
		}
		return w
	}
	// Loading takes 0.8 * 100 = 80 ms: a fifth is 16 ms. Falling in n straight steps the last sample at 90 % is 0.1 n after the top, the first
	// below 10 % just after 0.9 n: about (0.8 n + 0.5) ms.
	for fall, breaks := range map[int]bool{10: true, 18: true, 24: false, 40: false} {
		w := at(100, fall)
		if (w.ev.endKind == "break") != breaks {
			t.Errorf("falls in %d: %s, %g of %g", fall, w.ev.endKind, w.ev.fall, w.ev.rise)
		}
		near(t, "rise", w.ev.rise, 0.08, 1e-9, 0)
	}
	near(t, "fall", at(100, 41).ev.fall, (37-4-0.5)*1e-3, 1e-9, 0) // 4/41 is the last at 90 %, 37/41 the first below 10 %
	w := at(100, 10)
	if w.ev.collapse != 400 || w.ev.endAt != 400 || w.ev.end != 0.4005 { // between it and the first that shows the fall
		t.Errorf("the collapse begins at the top, sample 400: %+v", w.ev)
	}
	// Loading in two samples: 1.5 ms of falling is below two samples.
	if w := at(3, 1); w.ev.endKind != "break" {
		t.Errorf("%+v", w.ev)
	}
	if w := at(3, 6); w.ev.endKind == "break" {
		t.Errorf("%+v", w.ev)
	}
}

// The end is where the force falls to 0.4 % of the peak or five times the noise, and from there along the straight line to zero.
func TestSlackAndEndOfRecord(t *testing.T) {
	x := make([]float64, 1000)
	hill(x, 300, 400, 10000)
	x[349], x[350] = 10000, 10000
	for i := 390; i < 1000; i++ {
		x[i] = 0
	}
	for i := range 60 { // a straight fall from 1500 N, 25 N a sample, from sample 390 on
		x[390+i] = 1500 - 25*float64(i)
	}
	w := eventWork(x)
	if err := w.found(); err != nil || w.ev.endKind != "slack" || w.ev.endAt != 449 { // 25 N, the first at most 40 N
		t.Fatalf("%+v %v", w.ev, err)
	}
	near(t, "end", w.ev.end, 0.450, 1e-9, 0)
	w = eventWork(x)
	w.noiseN = 21 // 105 N: sample 446 shows 100 N, four samples from zero, of which 2 ms count
	if err := w.found(); err != nil || w.ev.endAt != 446 {
		t.Fatalf("%+v %v", w.ev, err)
	}
	near(t, "end, at most 2 ms on", w.ev.end, 0.448, 1e-9, 0)
	for i := 440; i < 1000; i++ {
		x[i] = 250
	}
	w = eventWork(x)
	if err := w.found(); err != nil || w.ev.endKind != "end of record" || w.ev.endAt != 999 || w.ev.end != 0.999 || len(w.Warnings) != 0 {
		t.Fatalf("%+v %v %v", w.ev, err, w.Warnings)
	}
	if !math.IsInf(w.ev.fall, 1) && w.ev.fall <= 0 {
		t.Errorf("%g", w.ev.fall)
	}
}

// A mass that still falls at more than 0.4 of its impact speed when the force has gone, and that nothing catches within 2.4 times v0/g,
// has been let go. Impact at 2 m/s, g = 10: 0.48 s. A force of 400 N for 0.1 s leaves 2 + 1 - 0.5 = 2.5 m/s.
func TestLetGo(t *testing.T) {
	at := func(force float64, rest int, set func(*told)) bool {
		x := make([]float64, 400+rest)
		for i := 301; i < 400; i++ {
			x[i] = force
		}
		w := eventWork(x)
		w.ev.taut = 0.3
		set(w)
		return w.letGo(400, w.ev)
	}
	nothing := func(*told) {}
	if !at(400, 481, nothing) || at(400, 479, nothing) {
		t.Error("the record must go on for 2.4 v0/g")
	}
	// 0.4 * 2 = 0.8 m/s are left after 2 + 1 - F * 0.099.../80: F = 2.2 * 80/0.099 = 1777.8 N less the half steps at both ends.
	if !at(1760, 600, nothing) || at(1795, 600, nothing) {
		t.Error("0.4 of the impact speed")
	}
	if at(3200, 600, nothing) {
		t.Error("a mass that went up again was caught")
	}
	if at(400, 600, func(w *told) { w.ev.later = []arrest{{}} }) {
		t.Error("something caught it")
	}
	if at(400, 600, func(w *told) { w.set.Fall = 0 }) {
		t.Error("no fall, no impact speed")
	}
}

// F = 1e6 t (1 + 5 t) from 0.3004 s on, 10 kHz: the parabola through the rise to 40 % of 20 kN finds its zero between samples.
func TestParabolaStart(t *testing.T) {
	x := make([]float64, 2000)
	for i := range x {
		if s := float64(i)*1e-4 - 0.03004; s > 0 {
			x[i] = 1e6 * s * (1 + 5*s)
		}
	}
	w := eventWork(x)
	w.dt = 1e-4
	at, ok := w.parabolaStart(306, 20000)
	if !ok {
		t.Fatal("no parabola")
	}
	near(t, "start", at, 300.4, 1e-9, 0)
	// Eight samples are enough up to 40 % of the peak, seven are not: x[309] = 1e6 * 8.6e-4 * ... = 863.7 N.
	for peak, want := range map[float64]bool{x[313] / 0.4: false, x[314] / 0.4: true} {
		if _, ok := w.parabolaStart(306, peak); ok != want {
			t.Errorf("peak %g: %v", peak, ok)
		}
	}
	if _, ok := w.parabolaStart(306, 1e9); ok {
		t.Error("40 % is never reached")
	}
	falling := make([]float64, 100)
	for i := range falling {
		falling[i] = 100 - float64(i)
	}
	w.forceN = falling
	if _, ok := w.parabolaStart(20, 1e3); ok {
		t.Error("a falling force has a start")
	}
}
