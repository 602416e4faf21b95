package render_test

import (
	"bytes"
	"encoding/xml"
	"errors"
	"flag"
	"html"
	"io"
	"os"
	"path/filepath"
	"reflect"
	"regexp"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"github.com/hardcatch/hardcatch/internal/compare"
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/figure"
	"github.com/hardcatch/hardcatch/internal/limits"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/quantity"
	"github.com/hardcatch/hardcatch/internal/reduce"
	"github.com/hardcatch/hardcatch/internal/render"
	"github.com/hardcatch/hardcatch/internal/view"
)

var update = flag.Bool("update", false, "write the page kept in testdata anew and show what changed")

func write(t testing.TB, d *view.Report) string {
	t.Helper()
	var b bytes.Buffer
	if err := render.Report(&b, d); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

// The kept pages are for regression only: they were looked at, on a screen and on paper.
func TestGolden(t *testing.T) {
	for _, lang := range message.Languages {
		d := whole(t)
		d.In = in(t, lang)
		golden(t, filepath.Join("testdata", "whole."+lang+".html"), write(t, d))
	}
}

func in(t testing.TB, lang string) message.Locale {
	t.Helper()
	l, err := message.In(lang)
	if err != nil {
		t.Fatal(err)
	}
	return l
}

func golden(t *testing.T, file, got string) {
	t.Helper()
	want, err := os.ReadFile(file)
	if err != nil && !*update {
		t.Fatal(err)
	}
	if got == string(want) {
		return
	}
	diff := cmp.Diff(strings.Split(string(want), "\n"), strings.Split(got, "\n"))
	if !*update {
		t.Fatalf("%s has changed; look at it, then run go test ./internal/render -update\n%s", file, diff)
	}
	t.Logf("%s written anew:\n%s", file, diff)
	if err := os.WriteFile(file, []byte(got), 0o644); err != nil {
		t.Fatal(err)
	}
}

func TestSameBytes(t *testing.T) {
	a, b := write(t, sample(16, 4)), write(t, sample(16, 4))
	if a != b {
		t.Error("two writings of one document differ")
	}
}

// check reads the page with the leniency that HTML's void elements need, and demands that every other
// element is closed in its turn, that ids are single and that links inside the page lead somewhere.
func check(t *testing.T, page string) {
	t.Helper()
	d := xml.NewDecoder(strings.NewReader(page))
	d.Strict, d.AutoClose, d.Entity = false, xml.HTMLAutoClose, xml.HTMLEntity
	ids, links := map[string]int{}, []string{}
	var open []string
	for {
		tok, err := d.Token()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			t.Fatalf("not well-formed: %v", err)
		}
		switch tok := tok.(type) {
		case xml.StartElement:
			open = append(open, tok.Name.Local)
			for _, a := range tok.Attr {
				switch {
				case a.Name.Local == "id":
					ids[a.Value]++
				case a.Name.Local == "href" && strings.HasPrefix(a.Value, "#"):
					links = append(links, a.Value[1:])
				case a.Name.Local == "aria-labelledby":
					links = append(links, strings.Fields(a.Value)...)
				case strings.HasPrefix(a.Name.Local, "on"), a.Name.Local == "src":
					t.Errorf("<%s %s=%q> may not stand here", tok.Name.Local, a.Name.Local, a.Value)
				}
			}
			if tok.Name.Local == "script" || tok.Name.Local == "iframe" || tok.Name.Local == "link" {
				t.Errorf("<%s> may not stand here", tok.Name.Local)
			}
		case xml.EndElement:
			if n := len(open); n == 0 || open[n-1] != tok.Name.Local {
				t.Fatalf("</%s> closes %v", tok.Name.Local, open)
			}
			open = open[:len(open)-1]
		}
	}
	if len(open) > 0 {
		t.Errorf("left open: %v", open)
	}
	for id, n := range ids {
		if n > 1 {
			t.Errorf("id %q stands %d times", id, n)
		}
	}
	for _, l := range links {
		if ids[l] == 0 {
			t.Errorf("nothing is called %q", l)
		}
	}
	rest := strings.ReplaceAll(page, `xmlns="http://www.w3.org/2000/svg"`, "")
	if m := regexp.MustCompile(`(?i)https?:|//[a-z]|@import|url\([^#]`).FindString(rest); m != "" {
		t.Errorf("the page points outside: %q", m)
	}
	for i, c := range drop.Cautions() {
		if !strings.Contains(html.UnescapeString(page), c) {
			t.Errorf("caution %d is missing", i+1)
		}
	}
	if len(drop.Cautions()) != 6 {
		t.Errorf("%d cautions", len(drop.Cautions()))
	}
}

func TestPages(t *testing.T) {
	for name, d := range map[string]*view.Report{
		"empty": {}, "whole": whole(t), "no drops": sample(0, 0), "one drop": sample(1, 1), "16 cells": sample(16, 4),
		"odd": {
			Results: view.Results{Cells: []view.CellResult{{}, {Cell: compare.Cell{Levels: map[string]string{"a": ""}}, Limits: []view.LimitVerdict{{Judgement: limits.Judgement{Verdict: "odd"}}}}}, Limits: []view.LimitVerdict{{}}, Warnings: []message.Sentence{nil}},
			Drops:   []view.ReportedDrop{{}, {Row: compare.Row{Outcome: "odd"}, Cell: 99, Reduction: &reduce.Reduction{Audit: []reduce.Check{{}}}}},
			Budgets: []view.ReportedDrop{{Reduction: &reduce.Reduction{}}}, Figures: []view.Figure{{}, {Drawing: figure.StripPlot{}}}, Specimens: []drop.Drop{{}},
		},
	} {
		t.Run(name, func(t *testing.T) { check(t, write(t, d)) })
	}
	if err := render.Report(io.Discard, nil); err == nil {
		t.Error("no document was written")
	}
	if err := render.Report(failing{}, &view.Report{}); err == nil || !strings.Contains(err.Error(), "disk") {
		t.Errorf("a full disk gave %v", err)
	}
}

type failing struct{}

func (failing) Write([]byte) (int, error) { return 0, errors.New("disk is full") }

// The first page says what was asked, what was found with number and interval, and what it does not say, before anything
// else; the parts that were left out once are there.
func TestWholeIsPrinted(t *testing.T) {
	page := html.UnescapeString(write(t, whole(t)))
	for _, want := range []string{
		"In short", "7 drops count: 6 held, 1 broke, 0 slipped.", "1 more is void", "Two levels of one factor", "What it does not say.", "1</b> In short", "2</b> Cautions", "Contents",
		"Seed of the run order</th><td>20261125", "9 of 10 planned drops are taken", "polyester, 450 mm fall", "3 ▾", "With 4 against 4, all holding", "connectors: 20.0 kN is predicted", "Planned, not taken: D08.", "Taken, not planned: X1.",
		"Like for like, tested exactly", "permutation test of log peaks", "All factors together:", "times as high", "Strength by kind of specimen", "Strength ratios", "Will it break?", "From day to day", "Warnings on the comparison",
		"4 check drops around", "What was skipped, and why:", "battery empty", "Evidence of every drop", "8 drops: no calibration is given", "the mass hangs at the end: 981.3 N", "The peak may read wrong:", "Warning: the record does not tell",
	} {
		if !strings.Contains(page, want) {
			t.Errorf("the page does not say %q", want)
		}
	}
	if a, b := strings.Index(page, `id="summary"`), strings.Index(page, `id="cautions"`); a < 0 || b < a || strings.Index(page, "<nav") < b {
		t.Error("summary and cautions do not stand first")
	}
	for _, m := range regexp.MustCompile(`href="#(record\d+)"`).FindAllStringSubmatch(page, -1) {
		if strings.Count(page, `id="`+m[1]+`"`) != 1 {
			t.Errorf("%s leads nowhere", m[1])
		}
	}
	if n := strings.Count(page, `href="#record`); n != 8 {
		t.Errorf("%d drops lead to their records", n)
	}
}

func TestInventedIsSaid(t *testing.T) {
	d := sample(2, 4)
	page := write(t, d)
	const line = "Invented scenario: simulated records, no real product."
	if n, want := strings.Count(page, "<strong>"+line), len(d.Figures)+1; n != want { // that of the scenes, too
		t.Errorf("%d of %d captions say it", n, want)
	}
	if !strings.Contains(page, `class="invented"`) || strings.Index(page, `class="invented"`) > strings.Index(page, "<h1>") {
		t.Error("there is no banner at the top")
	}
	d.Invented = false
	d.Campaign, d.Notes = "Real", ""
	if page := write(t, d); strings.Contains(page, "Invented scenario") {
		t.Error("a real campaign is called invented")
	}
}

// Every text field of a document, at any depth, is filled with hostile text.
func TestHostileText(t *testing.T) {
	bad := `</style></title><script>alert(1)</script>"'&{{.}}` + "\x00\u202e"
	d := sample(2, 4)
	fill(reflect.ValueOf(d).Elem(), bad)
	page := write(t, d)
	check(t, strings.ReplaceAll(page, "\x00", ""))
	if strings.Contains(page, "<script") {
		t.Error("a text got through as code")
	}
}

func fill(v reflect.Value, text string) {
	if said, ok := v.Addr().Interface().(*message.Sentence); ok {
		*said = message.Told(text)
		return
	}
	switch v.Kind() {
	case reflect.String:
		v.SetString(text)
	case reflect.Struct:
		if _, ok := v.Interface().(view.Figure); ok {
			v.FieldByName("Caption").SetString(text)
			return
		}
		for i := range v.NumField() {
			if v.Type().Field(i).IsExported() {
				fill(v.Field(i), text)
			}
		}
	case reflect.Slice:
		for i := range v.Len() {
			fill(v.Index(i), text)
		}
	case reflect.Pointer:
		if _, ok := v.Interface().(*reduce.Reduction); ok && !v.IsNil() {
			fill(v.Elem(), text)
		}
	case reflect.Map:
		if of, ok := v.Interface().(map[string]string); ok {
			for k := range of {
				of[k] = text + k
			}
		}
	}
}

func TestWhatIsSaid(t *testing.T) {
	d := sample(2, 4)
	d.Drops[2].Peak, d.Drops[2].Expanded = force(12345), force(123)
	page := html.UnescapeString(write(t, d))
	for _, want := range []string{
		`<html lang="en">`, d.Question, "≥ 12.35 ± 0.12 kN", "2.02, 95\u00a0%", "broke (stitching)", "0 to 81\u00a0%", "INV-2026-01", "2027-01-12", "mV/V with 1 degree of freedom",
		"sample rate 20.0 kHz; filter CFC 60 (SAE factor, 3 dB at about 100 Hz), zero phase; rig frequency 318 Hz; impact speed from the stated fall height", d.Head, d.Drops[0].SHA256, "hardcatch 0.1.0",
		"the mass is 20 % less than entered", "980.7", "Clopper", "S01, S02, S03, S04", "✓ 0.3", "disagrees 93.2", "filter: about 70 N low", "2026-03-04 05:06 UTC", "∞",
	} {
		if !strings.Contains(page, want) {
			t.Errorf("the page does not say %q", want)
		}
	}
	if strings.Count(page, "<caption>") != strings.Count(page, "<table")-strings.Count(page, `<table class="facts"`) {
		t.Error("a table has no caption")
	}
	if strings.Count(page, "<th ")+strings.Count(page, "<th>") != strings.Count(page, `scope="col"`)+strings.Count(page, `scope="row"`) {
		t.Error("a head of a table has no scope")
	}
	if n := strings.Count(page, "not an injury threshold, not a certification test"); n < 3 {
		t.Errorf("the reminder stands %d times", n)
	}
}

func TestDecisionsShareRows(t *testing.T) {
	d := &view.Report{}
	for i, at := range []string{"10:03", "10:01", "10:02"} {
		d.Drops = append(d.Drops, view.ReportedDrop{Row: compare.Row{Drop: "D" + string(rune('1'+i))}, Decisions: []view.Decided{{At: at, Decision: drop.Decision{By: "tower", Outcome: drop.Held, Reason: "looked at"}}}})
	}
	d.Drops = append(d.Drops, view.ReportedDrop{Row: compare.Row{Drop: "D4"}, Decisions: []view.Decided{{At: "10:04", Decision: drop.Decision{By: "tower", Outcome: drop.Held, Reason: "looked at"}}, {At: "10:05", Decision: drop.Decision{By: "tower", Outcome: drop.Broke, Reason: "looked again"}}}})
	page := write(t, d)
	for _, want := range []string{">D1, D2, D3<", ">10:01 to 10:03<", ">10:04<", ">10:05<"} {
		if !strings.Contains(page, want) {
			t.Errorf("the page does not say %s", want)
		}
	}
}

// A check that only sets a bound agrees however far below it the record stays: no distance is printed.
func TestDistanceOfChecks(t *testing.T) {
	d := &view.Report{Drops: []view.ReportedDrop{{Row: compare.Row{Drop: "D1"}, Reduction: &reduce.Reduction{Audit: []reduce.Check{
		{Name: "a", Expected: num(1200), Found: num(300), U: num(2), Verdict: reduce.Agrees},
		{Name: "b", Expected: num(980), Found: num(977), U: num(2), Verdict: reduce.Agrees},
		{Name: "c", Expected: num(980), Found: num(970), U: num(2), Verdict: reduce.Disagrees},
		{Name: "d", Verdict: reduce.NotPossible},
	}}}}}
	if page := write(t, d); !strings.Contains(page, "<td>✓</td><td>✓ 1.5</td><td>disagrees 5.0</td><td>–</td>") {
		t.Error("the row of the audit reads otherwise")
	}
}

// A break probability is rounded outward, so that the printed range is never narrower: exact binomial 95 %
// (Clopper-Pearson), 0 of 3 [0, .7075982], 1 of 3 [.0084038, .9057007] (recalled).
func TestBreakRangeOutward(t *testing.T) {
	d := sample(2, 1)
	d.Cells[0].BreakLo, d.Cells[0].BreakHi = num(0), num(0.7075982)
	d.Cells[1].BreakLo, d.Cells[1].BreakHi = num(0.0084038), num(0.9057007)
	page := write(t, d)
	for _, want := range []string{">0 to 71\u00a0%<", ">0 to 91\u00a0%<"} {
		if !strings.Contains(page, want) {
			t.Errorf("the page does not say %s", want)
		}
	}
}

func TestEveryCheck(t *testing.T) {
	d := sample(2, 4)
	few := strings.Count(write(t, d), "speed and force agree")
	d.EveryCheck = true
	if all := strings.Count(write(t, d), "speed and force agree"); few != 0 || all != len(d.Drops) {
		t.Errorf("%d and %d checks are printed in full", few, all)
	}
}

func TestNotNumbers(t *testing.T) {
	d := sample(1, 2)
	nan := quantity.Force(0)
	nan /= nan
	d.Drops[0].Peak, d.Cells[0].Mean = &nan, &nan
	if page := write(t, d); strings.Contains(page, "NaN") {
		t.Error("a value that is not a number is printed as one")
	}
}

func BenchmarkWrite(b *testing.B) {
	d := sample(16, 4)
	for b.Loop() {
		if err := render.Report(io.Discard, d); err != nil {
			b.Fatal(err)
		}
	}
}

// A peak that the record does not show stands as a bound, with the interval that was won from the motion below it, rounded outward.
func TestRebuiltPeakIsPrinted(t *testing.T) {
	d := sample(2, 3)
	d.Drops[0].CutOff, d.Drops[0].LowerBound, d.Drops[0].Rebuilt = true, true, &[2]quantity.Force{13921, 14579}
	page := write(t, d)
	if n := strings.Count(page, "13.9 kN to 14.6 kN, rebuilt from momentum"); n < 1 {
		t.Errorf("the interval stands %d times in the report", n)
	}
	if strings.Contains(write(t, sample(2, 3)), "rebuilt from momentum</") {
		t.Error("an interval where nothing was rebuilt")
	}
}
