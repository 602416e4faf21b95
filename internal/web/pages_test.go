package web_test

import (
	"bytes"
	"compress/gzip"
	"context"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"path/filepath"
	"regexp"
	"sort"
	"strings"
	"testing"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/store"
	"github.com/hardcatch/hardcatch/internal/view"
)

// everyPage is each page, with what it may be asked for.
var everyPage = []string{
	"/", "/live", "/drops", "/drops?outcome=broke&sort=peak", "/drops/d02", "/drops/d07", "/cells/12", "/comparison", "/comparison?measure=energy&by=knot&along=material&dist=lognormal&only.fall=450+mm&goodness=on&quantile=0.1", "/checks", "/limits", "/model",
	"/model?mass=80+kg&fall=1+m&length=1.2+m&material=hmpe-blend-sling&knot=overhand-HMPE-8-mm&rig=1+MN%2Fm", "/map", "/map?material=hmpe-blend-sling&knot=overhand-HMPE-8-mm&x=rig-stiffness&y=slack&y1=2+m&limits=on", "/rig", "/logbook", "/report", "/help", "/nowhere",
}

func TestEveryPageInEveryLanguage(t *testing.T) {
	t.Parallel()
	s := shared(t)
	for lang, word := range map[string]string{"en": "Cautions", "de": "Vorsicht", "fr": "Mises en garde"} {
		for _, path := range everyPage {
			res, body := s.ask(t, "GET", path, "", "Accept-Language: "+lang+"-CH,"+lang+";q=0.9,it;q=0.2")
			if want := map[bool]int{true: 404, false: 200}[path == "/nowhere"]; res.StatusCode != want {
				t.Errorf("%s %s: %d\n%s", lang, path, res.StatusCode, body)
			}
			for _, must := range []string{`<html lang="` + lang + `"`, word, "<h1>", "hardcatch", `href="#main"`} {
				if !strings.Contains(strings.ToLower(body), strings.ToLower(must)) {
					t.Errorf("%s %s lacks %q", lang, path, must)
				}
			}
			if strings.Count(body, "<h1>") != 1 {
				t.Errorf("%s %s has %d main headings", lang, path, strings.Count(body, "<h1>"))
			}
		}
	}
	if _, body := s.ask(t, "GET", "/", "", "Accept-Language: ja"); !strings.Contains(body, `<html lang="en"`) {
		t.Error("a reader of none of the languages gets another than English")
	}
	if _, body := s.ask(t, "GET", "/", "", "Accept-Language: fr", "Cookie: hardcatch-language=de"); !strings.Contains(body, `<html lang="de"`) {
		t.Error("the chosen language is not kept")
	}
}

// Numbers are read and written with the decimal sign of the language.
func TestNumbersOfTheLanguage(t *testing.T) {
	t.Parallel()
	s := shared(t)
	for _, c := range []struct {
		lang, fall string
		status     int
		shows      string
	}{
		{"en", "1.25 m", 200, `<dd id="a-factor">1.39</dd>`}, {"de", "1,25 m", 200, `<dd id="a-factor">1,39</dd>`}, {"fr", "1,25 m", 200, `<dd id="a-factor">1,39</dd>`},
		{"de", "1,125 m", 200, `<dd id="a-factor">1,25</dd>`}, {"de", "1250 mm", 200, `<dd id="a-factor">1,39</dd>`}, {"de", "0.9 m", 200, `<dd id="a-factor">1,00</dd>`},
		{"de", "1.125 m", 422, "1.125"}, {"en", "1,125 m", 422, "1,125"}, {"en", "much", 422, "much"}, {"fr", "3 kg", 422, "mass"},
	} {
		res, body := s.ask(t, "GET", "/model?fall="+url.QueryEscape(c.fall), "", "Accept-Language: "+c.lang)
		if res.StatusCode != c.status || !strings.Contains(body, c.shows) {
			t.Errorf("%s %q: %d, want %d with %s", c.lang, c.fall, res.StatusCode, c.status, c.shows)
		}
	}
	_, body := s.ask(t, "GET", "/drops", "", "Accept-Language: fr")
	if !regexp.MustCompile(`\d,\d+\x{a0}±\x{a0}0,\d+\x{a0}kN`).MatchString(body) {
		t.Error("the list does not write decimal commas")
	}
}

func TestDecideVoidAndWithdrawByForm(t *testing.T) {
	t.Parallel()
	path := demonstration(t)
	s := start(t, path)
	post := func(what, body string) (int, string) {
		res, text := s.ask(t, "POST", "/drops/d02/"+what, body, form)
		if res.StatusCode == 303 {
			return 303, res.Header.Get("Location")
		}
		return res.StatusCode, text
	}
	if code, to := post("decide", "outcome=void&reason=the+release+stuck&by=ab"); code != 303 || to != "/drops/d02?done=decided" {
		t.Fatal(code, to)
	}
	_, body := s.ask(t, "GET", "/drops/d02?done=decided", "")
	// The reason of a void stands under its sign, and no button confirms what the record proposes.
	if strings.Contains(body, `id="confirm"`) || !regexp.MustCompile(`(?s)class="verdictline">.{0,600}id="whyvoid">the release stuck \(ab\)`).MatchString(body) {
		t.Error("a void drop can be confirmed, or does not say why it is void")
	}
	if code, text := post("decide", "outcome=held&reason=as+proposed"); code != 422 || !strings.Contains(text, "say who you are and why") {
		t.Errorf("un-voided without a name: %d", code)
	}
	for _, must := range []string{"The decision is entered.", "decided: void", "the release stuck (ab)"} {
		if !strings.Contains(body, must) {
			t.Errorf("the page lacks %q", must)
		}
	}
	if _, body := s.ask(t, "GET", "/drops?outcome=void", ""); !strings.Contains(body, ">d02</a>") {
		t.Error("d02 is not in the list of void drops")
	}
	// What was typed stays when it cannot be entered.
	if code, text := post("decide", "outcome=held&reason=+&by=cd"); code != 422 || !strings.Contains(text, "needs a reason") || !strings.Contains(text, `value="cd"`) {
		t.Error(code)
	}
	if code, _ := post("decide", "outcome=exploded&reason=x"); code != 422 {
		t.Error(code)
	}
	// The list of places stays set when the outcome is changed: it is not entered then.
	if code, _ := post("decide", "outcome=held&place=knot&reason=x&by=ab"); code != 303 {
		t.Error(code)
	}
	for _, body := range []string{"", "by=ab", "reason=so"} {
		if code, text := post("withdraw", body); code != 422 || !strings.Contains(text, "say who you are and why") {
			t.Errorf("%q: %d", body, code)
		}
	}
	if code, _ := post("withdraw", "by=ab&reason=it+ran+free"); code != 303 {
		t.Error(code)
	}
	v, err := view.DropIn(context.Background(), s.app, path, "d02")
	if err != nil || len(v.Decisions) != 4 || v.Decisions[3].Outcome != drop.Void || v.Decisions[2].Outcome != drop.Held {
		t.Errorf("%+v %v", v.Decisions, err)
	}
	if res, _ := s.ask(t, "POST", "/drops/nowhere/decide", "outcome=held&reason=x", form); res.StatusCode != 404 {
		t.Error(res.StatusCode)
	}
}

func TestEventsByHandByForm(t *testing.T) {
	t.Parallel()
	path := demonstration(t)
	s := start(t, path)
	before, err := view.DropIn(context.Background(), s.app, path, "d02")
	if err != nil {
		t.Fatal(err)
	}
	at := before.Reduction.Taut.SI() + 0.001
	typed := strings.ReplaceAll(fmt.Sprintf("%.5f s", at), ".", ",")
	res, body := s.ask(t, "POST", "/drops/d02/events", "reason=later&taut="+url.QueryEscape(typed), form, "Accept-Language: de")
	if res.StatusCode != 303 {
		t.Fatal(res.StatusCode, body)
	}
	if _, body = s.ask(t, "GET", "/drops/d02", "", "Accept-Language: de"); !strings.Contains(body, `value="`+typed+`"`) || !strings.Contains(body, "von Hand gesetzten") {
		t.Errorf("the page does not show %q", typed)
		for _, l := range strings.Split(body, "\n") {
			if strings.Contains(l, "name=\"taut\"") || strings.Contains(l, "Hand") {
				t.Log(l)
			}
		}
	}
	if res, _ = s.ask(t, "POST", "/drops/d02/events", "reason=x&slack=0.0001+s", form); res.StatusCode != 422 {
		t.Errorf("an arrest that ends before its peak: %d", res.StatusCode)
	}
	if res, body = s.ask(t, "POST", "/drops/d02/events", "reason=x&peak=0.2+s", form); res.StatusCode != 422 || !strings.Contains(body, "set it on the arrest") {
		t.Errorf("a peak in the quiet stretch: %d", res.StatusCode)
	}
	if res, _ = s.ask(t, "POST", "/drops/d02/events/withdraw", "", form); res.StatusCode != 303 {
		t.Error(res.StatusCode)
	}
	v, err := view.DropIn(context.Background(), s.app, path, "d02")
	if err != nil || v.Reduction.Taut != before.Reduction.Taut || v.Reduction.Settings.Hand != nil {
		t.Errorf("%v %+v %v", v.Reduction.Taut, v.Reduction.Settings.Hand, err)
	}
}

// A campaign with nothing in it has pages, too.
func TestEmptyCampaign(t *testing.T) {
	t.Parallel()
	path := filepath.Join(t.TempDir(), "empty.hardcatch")
	a := newApp()
	st, err := a.Files.Create(context.Background(), path, store.Campaign{Name: "nothing yet", Question: "what?"})
	if err != nil {
		t.Fatal(err)
	}
	if err := st.Close(); err != nil {
		t.Fatal(err)
	}
	s := start(t, path)
	for _, p := range []string{"/", "/drops", "/comparison", "/checks", "/limits", "/model", "/map", "/rig", "/logbook", "/report", "/help", "/report/page", "/api/map", "/api/answers", "/api/comparison", "/api/checks", "/api/campaign", "/api/results", "/api/rig", "/api/drops"} {
		if res, body := s.ask(t, "GET", p, "", "Accept-Language: fr"); res.StatusCode != 200 {
			t.Errorf("%s: %d %s", p, res.StatusCode, body)
		}
	}
	for _, p := range []string{"/drops/d01", "/cells/1", "/cells/x", "/api/drops/d01", "/drops/d01/record", "/api/drops/d01/trace"} {
		if res, _ := s.ask(t, "GET", p, ""); res.StatusCode != 404 {
			t.Errorf("%s: %d", p, res.StatusCode)
		}
	}
}

var asked = regexp.MustCompile(`(?:src|href)="(/assets/[^"]+)"`)

// Each page with all that it asks for stays below 150 kB as sent.
func TestPageWeight(t *testing.T) {
	t.Parallel()
	s := shared(t)
	size := func(path string) (int, string) {
		req, err := http.NewRequestWithContext(context.Background(), "GET", s.url+path, nil)
		if err != nil {
			t.Fatal(err)
		}
		req.Header.Set("Accept-Encoding", "gzip")
		res, err := http.DefaultTransport.RoundTrip(req)
		if err != nil {
			t.Fatal(err)
		}
		b, err := io.ReadAll(res.Body)
		if err != nil {
			t.Fatal(err)
		}
		if err := res.Body.Close(); err != nil {
			t.Fatal(err)
		}
		plain := b
		if res.Header.Get("Content-Encoding") == "gzip" {
			z, err := gzip.NewReader(bytes.NewReader(b))
			if err != nil {
				t.Fatal(err)
			}
			if plain, err = io.ReadAll(z); err != nil {
				t.Fatal(err)
			}
		} else if len(b) > 2000 && !strings.HasSuffix(path, ".woff2") {
			t.Errorf("%s is sent uncompressed", path)
		}
		return len(b), string(plain)
	}
	var sizes []string
	for _, p := range append([]string{"/report/page"}, everyPage...) {
		total, body := size(p)
		for _, font := range []string{"regular", "bold"} {
			n, _ := size("/assets/chivo-5.3.0." + font + ".woff2")
			total += n
		}
		for _, m := range asked.FindAllStringSubmatch(body, -1) {
			n, _ := size(strings.ReplaceAll(m[1], "&amp;", "&"))
			total += n
		}
		if strings.HasPrefix(p, "/drops/") {
			n, _ := size("/api" + p + "/trace?px=4000")
			total += n
		}
		sizes = append(sizes, fmt.Sprintf("%7d %s", total, p))
		most := 150_000
		if p == "/report/page" {
			most = 300_000 // what is printed, with the evidence of every drop
		}
		if total > most {
			t.Errorf("%s weighs %d bytes", p, total)
		}
	}
	sort.Strings(sizes)
	t.Log("\n" + strings.Join(sizes, "\n"))
}

// The results stand under the answer now.
func TestOldAddressesLeadOn(t *testing.T) {
	s := start(t, demonstration(t))
	if res, _ := s.ask(t, "GET", "/results", ""); res.StatusCode != 301 || res.Header.Get("Location") != "/#holds" {
		t.Errorf("/results: %d %s", res.StatusCode, res.Header.Get("Location"))
	}
	if body := s.page(t, "/"); !strings.Contains(body, `id="holds"`) || strings.Count(body, `data-key=`) != 5 {
		t.Error("the answer does not hold what /results leads to, or there are not five places")
	}
}

// A bookmark of the logbook's first address leads on, with what it asked for.
func TestBookmarkOfTheLogbookLeadsOn(t *testing.T) {
	t.Parallel()
	s := shared(t)
	for from, to := range map[string]string{"/history": "/logbook", "/history?before=100": "/logbook?before=100"} {
		if res, _ := s.ask(t, "GET", from, ""); res.StatusCode != http.StatusMovedPermanently || res.Header.Get("Location") != to {
			t.Errorf("%s: %d to %q, want %q", from, res.StatusCode, res.Header.Get("Location"), to)
		}
	}
}
