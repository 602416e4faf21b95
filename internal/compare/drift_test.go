package compare

import (
	"math"
	"strings"
	"testing"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// Logarithms 0, 0.03, 0 on three days: slope 0; residuals -0.01, 0.02, -0.01, s = sqrt(6e-4), sum of squares of the days 2, t(1) = 12.7062 (JCGM 100
// table G.2: 12.71): half = 12.7062 x 0.0244949/sqrt 2 = 0.220077.
func TestDriftByHand(t *testing.T) {
	days := []string{"2026-03-01", "2026-03-02", "2026-03-03"}
	peak := func(logs ...float64) (out []float64) {
		for _, l := range logs {
			out = append(out, 10000*math.Exp(l))
		}
		return out
	}
	d, says := drift(days, peak(0, 0.03, 0), 0.95)
	if d == nil || math.Abs(d.PerDay) > 1e-15 || d.Days != 2 || !strings.Contains(says.String(), "no drift of the gain is shown") {
		t.Fatalf("%+v %s", d, says)
	}
	near(t, "hi", &d.Hi, 0.220077, 1e-5)
	near(t, "lo", &d.Lo, -0.220077, 1e-5)
	// 1 % a day without scatter.
	d, says = drift(days, peak(0, 0.01, 0.02), 0.95)
	near(t, "slope", &d.PerDay, 0.01, 1e-9)
	near(t, "over", &d.Over, math.Exp(0.02)-1, 1e-9)
	if !strings.Contains(says.String(), "has drifted") {
		t.Error(says)
	}
	for _, c := range []struct {
		days []string
		want string
	}{{[]string{"", "2026-03-01", "x"}, "fewer than three"}, {[]string{"2026-03-01", "2026-03-01", "2026-03-01"}, "one day"}} {
		if d, says := drift(c.days, peak(0, 0, 1), 0.95); d != nil || !strings.Contains(says.String(), c.want) {
			t.Errorf("%v: %+v %s", c.days, d, says)
		}
	}
}

// The rule is taken apart: 10 kN four times by turns with 11 and then 20, as in the chart by hand.
func TestBrokenRulesNameTheirDrops(t *testing.T) {
	var in []Entry
	for i, p := range []float64{10, 11, 10, 11, 10, 20} {
		e := entry(string(rune('a'+i)), "", drop.Held, 1)
		e.Peak = quantity.Force(1000 * p)
		e.Drop.Role, e.Drop.Order, e.Drop.Taken = drop.Check, i+1, "2026-03-01"
		in = append(in, e)
	}
	c := ChartChecks(in)
	if len(c.BrokenRules) != len(c.Violations) || len(c.Ranges) != 5 || c.Ranges[4] != 10000 || len(c.Taken) != 6 || c.Drift != nil {
		t.Fatalf("%+v", c)
	}
	found := false
	for _, r := range c.BrokenRules {
		found = found || r == BrokenRule{Drop: "f", First: "f", Rule: "outside the limits that the other drops set", Chart: "single values"}
	}
	if !found {
		t.Errorf("%+v", c.BrokenRules)
	}
}

// Four days, slope 0.02 a day, residual standard deviation s: t = 0.02 sqrt(5)/s of 2 degrees. t(0.975) = 4.303, t(0.995) = 9.925 (table): with s from residuals e (1, -1, -1, 1) it is
// s^2 = 4 e^2/2, so that e = 0.005 gives t = 6.3, between the two, and e = 0.002 t = 15.8.
func TestDriftIsClaimedAtTheRateOfTheChart(t *testing.T) {
	days := []string{"2026-03-01", "2026-03-02", "2026-03-03", "2026-03-04"}
	for e, want := range map[float64]string{0.005: "a drift may be there; steady check drops show one like it in up to 5 % of charts, and the chart alarms at 1 %", 0.002: "has drifted", 0.01: "no drift of the gain is shown"} {
		var peaks []float64
		for i, sign := range []float64{1, -1, -1, 1} {
			peaks = append(peaks, 10000*math.Exp(0.02*float64(i)+sign*e))
		}
		if _, says := drift(days, peaks, 0.95); !strings.Contains(says.String(), want) {
			t.Errorf("%g: %s", e, says)
		}
	}
}
