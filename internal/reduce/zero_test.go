package reduce

import (
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/hardcatch/hardcatch/internal/num/dsp"
)

func TestMedian(t *testing.T) {
	for _, c := range []struct {
		x    []float64
		want float64
	}{{[]float64{3}, 3}, {[]float64{2, 1}, 2}, {[]float64{5, 1, 4}, 4}, {[]float64{9, 7, 7, 1, 8}, 7}, {[]float64{1, 2, 3, 4, 5, 6, 0}, 3}} {
		if got := median(slices.Clone(c.x)); got != c.want {
			t.Errorf("%v: %g, want %g", c.x, got, c.want)
		}
	}
}

// The first tenth, at least 9 samples, in 9 blocks; the middle of their means. One in four blocks may be disturbed.
func TestStartLevel(t *testing.T) {
	x := make([]float64, 1000) // a tenth: 100 samples, 9 blocks of 11
	for i := range x {
		x[i] = float64(i / 11)
	}
	near(t, "block means 0 to 8", startLevel(x), 4, 1e-12, 0)
	near(t, "fewer than 90 samples: each of the first nine", startLevel([]float64{9, 1, 8, 2, 7, 3, 6, 4, 5, 100, 100}), 5, 1e-12, 0)
	near(t, "three samples", startLevel([]float64{9, 1, 8}), 8, 1e-12, 0)
}

// Differences of +1, -1, +1, ... have the median 1: 1/(0.6745 * 1.4142) = 1.0484.
func TestRoughNoise(t *testing.T) {
	x := make([]float64, 9000)
	for i := range x {
		x[i] = float64(i % 2)
		if i > 4001 {
			x[i] *= 100 // beyond the first 4001 differences
		}
	}
	near(t, "noise", roughNoise(x), 1.0484, 1e-4, 0)
	if roughNoise(x[:3]) != 0 || roughNoise(x[:4]) == 0 {
		t.Error("three differences are too few or enough")
	}
}

// The rise through 5 % of the peak (50 N of 1000) that lasts for hold samples, walked back to four times the noise or 1e-6 of the peak.
func TestQuietEnd(t *testing.T) {
	x := make([]float64, 101)
	for i := 80; i <= 100; i++ {
		x[i] = 50 * float64(i-79)
	}
	if got := quietEnd(x, 0, 1000, 1); got != 80 {
		t.Errorf("%d", got)
	}
	x[40] = 700 // a spike does not last for the two samples
	if got := quietEnd(x, 0, 1000, 2); got != 80 {
		t.Errorf("with a spike: %d", got)
	}
	if got := quietEnd(x, 0, 1000, 0); got != 40 {
		t.Errorf("without holding: %d", got)
	}
	x[40] = 0
	x[79], x[78] = 0.0041, 0.0039 // 4e-6 of the peak
	if got := quietEnd(x, 0, 1000, 1); got != 79 {
		t.Errorf("walked back: %d", got)
	}
	x[78], x[79], x[80], x[81] = 0, 0, 49.999, 50
	x[79] = 0
	if got := quietEnd(x, 0, 1000, 1); got != 80 {
		t.Errorf("just below 5 %%: %d", got)
	}
	if got := quietEnd(make([]float64, 10), 0, 1000, 1); got != 9 {
		t.Errorf("no rise: %d", got)
	}
	// About a base of 100 with a noise of 1.0484: four times that.
	for i := range 80 {
		x[i] = 100 + float64(i%2)
	}
	x[79], x[78] = 104.5, 104.0
	for i := 80; i <= 100; i++ {
		x[i] = 100 + 50*float64(i-79)
	}
	if got := quietEnd(x, 100, 1100, 1); got != 79 {
		t.Errorf("noisy: %d", got)
	}
}

// zeroWork has a half-sine of 10 kN from sample 200 on, and what is laid over it.
func zeroWork(over func(i int) float64) *told {
	w := bare()
	w.forceN = make([]float64, 1000)
	for i := range w.forceN {
		if i > 200 && i < 300 {
			w.forceN[i] = 1e4 * math.Sin(math.Pi*float64(i-200)/100)
		}
		w.forceN[i] += over(i)
	}
	w.extreme = dsp.FindExtremes(w.forceN)
	return w
}

func TestZeroFromTheQuietStretch(t *testing.T) {
	w := zeroWork(func(i int) float64 { return 7 + float64(i%2) })
	w.zero = w.findZero(w.forceN, w.extreme)
	// The walk back ends at the last sample within four times the noise, 4.19 N of 7.5: sample 200; a fiftieth of it is kept clear.
	if !w.hasQuiet || w.quietN != 201-201/50 {
		t.Errorf("%d", w.quietN)
	}
	near(t, "zero", w.zeroN, 7.5, 1e-3, 0)
	near(t, "noise", w.noiseN, 0.5, 1e-2, 0)
	near(t, "step", w.stepN, 1, 1e-12, 0)
	near(t, "force after", w.forceN[250], 1e4+7-w.zeroN, 1e-12, 0)
	w = zeroWork(func(i int) float64 { return 0 })
	w.set.Resolution = 3
	w.zero = w.findZero(w.forceN, w.extreme)
	if w.stepN != 3 {
		t.Errorf("stated resolution: %g", w.stepN)
	}
}

// What dips more than twice as far as it rises, or 1.2 times as far and first, is turned. The base line is zero.
func TestPolarity(t *testing.T) {
	dip := func(at int, depth float64) func(int) float64 {
		return func(i int) float64 {
			if i >= at && i < at+10 {
				return -depth
			}
			return 0
		}
	}
	for _, c := range []struct {
		at     int
		depth  float64
		turned bool
	}{{600, 20000, false}, {600, 20001, true}, {150, 12000, false}, {150, 12001, true}, {600, 12001, false}} {
		w := zeroWork(dip(c.at, c.depth))
		w.zero = w.findZero(w.forceN, w.extreme)
		if got := strings.Contains(strings.Join(w.Warnings, ""), "polarity was turned"); got != c.turned || (w.forceN[250] < 0) != c.turned {
			t.Errorf("%+v: %v", c, got)
		}
	}
	// On a base of 1000 N the dip counts from there: 1.2 * 9000 = 10800.
	w := zeroWork(func(i int) float64 { return 1000 + dip(150, 12500)(i) })
	w.forceN[250] -= 1000
	w.extreme = dsp.FindExtremes(w.forceN)
	w.zero = w.findZero(w.forceN, w.extreme)
	if len(w.Warnings) == 0 {
		t.Error("a dip below a base line was not turned")
	}
}

// Sixteen samples are enough for a zero; with fewer it is the first sample if that is below 5 % of the peak, and its error the
// larger of that sample and 1 % of the peak, over sqrt 3.
func TestZeroWithoutAQuietStretch(t *testing.T) {
	at := func(quiet int, first float64) *told {
		w := bare()
		w.forceN = make([]float64, 5000)
		w.forceN[0] = first
		for i := 1; i < 100; i++ {
			w.forceN[quiet+i-1] += 1e4 * math.Sin(math.Pi*float64(i)/100)
		}
		w.extreme = dsp.FindExtremes(w.forceN)
		w.zero = w.findZero(w.forceN, w.extreme)
		return w
	}
	if w := at(18, 0); !w.hasQuiet || w.quietN != 16 {
		t.Errorf("%d", w.quietN)
	}
	if w := at(17, 0); w.hasQuiet || w.quietN != 15 || w.noiseN != roughNoise(w.forceN) {
		t.Errorf("%d", w.quietN)
	}
	for _, c := range []struct{ first, zero, u float64 }{{0, 0, 100}, {99, 99, 100}, {-499, -499, 499}, {499, 499, 499}, {501, 0, 501}} {
		w := at(5, c.first)
		near(t, "zero", w.zeroN, c.zero, 1e-12, 0)
		near(t, "u", w.zeroU, c.u/math.Sqrt(3), 1e-12, 0)
		near(t, "force", w.forceN[54], 1e4-c.zero, 1e-12, 0)
		if !math.IsInf(w.zeroDoF, 1) || w.hasQuiet {
			t.Errorf("%+v", w.zeroDoF)
		}
	}
	if w := at(5, 0); !strings.Contains(strings.Join(w.Warnings, ""), "(3 samples)") || w.zeroN != 0 {
		t.Error(w.Warnings)
	}
}
