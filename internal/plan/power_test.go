package plan

import (
	"math"
	"strings"
	"testing"
)

// R 4.2.2, power.t.test with strict = TRUE on log peaks: bench/power/reference.R.
func TestPeakPowerAgainstR(t *testing.T) {
	for _, c := range []struct {
		ratio, cv float64
		n         int
		power     float64
	}{
		{1.2, 0.08, 3, 0.562339257763}, {1.2, 0.08, 5, 0.883550811099}, {1.1, 0.08, 10, 0.713600700691},
		{1.05, 0.15, 20, 0.172142222486}, {0.8, 0.2, 4, 0.269908431332},
	} {
		p, err := PeakTest{c.cv, 0.05}.Power(c.ratio, c.n)
		if err != nil {
			t.Fatal(err)
		}
		agree(t, "power", p, c.power, 2e-8)
	}
	// The whole numbers above R's 4.226620386, 12.06451774 and 197.3933241.
	for _, c := range []struct {
		ratio, cv, power float64
		n                int
	}{{1.2, 0.08, 0.8, 5}, {1.1, 0.08, 0.8, 13}, {1.05, 0.15, 0.9, 198}, {1 / 1.1, 0.08, 0.8, 13}} {
		if n, err := (PeakTest{c.cv, 0.05}).Size(c.ratio, c.power); err != nil || n != c.n {
			t.Errorf("%+v: %d %v", c, n, err)
		}
	}
	for n, want := range map[int]float64{2: 1.570757509, 3: 1.277978668, 5: 1.175503908, 10: 1.111629307} {
		got, err := PeakTest{0.08, 0.05}.SmallestRatio(0.8, n)
		if err != nil {
			t.Fatal(err)
		}
		agree(t, "smallest ratio", got, want, 1e-7)
	}
}

// With no difference the power is alpha.
func TestPowerWithoutADifference(t *testing.T) {
	p, err := PeakTest{0.1, 0.05}.Power(1, 4)
	if err != nil {
		t.Fatal(err)
	}
	agree(t, "power", p, 0.05, 1e-9)
	if _, err := (PeakTest{0.1, 0.05}).Size(1, 0.8); err == nil {
		t.Error("no difference was found with some n")
	}
	for _, bad := range []PeakTest{{0, 0.05}, {3, 0.05}, {0.1, 0}, {0.1, 1}, {math.NaN(), 0.05}} {
		if bad.Check() == nil {
			t.Errorf("%+v was accepted", bad)
		}
	}
}

// R 4.2.2, fisher.test over all pairs of counts: bench/power/reference.R. Two against two by hand: no table goes below 1/3.
func TestCountPowerAgainstR(t *testing.T) {
	for _, c := range []struct {
		n           int
		a, b, power float64
	}{{2, 0, 1, 0}, {3, .1, .9, 0}, {4, .05, .95, 0.663420431328}, {10, .1, .6, 0.473961076662}, {15, .2, .7, 0.679618897484}} {
		agree(t, "power", CountTest{c.a, c.b, 0.05}.Power(c.n), c.power, 1e-9)
	}
	// 4 against 4 is the first size whose most unlikely table, 2/70, is below 0.05; with probabilities 0 and 1 it always comes.
	if n, err := (CountTest{0, 1, 0.05}).Size(0.8); err != nil || n != 4 {
		t.Errorf("%d %v", n, err)
	}
	n, err := CountTest{.2, .7, 0.05}.Size(0.8)
	if err != nil || n < 16 || n > 30 {
		t.Fatalf("%d %v", n, err)
	}
	for k := n; k <= n+enoughAfter; k++ {
		if p := (CountTest{.2, .7, 0.05}).Power(k); p < 0.8 {
			t.Errorf("%d: %v", k, p)
		}
	}
	if p := (CountTest{.2, .7, 0.05}).Power(n - 1); p >= 0.8 {
		t.Errorf("%d would do: %v", n-1, p)
	}
	if _, err := (CountTest{.5, .51, 0.05}).Size(0.8); err == nil || !strings.Contains(err.Error(), "measure forces") {
		t.Error(err)
	}
	for _, bad := range []CountTest{{.1, .1, .05}, {-1, .1, .05}, {.1, 2, .05}} {
		if bad.Check() == nil {
			t.Errorf("%+v was accepted", bad)
		}
	}
}

// C(6,3) = 20, C(4,2) = 6, C(8,4) = 70.
func TestSmallestP(t *testing.T) {
	for n, want := range map[int]float64{1: 1, 2: 2. / 6, 3: 0.1, 4: 2. / 70} {
		agree(t, "smallest p", SmallestP(n), want, 1e-14)
	}
}

func BenchmarkCountSize(b *testing.B) {
	for b.Loop() {
		if _, err := (CountTest{.2, .5, 0.05}).Size(0.8); err != nil {
			b.Fatal(err)
		}
	}
}
