package dsp

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// The parabola 9 - (u-1.25)^2 sampled at 0, 1, 2, 3 peaks at 1.25 with 9 and curvature -2.
func TestInterpolatePeakByHand(t *testing.T) {
	f := func(u float64) float64 { return 9 - (u-1.25)*(u-1.25) }
	p := InterpolatePeak([]float64{f(0), f(1), f(2), f(3)})
	near(t, "position", p.Position, 1.25, 1e-14, 0)
	near(t, "value", p.Value, 9, 1e-14, 0)
	near(t, "curvature", p.Curvature, -2, 1e-13, 0)
	if p := InterpolatePeak([]float64{3, 2, 1}); p.Index != 0 || p.Value != 3 || p.Curvature != 0 {
		t.Errorf("peak at the end: %+v", p)
	}
	if p := InterpolatePeak([]float64{math.NaN(), 1, 2, 1}); p.Value != 2 {
		t.Errorf("NaN is passed over: %+v", p)
	}
}

func TestQuadraticRecoversAParabola(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b, c := rapid.Float64Range(-10, 10).Draw(t, "a"), rapid.Float64Range(-10, 10).Draw(t, "b"), rapid.Float64Range(-10, 10).Draw(t, "c")
		n := rapid.IntRange(3, 60).Draw(t, "n")
		x := make([]float64, n)
		for i := range x {
			u := float64(i) - float64(n-1)/2
			x[i] = a + b*u + c*u*u
		}
		c0, c1, c2 := Quadratic(x)
		if math.Abs(c0-a)+math.Abs(c1-b)+math.Abs(c2-c) > 1e-9 {
			t.Fatalf("got %g %g %g, want %g %g %g", c0, c1, c2, a, b, c)
		}
	})
}

// A half-sine of 10 ms sampled each 1 ms: worst under-read 1 - cos(pi/20) = 1.231 %, mean a third.
// The mean is checked against an average over phases.
func TestHalfSineSamplingLoss(t *testing.T) {
	worst, mean := HalfSineSamplingLoss(1e-3, 10e-3)
	near(t, "worst", worst, 0.01231, 0, 5e-6)
	sum, n := 0.0, 10000
	for i := range n {
		offset := (float64(i)+0.5)/float64(n) - 0.5
		sum += 1 - math.Cos(math.Pi*offset/10)
	}
	near(t, "mean", mean, sum/float64(n), 3e-3, 0)
	if w, _ := HalfSineSamplingLoss(1, 0.1); w != 1 {
		t.Error("a pulse shorter than the step can be missed whole")
	}
}

func TestResampleLinearByHand(t *testing.T) {
	got := make([]float64, 5)
	ResampleLinear(got, []float64{0, 1, 3}, []float64{0, 10, 30}, -0.5, 1)
	for i, want := range []float64{0, 5, 15, 25, 30} {
		near(t, "resampled", got[i], want, 1e-14, 0)
	}
}

func TestDecimateKeepsASlowPulse(t *testing.T) {
	x := make([]float64, 5000)
	for i := range x {
		x[i] = math.Exp(-math.Pow((float64(i)-2500)/400, 2))
	}
	y := Decimate(x, 10)
	if len(y) != 500 {
		t.Fatalf("%d samples", len(y))
	}
	near(t, "peak", InterpolatePeak(y).Value, 1, 1e-4, 0)
}

// 0, 2, 4, 6: mean 3, slope 2 a sample, no scatter about the line.
func TestMeasureLevelByHand(t *testing.T) {
	l := MeasureLevel([]float64{0, 2, 4, 6})
	near(t, "mean", l.Mean, 3, 1e-15, 0)
	near(t, "slope", l.Slope, 2, 1e-15, 0)
	near(t, "scatter", l.SD, 0, 0, 1e-15)
	if l.Min != 0 || l.Max != 6 || l.Largest != 3 {
		t.Errorf("%+v", l)
	}
	if l := MeasureLevel([]float64{5}); l.Mean != 5 || l.SD != 0 {
		t.Errorf("single sample: %+v", l)
	}
}

// Slow hum makes neighbours alike: the standard error must be far above sd/sqrt(n), and the true mean
// within three of it.
func TestMeasureLevelSeesHum(t *testing.T) {
	x := make([]float64, 3217)
	for i := range x {
		x[i] = 40 + math.Sin(2*math.Pi*float64(i)/1300)
	}
	l := MeasureLevel(x)
	if naive := l.SD / math.Sqrt(float64(len(x))); l.MeanU < 3*naive {
		t.Errorf("standard error %g beside the naive %g", l.MeanU, naive)
	}
	if math.Abs(l.Mean-40) > 3*l.MeanU {
		t.Errorf("mean %g, standard error %g", l.Mean, l.MeanU)
	}
}

// A triangle cut off at 3 is clipped; the same triangle rounded to whole steps is not.
func TestFlatTops(t *testing.T) {
	cut := []float64{0, 0, 0.5, 1, 2, 3, 3, 3, 3, 3, 2, 1, 0.1, 0, 0, 0.2, 0, 0.2, 0, 0.3, 0.01}
	got := FlatTops(cut, FindExtremes(cut))
	if len(got) != 1 || got[0] != (Flat{5, 10, true}) {
		t.Errorf("%+v", got)
	}
	smooth := make([]float64, 400)
	for i := range smooth {
		smooth[i] = math.Round(40 * math.Sin(math.Pi*float64(i)/400))
	}
	if got := FlatTops(smooth, FindExtremes(smooth)); len(got) != 0 {
		t.Errorf("a smooth top is called cut off: %+v", got)
	}
	if FlatTops(nil, FindExtremes(nil)) != nil || FlatTops([]float64{1, 1, 1, 1, 1}, FindExtremes([]float64{1, 1, 1, 1, 1})) != nil {
		t.Error("nothing to find")
	}
	if s := SmallestStep([]float64{5, 5, 7, 6.5}); s != 0.5 {
		t.Errorf("step %v", s)
	}
}

// 0, 1, 0, 1 at u = -1.5, -0.5, 0.5, 1.5: the best parabola is 0.5 + 0.2 u (c1 = 1/5, no bend), which leaves -0.2, 0.6, -0.6, 0.2: 0.8.
func TestQuadraticLeftByHand(t *testing.T) {
	x := []float64{0, 1, 0, 1}
	c0, c1, c2 := Quadratic(x)
	near(t, "left over", QuadraticLeft(x, c0, c1, c2), 0.8, 1e-12, 0)
}
