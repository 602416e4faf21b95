package limits

import (
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/hardcatch/hardcatch/internal/quantity"
)

func sample(t *testing.T, peaks ...Peak) *Sample {
	t.Helper()
	s, err := NewSample(peaks, Usual())
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// Of 5000 ± 200 N, 4000 to 4500 ± 100 N and 3000 to 3200 N the highest lower end is 4800 N, the highest upper one 5200 N, the largest u 100 N, in any order.
func TestWhatASampleReached(t *testing.T) {
	peaks := []Peak{{5000, 5000, 200}, {4000, 4500, 100}, {3000, 3200, 0}}
	for range 2 {
		s := sample(t, peaks...)
		if s.certain != 4800 || s.reached != 5200 || s.u != 100 || s.n != 3 || s.bounds != 0 || s.odd {
			t.Errorf("%+v", s)
		}
		slices.Reverse(peaks)
	}
	inf, nan := quantity.Force(math.Inf(1)), quantity.Force(math.NaN())
	if s := sample(t, Peak{4000, 5000, 300}); s.certain != 3700 || s.reached != 5300 {
		t.Errorf("an interval reaches to its upper end: %+v", s)
	}
	if s := sample(t, Peak{4000, inf, 300}, Peak{4100, inf, 0}, Peak{4000, 4050, 0}); s.bounds != 2 || s.certain != 4100 || s.reached != 4300 || s.mean != 0 || s.sd != 0 || s.odd {
		t.Errorf("a bound reaches no farther than it was seen: %+v", s)
	}
	for _, p := range []Peak{{nan, 5000, 0}, {5000, nan, 0}, {5000, 5000, nan}} {
		if s := sample(t, p, Peak{4000, 4000, 0}, Peak{4200, 4200, 0}); !s.odd || s.mean != 0 || s.reached != 4200 {
			t.Errorf("%v: %+v", p, s)
		}
	}
	if s := sample(t); s.mean != 0 || s.sd != 0 || s.n != 0 {
		t.Errorf("nothing: %+v", s)
	}
	for _, r := range []Rule{{0.5, 0.95}, {0.5, 0.51}, {0.999, 0.999}, {0.6, 0.6}} {
		if _, err := NewSample(peaks, r); err != nil {
			t.Errorf("%+v: %v", r, err)
		}
	}
}

// The worst that peaks in intervals may be is found among all choices of their ends: here every choice is tried. The lower bound is looked for among fewer
// of them, and lies up to a hundredth above the lowest of all.
func TestWorstEndsOfAll(t *testing.T) {
	for _, peaks := range [][]Peak{
		{{5500, 7000, 0}, {4000, 4200, 0}, {5000, 5100, 0}, {4500, 6500, 0}},
		{{4000, 9000, 0}, {6000, 6100, 0}, {5900, 6200, 0}},
		{{5000, 5000, 200}, {4000, 6000, 0}, {4100, 5900, 100}, {3000, 3500, 0}, {5000, 5800, 0}},
		{{4000, 4500, 0}, {4000, 4500, 0}},
		{{4000, 4500, 0}},
	} {
		s := sample(t, peaks...)
		hi, lo := math.Inf(-1), math.Inf(1)
		for choice := range 1 << len(peaks) {
			x := make([]float64, len(peaks))
			for i, p := range peaks {
				if x[i] = p.Lo.SI(); choice>>i&1 == 1 {
					x[i] = p.Hi.SI()
				}
			}
			up, down := s.ends(Moments(x))
			hi, lo = math.Max(hi, up), math.Min(lo, down)
		}
		up, _ := s.ends(s.mean, s.sd)
		_, down := s.ends(s.loMean, s.loSD)
		if math.Abs(up-hi) > 1e-9*hi || down < lo-1e-9*hi || down > 1.01*lo {
			t.Errorf("%v: %g to %g, worst of all %g to %g", peaks, down, up, lo, hi)
		}
	}
}

// 1, 2 and 6: mean 3, sd sqrt((4 + 1 + 9)/2).
func TestMoments(t *testing.T) {
	if m, sd := Moments([]float64{1, 2, 6}); math.Abs(m-3) > 1e-12 || math.Abs(sd-math.Sqrt(7)) > 1e-12 {
		t.Errorf("%g %g", m, sd)
	}
	if m, sd := Moments([]float64{1, 3}); m != 2 || sd != math.Sqrt2 {
		t.Errorf("%g %g", m, sd)
	}
	if m, sd := Moments([]float64{5}); m != 5 || sd != 0 {
		t.Errorf("%g %g", m, sd)
	}
}

// A limit that is met is not kept, one just above the bound is; a peak at the limit is within reach, and one certain at it does not exceed it.
func TestLimitsOfAJudgement(t *testing.T) {
	s := sample(t, measured(4800, 4900, 5000, 5100, 5200)...)
	bound := s.Judge(9000).Bound.SI()
	estimate := s.mean + 1.6448536269514722*s.sd
	for _, c := range []struct {
		limit float64
		want  Verdict
	}{
		{math.Nextafter(bound, 1e9), Below}, {bound, CannotTell}, {estimate * (1 + 1e-12), CannotTell}, {estimate * (1 - 1e-12), WithinReach},
		{5200, WithinReach}, {math.Nextafter(5200, 0), Exceeds},
	} {
		if j := s.Judge(quantity.Force(c.limit)); j.Verdict != c.want {
			t.Errorf("%.9g: %s, want %s", c.limit, j.Verdict, c.want)
		}
	}
	// With u = 100 N its normal quantile 164.49 N counts with the estimate: 5260 + 164 N.
	peaks := measured(4800, 4900, 5000, 5100, 5200)
	for i := range peaks {
		peaks[i].Expanded = 200
	}
	s = sample(t, peaks...)
	estimate += 164.48536269514722
	for limit, want := range map[float64]Verdict{estimate * (1 + 1e-9): CannotTell, estimate * (1 - 1e-9): WithinReach} {
		if j := s.Judge(quantity.Force(limit)); j.Verdict != want {
			t.Errorf("%.9g: %s, want %s", limit, j.Verdict, want)
		}
	}
	if s := sample(t, measured(1, 90, 2)...); s.Judge(1e6).QuantileLo.SI() < 0 {
		t.Error("no peak is below zero")
	}
}

// What bounds the next peak, in a sentence for each case.
func TestSampleSays(t *testing.T) {
	inf, nan := quantity.Force(math.Inf(1)), quantity.Force(math.NaN())
	for want, peaks := range map[string][]Peak{
		"No peak counts yet: nothing bounds the next one.":                                                                                          nil,
		"A peak or its uncertainty is not known: nothing bounds the next one.":                                                                      {{nan, nan, 0}},
		"The peaks show no scatter (1 specimen): nothing bounds the next one.":                                                                      measured(5000),
		"The peaks show no scatter (2 specimens): nothing bounds the next one.":                                                                     measured(5000, 5000),
		"Of 2 specimens 1 shows only that a whole arrest asks for at least its peak: nothing bounds the next one from above.":                       {{5000, 5000, 0}, {5000, inf, 0}},
		"The next specimen peaks below 5.37 kN, and 95 % of such specimens below 5.67 kN (95 % confidence each, one-sided, peaks taken as normal).": measured(4800, 4900, 5000, 5100, 5200),
	} {
		if got := sample(t, peaks...).Say().String(); got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
}

// More than 5 % of such peaks may pass it; one specimen of 5600 ± 200 N leaves (6000 - 5600 - 1.645 * 100)/1.645 = 143.2 N of scatter, and at its limit none.
func TestNumbersInAJudgementsWords(t *testing.T) {
	for _, c := range []struct {
		peaks []Peak
		limit quantity.Force
		says  string
	}{
		{measured(4800, 4900, 5000, 5100, 5200), 5250, "within reach: by these 5 specimens more than 5 % of such peaks may pass it"},
		{[]Peak{{5600, 5600, 200}}, 6000, "with a scatter above 144 N no number"},
		{[]Peak{{5600, 5600, 200}}, 5801, "with a scatter above 22.2 N no number"}, // (201 - 164.485)/1.645 = 22.2 N
	} {
		if got := sample(t, c.peaks...).Judge(c.limit).Text.String(); !strings.Contains(got, c.says) {
			t.Errorf("%q, want %q", got, c.says)
		}
	}
	if got := up(ptr(math.Inf(1))); got != quantity.Force(math.Inf(1)).Text(3) {
		t.Error(got)
	}
	if got := up(ptr(0)); got != quantity.Force(0).Text(3) {
		t.Error(got)
	}
	if got := up(ptr(0.5)); got != "0.500 N" && got != "500 mN" {
		t.Error(got)
	}
}
