package dsp

import (
	"encoding/json"
	"math"
	"os"
	"testing"
)

func near(t *testing.T, what string, got, want, rel, floor float64) {
	t.Helper()
	if !(math.Abs(got-want) <= rel*math.Abs(want)+floor) {
		t.Errorf("%s: got %.12g, want %.12g (off by %.2g relative)", what, got, want, math.Abs(got-want)/math.Abs(want))
	}
}

// Coefficients from the formula of SAE J211-1 appendix C, calculated outside this package to ten
// digits.
func TestChannelClassCoefficients(t *testing.T) {
	for _, c := range []struct{ class, rate, a0, b1, b2 float64 }{
		{1000, 20000, 0.07189309707, 1.111586176, -0.3991585644},
		{60, 1000, 0.09718462528, 0.9455740091, -0.3343125102},
		{180, 10000, 0.0117962711, 1.670117463, -0.7173025477},
	} {
		q, err := ChannelClass(c.class, c.rate, SAE)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "a0", q.A0, c.a0, 1e-9, 0)
		near(t, "b1", q.B1, c.b1, 1e-9, 0)
		near(t, "b2", q.B2, c.b2, 1e-9, 0)
		near(t, "gain at rest", (q.A0+q.A1+q.A2)/(1-q.B1-q.B2), 1, 1e-13, 0)
	}
}

// ISO 6487 table: 3 dB at 100, 300, 1000, 1650 Hz for the classes 60, 180, 600, 1000 (printed). The
// class times its factor over passRatio (1667 Hz for class 1000) is within 1 % of these rounded figures.
func TestThreeDecibelPoints(t *testing.T) {
	for class, f3 := range map[float64]float64{60: 100, 180: 300, 600: 1000, 1000: 1650} {
		for _, factor := range []Factor{SAE, ISO} {
			q, err := ChannelClass(class, 200000, factor)
			if err != nil {
				t.Fatal(err)
			}
			near(t, "gain at the printed 3 dB frequency", q.Gain(f3, 200000), math.Sqrt2/2, 0.016, 0)
		}
	}
	for _, f := range []float64{33, 100, 441} {
		q, err := LowPass3dB(f, 10000)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "gain at the asked 3 dB frequency", q.Gain(f, 10000), math.Sqrt2/2, 1e-12, 0)
	}
}

func TestLowestRateIsTenTimesTheClass(t *testing.T) {
	if _, err := ChannelClass(1000, 9999, SAE); err == nil {
		t.Error("class 1000 at 9999 Hz was accepted")
	}
	if _, err := ChannelClass(1000, 10000, SAE); err != nil {
		t.Error(err)
	}
	for _, bad := range [][2]float64{{0, 1}, {-1, 1000}, {60, 0}, {math.NaN(), 1000}, {60, math.Inf(1)}} {
		if _, err := ChannelClass(bad[0], bad[1], SAE); err == nil {
			t.Errorf("class %g at %g was accepted", bad[0], bad[1])
		}
	}
	if _, err := LowPass3dB(4000, 10000); err == nil {
		t.Error("a low-pass whose corner is past half the rate was accepted")
	}
}

// Reference: scipy.signal.filtfilt, recorded by testdata/make-filtfilt.py with its versions.
func TestFiltFiltAgainstScipy(t *testing.T) {
	data, err := os.ReadFile("testdata/filtfilt-scipy.json")
	if err != nil {
		t.Fatal(err)
	}
	var ref struct {
		Rate   float64   `json:"rate_Hz"`
		Record []float64 `json:"record_N"`
		Cases  []struct {
			Class, Factor float64
			Pad           int
			A0, B1, B2    float64
			Filtered      []float64 `json:"filtered_N"`
		}
	}
	if err := json.Unmarshal(data, &ref); err != nil || len(ref.Cases) != 12 {
		t.Fatalf("%d cases: %v", len(ref.Cases), err)
	}
	for _, c := range ref.Cases {
		q, err := ChannelClass(c.Class, ref.Rate, Factor(c.Factor))
		if err != nil {
			t.Fatal(err)
		}
		near(t, "a0", q.A0, c.A0, 1e-10, 0)
		near(t, "b1", q.B1, c.B1, 1e-11, 0)
		near(t, "b2", q.B2, c.B2, 1e-11, 0)
		got := make([]float64, len(ref.Record))
		q.FiltFilt(got, ref.Record, c.Pad)
		for i := range got {
			if math.Abs(got[i]-c.Filtered[i]) > 1e-8*15000 {
				t.Fatalf("class %g pad %d sample %d: %v, scipy %v", c.Class, c.Pad, i, got[i], c.Filtered[i])
			}
		}
	}
}

// Filtered over true peak of a half-sine at 20 kHz, calculated outside this package.
func TestHalfSineFilterRatio(t *testing.T) {
	for _, c := range []struct{ class, ms, want float64 }{
		{60, 10, 0.9507}, {60, 5, 0.7025}, {180, 5, 0.9956}, {30, 20, 0.9507},
	} {
		q, err := ChannelClass(c.class, 20000, SAE)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "half-sine ratio", HalfSineFilterRatio(q, c.ms/1000, 20000), c.want, 0, 6e-5)
	}
}

func TestFilterKeepsTheImpulse(t *testing.T) {
	q, _ := ChannelClass(60, 10000, ISO)
	x := make([]float64, 4000)
	for i := 1500; i < 2000; i++ {
		x[i] = 10000 * math.Sin(math.Pi*float64(i-1500)/500)
	}
	y := make([]float64, len(x))
	q.FiltFilt(y, x, 100)
	near(t, "impulse", sum(y), sum(x), 1e-12, 0)
}

// White noise through a filter of known impulse response: sum of squares by Parseval equals the mean
// of Gain^2 over frequency.
func TestNoiseGain(t *testing.T) {
	q, _ := ChannelClass(180, 10000, SAE)
	sum, n := 0.0, 20000
	for i := range n {
		g := q.Gain((float64(i)+0.5)/float64(n)*5000, 10000)
		sum += g * g
	}
	near(t, "noise gain", q.NoiseGain(), math.Sqrt(sum/float64(n)), 1e-6, 0)
}

func TestFiltFiltShortRecords(t *testing.T) {
	q, _ := ChannelClass(60, 10000, SAE)
	q.FiltFilt(nil, nil, 9)
	one := []float64{7}
	q.FiltFilt(one, one, 9)
	near(t, "single sample", one[0], 7, 1e-14, 0)
	flat := []float64{5, 5, 5, 5, 5}
	q.FiltFilt(flat, flat, 100)
	for _, v := range flat {
		near(t, "constant", v, 5, 1e-12, 0)
	}
}

func BenchmarkFiltFilt1e6(b *testing.B) {
	q, _ := ChannelClass(60, 10000, SAE)
	x := make([]float64, 1_000_000)
	for i := range x {
		x[i] = float64(i%977) * 1e-3
	}
	y := make([]float64, len(x))
	b.SetBytes(int64(8 * len(x)))
	b.ReportAllocs()
	for b.Loop() {
		q.FiltFilt(y, x, 300)
	}
}

func sum(x []float64) (s float64) {
	for _, v := range x {
		s += v
	}
	return s
}
