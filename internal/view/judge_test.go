package view

import (
	"bytes"
	"context"
	"math"
	"strings"
	"testing"
	"time"

	"github.com/hardcatch/hardcatch/internal/compare"
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/foresee"
	"github.com/hardcatch/hardcatch/internal/limits"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

func row(id string, o drop.Outcome, peakN, uN float64) compare.Row {
	p, u := quantity.Force(peakN), quantity.Force(uN)
	return compare.Row{Drop: id, Outcome: o, Peak: &p, Expanded: &u, LowerBound: o == drop.Broke}
}

func verdictOf(t *testing.T, list []LimitVerdict, name string) LimitVerdict {
	t.Helper()
	for _, l := range list {
		if l.Name == name {
			return l
		}
	}
	t.Fatalf("no limit %q", name)
	return LimitVerdict{}
}

// EN 795 anchor device: 12 kN. Energy absorber EN 355: 6 kN. Sewn sling EN 566: 22 kN. The bounds are reckoned by hand in the tests of the package limits.
func TestJudge(t *testing.T) {
	drops := map[string]drop.Drop{"rated": {Specimen: drop.Specimen{Rating: 22000}}}
	one := judge([]compare.Row{row("a", drop.Held, 5600, 50), row("v", drop.Void, 30000, 1)}, drops)
	if v := verdictOf(t, one, "energy absorber"); v.Verdict != limits.CannotTell || v.Drop != "a" || v.N != 1 || v.MoreDrops != nil {
		t.Errorf("one drop of 5.6 kN against 6 kN: %+v", v)
	}
	held := judge([]compare.Row{row("a", drop.Held, 11000, 100), row("b", drop.Held, 11900, 200), row("c", drop.Held, 11300, 100), row("v", drop.Void, 30000, 1)}, drops)
	if v := verdictOf(t, held, "anchor device, static"); v.Verdict != limits.WithinReach || v.Drop != "b" {
		t.Errorf("%+v", v)
	}
	if v := verdictOf(t, held, "sewn sling"); v.Verdict != limits.Below || v.LowerBound || v.Bound == nil || v.N != 3 {
		t.Errorf("%+v", v)
	}
	// mean 11.4, sd 0.4583 kN: at 3 values (7.656 - 1.645) 0.4583 = 2.755 and 1.645 x 0.1 kN: 11.4 + 0.754 + 2.760 = 14.91 kN, so that 14 kN needs more drops.
	if v := verdictOf(t, held, "lanyard, metal"); v.Verdict != limits.Below {
		t.Errorf("14.91 against 15 kN: %+v", v)
	}
	// One specimen let go at 9 kN, below its rating; another held at 10 kN: nothing above is shown to be safe.
	mixed := judge([]compare.Row{row("rated", drop.Broke, 9000, 100), row("b", drop.Held, 10000, 100)}, drops)
	if v := verdictOf(t, mixed, "anchor device, static"); v.Verdict != limits.CannotTell || !v.LowerBound || v.Bounds != 1 {
		t.Errorf("%+v", v)
	}
	if v := verdictOf(t, mixed, "energy absorber"); v.Verdict != limits.Exceeds {
		t.Errorf("%+v", v)
	}
	if v := verdictOf(t, mixed, limits.Rating); v.Verdict != limits.BrokeBelow || v.Drop != "rated" || v.Peak != 9000 {
		t.Errorf("%+v", v)
	}
	// A force scale of which nothing is known: 11 kN may be 5 % more, but 11.6 kN may reach 12.
	unknown := row("a", drop.Held, 11600, 10)
	unknown.NoScale = true
	if v := verdictOf(t, judge([]compare.Row{unknown}, drops), "anchor device, static"); v.Verdict != limits.WithinReach {
		t.Errorf("%+v", v)
	}
	if got := judge(nil, drops); len(got) != 0 {
		t.Errorf("%+v", got)
	}
}

// A specimen that was dropped again counts once; what was seen of it was seen all the same.
func TestJudgeOneSpecimenOnce(t *testing.T) {
	again := row("b", drop.Held, 5650, 10)
	again.Again = true
	if v := verdictOf(t, judge([]compare.Row{row("a", drop.Held, 5600, 10), again}, nil), "energy absorber"); v.Verdict != limits.CannotTell || v.N != 1 || v.Drop != "b" {
		t.Errorf("%+v", v)
	}
	again = row("b", drop.Held, 6500, 10)
	again.Again = true
	if v := verdictOf(t, judge([]compare.Row{row("a", drop.Held, 3000, 10), row("c", drop.Held, 3010, 10), row("d", drop.Held, 2990, 10), again}, nil), "energy absorber"); v.Verdict != limits.Exceeds {
		t.Errorf("%+v", v)
	}
}

// A campaign stays below a limit only where each of its cells does, and says of which cell a verdict is.
func TestWorstCellSpeaks(t *testing.T) {
	cell := func(rows ...compare.Row) CellResult {
		return CellResult{Cell: compare.Cell{Drops: rows}, Limits: judge(rows, map[string]drop.Drop{"r": {Specimen: drop.Specimen{Rating: 9000}}})}
	}
	low := cell(row("a", drop.Held, 3000, 10), row("b", drop.Held, 3010, 10), row("c", drop.Held, 2990, 10))
	one := cell(row("d", drop.Held, 4000, 10))
	two := cell(row("e", drop.Held, 3500, 10), row("f", drop.Held, 3600, 10)) // mean 3.55, sd 0.0707, factor 26.26: 5.4 kN
	high := cell(row("g", drop.Held, 5000, 10), row("h", drop.Held, 6500, 10), row("r", drop.Held, 5500, 10))
	for name, c := range map[string]struct {
		cells   []CellResult
		verdict limits.Verdict
		cell    int
		drop    string
	}{
		"all below":   {[]CellResult{low, two}, limits.Below, 1, "f"},
		"one open":    {[]CellResult{low, one, two}, limits.CannotTell, 2, "d"},
		"one exceeds": {[]CellResult{low, high, one}, limits.Exceeds, 2, "h"},
	} {
		got := together(c.cells)
		if v := verdictOf(t, got, "energy absorber"); v.Verdict != c.verdict || v.Cell != c.cell || v.Drop != c.drop {
			t.Errorf("%s: %+v", name, v)
		}
	}
	got := together([]CellResult{high, low})
	if last := got[len(got)-1]; last.Name != limits.Rating || last.Value != 9000 {
		t.Errorf("the specimens' own limit comes last: %+v", last)
	}
	if got := together(nil); len(got) != 0 {
		t.Errorf("%+v", got)
	}
}

func TestFigureLimitsExist(t *testing.T) {
	r := &Results{Limits: judge([]compare.Row{row("a", drop.Held, 25000, 1)}, map[string]drop.Drop{"a": {Specimen: drop.Specimen{Rating: 22000}}})}
	r.Cells = []CellResult{{Cell: compare.Cell{Drops: []compare.Row{row("a", drop.Held, 25000, 1)}}}}
	// Seven names, of which two pairs share a value (12 kN, 22 kN): five lines.
	if got := linesFor(r, 20, message.English()); len(got) != 5 {
		t.Errorf("%+v", got)
	}
}

const linear = `mass: 80 kg
fall: 0.6 m
until: 0.1 s
chain:
  - textile: {name: sling, length: 0.6 m, E1: 161 kN, strength: 20 kN}
`

func testApp() *look.Access { return &look.Access{Now: time.Now} }

// F = 16697.885 N (Wexler 1950). A strength of mean 20 kN and sd 4 kN lies below it with the probability
// Phi((16697.885 - 20000)/4000) = 0.2045; slack to 12 kN: h = (F - W)^2 - W^2 over 2 W k, with W = 784.532 N and k =
// 161 kN / 0.6 m: h = (11215.468^2 - 784.532^2)/(2 784.532 268333.33) = 0.2973 m.
func TestChainByHand(t *testing.T) {
	text := linear + "spread:\n  sling.strength: {normal: 20 %}\ncomponents:\n  - {name: small chock, strength: 12 kN, spread: 0.1 %}\n"
	r, err := foresee.Chain(context.Background(), testApp(), "c.yaml", strings.NewReader(text))
	if err != nil {
		t.Fatal(err)
	}
	if math.Abs(r.Peak.SI()-16697.885) > 0.05 {
		t.Errorf("peak %v", r.Peak)
	}
	chock, sling := r.Components[0], r.Components[1]
	if chock.Slack == nil || chock.Slack.SI() != 0.29 {
		t.Errorf("slack %v (0.2973 m rounded down)", chock.Slack)
	}
	// The chock is nearly always weaker than the sling: the sling goes first when it is below 12 kN,
	// Phi(-8/4) = 0.0228, and the chock otherwise.
	if math.Abs(sling.First-0.02275) > 0.004 || math.Abs(chock.First-0.97725) > 0.004 {
		t.Errorf("goes first: %v %v", sling.First, chock.First)
	}
	alone, err := foresee.Chain(context.Background(), testApp(), "c.yaml", strings.NewReader(linear+"spread:\n  sling.strength: {normal: 20 %}\n"))
	if err != nil {
		t.Fatal(err)
	}
	if got := alone.Components[0].First; math.Abs(got-0.2045) > 0.009 { // three standard errors of 20000 draws
		t.Errorf("goes first alone: %v, want 0.2045", got)
	}
}

// It stops at the first power of two parts whose interval is narrow enough, whatever the number of cores.
func TestEnsembleStopsEarly(t *testing.T) {
	text := []byte(linear + "spread:\n  sling.E1: {lognormal: 10 %}\nseed: 3\n")
	r, err := foresee.Ensemble(context.Background(), testApp(), "c.yaml", bytes.NewReader(text), foresee.EnsembleOptions{N: 500000, Tolerance: 0.005})
	if err != nil {
		t.Fatal(err)
	}
	if r.Stopped != "tolerance reached" || r.N >= r.Asked {
		t.Fatalf("%d of %d: %s", r.N, r.Asked, r.Stopped)
	}
	for _, p := range r.Percentiles {
		if p.P == 0.95 && (p.Hi-p.Lo)/2 > 0.005*p.Value {
			t.Errorf("%+v", p)
		}
	}
	half, err := foresee.Ensemble(context.Background(), testApp(), "c.yaml", bytes.NewReader(text), foresee.EnsembleOptions{N: r.N / 2})
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range half.Percentiles {
		if p.P == 0.95 && (p.Hi-p.Lo)/2 <= 0.005*p.Value && half.N >= 8*256 {
			t.Errorf("half the drops would have done: %+v", p)
		}
	}
	if _, err := foresee.Ensemble(context.Background(), testApp(), "c.yaml", bytes.NewReader(text), foresee.EnsembleOptions{N: 2e9}); err == nil {
		t.Error("2e9 drops were accepted")
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := foresee.Ensemble(ctx, testApp(), "c.yaml", bytes.NewReader(text), foresee.EnsembleOptions{N: 500000}); err == nil || !strings.Contains(err.Error(), "stopped by you") {
		t.Error(err)
	}
}

// The page of the rig and the checks tell the last day of a certificate as one on which it holds.
func TestExpiryOn(t *testing.T) {
	c := drop.CalibrationData{Date: "2026-01-19", Expires: "2027-01-18"}
	for _, k := range []struct {
		day   string
		state string
		days  int
	}{{"2026-12-18", "valid", 31}, {"2026-12-19", "soon", 30}, {"2027-01-17", "soon", 1}, {"2027-01-18", "soon", 0}, {"2027-01-19", "expired", -1}} {
		now, err := time.ParseInLocation("2006-01-02 15:04", k.day+" 23:59", time.FixedZone("", 5*3600))
		if err != nil {
			t.Fatal(err)
		}
		if got := expiryOn(c, now); got != (Expiry{State: k.state, On: c.Expires, Days: k.days}) {
			t.Errorf("%s: %+v", k.day, got)
		}
	}
	if got := expiryOn(drop.CalibrationData{Date: c.Date}, time.Now()); got.State != "not stated" {
		t.Errorf("%+v", got)
	}
}
