package reduce

import (
	"math"
	"slices"
	"testing"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/num/dsp"
)

// 1000 - 0.1 u^2 is above 99 % for 10 samples to both sides and above 70 % for 54: both parabolas bend by 0.1.
func TestTopShape(t *testing.T) {
	x := make([]float64, 201)
	for i := range x {
		x[i] = 1000 - 0.1*sq(float64(i-100))
	}
	s, ok := topShape(x, 0, 201, 100, 1000, 0.99, 0.7)
	if !ok || s.from != 90 || s.to != 110 || s.left != 46 || s.right != 154 {
		t.Fatalf("%+v %v", s, ok)
	}
	near(t, "top", s.top, 0.1, 1e-9, 0)
	near(t, "whole", s.whole, 0.1, 1e-9, 0)
	near(t, "error", s.topU, 0, 0, 1e-9)
	// What is looked at ends with the arrest.
	if s, ok := topShape(x, 95, 120, 100, 1000, 0.99, 0.7); !ok || s.from != 95 || s.to != 110 || s.left != 95 || s.right != 119 {
		t.Errorf("%+v %v", s, ok)
	}
	// 3 N up and down on 21 samples are (nearly) orthogonal to a parabola: s^2 = 9 * 21/18, the bend's variance 180 s^2/21^5 and six times that.
	for i := range x {
		x[i] = 1000 - 0.1*sq(float64(i-100)) + 3*float64(1-2*(i%2))
	}
	s, _ = topShape(x, 0, 201, 100, 1003, 0.986, 0.7) // 988.96 N
	y := x[s.from : s.to+1]
	c0, c1, c2 := dsp.Quadratic(y)
	n := float64(len(y))
	near(t, "error", s.topU, math.Sqrt(dsp.QuadraticLeft(y, c0, c1, c2)/(n-3)*6*180/math.Pow(n, 5)), 1e-12, 0)
}

// Six samples of a top and thirteen of a whole are the fewest: of 1000 - k u^2 those with k u^2 up to 10 N, and up to what the far level leaves. A pulse with
// its middle between two samples has u = 0.5, 1.5, ...
func TestTopShapeLimits(t *testing.T) {
	for _, c := range []struct {
		k, middle, far float64
		top, whole     int
		ok             bool
	}{
		{1, 99.5, 0.957, 6, 14, true},  // 2.5^2 <= 10, 6.5^2 <= 43
		{1, 99.5, 0.965, 6, 12, false}, // 5.5^2 <= 35
		{1, 100, 0.96, 7, 13, true},    // 6^2 <= 40
		{2, 100, 0.7, 5, 25, false},    // 2 * 2^2 <= 10
	} {
		x := make([]float64, 200)
		for i := range x {
			x[i] = 1000 - c.k*sq(float64(i)-c.middle)
		}
		s, ok := topShape(x, 0, 200, 100, 1000, 0.99, c.far)
		if ok != c.ok || s.to-s.from+1 != c.top || s.right-s.left+1 != c.whole {
			t.Errorf("%+v: %v %+v", c, ok, s)
		}
	}
	x := make([]float64, 200) // a top that bends downward in a valley that bends upward is no pulse
	for i := range x {
		x[i] = 800 + 0.01*sq(float64(i-100))
	}
	for i := 95; i <= 105; i++ {
		x[i] = 1000
	}
	if _, ok := topShape(x, 0, 200, 100, 1000, 0.99, 0.5); ok {
		t.Error("a valley is taken for a pulse")
	}
}

// straight is a rise of 1000 N over 100 samples.
func straight(n int) *told {
	w := bare()
	w.forceN = make([]float64, n)
	for i := range w.forceN {
		w.forceN[i] = 1000 * float64(i) / float64(n)
	}
	w.ev.topN = 1000
	return w
}

// Everywhere at its largest slope: all but half a window at both ends. The window is n/24 = 4 samples to each side, more where noise asks
// for it (1 N: h^3 >= 1.5/0.1^2 = 150, 6 samples), and n/9 = 11 at the most.
func TestStraightShare(t *testing.T) {
	for noise, want := range map[float64]float64{0: 0.92, 1: 0.88, 100: 0.78} {
		w := straight(100)
		w.noiseN = noise
		near(t, "rise", w.straightShare(0, 100, 1), want, 1e-9, 0)
		near(t, "against the sign", w.straightShare(0, 100, -1), 0, 0, 0.9) // no slope falls: all are within 4 % of the largest, 0
	}
	// 1300 samples are looked at as 650 means of two: 650/24 = 27 to each side, and their noise is smaller by sqrt 2.
	near(t, "in blocks", straight(1300).straightShare(0, 1300, 1), 1-54.0/650, 1e-9, 0)
	w := straight(1300)
	w.noiseN = 1.5 // h^3 >= 1.5 * (1.5^2/2)/(0.01 * 1000/650)^2 = 7130: 20 of 27 would do
	near(t, "in blocks, with noise", w.straightShare(0, 1300, 1), 1-54.0/650, 1e-9, 0)
	w.noiseN = 3 // 28520: 31
	near(t, "in blocks, with more noise", w.straightShare(0, 1300, 1), 1-62.0/650, 1e-9, 0)
	if got := straight(100).straightShare(0, 15, 1); got != 0 {
		t.Errorf("15 samples say nothing: %g", got)
	}
	if got := straight(100).straightShare(0, 16, 1); got == 0 {
		t.Error("16 do")
	}
	// Half of the rise at 12 N a sample, half at 8: only the steeper half counts, less two ends of 4 samples and the bend.
	w = straight(100)
	for i := range 100 {
		w.forceN[i] = 12*math.Min(float64(i), 50) + 8*math.Max(float64(i)-50, 0)
	}
	near(t, "half", w.straightShare(0, 100, 1), 12*(50-4)*1e-3, 0.05, 0)
	// A slope of 0.96 of the largest counts with it, one of 0.95 does not.
	for slope, want := range map[float64]float64{0.97: 0.915, 0.95: 0.47} {
		w := straight(100)
		for i := range 100 {
			w.forceN[i] = 10*math.Min(float64(i), 50) + 10*slope*math.Max(float64(i)-50, 0)
		}
		near(t, "beside the largest", w.straightShare(0, 100, 1), want, 0.05, 0)
	}
}

// The means of three, at the middle of each; what is left over is left out.
func TestFlank(t *testing.T) {
	f := flank([]float64{9, 1, 2, 6, 4, 4, 7, 9, 9}, 1, 8, 3, node{})
	if len(f.t) != 2 || f.t[0] != 2 || f.t[1] != 5 || f.y[0] != 3 || f.y[1] != 5 {
		t.Errorf("%+v", f)
	}
	if f := flank([]float64{1, 2, 3}, 0, 3, 3, node{}); len(f.t) != 1 {
		t.Errorf("the last block ends with the samples: %+v", f)
	}
}

// pulse is a half-sine of the height given over 100 samples from 100 on.
func pulse(high float64) *told {
	w := bare()
	w.forceN = make([]float64, 301)
	hill(w.forceN, 100, 200, high)
	w.ev = events{first: 100, taut: 0.0995, endAt: 199, end: 0.1995, endKind: "slack", peakAt: 150, topN: high}
	return w
}

// A half-sine is neither flat on top nor straight at its flanks; cut off at 95 % it is flat, and hum that may turn a top takes the proof away.
func TestSaturationOfATop(t *testing.T) {
	w := pulse(1000)
	if mask, slewed := w.findSaturation(); len(mask) != 0 || slewed {
		t.Errorf("%+v %v", mask, slewed)
	}
	cut := func() *told {
		w := pulse(1000)
		for i := range w.forceN {
			w.forceN[i] = math.Min(w.forceN[i], 950)
		}
		w.ev.topN = 950
		return w
	}
	mask, slewed := cut().findSaturation()
	if len(mask) != 1 || mask[0].Is != drop.Saturated || mask[0].Why != "a flat top" || slewed {
		t.Fatalf("%+v %v", mask, slewed)
	}
	w = cut()
	w.slowN = 1000
	if mask, _ := w.findSaturation(); len(mask) != 0 {
		t.Errorf("hum as large as the force: %+v", mask)
	}
	w = cut()
	w.set.Hand = &EventsByHand{Peak: seconds(0.15)}
	if mask, _ := w.findSaturation(); len(mask) != 0 {
		t.Errorf("a person set the peak: %+v", mask)
	}
	w = cut()
	w.ev.first, w.ev.endAt = 143, 157
	if mask, _ := w.findSaturation(); len(mask) != 0 {
		t.Errorf("15 samples say nothing: %+v", mask)
	}
}

// Flanks as straight as a ruler over more than 0.62 of the height: a triangle; but not below a top that is cut off, and not where it broke.
func TestSaturationOfFlanks(t *testing.T) {
	triangle := func() *told {
		w := pulse(1000)
		for i := 100; i <= 199; i++ {
			w.forceN[i] = 1000 * (1 - math.Abs(float64(i-150))/50)
		}
		return w
	}
	mask, slewed := triangle().findSaturation()
	if !slewed || len(mask) != 1 || mask[0].From != 100 || mask[0].To != 200 || mask[0].Why != "a flank as straight as a ruler: the amplifier could not follow" {
		t.Errorf("%+v %v", mask, slewed)
	}
	w := triangle()
	w.ev.endKind = "break"
	if _, slewed := w.findSaturation(); slewed {
		t.Error("a break falls as it likes")
	}
	w = triangle()
	w.mask = drop.Mask{{From: 150, To: 151, Is: drop.Lost}}
	if _, slewed := w.findSaturation(); slewed {
		t.Error("below a top that was not measured")
	}
	// One flank is enough: a straight line up and a half-sine down, and the same backward.
	for _, backward := range []bool{false, true} {
		w := pulse(1000)
		for i := 100; i <= 150; i++ {
			w.forceN[i] = 1000 * float64(i-100) / 50
		}
		if backward {
			slices.Reverse(w.forceN) // 150 is the middle of 301
			w.ev.endAt = 200
		}
		if _, slewed := w.findSaturation(); !slewed {
			t.Errorf("one flank is straight, backward %v", backward)
		}
	}
}
