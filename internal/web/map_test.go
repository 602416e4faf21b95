package web_test

import (
	"encoding/json"
	"html"
	"math"
	"net/url"
	"regexp"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"github.com/hardcatch/hardcatch/internal/foresee"
)

// The map of the demonstration: its drops, words for lay people, and what is marked.
func TestMapPage(t *testing.T) {
	t.Parallel()
	s := shared(t)
	_, body := s.ask(t, "GET", "/map", "")
	for _, must := range []string{
		"They are not ratings and no measurement", "reaches the 12.0\u00a0kN of: anchor device, static; dynamic rope, single; small chock.", "at which it is predicted to part", "extrapolation: not dropped",
		`<a href="/drops/d03">`, "peaked on average", "above 22 kN", "common practice, no source: many small wired chocks are rated so", "published summaries of the standard", "starting value, no rating",
		"Measured against predicted", "≥\u00a0\u2212", `value="polyester-webbing" selected`, "drops were computed",
	} {
		if !strings.Contains(body, must) {
			t.Errorf("the page lacks %q", must)
		}
	}
	if strings.Contains(body, " style=") || strings.Contains(body, "<script>") {
		t.Error("inline style or script")
	}
	// Each place and each cell of the table leads to a fall that the page What if takes.
	links := regexp.MustCompile(`href="(/model\?[^"]+)"`).FindAllStringSubmatch(body, -1)
	if len(links) < 24*15+8*6+63 {
		t.Fatalf("%d links to falls", len(links))
	}
	for _, i := range []int{0, 17, 200, len(links) - 1, len(links) - 30} {
		if res, text := s.ask(t, "GET", html.UnescapeString(links[i][1]), ""); res.StatusCode != 200 || !strings.Contains(text, "This fall on the map") {
			t.Errorf("%s: %d", links[i][1], res.StatusCode)
		}
	}
	// And from there back.
	_, body = s.ask(t, "GET", "/model?fall=1.2+m&length=2+m&material=aramid-cord", "")
	back := regexp.MustCompile(`id="onmap" href="([^"]+)"`).FindStringSubmatch(body)
	if back == nil {
		t.Fatal("no way back to the map")
	}
	if _, body = s.ask(t, "GET", html.UnescapeString(back[1]), ""); !strings.Contains(body, `value="aramid-cord" selected`) || !strings.Contains(body, "falling 1.20\u00a0m on 2.00\u00a0m") {
		t.Errorf("%s does not show that fall", back[1])
	}
}

func TestMapForm(t *testing.T) {
	t.Parallel()
	s := shared(t)
	for _, c := range []struct {
		lang, query string
		status      int
		shows       string
	}{
		{"en", "x=mass&xwas=fall-factor&x0=0&x1=2&y=length", 200, `name="x0" value="40 kg"`}, // a range of the quantity before does not count
		{"en", "x=mass&xwas=mass&x0=50+kg&x1=120+kg", 200, `name="x1" value="120 kg"`},
		{"de", "x=fall-height&x0=0&x1=1,5+m", 200, `name="x1" value="1,5 m"`},
		{"fr", "y=length&y0=0,4+m&y1=2+m", 200, `name="y0" value="0,4 m"`},
		{"en", "limits=on&own=9+kN&ownname=old+bolt", 200, "reaches the 9.00\u00a0kN of: old bolt."},
		{"en", "limits=on&limit=pulley", 200, "reaches the 12.0\u00a0kN of: pulley."},
		{"en", "limits=on&own=&ownname=", 200, "is predicted to part"},
		{"en", "knot=figure-eight-polyamide-16-mm", 200, "reaches the 13.0\u00a0kN at which it is predicted to part"},
		{"en", "material=dynamic-rope", 200, "No drop of this campaign is of this material and knot."},
		{"en", "absorber=on&material=dynamic-rope", 200, "make the load cell ring"},
		{"en", "x=colour", 422, "no quantity of a map"},
		{"en", "x=length&y=length", 422, "chosen for both directions"},
		{"de", "x=length&x0=much", 422, "much"},
		{"en", "own=5+kg&limits=on", 422, "own rating"},
	} {
		res, body := s.ask(t, "GET", "/map?"+c.query, "", "Accept-Language: "+c.lang)
		if res.StatusCode != c.status || !strings.Contains(body, c.shows) {
			t.Errorf("%s %s: %d, want %d with %q", c.lang, c.query, res.StatusCode, c.status, c.shows)
		}
		if c.status == 422 && !strings.Contains(body, "<form") {
			t.Errorf("%s: the form is gone", c.query)
		}
	}
}

// A place that a pointer chose leads to the fall there.
func TestPlaceOnTheMapLeadsToItsFall(t *testing.T) {
	t.Parallel()
	s := shared(t)
	for query, want := range map[string]map[string]string{
		"pointx=0.25&pointy=0.5":                            {"fall": "0.825 m", "length": "1.65 m"},
		"pointx=0&pointy=0":                                 {"fall": "0 m", "length": "0.3 m"},
		"x=rig-stiffness&y=slack&pointx=0.5&pointy=0.7":     {"rig": "2 MN/m", "fall": "0.7 m"},
		"x=mass&y=fall-height&length=2+m&pointx=1&pointy=1": {"mass": "160 kg", "fall": "4 m", "length": "2 m"},
	} {
		res, _ := s.ask(t, "GET", "/map/fall?"+query, "")
		to, err := url.Parse(res.Header.Get("Location"))
		if err != nil || res.StatusCode != 303 || to.Path != "/model" {
			t.Fatalf("%s: %d %v", query, res.StatusCode, to)
		}
		for k, v := range want {
			if got := to.Query().Get(k); got != v {
				t.Errorf("%s: %s %q, want %q", query, k, got, v)
			}
		}
	}
	for _, bad := range []string{"pointx=2&pointy=0", "pointx=NaN&pointy=0", "", "pointx=0.1"} {
		if res, _ := s.ask(t, "GET", "/map/fall?"+bad, ""); res.StatusCode != 422 {
			t.Errorf("%q: %d", bad, res.StatusCode)
		}
	}
}

func TestMapAsFiles(t *testing.T) {
	t.Parallel()
	s := shared(t)
	for path, want := range map[string][3]string{
		"/map/drawing.svg?x1=1":        {"image/svg+xml", `attachment; filename="map.svg"`, "starting values, not ratings"},
		"/map/grid.csv?material=bogus": {"text/html; charset=utf-8", "", "no starting values for"},
		"/map/grid.csv":                {"text/csv; charset=utf-8", `attachment; filename="map.csv"`, "among the dropped falls"},
	} {
		res, body := s.ask(t, "GET", path, "")
		if res.Header.Get("Content-Type") != want[0] || res.Header.Get("Content-Disposition") != want[1] || !strings.Contains(body, want[2]) {
			t.Errorf("%s: %v", path, res.Header)
		}
	}
	_, body := s.ask(t, "GET", "/api/map?limits=on&limit=energy+absorber", "")
	var m foresee.Map
	if err := json.Unmarshal([]byte(body), &m); err != nil {
		t.Fatal(err)
	}
	if len(m.Limits) != 1 || len(m.Cautions) == 0 || len(m.Drops) != 24 || m.Dropped.Shown != 24 || len(m.Peak) != len(m.Up.Values) || len(m.Peak[0]) != len(m.Across.Values) || m.Starting != "polyester-webbing" {
		t.Errorf("%d limits, %d drops, %+v", len(m.Limits), len(m.Drops), m.Dropped)
	}
	for _, d := range m.Drops {
		if d.Across < 0.4 || d.Across > 1.6 || d.Up != 0.9 || (d.Outcome == "broke") != d.LowerBound {
			t.Errorf("%+v", d)
		}
	}
}

// A click on the map opens that very fall; the table does the same by keys; both widths of the map work.
func TestMapByPointerAndKeys(t *testing.T) {
	t.Parallel()
	ctx := browser(t)
	if ctx == nil {
		return
	}
	s := shared(t)
	see(t, ctx, chromedp.Navigate(s.url+"/map"))
	until(t, ctx, `location.pathname === "/map" && document.readyState === "complete"`)
	for _, width := range []int64{1280, 400} {
		see(t, ctx, chromedp.EmulateViewport(width, 900))
		see(t, ctx, chromedp.Navigate(s.url+"/map"))
		until(t, ctx, `location.pathname === "/map" && document.readyState === "complete"`)
		if wide := js[int](t, ctx, `document.documentElement.scrollWidth`); int64(wide) > width {
			t.Errorf("%d px wide on a screen of %d", wide, width)
		}
		if n := js[int](t, ctx, `[...document.querySelectorAll("svg.over")].filter((x) => x.getBoundingClientRect().width > 0).length`); n != 1 {
			t.Errorf("%d maps on a screen of %d", n, width)
		}
		// The middle of the seventh of 24 columns of 0 to 2, and of the third of 8.
		place, want := ".wideonly .over a:nth-child(175) rect", 2*6.5/24
		if width < 600 {
			place, want = ".slimonly .over a:nth-child(19) rect", 2*2.5/8
		}
		leave(t, ctx)
		see(t, ctx, chromedp.Click(place))
		until(t, ctx, `location.pathname === "/model" && document.readyState === "complete"`)
		if got := js[float64](t, ctx, `parseFloat(new URLSearchParams(location.search).get("fall")) / parseFloat(new URLSearchParams(location.search).get("length"))`); math.Abs(got-want) > 0.02 {
			t.Errorf("width %d: the click leads to fall factor %g, want %g", width, got, want)
		}
		back(t, ctx, "/map")
	}
	js[bool](t, ctx, `(document.querySelector("table.falls tbody a").focus(), true)`)
	see(t, ctx, chromedp.KeyEvent("\r"))
	until(t, ctx, `location.pathname === "/model" && new URLSearchParams(location.search).get("length") === "0.3 m" && document.readyState === "complete"`)
	if back := js[string](t, ctx, `document.querySelector("#onmap").getAttribute("href")`); !strings.HasPrefix(back, "/map?") {
		t.Error(back)
	}
}
