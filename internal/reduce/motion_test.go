package reduce

import (
	"math"
	"testing"
)

// Under a constant force F from taut on the mass slows by a = F/m - g: with 80 kg, g = 10, F = 2400 N, a = 20 m/s2 and 2 m/s of
// impact it rests after 0.1 s and 0.1 m, having taken 240 J, and is back at taut after 0.2 s with 2 m/s upward.
func TestMotionUnderAConstantForce(t *testing.T) {
	const dt = 1e-5
	force := make([]float64, 30001)
	for i := range force {
		force[i] = 2400
	}
	in := inputs{mass: 80, fall: 0.2, gravity: 10, gain: 1, taut: 0.05}
	m := in.run(force, dt, 25000, 0.25, 0.15)
	// The first step rises from zero force: half a step of 2400 N is missing, 0.012 N s.
	for _, c := range []struct {
		what      string
		got, want float64
	}{
		{"impact", m.impactV, 2}, {"impulse", m.impulse, 480}, {"absorbed", m.absorbed, 240}, {"returned", m.returned, 240}, {"rest", m.zeroTime, 0.15},
		{"lowest", m.xMax, 0.1}, {"speed at the end", m.vEnd, -2}, {"impulse to the mark", m.impulseAt, 240},
	} {
		near(t, c.what, c.got, c.want, 3e-4, 1e-9)
	}
	if !m.bottomed || math.Abs(m.xEnd) > 1e-4 {
		t.Errorf("%+v", m)
	}
	// Gain and zero: 1.1 * 2400 - 240 is the same force.
	shifted := in
	shifted.gain, shifted.zero = 1.1, -240
	s := shifted.run(force, dt, 25000, 0.25, 0.15)
	near(t, "gain and zero", s.absorbed, m.absorbed, 1e-9, 0)
	// Cut at 0.1 s: half way in time, v = 1 m/s, x = 0.05 (2 + 1)/2 = 75 mm, 180 J.
	half := in.run(force, dt, 10000, 0.1, 9)
	for _, c := range []struct {
		what      string
		got, want float64
	}{{"speed", half.vEnd, 1}, {"way", half.xMax, 0.075}, {"taken", half.absorbed, 180}, {"returned", half.returned, 0}, {"mark beyond", half.impulseAt, 120}} {
		near(t, c.what, c.got, c.want, 3e-4, 1e-9)
	}
	if half.bottomed || half.xEnd != half.xMax {
		t.Errorf("%+v", half)
	}
}

// By hand, dt = 1 s, m = 1 kg, g = 10, taut at 0.5 s, forces 0 0 14 6 20: from rest (h = 0) the first step lasts 0.5 s with 0 to F(1) = 0.
func TestMotionByHand(t *testing.T) {
	in := inputs{mass: 1, gravity: 10, gain: 1, taut: 0.5}
	m := in.run([]float64{0, 0, 14, 26, 20}, 1, 3, 3.5, 2.5)
	// 0.5 to 1 s: F 0 to 0, v 0 to 5, x = 1.25.
	// 1 to 2 s: mean 7, v 5 + 10 - 7 = 8, x += 6.5, energy 7 * 6.5 = 45.5.
	// 2 to 3 s: mean 20, v 8 + 10 - 20 = -2: rests after part 0.8, 0.8 * 8/2 = 3.2 m lower; F there 14 + 0.8 * 12 = 23.6, mean to it 18.8: 60.16 J.
	// dx = 3; back up 0.2 m under the mean of 23.6 and 26, 24.8: -4.96 J.
	// 3 to 3.5 s: to zero force, mean 13, 6.5 N s: v -2 + 5 - 6.5 = -3.5, dx = -1.375, -17.875 J.
	for _, c := range []struct {
		what      string
		got, want float64
	}{
		{"lowest", m.xMax, 7.75 + 3.2}, {"absorbed", m.absorbed, 45.5 + 60.16}, {"rest", m.zeroTime, 2.8}, {"returned", m.returned, 4.96 + 17.875},
		{"end", m.xEnd, 7.75 + 3 - 1.375}, {"speed", m.vEnd, -3.5}, {"impulse", m.impulse, 7 + 20 + 6.5},
		{"to 2.5 s", m.impulseAt, 7 + 0.5*(14+20)/2}, {"impact", m.impactV, 0},
	} {
		near(t, c.what, c.got, c.want, 1e-12, 1e-12)
	}
	if m.minLoss != 0 || !m.bottomed {
		t.Errorf("%+v", m)
	}
	// The same up to 3 s, walked sample by sample.
	w := bare()
	w.dt, w.forceN, w.set.Mass, w.set.Fall = 1, []float64{0, 0, 14, 26, 20}, 1, 0
	w.ev.taut, w.ev.first, w.ev.endAt = 0.5, 1, 3
	var xs, vs []float64
	w.walk(w.forceN, func(_ int, x, v float64) { xs, vs = append(xs, x), append(vs, v) })
	for i, want := range [][2]float64{{1.25, 5}, {7.75, 8}, {10.75, -2}} {
		near(t, "walked", xs[i], want[0], 1e-12, 0)
		near(t, "walked at", vs[i], want[1], 1e-12, 0)
	}
	// A force that pulls down gives energy back before any was taken: -10 N over 0.5 (0 + 15... ) from rest.
	m = in.run([]float64{0, 0, -20, 0}, 1, 2, 2, 9)
	// 1 to 2 s: mean -10, v 5 + 10 + 10 = 25, dx 15: -150 J.
	near(t, "least", m.minLoss, -150, 1e-12, 0)
	near(t, "taken", m.absorbed, -150, 1e-12, 0)
	// Samples after the end are left out, and an end that is a sample needs no further step.
	m = in.run([]float64{0, 0, 14, 1e9}, 1, 3, 2, 9)
	near(t, "impulse", m.impulse, 7, 1e-12, 0)
}
