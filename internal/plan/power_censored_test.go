package plan

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/hardcatch/hardcatch/internal/num/uncert"
)

func often(t testing.TB, c CensoredTest, runs int) *CensoredPower {
	t.Helper()
	out := make([]CensoredRun, runs)
	for k := range out {
		var err error
		if out[k], err = c.Run(rand.NewPCG(3, uint64(k))); err != nil {
			t.Fatal(err)
		}
	}
	p, err := c.SumUp(out)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// When none breaks the gain is 2n ln(1 + t^2/(2n-2)), a rising function of |t|: with its own cut the likelihood ratio has
// the power of the t test (R 4.2.2: 0.562339 for 3 against 3), and with the chi-squared cut 3.8415 it alarms falsely
// when t^2 > 4 (exp(3.8415/6) - 1).
func TestSimulationAgreesWithTheTTest(t *testing.T) {
	c := CensoredTest{Peaks: PeakTest{0.08, 0.05}, Ratio: 1.2, N: 3}
	const runs = 8000
	p := often(t, c, runs)
	// Three standard errors of the share, and as much again for the cut, which is estimated from the same number of runs.
	if math.Abs(p.Power-0.562339) > 6*math.Sqrt(0.5623*0.4377/runs) {
		t.Errorf("power %v", p.Power)
	}
	want := uncert.StudentTail(math.Sqrt(4*math.Expm1(3.841458820694124/6)), 4)
	if math.Abs(p.FalseAlarm-want) > 4*math.Sqrt(want*(1-want)/runs) {
		t.Errorf("false alarms %v, want %v", p.FalseAlarm, want)
	}
	cut := 6 * math.Log1p(math.Pow(uncert.StudentQuantile(0.975, 4), 2)/4)
	agree(t, "cut", p.Cut, cut, 0.06)
	if p.Nothing != 0 || p.Broke != 0 {
		t.Errorf("%+v", p)
	}
}

// The break probability that was asked for comes out, a group of which all broke tells nothing (here 2 of 0.3^3 less the
// overlap, and a little for groups met without scatter), and lower bounds cost power.
func TestBreaksCostPower(t *testing.T) {
	c := CensoredTest{Peaks: PeakTest{0.08, 0.05}, Ratio: 1.2, Break: 0.3, N: 3}
	const runs = 8000
	p := often(t, c, runs)
	agree(t, "broke", p.Broke, 6*0.3, 0.03)
	all := 1 - (1-0.027)*(1-0.027)
	if p.Nothing < all-0.01 || p.Nothing > all+0.03 {
		t.Errorf("nothing to tell in %v, all of a group broke in %v", p.Nothing, all)
	}
	if p.Power > 0.5 || p.Power < 0.2 || !(p.Lo < p.Power && p.Power < p.Hi) {
		t.Errorf("%+v", p)
	}
}

func TestNoDifferenceIsFoundAsOftenAsAllowed(t *testing.T) {
	p := often(t, CensoredTest{Peaks: PeakTest{0.1, 0.05}, Ratio: 1, Break: 0.2, N: 5}, 2000)
	if p.Power > 0.05+1e-12 || p.Power < 0.04 {
		t.Errorf("%+v", p)
	}
}

func TestCensoredRefusals(t *testing.T) {
	for _, c := range []CensoredTest{
		{Peaks: PeakTest{0.1, 0.05}, Ratio: 1.2, Break: 1, N: 3}, {Peaks: PeakTest{0.1, 0.05}, Ratio: 1.2, Break: -0.1, N: 3},
		{Peaks: PeakTest{0.1, 0.05}, Ratio: 1.2, N: 1}, {Ratio: 1.2, N: 3},
	} {
		if c.Check() == nil {
			t.Errorf("%+v was accepted", c)
		}
	}
	if _, err := (CensoredTest{}).SumUp(nil); err == nil {
		t.Error("no run was summed up")
	}
}

// 1.277978668 is R's smallest ratio for 3 against 3, 0.708 and 0.1 the exact bounds; 4 against 4 reach 2/70.
func TestCanShow(t *testing.T) {
	s, err := PeakTest{0.08, 0.05}.CanShow(3, 0.8)
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"with 80 % power is 1.28", "p below 0.10", "neither can find anything", "If none of 3 breaks, a break probability of up to 70.8 %"} {
		if !strings.Contains(s.String(), want) {
			t.Errorf("%q is missing in %s", want, s)
		}
	}
	s, err = PeakTest{0.08, 0.05}.CanShow(4, 0.8)
	if err != nil || !strings.Contains(s.String(), "p below 0.029, and that only when all of one group lie beyond all of the other") {
		t.Errorf("%s %v", s, err)
	}
	if got := RatioRoundedUp(1.111629307); got != "1.12" {
		t.Error(got)
	}
	if got := PowerRoundedDown(0.5623); got != "56 %" {
		t.Error(got)
	}
}

func BenchmarkCensoredRun(b *testing.B) {
	c := CensoredTest{Peaks: PeakTest{0.08, 0.05}, Ratio: 1.2, Break: 0.3, N: 10}
	src := rand.NewPCG(0, 0)
	k := uint64(0)
	for b.Loop() {
		k++
		src.Seed(1, k)
		if _, err := c.Run(src); err != nil {
			b.Fatal(err)
		}
	}
}
