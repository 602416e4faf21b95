package question

import (
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"github.com/hardcatch/hardcatch/internal/compare"
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/limits"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// made is a drop that was taken: its number, what it is, how it ended, its peak in kN.
func made(n int, knot string, outcome drop.Outcome, peak float64) compare.Entry {
	id := fmt.Sprintf("d%02d", n)
	return compare.Entry{
		Drop:    drop.Drop{ID: id, Specimen: drop.Specimen{ID: "s" + id, Material: "polyamide", Knot: knot, Length: 0.6, Rating: 22000}, Fall: 0.6, Role: drop.Trial},
		Outcome: outcome, Decided: true, Trusted: true, Peak: quantity.Force(peak * 1000),
	}
}

func asked(t *testing.T, w drop.Written) Asked {
	t.Helper()
	q, err := w.Read()
	if err != nil {
		t.Fatal(err)
	}
	return Asked{Question: q, At: time.Date(2026, 3, 1, 8, 0, 0, 0, time.UTC), Seq: 2}
}

func one(t *testing.T, w drop.Written, entries []compare.Entry) Answer {
	t.Helper()
	return AnswerAll([]Asked{asked(t, w)}, entries, nil)[0]
}

func near(t *testing.T, what string, got *float64, want, tolerance float64) {
	t.Helper()
	if got == nil || math.Abs(*got-want) > tolerance {
		t.Errorf("%s is %v, not %v", what, text(got), want)
	}
}

func text(v *float64) string {
	if v == nil {
		return "nothing"
	}
	return fmt.Sprint(*v)
}

// Source: Clopper and Pearson's bound of 0 in n is 1 - tail^(1/n): 0 of 29 at 95 % is 9.8 %, 0 of 28 is 10.1 %.
func TestBreakProbability(t *testing.T) {
	w := drop.Written{ID: "b", Of: "break probability", AtMost: "10 %"}
	var entries []compare.Entry
	for n := 1; n <= 28; n++ {
		entries = append(entries, made(n, "sewn", drop.Held, 10))
	}
	a := one(t, w, entries)
	near(t, "upper bound", a.Hi, 1-math.Pow(0.05, 1.0/28), 1e-12)
	if a.Verdict != CannotTell || a.MoreDrops == nil || *a.MoreDrops != 1 || a.Lo != nil || *a.Estimate != 0 {
		t.Errorf("0 of 28: %s, %v more", a.Statement, a.MoreDrops)
	}
	a = one(t, w, append(entries, made(29, "sewn", drop.Held, 10)))
	if a.Verdict != Yes || *a.MoreDrops != 0 || !strings.HasPrefix(a.Statement.String(), "Yes: the break probability is at most 9.82 % (95 % confidence; 29 specimens, 0 broke); at most 10 % was asked for.") {
		t.Errorf("0 of 29: %s", a.Statement)
	}
	// 3 of 3 broke: at least 0.05^(1/3) = 36.8 %.
	a = one(t, w, []compare.Entry{made(1, "sewn", drop.Broke, 9), made(2, "sewn", drop.Broke, 9), made(3, "sewn", drop.Broke, 9)})
	near(t, "lower bound", a.Lo, math.Cbrt(0.05), 1e-12)
	if a.Verdict != No || !strings.HasPrefix(a.Statement.String(), "No: the break probability is at least 36.8 %") {
		t.Errorf("3 of 3: %s", a.Statement)
	}
}

// Source: by hand. 10, 11 and 12 kN have the mean 11 and the sd 1; the one-sided 95/95 factor of n = 3 is 7.656 (ISO 16269-6, table of k for one-sided
// limits with unknown sd; recalled).
func TestPeakOfTheNextDrops(t *testing.T) {
	entries := []compare.Entry{made(1, "sewn", drop.Held, 10), made(2, "sewn", drop.Held, 11), made(3, "sewn", drop.Held, 12)}
	w := drop.Written{ID: "p", Of: "peak force", AtMost: "18.7 kN"}
	a := one(t, w, entries)
	near(t, "upper bound", a.Hi, 18656, 1)
	near(t, "estimate", a.Estimate, 11000+1644.85, 0.1)
	if a.Verdict != Yes {
		t.Errorf("%s", a.Statement)
	}
	w.AtMost = "18.6 kN"
	if a = one(t, w, entries); a.Verdict != CannotTell || *a.MoreDrops < 1 || *a.MoreDrops > 3 {
		t.Errorf("%s", a.Statement)
	}
	w.AtMost = "11 kN" // below the lower bound of what 95 % stay below
	if a = one(t, w, entries); a.Verdict != No {
		t.Errorf("%s", a.Statement)
	}
	// The limits are judged by the same bounds, uncertainty of the force scale included.
	for i := range entries {
		entries[i].Expanded = 400
	}
	var peaks []limits.Peak
	for _, e := range entries {
		peaks = append(peaks, limits.Peak{Lo: e.Peak, Hi: e.Peak, Expanded: e.Expanded})
	}
	j, err := limits.JudgeNext(peaks, 15000, limits.Usual())
	if err != nil {
		t.Fatal(err)
	}
	a = one(t, w, entries)
	near(t, "upper bound as of a limit", a.Hi, j.Bound.SI(), 1e-6)
	near(t, "lower bound as of a limit", a.Lo, j.QuantileLo.SI(), 1e-6)
	// A specimen that let go, or a record that does not show its peak, bounds nothing from above.
	entries[1].CutOff = true
	if a = one(t, w, entries); a.Verdict != CannotTell || a.Hi != nil {
		t.Errorf("cut off: %s", a.Statement)
	}
	entries[1].CutOff = false
	// One drop shows no spread: nothing is said of the next.
	a = one(t, w, entries[:1])
	if a.Verdict != CannotTell || a.Hi != nil {
		t.Errorf("one drop: %s", a.Statement)
	}
	// A specimen that broke let go: its arrest force is at least its peak, and no upper bound follows from it alone.
	a = one(t, w, []compare.Entry{made(1, "sewn", drop.Broke, 5), made(2, "sewn", drop.Broke, 5.1), made(3, "sewn", drop.Broke, 5.2)})
	if a.Verdict == Yes || a.Hi != nil {
		t.Errorf("all broke: %s", a.Statement)
	}
}

// Source: the bound of a success run, 0.95^n <= 0.05 from n = 59.
func TestStrengthWhereNothingBroke(t *testing.T) {
	w := drop.Written{ID: "s", Of: "strength", AtLeast: "15 kN"}
	var entries []compare.Entry
	for n := 1; n <= 58; n++ {
		entries = append(entries, made(n, "sewn", drop.Held, 16))
	}
	a := one(t, w, entries)
	if a.Verdict != CannotTell || a.MoreDrops == nil || *a.MoreDrops != 1 {
		t.Errorf("58 held: %s", a.Statement)
	}
	a = one(t, w, append(entries, made(59, "sewn", drop.Held, 15.5)))
	if a.Verdict != Yes {
		t.Errorf("59 held: %s", a.Statement)
	}
	near(t, "lower bound", a.Lo, 15500, 1e-6)
	// Held below what is asked: shows nothing.
	a = one(t, w, append(entries, made(59, "sewn", drop.Held, 14)))
	if a.Verdict != CannotTell {
		t.Errorf("one of 59 was loaded less: %s", a.Statement)
	}
}

// The rule has to hold of each kind: one that does not decides, whatever the others.
func TestEveryKindHasToKeepIt(t *testing.T) {
	w := drop.Written{ID: "b", Of: "break probability", AtMost: "50 %"}
	var entries []compare.Entry
	for n := 1; n <= 10; n++ {
		entries = append(entries, made(n, "sewn", drop.Held, 10), made(20+n, "overhand", drop.Broke, 9))
	}
	a := one(t, w, entries)
	if a.Verdict != No || len(a.Parts) != 2 || a.Parts[0].Verdict != Yes || a.Parts[1].Verdict != No || !strings.Contains(a.Statement.String(), "It has to hold of each of 2 kinds; the one that decides: knot overhand.") {
		t.Errorf("%s %+v", a.Statement, a.Parts)
	}
	// The pooled count, 10 of 20, is never the headline.
	near(t, "estimate", a.Estimate, 1, 0)
	w.Where = map[string]string{"knot": "sewn"}
	if a = one(t, w, entries); a.Verdict != Yes || len(a.Parts) != 1 || a.N != 10 {
		t.Errorf("%s", a.Statement)
	}
	w.Where = map[string]string{"knot": "clove hitch"}
	if a = one(t, w, entries); a.Verdict != CannotTell || a.N != 0 || a.Statement.String() != "Cannot be told yet: no drop counts that tells of this: the break probability (knot clove hitch). No drop that counts has knot clove hitch; there are: overhand, sewn." {
		t.Errorf("%s", a.Statement)
	}
}

// A level that is misspelt is told from one that is still to be dropped; before the first drop that counts nothing is lacking.
func TestLevelsThatNoDropHasAreNamed(t *testing.T) {
	w := drop.Written{ID: "q", Of: "strength ratio", Where: map[string]string{"knot": "overhand", "age": "new"}, Against: map[string]string{"knot": "sown"}, AtLeast: "0.5"}
	held, void := made(1, "sewn", drop.Held, 10), made(2, "overhand", drop.Void, 9)
	const begins = "Cannot be told yet: no drop counts that tells of this: the ratio of the median strengths, knot overhand over knot sown (age new)."
	for _, c := range []struct {
		entries []compare.Entry
		more    string
	}{
		{nil, ""},
		{[]compare.Entry{void}, ""},
		{[]compare.Entry{held, void}, " No drop that counts states this: age. No drop that counts has knot overhand; there are: sewn. No drop that counts has knot sown; there are: sewn."},
		{[]compare.Entry{held, made(3, "overhand", drop.Broke, 9)}, " No drop that counts states this: age. No drop that counts has knot sown; there are: overhand, sewn."},
	} {
		a := one(t, w, c.entries)
		if a.Statement.String() != begins+c.more {
			t.Errorf("%s", a.Statement)
		}
	}
}

// Source: Holm 1979, by hand: with two questions the first claim is made at half its risk; when it is made the second has its whole risk.
func TestQuestionsShareTheirRisk(t *testing.T) {
	// 0 of n: the claim "at most 10 %" needs 0.9^n <= risk: 29 at 5 %, 36 at 2.5 %.
	entries := func(n int) []compare.Entry {
		var out []compare.Entry
		for i := 1; i <= n; i++ {
			out = append(out, made(i, "sewn", drop.Held, 10))
		}
		return out
	}
	sewn := asked(t, drop.Written{ID: "a", Of: "break probability", AtMost: "10 %"})
	other := asked(t, drop.Written{ID: "b", Of: "break probability", AtMost: "10 %", Where: map[string]string{"knot": "overhand"}})
	easy := asked(t, drop.Written{ID: "c", Of: "break probability", AtMost: "30 %"})
	for _, c := range []struct {
		n    int
		with Asked
		want Verdict
	}{{29, other, CannotTell}, {35, other, CannotTell}, {36, other, Yes}, {29, easy, Yes}, {28, easy, CannotTell}} {
		all := AnswerAll([]Asked{sewn, c.with}, entries(c.n), nil)
		if all[0].Verdict != c.want {
			t.Errorf("%d held beside %s: %s", c.n, c.with.ID, all[0].Statement)
		}
	}
	// A question asked after its drops does not weaken those asked in time.
	late := other
	late.Where = nil
	late.ID, late.Seq = "late", 99
	taken := Taken{}
	for _, e := range entries(29) {
		taken[e.Drop.ID] = 10
	}
	all := AnswerAll([]Asked{sewn, late}, entries(29), taken)
	if all[0].Verdict != Yes || !all[0].AskedBefore || all[1].AskedBefore || len(all[1].Late) != 29 {
		t.Errorf("%+v", all)
	}
	if w := all[1].Warnings; len(w) == 0 || !strings.Contains(w[0].String(), "after 29 of the 29 drops") {
		t.Errorf("warnings %v", w)
	}
}

func TestStrengthRatioOfUnlikeSpreads(t *testing.T) {
	w := drop.Written{ID: "k", Of: "strength ratio", Where: map[string]string{"knot": "overhand"}, Against: map[string]string{"knot": "sewn"}, AtLeast: "0.3"}
	var entries []compare.Entry
	for i, kN := range []float64{9, 9.8, 10.2, 10.7, 11.5} {
		entries = append(entries, made(i+1, "overhand", drop.Broke, kN), made(11+i, "sewn", drop.Broke, 2*kN))
	}
	a := one(t, w, entries)
	near(t, "ratio", a.Estimate, 0.5, 1e-6)
	if a.Verdict != Yes || !(*a.Lo < 0.5 && *a.Hi > 0.5) {
		t.Errorf("%s", a.Statement)
	}
	// The bounds are those of the ratio that compare prints, one-sided.
	g := a.Parts[0].of
	r, err := compare.RatioOf(valuesOf(g.upper, compare.Entry.Strength), valuesOf(g.lower, compare.Entry.Strength), strengthFamily, 0.5, 0.9)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "lower bound", a.Lo, *r.Lo, 1e-12)
	near(t, "upper bound", a.Hi, *r.Hi, 1e-12)
	if a.N != 10 || a.Parts[0].N != 5 || a.Parts[0].NLower != 5 {
		t.Errorf("counts %d, %d over %d", a.N, a.Parts[0].N, a.Parts[0].NLower)
	}
}

func TestAgainstTheRating(t *testing.T) {
	w := drop.Written{ID: "r", Of: "strength", AtLeast: "rating"}
	entries := []compare.Entry{made(1, "sewn", drop.Broke, 10), made(2, "sewn", drop.Broke, 11), made(3, "sewn", drop.Broke, 10.5), made(4, "sewn", drop.Broke, 10.2)}
	a := one(t, w, entries)
	if a.Verdict != No || a.Threshold == nil || *a.Threshold != 22000 {
		t.Errorf("%s", a.Statement)
	}
	entries[2].Drop.Specimen.Rating = 0
	if a = one(t, w, entries); a.Verdict != CannotTell || !strings.Contains(a.Statement.String(), "no rating is entered for specimen sd03") {
		t.Errorf("%s", a.Statement)
	}
	entries[2].Drop.Specimen.Rating = 20000
	if a = one(t, w, entries); a.Verdict != CannotTell || !strings.Contains(a.Statement.String(), "different ratings") {
		t.Errorf("%s", a.Statement)
	}
}

// One specimen dropped again and again is one specimen; what is void, planned or a check drop is none.
func TestWhatCounts(t *testing.T) {
	w := drop.Written{ID: "b", Of: "break probability", AtMost: "10 %"}
	again := made(2, "sewn", drop.Held, 10)
	again.Drop.Specimen.ID = "sd01"
	check := made(3, "sewn", drop.Held, 10)
	check.Drop.Role = drop.Check
	planned := made(4, "sewn", "", math.NaN())
	planned.Planned = true
	a := one(t, w, []compare.Entry{made(1, "sewn", drop.Held, 10), again, check, planned, made(5, "sewn", drop.Void, 10)})
	if a.N != 1 || len(a.Drops) != 1 || a.Drops[0] != "d01" {
		t.Errorf("counted %v", a.Drops)
	}
	if a.NextDrop.String() != "drop d04 of the plan (material polyamide, knot sewn, fall 600 mm, length 600 mm, fall factor 1.00)" {
		t.Errorf("next: %s", a.NextDrop)
	}
	if all := AnswerAll([]Asked{{Question: drop.Question{ID: "x", Withdrawn: "no longer of interest"}}}, nil, nil); len(all) != 0 {
		t.Errorf("a withdrawn question is answered: %v", all)
	}
}

// The uncertainty of the force scale is common to all drops: with it alone between the value and what is asked, more drops do not help.
func TestScaleIsCommon(t *testing.T) {
	f := scaled(figure{value: 100, bound: func(_ float64, upper bool) (float64, bool) { return 100, true }}, 0.01)
	v, _ := f.bound(0.05, true)
	if want := 100 * math.Exp(1.6448536*0.01); math.Abs(v-want) > 1e-6 {
		t.Errorf("bound %v, not %v", v, want)
	}
	if _, why, ok := moreOf(0.2, 0.016, 0.01, 0.05, 10); ok || !strings.Contains(why.String(), "better calibration") {
		t.Errorf("more: %v %s", ok, why)
	}
	// Far apart one more suffices; a nearer bound takes more.
	n1, _, _ := moreOf(0.2, 0.25, 0, 0.05, 10)
	n2, _, _ := moreOf(0.2, 0.1, 0, 0.05, 10)
	if !(n1 >= 1 && n2 > 3*n1) {
		t.Errorf("more: %d, %d", n1, n2)
	}
}

func TestUndecidedAndDoubtfulAreSaid(t *testing.T) {
	e := made(1, "sewn", drop.Held, 10)
	e.Decided, e.Trusted, e.NoScale = false, false, true
	a := one(t, drop.Written{ID: "p", Of: "peak force", AtMost: "12 kN"}, []compare.Entry{e, made(2, "sewn", drop.Held, 10.1), made(3, "sewn", drop.Held, 10.2)})
	var all []string
	for _, w := range a.Warnings {
		all = append(all, w.String())
	}
	joined := strings.Join(all, "\n")
	for _, part := range []string{"proposed and not decided", "the outcome of 1 drop that counts here", "although its audit disagrees", "force scale of the load cell is not known"} {
		if !strings.Contains(joined, part) {
			t.Errorf("no word of %q in:\n%s", part, joined)
		}
	}
	if len(a.Cautions) != 6 {
		t.Errorf("%d cautions", len(a.Cautions))
	}
}
