package compare

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/num/censor"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

func rowAt(o drop.Outcome, peakN float64, cut bool) Row {
	p := quantity.Force(peakN)
	return Row{Outcome: o, Peak: &p, CutOff: cut}
}

// What a drop says of its strength and of its arrest force: a break is a strength seen, a hold an arrest force seen, and everything else
// that has a peak is a lower bound of either. A record that is cut off saw neither. (The rule of censoring of this package.)
func TestWhatADropSays(t *testing.T) {
	for _, c := range []struct {
		row              Row
		strength, arrest string
	}{
		{rowAt(drop.Broke, 9000, false), "exact", "at least"},
		{rowAt(drop.Broke, 9000, true), "at least", "at least"},
		{rowAt(drop.Held, 9000, false), "at least", "exact"},
		{rowAt(drop.Held, 9000, true), "at least", "at least"},
		{rowAt(drop.Slipped, 9000, false), "at least", "at least"},
		{rowAt(drop.Slipped, 9000, true), "at least", "at least"},
		{rowAt(drop.Void, 9000, false), "", ""},
		{rowAt("", 9000, false), "", ""},
		{rowAt(drop.Broke, 0, false), "", ""},
		{rowAt(drop.Held, -1, false), "", ""},
		{rowAt(drop.Held, math.NaN(), false), "", ""},
		{rowAt(drop.Broke, 0.5, false), "exact", "at least"},
		{rowAt(drop.Held, 0.5, false), "at least", "exact"},
		{Row{Outcome: drop.Broke}, "", ""},
		{Row{Outcome: drop.Held}, "", ""},
	} {
		say := func(v censor.Value, ok bool) string {
			switch {
			case !ok:
				return ""
			case v.Lo != c.row.Peak.SI():
				return "another force"
			case v.Kind() == censor.Observed:
				return "exact"
			}
			return "at least"
		}
		s, a := say(c.row.strength()), say(c.row.arrest())
		if s != c.strength || a != c.arrest {
			t.Errorf("%s cut off %v: strength %q, want %q; arrest force %q, want %q", c.row.Outcome, c.row.CutOff, s, c.strength, a, c.arrest)
		}
	}
}

func TestRowBounds(t *testing.T) {
	for _, c := range []struct {
		outcome drop.Outcome
		cut     bool
		want    bool
	}{{drop.Held, false, false}, {drop.Held, true, true}, {drop.Broke, false, true}, {drop.Slipped, false, true}, {drop.Void, false, false}} {
		e := entry("1", "sewn", c.outcome, 9000)
		e.CutOff = c.cut
		if r := e.Row(); r.LowerBound != c.want || r.CutOff != c.cut || r.Peak == nil {
			t.Errorf("%s cut off %v: %+v", c.outcome, c.cut, r)
		}
	}
	for _, peak := range []float64{math.NaN(), math.Inf(1), math.Inf(-1)} {
		if r := entry("1", "sewn", drop.Held, peak).Row(); r.Peak != nil || r.Expanded != nil {
			t.Errorf("%v is no peak", peak)
		}
	}
}

// Only peaks that held, were recorded and were not cut off enter tests of peaks and outliers.
func TestOnlyWholePeaksAreTested(t *testing.T) {
	rows := []Row{rowAt(drop.Held, 10000, false), rowAt(drop.Held, 10100, false), rowAt(drop.Held, 10200, false), rowAt(drop.Held, 10300, false)}
	odd := []Row{rowAt(drop.Held, 90000, true), rowAt(drop.Broke, 90000, false), rowAt(drop.Slipped, 90000, false), rowAt(drop.Void, 90000, false), {Outcome: drop.Held}}
	all := Cell{Drops: append(append([]Row{}, odd...), rows...)}
	if got := logPeaks(all); len(got) != 4 || got[0] != math.Log(10000) || got[3] != math.Log(10300) {
		t.Errorf("%v", got)
	}
	if got := Outliers([]Cell{all}); len(got) != 0 {
		t.Errorf("%+v", got)
	}
	// The one that held far above is found among them, by its place.
	all.Drops = append(all.Drops, rowAt(drop.Held, 90000, false))
	all.Drops[len(all.Drops)-1].Drop = "far"
	if got := Outliers([]Cell{all}); len(got) != 1 || got[0].Drop != "far" || len(got[0].Tests) != 2 {
		t.Errorf("%+v", got)
	}
	// Two peaks are no sample for either test, whatever the tests give back.
	if got := Outliers([]Cell{{Drops: rows[:2]}}); len(got) != 0 {
		t.Errorf("%+v", got)
	}
}

// Outcomes of one cell are counted each under its name, and what did not hold whole makes the mean a lower bound.
func TestCellCounts(t *testing.T) {
	held, broke, slipped, void, cut, open, planned := entry("1", "sewn", drop.Held, 10000), entry("2", "sewn", drop.Broke, 14000), entry("3", "sewn", drop.Slipped, 9000), entry("4", "sewn", drop.Void, 9000), entry("5", "sewn", drop.Held, 20000), entry("6", "sewn", "", 9000), entry("7", "sewn", "", math.NaN())
	cut.CutOff, planned.Planned = true, true
	one := func(in ...Entry) Cell {
		c, err := OneCell(nil, in, 0.95)
		if err != nil {
			t.Fatal(err)
		}
		return c
	}
	second := held
	second.Drop.ID, second.Drop.Specimen.ID = "1b", "s1b"
	c := one(held, second, broke, slipped, void, cut, open, planned)
	if c.N != 5 || c.Held != 3 || c.Broke != 1 || c.Slip != 1 || c.Void != 1 || c.Planned != 1 || len(c.Drops) != 7 || c.averaged != 2 || !c.MeanIsLowerBound {
		t.Errorf("%+v", c)
	}
	if c.Mean.SI() != 10000 || c.BrokeMean.SI() != 14000 || len(c.Warnings) != 2 || !strings.Contains(c.Warnings[0].String(), "drop 5 does not show its peak") || !strings.Contains(c.Warnings[1].String(), "drop 6 has no outcome") {
		t.Errorf("%v %v %v", c.Mean, c.BrokeMean, c.Warnings)
	}
	for _, want := range []string{" 1 more planned.", " 1 slipped.", "Two specimens hardly bound a mean.", "Those that broke did so at 14.00 kN", "A mean over all would understate"} {
		if !strings.Contains(c.Statement.String(), want) {
			t.Errorf("%q is missing: %s", want, c.Statement)
		}
	}
	// Each alone makes it a lower bound; none of them does not.
	for _, more := range []Entry{broke, slipped, cut} {
		if c := one(held, held, held, more); !c.MeanIsLowerBound || c.Mean.SI() != 10000 {
			t.Errorf("%s: %+v", more.Outcome, c)
		}
	}
	c = one(held, held, held, void)
	for _, unwanted := range []string{"planned", "slipped", "hardly", "Those that broke", "understate"} {
		if strings.Contains(c.Statement.String(), unwanted) {
			t.Errorf("%q: %s", unwanted, c.Statement)
		}
	}
	if c.MeanIsLowerBound || len(c.Warnings) != 0 {
		t.Errorf("%+v", c)
	}
	distrusted := held
	distrusted.Trusted = false
	if c := one(distrusted); len(c.Warnings) != 1 || !strings.Contains(c.Warnings[0].String(), "its audit disagrees") || !strings.Contains(c.Statement.String(), "one specimen shows no spread") || c.SD != nil {
		t.Errorf("%v %s", c.Warnings, c.Statement)
	}
	if c := one(broke); strings.Contains(c.Statement.String(), "understate") || strings.Contains(c.Statement.String(), "that held") {
		t.Error(c.Statement)
	}
	if c := one(void); c.Statement.String() != "No drop counts, 1 is void: nothing can be said." {
		t.Error(c.Statement)
	}
	if c := one(open); c.Statement.String() != "No drop counts yet: nothing can be said." {
		t.Error(c.Statement)
	}
	// 1 and 21 kN: mean 11, sd 10 sqrt 2, t(1) = 12.706: 11 -+ 127.06 kN, of which a peak can only be the part above 0.
	wide := one(entry("1", "", drop.Held, 1000), entry("2", "", drop.Held, 21000))
	if !strings.Contains(wide.Statement.String(), "at 11.00 kN on average (0 N to 138.1 kN, 95 % t interval)") {
		t.Error(wide.Statement)
	}
	narrow := one(held, entry("2", "", drop.Held, 10100), entry("3", "", drop.Held, 10200))
	// mean 10.1, sd 0.1, t(2) = 4.303: 10.1 -+ 0.248 kN.
	if !strings.Contains(narrow.Statement.String(), "(9.852 kN to 10.35 kN, 95 % t interval)") {
		t.Error(narrow.Statement)
	}
}

// An interval printed never claims more than it found: outward, whole from 1 to 99, tenths outside.
func TestOutwardEdges(t *testing.T) {
	for _, c := range []struct {
		pct  float64
		up   bool
		want string
	}{
		{70.76, true, "71"}, {29.24, false, "29"}, {1.27, false, "1"}, {0.63, false, "0.6"}, {98.73, true, "99"}, {99.34, true, "99.4"},
		{99.37, false, "99"}, {0.63, true, "1"}, {0, false, "0"}, {100, true, "100"}, {0.04, false, "0"}, {99.96, true, "100"},
	} {
		round := math.Floor
		if c.up {
			round = math.Ceil
		}
		if got := RoundOutward(c.pct, round); got != c.want {
			t.Errorf("%v (up %v): %s, want %s", c.pct, c.up, got, c.want)
		}
	}
}

// Quantities of one dimension go by size, everything else by the alphabet.
func TestOrderOfLevels(t *testing.T) {
	for _, c := range []struct {
		a, b string
		want bool
	}{
		{"9 m", "10 m", true}, {"10 m", "9 m", false}, {"10 m", "9 kg", true}, {"10 m", "9 of them", true}, {"10 of them", "9 m", true},
		{"x", "9 m", false}, {"1 m", "100 cm", true}, {"100 cm", "1 m", false}, {"a", "b", true}, {"b", "a", false}, {"a", "a", false},
	} {
		if got := before(map[string]string{"f": c.a}, map[string]string{"f": c.b}, []string{"f"}); got != c.want {
			t.Errorf("%s before %s: %v", c.a, c.b, got)
		}
	}
}

// A confidence lies above a half and below one, everywhere.
func TestConfidences(t *testing.T) {
	for _, c := range []struct {
		confidence float64
		ok         bool
	}{{0.5, false}, {0.51, true}, {0.6, true}, {0.999, true}, {1, false}, {1.2, false}, {0, false}, {math.NaN(), false}} {
		for what, f := range map[string]func() error{
			"Cells": func() error { _, err := Cells(nil, c.confidence); return err },
			"One":   func() error { _, err := OneCell(nil, nil, c.confidence); return err },
			"Stand": func() error { _, err := StandingOf(1, nil, c.confidence); return err },
			"check": func() error { return checkConfidence(c.confidence) },
		} {
			if err := f(); (err == nil) != c.ok {
				t.Errorf("%s at %v: %v", what, c.confidence, err)
			}
		}
	}
}

func TestStandEdges(t *testing.T) {
	stand := func(peak quantity.Force, others ...quantity.Force) Standing {
		s, err := StandingOf(peak, others, 0.95)
		if err != nil {
			t.Fatal(err)
		}
		return s
	}
	// Ties share the better rank; a peak in the middle of others all alike lies at the edge of its interval, not outside.
	if s := stand(10000, 10000, 8000); s.Rank != 1 || !strings.HasSuffix(s.Text.String(), "; two others hardly bound it") {
		t.Errorf("%+v", s)
	}
	if s := stand(10000, 10000, 10000, 10000); s.Outside || strings.Contains(s.Text.String(), "hardly") || !strings.Contains(s.Text.String(), "(95 %)") || s.Lo.SI() != 10000 {
		t.Errorf("%+v", s)
	}
	if s := stand(10001, 10000, 10000, 10000); !s.Outside {
		t.Errorf("%+v", s)
	}
	// 1 and 21 kN predict 11 -+ 12.706 x 14.14 x sqrt 1.5 kN: no force is below 0.
	if s := stand(10000, 1000, 21000); s.Lo.SI() != 0 || math.Abs(s.Hi.SI()-231100) > 100 {
		t.Errorf("%+v", s)
	}
	for rank, want := range map[int]string{4: "4th highest", 12: "12th highest", 21: "21st highest", 23: "23rd highest", 31: "31st highest", 33: "33rd highest", 42: "42nd highest", 101: "101st highest", 102: "102nd highest", 103: "103rd highest", 112: "112th highest", 113: "113th highest", 121: "121st highest", 14: "14th highest"} {
		if got := RankWords(rank, 200); got.String() != want {
			t.Errorf("%d: %s", rank, got)
		}
	}
}

func TestUsedEdges(t *testing.T) {
	twice := func(n int, change func(*Entry)) []Entry {
		var in []Entry
		for i := range n {
			for range 2 {
				e := entry(fmt.Sprint(i), "sewn", drop.Held, 9000)
				change(&e)
				in = append(in, e)
			}
		}
		return in
	}
	none := func(*Entry) {}
	if w := UsedSpecimenWarnings(twice(8, none)); len(w) != 1 || strings.Contains(w[0].String(), " more;") || !strings.Contains(w[0].String(), "test: 0, 1, 2, 3, 4, 5, 6, 7;") {
		t.Errorf("%v", w)
	}
	if w := UsedSpecimenWarnings(twice(10, none)); len(w) != 1 || !strings.Contains(w[0].String(), "test: 0, 1, 2, 3, 4, 5, 6, 7 and 2 more;") {
		t.Errorf("%v", w)
	}
	for what, change := range map[string]func(*Entry){
		"void": func(e *Entry) { e.Outcome = drop.Void }, "planned": func(e *Entry) { e.Planned = true },
		"undecided": func(e *Entry) { e.Outcome = "" }, "check": func(e *Entry) { e.Drop.Role = drop.Check },
	} {
		if w := UsedSpecimenWarnings(twice(2, change)); w != nil {
			t.Errorf("%s: %v", what, w)
		}
	}
}

func broken(n, of int) Cell { return Cell{N: of, Broke: n, Held: of - n} }

// 1 of 4 against 4 of 4 broke: with both margins fixed the count of the first is 1 with the chance C(5,1) C(3,3)/C(8,4) = 5/70, and 4 with the
// same: p = 10/70. Two pairs of 0 of 2 against 2 of 2: 36 splits, of which the one seen and its mirror are the most extreme: 2/36.
func TestBreakTestsByHand(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	p := func(pairs ...cellPair) float64 {
		test, err := testBreaks(pairs, rng)
		if err != nil {
			return math.NaN()
		}
		return test.P
	}
	for _, c := range []struct {
		pairs []cellPair
		want  float64
	}{
		{[]cellPair{{broken(1, 4), broken(4, 4)}}, 10. / 70},
		{[]cellPair{{broken(4, 4), broken(1, 4)}}, 10. / 70},
		{[]cellPair{{broken(3, 3), broken(0, 3)}}, 0.1},
		{[]cellPair{{broken(1, 3), broken(1, 3)}}, 1},
		{[]cellPair{{broken(0, 2), broken(2, 2)}, {broken(0, 2), broken(2, 2)}}, 2. / 36},
		{[]cellPair{{broken(2, 2), broken(0, 2)}, {broken(2, 2), broken(0, 2)}}, 2. / 36},
		{[]cellPair{{broken(0, 3), broken(0, 3)}}, math.NaN()},
		{[]cellPair{{broken(3, 3), broken(2, 2)}}, math.NaN()},
		{[]cellPair{{broken(0, 2), broken(0, 3)}, {broken(0, 2), broken(0, 2)}}, math.NaN()},
		{[]cellPair{{broken(2, 2), broken(3, 3)}, {broken(2, 2), broken(2, 2)}}, math.NaN()},
	} {
		if got := p(c.pairs...); math.Abs(got-c.want) > 1e-12 || math.IsNaN(got) != math.IsNaN(c.want) {
			t.Errorf("%v: p = %v, want %v", c.pairs, got, c.want)
		}
	}
	// One break on either side is enough to test; a single one of two pairs as well.
	for _, pairs := range [][]cellPair{{{broken(1, 3), broken(0, 3)}}, {{broken(0, 3), broken(1, 3)}}, {{broken(1, 3), broken(0, 3)}, {broken(0, 3), broken(0, 3)}}} {
		if _, err := testBreaks(pairs, rng); err != nil {
			t.Errorf("%v: %v", pairs, err)
		}
	}
}

// A pair in which either side has a lower bound among its peaks says nothing about peaks; one without a break nothing about strength.
func TestPairsThatSayNothing(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	whole := Cell{N: 3, Held: 3, Drops: []Row{rowAt(drop.Held, 1000, false), rowAt(drop.Held, 1100, false), rowAt(drop.Held, 1200, false)}}
	bound := whole
	bound.MeanIsLowerBound = true
	for _, p := range []cellPair{{whole, bound}, {bound, whole}, {bound, bound}} {
		if _, err := testPeaks([]cellPair{p}, rng); err == nil {
			t.Error("a lower bound was tested as a peak")
		}
	}
	if _, err := testPeaks([]cellPair{{whole, whole}}, rng); err != nil {
		t.Error(err)
	}
	if _, err := testStrengths([]cellPair{{whole, whole}}, rng); err == nil || err.Error() != "no specimen broke" {
		t.Error(err)
	}
	broke := Cell{N: 3, Broke: 1, Drops: []Row{rowAt(drop.Broke, 1050, false), rowAt(drop.Held, 1100, false), rowAt(drop.Held, 1200, false)}}
	for _, p := range []cellPair{{whole, broke}, {broke, whole}, {broke, broke}} {
		if test, err := testStrengths([]cellPair{p, {whole, whole}}, rng); err != nil || test.Pairs != 1 {
			t.Errorf("%+v %v", test, err)
		}
	}
	level := func(l string, n int) Cell { return Cell{Levels: map[string]string{"knot": l}, N: n} }
	if got := pairsOf([]Cell{level("a", 1), level("b", 0), level("a", 0), level("b", 1), level("c", 1)}, "knot", "a", "b"); len(got) != 1 {
		t.Errorf("%+v", got)
	}
}

// At the level is within the level.
func TestWordsOfATest(t *testing.T) {
	for _, c := range []struct {
		test ExactTest
		want string
	}{
		{ExactTest{PHolm: SignificanceLevel, SmallestP: SignificanceLevel}, "more than chance would explain"},
		{ExactTest{P: 0.0505, PHolm: 0.051, SmallestP: SignificanceLevel}, "chance alone may explain it"},
		{ExactTest{P: 0.03, PHolm: 0.06, SmallestP: 0.03, SmallestHolm: 0.06}, "as clear a difference as so few specimens can show (smallest p this design could give: 0.030), but after the adjustment not beyond chance"},
		{ExactTest{P: 0.04, PHolm: 0.08, SmallestP: 0.03, SmallestHolm: 0.06}, "never have given less than 0.030, and after the adjustment 0.060, so this test could not have shown"},
		{ExactTest{PHolm: 0.1, SmallestP: 0.051}, "could not have shown a difference"},
	} {
		c.test.Tests = 1
		if got := c.test.say("breaks"); !strings.Contains(got.String(), c.want) || strings.Contains(got.String(), "Holm") {
			t.Errorf("%+v: %s", c.test, got)
		}
		c.test.Tests = 2
		if got := c.test.say("breaks"); !strings.Contains(got.String(), "Holm's adjustment over 2 tests") {
			t.Errorf("%+v: %s", c.test, got)
		}
	}
}

func checkAt(id, day string, order int, kN float64) Entry {
	e := entry(id, "", drop.Held, 1000*kN)
	e.Drop.Role, e.Drop.Taken, e.Drop.Order = drop.Check, day, order
	return e
}

func daily(values [][]float64) ([]Entry, []Cell, error) {
	var data []cellData
	for j := range values[0] {
		x := make([]float64, len(values))
		for i := range values {
			x[i] = 10000 * math.Exp(values[i][j])
		}
		data = append(data, cellData{string(rune('a' + j)), 0.9, x, nil})
	}
	in := entriesOf(data...)
	for i := range in {
		in[i].Drop.Taken = fmt.Sprintf("2026-03-%02d", 1+i%len(values))
	}
	cells, err := Cells(in, 0.95)
	return in, cells, err
}

// Refits that give every probability from 0.001 to 1 once: at 95 % the 25th from below and the 975th, counted from 0. The standard error of a share of 0.5 in
// 20000 draws is 0.0035355; with a share of 0 it is that of a quarter of one draw, 0.5/20000.
func TestInterferenceEdges(t *testing.T) {
	a := spreadForce{mu: math.Log(10000), sigma: 1e-9}
	run := func(share, drawn float64) (Interference, error) {
		i := 0
		return interference(a, func(float64) float64 { return share }, func(p float64) float64 {
			if p > 1-drawn {
				return 0
			}
			return math.Inf(1)
		}, func(*rand.Rand) (spreadForce, func(float64) float64) {
			i++
			v := float64(i) / 1000
			return a, func(float64) float64 { return v }
		}, 0.95, 1)
	}
	out, err := run(0.5, 0.5)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "lo", &out.Lo, 0.026, 1e-9)
	near(t, "hi", &out.Hi, 0.976, 1e-9)
	near(t, "standard error", &out.DrawnSE, math.Sqrt(0.25/20000), 1e-9)
	if out.Confidence != 0.95 {
		t.Error(out.Confidence)
	}
	if out, err = run(0, 0); err != nil || out.Drawn != 0 {
		t.Errorf("%+v %v", out, err)
	}
	near(t, "standard error of nothing", &out.DrawnSE, 0.5/20000, 1e-12)
	// 0.2 x 0.8 = 0.16
	out, _ = run(0.2, 0.2)
	near(t, "standard error of a fifth", &out.DrawnSE, math.Sqrt(0.16/20000), 1e-9)
	// The draws may differ by chance, up to six standard errors: 4 pass, 7.5 do not.
	se := math.Sqrt(0.25 / 20000)
	if _, err := run(0.5, 0.5+4*se); err != nil {
		t.Error(err)
	}
	for _, off := range []float64{7.5, -7.5} {
		if _, err := run(0.5, 0.5+off*se); err == nil {
			t.Errorf("%v standard errors off, and nobody says so", off)
		}
	}
	if got := passes(a, func(float64) float64 { return 1.2 }); got != 1 {
		t.Errorf("a probability of %v", got)
	}
}
