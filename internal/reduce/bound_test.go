package reduce

import (
	"math"
	"strings"
	"testing"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// lost is a stretch of which no number came.
func lost(from, to int) unseen {
	return unseen{Stretch: drop.Stretch{From: from, To: to, Is: drop.Lost}}
}

// gapWork has an arrest from sample 100 to 200 of 80 kg, of which some was not measured, with its weight as force all along.
func gapWork(unseen ...unseen) *told {
	w := bare()
	w.forceN = make([]float64, 201)
	for i := range w.forceN {
		w.forceN[i] = 800
	}
	w.ev = events{first: 100, taut: 0.1, endAt: 200, end: 0.2, endKind: "slack"}
	w.unseen = unseen
	return w
}

// Five samples above half of the peak are enough: a half-sine of 1.5 * 6 ms is sampled to 1 - cos(pi/18) = 1.5 % at worst. Four are not: of
// 7.5 ms the largest sample may lie 1 - cos(pi/15) = 2.2 % below the top. A sample at half the peak is not above it.
func TestCoarse(t *testing.T) {
	for n, coarse := range map[int]string{5: "", 4: "only 4 samples of the arrest lie above half of it, and the largest may lie 2.2 % below"} {
		w := gapWork()
		w.ev.topN = 1600
		for i := range n {
			w.forceN[150+i] = 801
		}
		w.forceN[100], w.forceN[200] = 0, 0
		if got := w.isCoarse(peakResult{}); !strings.Contains(got, coarse) || (got == "") != (coarse == "") {
			t.Errorf("%d: %q", n, got)
		}
		w.ev.endKind = "break"
		if got := w.isCoarse(peakResult{read: beforeBreak}); got != "" {
			t.Errorf("read at the end of a rise: %q", got)
		}
		if got := w.isCoarse(peakResult{read: lastSample}); (got == "") != (coarse == "") {
			t.Errorf("%d, the last sample: %q", n, got)
		}
		w.ev.endKind = "slack"
		if got := w.isCoarse(peakResult{read: beforeBreak}); (got == "") != (coarse == "") {
			t.Errorf("%d, no break: %q", n, got)
		}
		// The first and the last sample of the arrest count, those beside it do not.
		w.forceN[150], w.forceN[151], w.forceN[100], w.forceN[200], w.forceN[99] = 0, 0, 801, 801, 801
		if got := w.isCoarse(peakResult{}); (got == "") != (coarse == "") {
			t.Errorf("%d, at the edges: %q", n, got)
		}
	}
}

// What too few samples show of a duration is its two ends, each between two samples or a sample beside them: 4 ms. Of a measure of force it is nothing.
func TestBoundedByTheRate(t *testing.T) {
	w := gapWork()
	w.peak.coarse = "too few"
	of := func(motion) float64 { return 0 }
	for value, want := range map[float64][2]float64{0.01: {0.006, 0.014}, 0.003: {0, 0.007}} {
		m := w.bounded(Measure{Name: "time to peak", Value: value}, nil)
		if m.Bound != Between || m.Reason != "too few" {
			t.Fatalf("%+v", m)
		}
		near(t, "from", m.Interval[0], want[0], 1e-12, 1e-15)
		near(t, "to", m.Interval[1], want[1], 1e-12, 0)
	}
	if m := w.bounded(Measure{Name: "impulse"}, of); m.Bound != Nothing || m.Reason != "too few" || m.Interval != nil {
		t.Errorf("%+v", m)
	}
	if m := w.bounded(Measure{Name: "impact speed"}, of); m.Bound != Value || m.Reason != "" {
		t.Errorf("the fall is not sampled: %+v", m)
	}
}

// The place that is named is that of the stretch in which the peak may lie, or else of the first.
func TestBoundedSaysWhere(t *testing.T) {
	w := gapWork(lost(110, 120), lost(150, 160))
	of := func(motion) float64 { return 0 }
	if m := w.bounded(Measure{Name: "impulse"}, of); m.Reason != "lost from 0.1100 s to 0.1190 s" {
		t.Error(m.Reason)
	}
	w.unseen[1].top = true
	if m := w.bounded(Measure{Name: "impulse"}, of); m.Reason != "lost from 0.1500 s to 0.1590 s" {
		t.Error(m.Reason)
	}
	if m := w.bounded(Measure{Name: "impact speed"}, of); m.Bound != Value || m.Reason != "" {
		t.Errorf("%+v", m)
	}
	w.slewed = true
	if m := w.bounded(Measure{Name: "impulse"}, of); m.Bound != Nothing {
		t.Errorf("an amplifier that could not follow: %+v", m)
	}
	if m := gapWork().bounded(Measure{Name: "impulse", Value: 7}, of); m.Bound != Value || m.Reason != "" {
		t.Errorf("all was measured: %+v", m)
	}
}

// A duration is as it was measured when both its ends were. Else its end lies somewhere in the stretch: ten samples and one, and twice its U.
func TestBoundedDuration(t *testing.T) {
	at := func(from, to int, value float64) Measure {
		return gapWork(lost(from, to)).bounded(Measure{Name: "arrest duration", Value: value, U: 0.001}, nil)
	}
	if m := at(101, 200, 0.1); m.Bound != Value || m.Reason != "" || m.Interval != nil {
		t.Errorf("between the ends: %+v", m)
	}
	for _, from := range []int{100, 191} {
		m := at(from, from+10, 0.1)
		if m.Bound != Between {
			t.Fatalf("%d: %+v", from, m)
		}
		near(t, "from", m.Interval[0], 0.1-0.011-0.002, 1e-12, 0)
		near(t, "to", m.Interval[1], 0.1+0.011+0.002, 1e-12, 0)
	}
	if m := at(100, 110, 0.01); m.Interval[0] != 0 {
		t.Errorf("no duration is negative: %v", *m.Interval)
	}
}

// With the force as low and as high as it may have been a measure is 5 and 3, whichever comes first, and twice its U lies about all three.
func TestBoundedByFills(t *testing.T) {
	w := gapWork(lost(150, 160))
	of := func(m motion) float64 { return m.impulse }
	for _, c := range []struct{ a, b, value, lo, hi float64 }{{5, 3, 4, 2, 6}, {3, 5, 4, 2, 6}, {5, 3, 2, 1, 6}, {3, 5, 7, 2, 8}} {
		w.fills = &[2]motion{{impulse: c.a}, {impulse: c.b}}
		m := w.bounded(Measure{Name: "impulse", Value: c.value, U: 0.5}, of)
		if m.Bound != Between || *m.Interval != [2]float64{c.lo, c.hi} {
			t.Errorf("%+v: %+v", c, m)
		}
	}
	for _, f := range [][2]motion{{{impulse: math.NaN()}, {}}, {{}, {impulse: math.Inf(1)}}} {
		w.fills = &f
		if m := w.bounded(Measure{Name: "impulse", Value: 4, U: 0.5}, of); m.Bound != Nothing || m.Interval != nil {
			t.Errorf("%+v", m)
		}
	}
}

// With too little force the mass goes on too fast and too far.
func TestBoundedBySide(t *testing.T) {
	of := func(motion) float64 { return 0 }
	for _, bottomed := range []bool{true, false} {
		for name, want := range map[string]Bound{"impulse": AtLeast, "largest elongation": AtMost, "energy absorbed": AtMost, "rebound speed": AtLeast, "loss factor": Nothing} {
			if name == "energy absorbed" && !bottomed {
				want = AtLeast
			}
			w := gapWork(lost(150, 160))
			w.motion.bottomed = bottomed
			if m := w.bounded(Measure{Name: name}, of); m.Bound != want {
				t.Errorf("%s, bottomed %v: %q", name, bottomed, m.Bound)
			}
		}
	}
}

// tented has ten samples between edges of 800 N, 11 ms apart, whose slopes are 100 N a sample, up and down.
func tented(up float64) unseen {
	u := lost(150, 160)
	u.left, u.right = edge{at: 149, force: 800, slope: up, known: true}, edge{at: 160, force: 800, slope: -up, known: true}
	return u
}

// Between the straight line and both tangents: 100 N a sample from either side, 1 + 2 + 3 + 4 + 5 and back.
func TestTangents(t *testing.T) {
	tent := []float64{1, 2, 3, 4, 5, 5, 4, 3, 2, 1}
	for _, up := range []float64{1e5, -1e5} {
		low, high := make([]float64, 10), make([]float64, 10)
		tented(up).tangents(low, high, 1e-3)
		for i, k := range tent {
			near(t, "low", low[i], 800+k*math.Min(up, 0)*1e-3, 1e-9, 0)
			near(t, "high", high[i], 800+k*math.Max(up, 0)*1e-3, 1e-9, 0)
		}
	}
	// A line from 100 to 320 N rises by 20 N a sample; tangents of that slope are the line itself.
	u := lost(150, 160)
	u.left, u.right = edge{at: 149, force: 100, slope: 2e4}, edge{at: 160, force: 320, slope: 2e4}
	low, high := make([]float64, 10), make([]float64, 10)
	u.tangents(low, high, 1e-3)
	near(t, "low", low[3], 180, 1e-9, 0)
	near(t, "high", high[3], 180, 1e-9, 0)
}

// The weight over 100 ms is 80 N s; the tent is 3000 N ms more, and what a top was rebuilt with is its own.
func TestFilled(t *testing.T) {
	w := gapWork(tented(1e5))
	f := w.filled(w.forceN, nil)
	near(t, "low", f[0].impulse, 80, 1e-9, 0)
	near(t, "high", f[1].impulse, 83, 1e-9, 0)
	r := &rebuilt{of: w.unseen[0], low: make([]float64, 10), high: make([]float64, 10)}
	for i := range 10 {
		r.low[i], r.high[i] = 700, 1000
	}
	w.unseen[0].top = true
	f = w.filled(w.forceN, r)
	near(t, "rebuilt, low", f[0].impulse, 79, 1e-9, 0)
	near(t, "rebuilt, high", f[1].impulse, 82, 1e-9, 0)
	r.of.From++
	if w.filled(w.forceN, r) != nil || w.filled(w.forceN, nil) != nil {
		t.Error("nothing bounds a top that was not rebuilt")
	}
	for _, unknown := range []func(*unseen){func(u *unseen) { u.left.known = false }, func(u *unseen) { u.right.known = false }} {
		w := gapWork(tented(1e5))
		unknown(&w.unseen[0])
		if w.filled(w.forceN, nil) != nil {
			t.Error("nothing bounds what has no edge")
		}
	}
	if w := gapWork(); w.filled(w.forceN, nil) != nil {
		t.Error("all was measured")
	}
}

// A hidden peak is at least what was measured, or lies in the interval in which it was rebuilt.
func TestBoundPeak(t *testing.T) {
	hides := func(is drop.Evidence, beyond bool) unseen {
		return unseen{Stretch: drop.Stretch{From: 150, To: 160, Is: is}, top: true, beyond: beyond}
	}
	b := gapWork(hides(drop.Lost, false), hides(drop.Saturated, true)).boundPeak(nil)
	if b.how != AtLeast || !b.clipped || b.interval != nil || b.reason != "lost from 0.1500 s to 0.1590 s" {
		t.Errorf("%+v", b)
	}
	if b := gapWork(hides(drop.Lost, false)).boundPeak(nil); b.how != AtLeast || b.clipped {
		t.Errorf("nothing lies beyond: %+v", b)
	}
	w := gapWork(hides(drop.Saturated, true))
	b = w.boundPeak(&rebuilt{lo: 900, hi: 1100, from: "the path"})
	if b.how != Between || *b.interval != [2]quantity.Force{900, 1100} || !b.hidden() || !strings.Contains(strings.Join(w.Warnings, "\n"), "between 900.0 N and 1.100 kN, rebuilt from the path") {
		t.Errorf("%+v %v", b, w.Warnings)
	}
	w = gapWork(lost(110, 115)) // where the peak cannot lie
	if b := w.boundPeak(nil); b.hidden() || b.reason != "" {
		t.Errorf("%+v", b)
	}
	w.peak.coarse = "too few"
	if b := w.boundPeak(nil); b.how != AtLeast || b.clipped || b.reason != "too few" || !strings.Contains(strings.Join(w.Warnings, "\n"), "too few; sample faster") {
		t.Errorf("%+v %v", b, w.Warnings)
	}
}
