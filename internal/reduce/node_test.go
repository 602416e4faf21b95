package reduce

import (
	"math"
	"testing"
)

// A node of 100 Hz that rings with 30 N in flight carries 30/sqrt 2 N of root mean square over w = 628.3 rad/s. A force that falls by 15 % of 10 kN in
// 10 ms, 150 kN/s, moves it so that it carries 150e3/w^2 more, of which anything from none to all is taken: over sqrt 3.
func TestNodeMomentum(t *testing.T) {
	at := func(set func(*told)) float64 {
		w := bare()
		w.set.RigFrequency = 100
		w.forceN = make([]float64, 1000)
		for i := range w.forceN {
			switch {
			case i > 300:
				w.forceN[i] = 30 * math.Sin(2*math.Pi*0.1*float64(i-300))
			case i > 200:
				w.forceN[i] = 150 * float64(300-i)
			}
		}
		w.ev = events{peakAt: 220, topN: 10000, endAt: 300, end: 0.3, endKind: "slack"}
		set(w)
		return w.nodeMomentum()
	}
	omega := 2 * math.Pi * 100.0
	ring, slope := 30/math.Sqrt2/omega, 150e3/omega/omega/math.Sqrt(3)
	near(t, "both", at(func(*told) {}), math.Hypot(ring, slope), 1e-3, 0)
	near(t, "less the noise", at(func(w *told) { w.noiseN = 15 }), math.Hypot(math.Sqrt(450-225)/omega, slope), 1e-3, 0)
	near(t, "all noise", at(func(w *told) { w.noiseN = 50 }), slope, 1e-6, 0)
	for what, set := range map[string]func(*told){
		"no frequency":          func(w *told) { w.set.RigFrequency = 0 },
		"a break":               func(w *told) { w.ev.endKind = "break" },
		"less than a period":    func(w *told) { w.ev.later = []arrest{{from: 309}} },
		"the record ends there": func(w *told) { w.forceN = w.forceN[:305] },
	} {
		if got := at(set); got != 0 {
			t.Errorf("%s: %g", what, got)
		}
	}
	if at(func(w *told) { w.ev.later = []arrest{{from: 320}} }) == 0 {
		t.Error("two periods of flight are enough")
	}
}

// A force that jumps to 500 N and rises by 40 N a sample, seen through a node of 280 Hz whose damping the specimen's dashpot raises from 0.01 to
// 0.11: the onset is found within a hundredth of a period, and with the stated damping alone it would not be.
func TestOnsetOfAJumpThroughADampedNode(t *testing.T) {
	const at, dt = 300.4, 1e-4
	true0 := node{2 * math.Pi * 280 * dt, 0.12}
	x := make([]float64, 700)
	for i := range x {
		if s := float64(i) - at; s > 0 {
			p := true0.terms(s, 1)
			x[i] = 500*p[3] + 40*p[0]
		}
	}
	stated := node{true0.omega, 0.01}
	o := fitOnset(x, 299, 15000, 1, 54, stated)
	if !o.ok || math.Abs(o.at-at) > 0.01*2*math.Pi/true0.omega {
		t.Errorf("%+v, want %g", o, at)
	}
	f := flank(x, 270, 420, 1, stated)
	if g := f.damped(290, 310); math.Abs(g.node.zeta-0.12) > 0.011 {
		t.Errorf("damping %g, want 0.12", g.node.zeta)
	}
	if g := flank(x, 270, 420, 1, node{}).damped(290, 310); g.node != (node{}) {
		t.Errorf("without a node there is nothing to damp: %+v", g.node)
	}
}
