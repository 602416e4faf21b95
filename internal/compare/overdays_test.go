package compare

import (
	"math"
	"strings"
	"testing"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/message"
)

// Two drops on the first day and two on a later one, logarithms 0, 0.02 | 0.04, 0.06: means of day and logarithm 1 and 0.03 (days 0 and 2),
// slope 0.08/4 = 0.02, residuals -+0.01, s^2 = 4e-4/2, half = t(2) sqrt(2e-4/4) = 4.302653 x 0.00707107 = 0.0304244.
func TestDriftEdges(t *testing.T) {
	peaks := func(logs ...float64) (out []float64) {
		for _, l := range logs {
			out = append(out, 0.5*math.Exp(l)) // small forces count as well
		}
		return out
	}
	days := []string{"2026-03-01", "2026-03-01", "2026-03-03", "2026-03-03"}
	d, says := drift(days, peaks(0, 0.02, 0.04, 0.06), 0.95)
	near(t, "slope", &d.PerDay, 0.02, 1e-12)
	near(t, "lo", &d.Lo, 0.02-0.0304244, 1e-5)
	near(t, "hi", &d.Hi, 0.02+0.0304244, 1e-5)
	// exp(0.04) - 1 = 4.08 %
	if want := "(2 days) the peak changes by 4.1 % (2.0 % a day, -1.0 % to 5.0 % at 95 % confidence): no drift"; !strings.Contains(says.String(), want) {
		t.Errorf("%s\nwant %s", says, want)
	}
	// The same within a day apart: slope 0.04, half 0.0608488.
	_, says = drift([]string{"2026-03-01", "2026-03-01", "2026-03-02", "2026-03-02"}, peaks(0, 0.02, 0.04, 0.06), 0.95)
	if want := "(1 day) the peak changes by 4.1 % (-2.1 % to 10 % at 95 % confidence): no drift"; !strings.Contains(says.String(), want) {
		t.Errorf("%s\nwant %s", says, want)
	}
	// Undated drops and those without a force say nothing about time.
	with, _ := drift(append([]string{"x", "2026-02-01"}, days...), append([]float64{1, 0}, peaks(0, 0.02, 0.04, 0.06)...), 0.95)
	if with == nil || *with != *d {
		t.Errorf("%+v, want %+v", with, d)
	}
	// Falling is a drift too, and standing still without scatter is none.
	if _, says := drift(days, peaks(0.06, 0.06, 0.02, 0.02), 0.95); !strings.Contains(says.String(), "has drifted") {
		t.Error(says)
	}
	if d, says := drift(days, peaks(0, 0, 0, 0), 0.95); d.Lo != 0 || d.Hi != 0 || !strings.Contains(says.String(), "no drift") {
		t.Errorf("%+v %s", d, says)
	}
	// Days 0, 1, 4 and logarithms 0.02, 0, 0.08: means 5/3 and 1/30, sums of squares 26/3 and 13/3750, of products 23/150, so that b = 23/1300 and
	// the residuals leave 13/3750 - b 23/150 with one degree.
	d, _ = drift([]string{"2026-03-01", "2026-03-02", "2026-03-05"}, peaks(0.02, 0, 0.08), 0.95)
	near(t, "slope", &d.PerDay, 23./1300, 1e-12)
	half := 12.7062047 * math.Sqrt((13./3750-23./1300*23/150)/(26./3))
	near(t, "hi", &d.Hi, 23./1300+half, 1e-8)
	near(t, "over", &d.Over, math.Expm1(4*23./1300), 1e-12)
}

// Check drops stand in the order of day and place; void, undecided, unreduced and trial drops are none.
func TestWhichDropsAreCharted(t *testing.T) {
	void, open, blank, trial := checkAt("v", "2026-03-01", 1, 50), checkAt("o", "2026-03-01", 1, 50), checkAt("n", "2026-03-01", 1, math.NaN()), entry("t", "", drop.Held, 50000)
	void.Outcome, open.Outcome = drop.Void, ""
	c := ChartChecks([]Entry{void, checkAt("c", "2026-03-02", 1, 10), open, checkAt("b", "2026-03-01", 2, 11), blank, checkAt("d", "2026-03-02", 3, 11), trial, checkAt("a", "2026-03-01", 1, 10), checkAt("e", "2026-03-04", 1, 10), checkAt("f", "2026-03-04", 1, 11)})
	if got := strings.Join(c.Drops, ""); got != "abcdef" || c.N != 6 {
		t.Fatalf("%s", got)
	}
	// 10 and 11 by turns: centre 10.5, every moving range 1. The average starts at the centre with weight 0.2 (the textbook's usual one): 0.2 x 10 + 0.8 x 10.5 =
	// 10.4. Six drops with so much scatter would not have shown a change by a tenth.
	if !strings.Contains(c.Statement.String(), "they could not have shown that the rig changed: only a drop off by more than ") || len(c.Violations) != 0 || len(c.BrokenRules) != 0 || len(c.Warnings) == 0 {
		t.Errorf("%s %v %v", c.Statement, c.Violations, c.Warnings)
	}
	for _, v := range [][2]float64{{c.Centre, 10500}, {c.Upper + c.Lower, 21000}, {c.EWMA[0], 10400}, {c.EWMA[1], 10520}, {c.EWMAUpper[0] + c.EWMALower[0], 21000}, {c.Ranges[0], 1000}} {
		if math.Abs(v[0]-v[1]) > 1e-6 {
			t.Errorf("%v, want %v", v[0], v[1])
		}
	}
	want, says := drift(c.Taken, c.Peaks, 0.95)
	if *c.Drift != *want || !c.DriftSays.Equal(says) {
		t.Errorf("%+v, want %+v", c.Drift, want)
	}
}

// 10.0 to 10.2 seventeen times and three at the end 1.0 higher: a lasting change from the eighteenth on, and an average beyond its limit. With a spike down and up
// among steady ones the moving range breaks its limit.
func TestEachChartNamesItsRule(t *testing.T) {
	run := func(off func(i int) float64) *CheckChart {
		var in []Entry
		for i := range 20 {
			in = append(in, checkAt(string(rune('a'+i)), "2026-03-01", i+1, 10+0.1*float64(i%3)+off(i)))
		}
		return ChartChecks(in)
	}
	for _, k := range []struct {
		chart, first, last string
		off                func(i int) float64
	}{
		{"lasting change", "r", "t", func(i int) float64 { return float64(i / 17) }},
		{"weighted average", "t", "t", func(i int) float64 { return float64(i / 17) }},
		{"moving range", "j", "k", func(i int) float64 { return map[int]float64{9: -1, 10: 1}[i] }},
		{"single values", "g", "g", func(i int) float64 { return map[int]float64{6: 3}[i] }},
	} {
		c := run(k.off)
		seen := []BrokenRule{}
		for _, r := range c.BrokenRules {
			if r.Chart == k.chart {
				seen = append(seen, r)
			}
		}
		if len(seen) != 1 || seen[0].First != k.first || seen[0].Drop != k.last || len(c.BrokenRules) != len(c.Violations) || !strings.HasSuffix(c.Statement.String(), "; look at the rig before trusting the drops since.") || !strings.Contains(c.Statement.String(), "false alarms: at most 1 % of such charts") {
			t.Errorf("%s: %+v %s", k.chart, c.BrokenRules, c.Statement)
		}
	}
}

// Four check drops of which one is twice the others are an alarm, wherever it stands; and the sentence of a chart without alarm says what it could not have shown.
func TestFewCheckDropsDoNotHideAFarOne(t *testing.T) {
	for at := range 4 {
		peaks := []float64{15.00, 15.01, 15.00, 15.01}
		peaks[at] = 30
		var in []Entry
		for i, p := range peaks {
			in = append(in, checkAt(string(rune('a'+i)), "2026-03-01", i+1, p))
		}
		c := ChartChecks(in)
		if !strings.Contains(c.Statement.String(), "look at the rig") || !strings.Contains(strings.Join(message.Texts(c.Violations), "|"), "drop "+string(rune('a'+at))+": outside the limits that the other drops set") {
			t.Errorf("%s %v", c.Statement, c.Violations)
		}
	}
	// With a budget of 0.15 kN (expanded 0.3 kN) three drops are enough to see 1 kN, which their scatter alone could not show.
	var in []Entry
	for i, p := range []float64{15.00, 15.01, 16} {
		in = append(in, checkAt(string(rune('a'+i)), "2026-03-01", i+1, p))
		in[i].Expanded = 0
	}
	if c := ChartChecks(in); len(c.Violations) != 0 || c.KnownSD != nil || !strings.Contains(c.Statement.String(), "they could not have shown that the rig changed") || !strings.HasSuffix(c.Statement.String(), "take 8 or more.") {
		t.Error(c.Statement)
	}
	for i := range in {
		in[i].Expanded = in[i].Peak / 50
	}
	c := ChartChecks(in)
	if len(c.Violations) != 1 || c.KnownSD == nil || math.Abs(*c.KnownSD-c.Peaks[2]/100) > 1e-9 || !strings.Contains(c.Violations[0].String(), "drop c: farther from the other drops than the uncertainty of measurement allows") {
		t.Errorf("%v %v", c.Violations, c.KnownSD)
	}
}

// Ten days, two cells, one drop of each a day. With one day far off in both, h of that day is 9/sqrt 10 = 2.85, the largest that ten groups allow; with one day
// far apart in itself the cell means take a tenth of its +-0.5 to the other days: 0.45 against 0.05 nine times, k = 0.45/sqrt((0.45^2 + 9 x 0.05^2)/10) = 3.
// The critical values at 0.5 % of Mandel's statistics (ISO 5725-2): h = (p-1) t/sqrt(p (t^2 + p-2)) with t(8) = 3.833 at 0.9975: 2.29, and
// k = sqrt(9 F/(F + 8)), one degree of a day's own out of the nine that ten days and two cells leave, with F(1, 8) = t(8)^2 = 3.833^2 at 0.9975: 2.41 (tables of Student's t, recalled).
func TestDaysThatStandOut(t *testing.T) {
	calm := func() [][]float64 {
		v := make([][]float64, 10)
		for i := range v {
			d := 1e-4 * float64(i%3-1)
			v[i] = []float64{d, -d}
		}
		return v
	}
	off, apart := calm(), calm()
	off[9] = []float64{0.5, 0.5}
	apart[9] = []float64{0.5, -0.5}
	for _, c := range []struct {
		values [][]float64
		flag   string
	}{
		{off, "day 2026-03-10: its mean stands out (h = 2.85, critical 2.29)"},
		{apart, "day 2026-03-10: its scatter stands out (k = 3.00, critical 2.41)"},
	} {
		in, cells, err := daily(c.values)
		if err != nil {
			t.Fatal(err)
		}
		r := AnalyseRepeatability(in, cells)
		if len(r) != 1 || len(r[0].Flags) != 1 || r[0].Flags[0].String() != c.flag {
			t.Errorf("%+v, want %s", r, c.flag)
		}
	}
}

// Two days, two drops of each of two cells a day: logarithms 0, 0.02 | 0.1, 0.12, each cell 0.06 about its mean: residuals -0.06, -0.04 | 0.04, 0.06 twice.
// Within: 8 x 1e-4 over 8 - 2 cells - 2 days + 1 = 5 degrees; between: mean square 8 x 0.05^2 = 0.02 of groups of four, so that s_L^2 = (0.02 - 8e-4/5)/4.
func TestRepeatWithScatter(t *testing.T) {
	days := []string{"2026-03-01", "2026-03-01", "2026-03-02", "2026-03-02"}
	make4 := func(x ...float64) []float64 {
		out := make([]float64, len(x))
		for i, v := range x {
			out[i] = 10000 * math.Exp(v)
		}
		return out
	}
	run := func(x ...float64) Repeatability {
		in := entriesOf(cellData{"a", 0.9, make4(x...), nil}, cellData{"b", 0.9, make4(x...), nil})
		for i := range in {
			in[i].Drop.Taken = days[i%4]
		}
		// Of one day only, broken, or without a day: these say nothing about days.
		alone := entriesOf(cellData{"c", 0.9, make4(0, 1), nil}, cellData{"d", 0.9, make4(0, 1), make4(2)}, cellData{"e", 0.9, make4(0, 3, 4), nil})
		for i := range alone {
			alone[i].Drop.ID += "x"
			alone[i].Drop.Specimen.ID += "x"
			alone[i].Drop.Taken = "2026-03-01"
			switch i {
			case 3: // the second that held of the cell with a break
				alone[i].Drop.Taken = "2026-03-02"
			case 5: // the first of the last cell
				alone[i].Drop.Taken = ""
			}
		}
		in = append(in, alone...)
		cells, err := Cells(in, 0.95)
		if err != nil {
			t.Fatal(err)
		}
		r := AnalyseRepeatability(in, cells)
		if len(r) != 1 || r[0].N != 8 || r[0].Groups != 2 || r[0].WithinDoF != 5 || len(r[0].Warnings) == 0 {
			t.Fatalf("%+v", r)
		}
		return r[0]
	}
	r := run(0, 0.02, 0.1, 0.12)
	within, between := 8e-4/5, (0.02-8e-4/5)/4
	near(t, "s_r", &r.WithinSD, math.Sqrt(within), 1e-9)
	near(t, "s_L", &r.BetweenSD, math.Sqrt(between), 1e-9)
	near(t, "s_R", &r.TogetherSD, math.Sqrt(within+between), 1e-9)
	// sqrt(8e-4/5) = 1.26 %, sqrt(0.00496) = 7.04 %.
	if !strings.Contains(r.Statement.String(), "scatter by 1.3 % within a day and by 7.0 % more between days (8 peaks, 2 days): the days differ by more than chance would explain") {
		t.Error(r.Statement)
	}
	// The same on both days: nothing between them.
	if r := run(0, 0.02, 0, 0.02); r.BetweenSD != 0 || !strings.Contains(r.Statement.String(), "chance alone may explain the difference between days") {
		t.Error(r.Statement)
	}
}
