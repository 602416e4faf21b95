package web_test

import (
	"context"
	"html"
	"net/url"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/hardcatch/hardcatch/internal/app"
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/quantity"
	"github.com/hardcatch/hardcatch/internal/view"
	"github.com/hardcatch/hardcatch/internal/waittest"
)

var tags = regexp.MustCompile(`<[^>]*>`)

// plain is the text of a page on one line.
func plain(body string) string {
	text := html.UnescapeString(tags.ReplaceAllString(body, " "))
	return strings.Join(strings.Fields(strings.ReplaceAll(text, "\u00a0", " ")), " ")
}

// Every number that the command compare prints of contrasts, strengths, effects and check drops stands on the page.
func TestComparisonPageHasTheNumbersOfTheCommand(t *testing.T) {
	t.Parallel()
	s := shared(t)
	want, err := view.Compare(context.Background(), s.app, s.path, view.CompareOptions{Confidence: 0.95, Seed: 1})
	if err != nil {
		t.Fatal(err)
	}
	_, body := s.ask(t, "GET", "/comparison?goodness=on", "")
	text := plain(body)
	has := func(what string) {
		t.Helper()
		if !strings.Contains(text, strings.Join(strings.Fields(what), " ")) {
			t.Errorf("the page lacks %q", what)
		}
	}
	has(want.Question)
	for _, c := range want.Contrasts {
		has(c.Contrast.Statement.String())
		for _, x := range c.Untested {
			has("Not tested: " + x.String())
		}
		if c.Break != nil {
			has(c.Break.Statement.String())
		}
		if c.Peak != nil {
			has(c.Peak.Statement.String())
		}
		if c.Strength != nil {
			has(c.Strength.Statement.String())
		}
	}
	for _, k := range want.Strengths {
		has(k.Name)
		for _, q := range k.Fit.Quantiles {
			has(quantity.Significant(q.Value/1000, 4))
			if q.Lo != nil && q.Hi != nil {
				has(quantity.Below(*q.Lo/1000, 4) + " … " + quantity.Above(*q.Hi/1000, 4))
			}
		}
		if g := k.Fit.Goodness; g != nil {
			has("A² " + quantity.Significant(g.A2, 3) + ", p = " + quantity.Significant(g.P, 2))
		}
		for _, w := range k.Fit.Warnings {
			has(w.String())
		}
	}
	for _, r := range want.StrengthRatios {
		has(r.Statement.String())
	}
	for _, i := range want.Interference {
		has(i.Statement.String())
	}
	for _, e := range append(want.PeakEffects.Effects, want.StrengthEffects.Effects...) {
		has(e.Statement.String())
	}
	for _, i := range append(want.PeakEffects.Interactions, want.StrengthEffects.Interactions...) {
		has(i.Statement.String())
	}
	for _, l := range append(want.PeakEffects.LeftOut, want.StrengthEffects.LeftOut...) {
		has(l.String())
	}
	for _, p := range want.Repeatability {
		has(p.Statement.String())
	}
	has(want.Checks.Statement.String())
	for _, w := range append(append(want.Warnings, want.Checks.Warnings...), want.StrengthEffects.Warnings...) {
		has(w.String())
	}
	// The answer comes first, in words; drops and cells are led to.
	if at := strings.Index(text, "conditioning: four winters against new strength 21 % weaker"); at < 0 || at > strings.Index(text, "Choose what is compared") {
		t.Error("the answer does not come first")
	}
	for _, link := range []string{`href="/cells/12"`, `href="/drops/d05"`, `href="/checks"`, `href="/comparison?by=knot&amp;goodness=on"`, `href="/api/comparison?goodness=on"`} {
		if !strings.Contains(body, link) {
			t.Errorf("the page lacks %s", link)
		}
	}
}

// What the address asks for is what is shown, in any language; what cannot be is said.
func TestComparisonPageIsAsked(t *testing.T) {
	t.Parallel()
	s := shared(t)
	_, body := s.ask(t, "GET", "/comparison?measure=energy&by=knot&along=material&dist=lognormal&confidence=0,9&quantile=0,02;0.2&bootstrap=100&seed=7&"+url.QueryEscape("only.conditioning")+"=new", "", "Accept-Language: de")
	text := plain(body)
	for _, must := range []string{"Knoten: figure-eight gegen sewn eyes", "aufgenommene Energie", "Nur ein Teil der Kampagne: Zustand new", "32 Stürze sind weggelassen", "lognormal", "Aufgenommene Energie (J)", "figure-eight gegen sewn eyes", "90 %", "2 %", "20 %", "Neu gezogene Proben", "100"} {
		if !strings.Contains(text, must) {
			t.Errorf("the page lacks %q", must)
		}
	}
	for _, must := range []string{`<option value="energy" selected>`, `<option value="knot" selected>`, `<option value="material" selected>`, `<option value="lognormal" selected>`, `<option value="0.9" selected>`, `<option value="new" selected>`, `value="7"`} {
		if !strings.Contains(body, must) {
			t.Errorf("the form lacks %s", must)
		}
	}
	for query, must := range map[string]string{
		"measure=colour": "choose one of peak", "confidence=2": "no number from 0.5 to 1", "confidence=x": "confidence", "quantile=1.5": "quantile", "bootstrap=many": "write for example 2000", "bootstrap=-1": "bootstrap",
		"bootstrap=1000000": "hardcatch compare FILE --bootstrap 1000000", "seed=0": "seed", "only.size=1": "no factor", "dist=cauchy": "weibull",
	} {
		for _, path := range []string{"/comparison?", "/api/comparison?"} {
			if res, body := s.ask(t, "GET", path+query, ""); res.StatusCode != 422 || !strings.Contains(body, must) {
				t.Errorf("%s%s: %d, want %q", path, query, res.StatusCode, must)
			}
		}
	}
}

func TestChecksPage(t *testing.T) {
	t.Parallel()
	s := start(t, demonstration(t))
	_, body := s.ask(t, "GET", "/checks", "")
	text := plain(body)
	for _, must := range []string{"No rule is broken.", "limits that are many times as wide as the scatter", "no drift of the gain is shown", "certificate ends 2027-01-18", "Common practice, no source.", "INV-2026-014", "check_drops: {specimen: steel link"} {
		if !strings.Contains(text, must) {
			t.Errorf("the page lacks %q", must)
		}
	}
	if n := strings.Count(body, `<th scope="row"><a href="/drops/`); n != 4 {
		t.Errorf("%d check drops are led to", n)
	}
	if _, body := s.ask(t, "GET", "/drops/d01", ""); !strings.Contains(body, `href="/checks"`) {
		t.Error("a check drop does not lead to the chart")
	}
	// With fewer than three left there is no chart, and the page says so.
	for _, id := range []string{"d01", "d36"} {
		if _, err := app.Decide(context.Background(), s.app, s.path, drop.Decision{Drop: id, Outcome: drop.Void, Reason: "the link was changed", By: "bench"}); err != nil {
			t.Fatal(err)
		}
	}
	_, body = s.ask(t, "GET", "/checks", "")
	if text := plain(body); !strings.Contains(text, "There are no limits yet.") || !strings.Contains(text, "needs at least 3") || !strings.Contains(text, "not in the chart") {
		t.Error("two check drops are charted")
	}
}

// The page does not wait for exact tests that take long: it says so, and the browser comes again until they are there.
func TestComparisonIsNotWaitedFor(t *testing.T) {
	s := startWith(t, demonstration(t), "127.0.0.1:0", 20*time.Millisecond)
	res, body := s.ask(t, "GET", "/comparison?by=knot", "", "Accept-Language: de")
	if res.StatusCode != 200 || res.Header.Get("Refresh") != "1" || !strings.Contains(body, "Die exakten Tests werden gerechnet.") || !strings.Contains(body, `href="/comparison?by=knot"`) {
		t.Fatalf("%d %v %s", res.StatusCode, res.Header, plain(body))
	}
	waittest.Until(t, waittest.For("the comparison"), func() bool {
		res, body = s.ask(t, "GET", "/comparison?by=knot", "", "Accept-Language: de")
		return res.Header.Get("Refresh") == ""
	})
	if !strings.Contains(plain(body), "Knoten: figure-eight gegen sewn eyes") {
		t.Errorf("no comparison: %s", plain(body))
	}
}

// Drawings speak the language of their page, with its decimal sign.
func TestDrawingsOfPagesInOtherLanguages(t *testing.T) {
	t.Parallel()
	s := shared(t)
	for path, words := range map[string][2]string{
		"/comparison": {"mehr als Zufall", "more than chance would explain"}, "/checks": {"Gleitende Spannweite (kN)", "Moving range (kN)"}, "/map": {"reißt laut Modell", "predicted to part"},
	} {
		_, body := s.ask(t, "GET", path, "", "Accept-Language: de")
		var drawn []string
		for _, part := range strings.Split(body, "<svg")[1:] {
			inside, _, _ := strings.Cut(part, "</svg>")
			drawn = append(drawn, inside)
		}
		text := strings.Join(drawn, " ")
		if !strings.Contains(text, words[0]) || strings.Contains(text, words[1]) {
			t.Errorf("%s: drawn in German: %t, in English: %t", path, strings.Contains(text, words[0]), strings.Contains(text, words[1]))
		}
	}
}
