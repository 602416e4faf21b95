package web_test

import (
	"context"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"github.com/hardcatch/hardcatch/internal/app"
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/view"
	"github.com/hardcatch/hardcatch/internal/waittest"
)

// What the twelve drops of the day end as. The simulated rig lets every third part.
var dayEnds = []struct {
	outcome   drop.Outcome
	place     drop.Place
	decisions int
}{
	{drop.Held, "", 1}, {drop.Void, "", 1}, {drop.Broke, drop.Knot, 2}, {drop.Held, "", 5}, {drop.Held, "", 1}, {drop.Broke, "", 1},
	{drop.Held, "", 1}, {drop.Held, "", 1}, {drop.Broke, drop.Body, 2}, {drop.Held, "", 1}, {drop.Held, "", 1}, {drop.Broke, drop.Stitching, 2},
}

const (
	phaseIs = `document.querySelector("#live").dataset.phase === "%s"`
	decided = `document.querySelector("#outcome").textContent.includes("Decided: %s")`
	alerts  = `document.querySelector("#livealerts").textContent`
)

// A whole day through the pages on the simulated rig, by a finger and by a keyboard alone: twelve drops, one voided,
// one taken back, one triggered by hand, one whose break is photographed, one while the connection is lost; then
// results, report and proof of the logbook.
func TestDay(t *testing.T) {
	for _, u := range []*user{{name: "finger", touch: true}, {name: "keyboard"}} {
		t.Run(u.name, func(t *testing.T) {
			t.Parallel()
			if u.ctx = ownBrowser(t); u.ctx == nil {
				return
			}
			d := &dayOf{user: u}
			d.s, d.w = aDay(t)
			d.run(t)
		})
	}
}

type dayOf struct {
	*user
	s   started
	w   *tower
	ids []string // drops in the order taken
}

func (d *dayOf) run(t *testing.T) {
	see(t, d.ctx, chromedp.EmulateViewport(1280, 900), chromedp.Navigate(d.s.url+"/"))
	settled(t, d.ctx)
	d.shot(t, "campaign with a plan")
	if text := js[string](t, d.ctx, `document.querySelector(".tally").innerText.replace(/\s+/g, " ")`); !strings.HasPrefix(text, "0 trial drops") || !strings.Contains(text, "0 to decide 12 planned") {
		t.Errorf("before the first drop the campaign counts %s", text)
	}
	d.goTo(t, "/live")
	d.sign(t)
	for i := range dayEnds {
		d.prepare(t, i)
		d.fall(t, i)
		d.decide(t, i)
		d.press(t, "n", map[bool]string{false: fmt.Sprintf(phaseIs, "preparing"), true: `document.querySelector("h1").textContent.includes("Nothing planned")`}[i == len(dayEnds)-1])
	}
	d.shot(t, "nothing planned is left")
	d.later(t, d.ids[7])
	if !d.touch {
		d.byKeysAlone(t, d.ids[0])
	}
	d.ends(t)
	d.counts(t)
	d.everywhere(t)
	d.report(t)
	v, err := app.Prove(context.Background(), d.s.app, d.s.path, true, nil)
	if err != nil || !v.Holds || v.Drops != 12 || v.Traces != 12 || v.Planned != 0 || v.Photos != 1 || len(v.Differ) != 0 {
		t.Errorf("%+v %v", v, err)
	}
}

// accessible holds what is shown against axe-core.
func (d *dayOf) accessible(t *testing.T, what string) {
	t.Helper()
	if d.touch {
		return // the same pages as by keyboard
	}
	axe, err := os.ReadFile("testdata/axe-4.14.0.min.js")
	if err != nil {
		t.Fatal(err)
	}
	for _, v := range violations(t, d.ctx, string(axe)) {
		t.Errorf("%s: %s: %s\n  %s", what, v.ID, v.Help, strings.Join(v.Nodes, "\n  "))
	}
}

// sign types who works at the tower.
func (d *dayOf) sign(t *testing.T) {
	t.Helper()
	if d.touch {
		d.tap(t, "#by")
	} else {
		d.tabTo(t, "#by")
	}
	d.strike(t, "cd", false)
	d.strike(t, kb.Escape, false)
}

// prepare answers the checklist by keys and arms.
func (d *dayOf) prepare(t *testing.T, i int) {
	until(t, d.ctx, `document.querySelector("#forecast") && document.querySelector("#forecast").textContent.includes("break probability")`)
	t.Helper()
	at := func(k int) string {
		return fmt.Sprintf(`document.querySelector('[data-press="%d"] strong').textContent`, k)
	}
	// The program answers itself once the mass of the drop before is off and the zero stands.
	until(t, d.ctx, at(5)+` === "done"`)
	d.ids = append(d.ids, regexp.MustCompile(`drop (\S+),`).FindStringSubmatch(js[string](t, d.ctx, `document.querySelector("h1").textContent`))[1])
	if i == 0 {
		if d.touch {
			d.looks(t, d.s, "prepare")
		}
		d.press(t, "a", alerts+`.includes("not armed: answer area clear")`)
	}
	for k := 1; k <= 7; k++ {
		if js[string](t, d.ctx, at(k)) == "open" {
			d.press(t, strconv.Itoa(k), at(k)+` === "done"`)
		}
	}
	if i == 0 {
		d.shot(t, "every question answered")
	}
	d.press(t, "a", fmt.Sprintf(phaseIs, "armed"))
	if i == 0 && d.touch {
		d.looks(t, d.s, "armed")
	}
}

// watchEarly notes the provisional peak that the page shows before the record is complete.
const watchEarly = `(() => { window.early = "";
  new MutationObserver(() => { const p = document.querySelector("#prov"); if (p && !p.hidden) window.early = p.textContent; }).observe(document.querySelector("main"), {subtree: true, childList: true, attributes: true, characterData: true});
  return true; })()`

// fall lets the mass go and waits for the peak.
func (d *dayOf) fall(t *testing.T, i int) {
	t.Helper()
	waittest.Until(t, waittest.For("the end of what the rig plays"), func() bool { return !d.w.player.Busy() })
	switch i {
	case 4:
		d.press(t, "m", `document.querySelector("#f-state").textContent === "RECORDING"`)
	case 6:
		d.w.unplug(t)
		until(t, d.ctx, alerts+`.includes("disconnected") && document.querySelector("#f-state").textContent === "NO SAMPLES ARRIVE" && document.querySelector("#f-max").textContent === "–"`)
		if !js[bool](t, d.ctx, `(r => r.height > 0 && r.top >= 0 && r.bottom <= innerHeight)(document.querySelector("#livealerts").getBoundingClientRect())`) {
			t.Error("that the connection is lost stands out of sight")
		}
		d.shot(t, "connection lost")
		d.accessible(t, "connection lost")
		d.w.plug()
		until(t, d.ctx, alerts+`.includes("the source was back") && document.querySelector("#f-state").textContent === "ARMED"`)
		d.shot(t, "connection regained")
	}
	js[bool](t, d.ctx, watchEarly)
	d.w.player.Release()
	until(t, d.ctx, `window.early`)
	if i == 0 {
		d.shot(t, "provisional peak")
		d.accessible(t, "provisional peak")
	}
	until(t, d.ctx, `document.querySelector("#live").dataset.phase === "reading"`)
	if !js[bool](t, d.ctx, `!!document.querySelector("#big")`) {
		t.Fatalf("drop %d shows no peak: %s", i+1, js[string](t, d.ctx, `document.querySelector("main").innerText`))
	}
	early, peak := d.number(t, `window.early`), d.number(t, `document.querySelector("#big").textContent`)
	// The filter takes something off a short peak; the zero of the simulated cell is 35 N.
	if math.Abs(early-peak) > 0.05*peak {
		t.Errorf("drop %d: the provisional peak was %v kN, the peak is %v kN", i+1, early, peak)
	}
	if i == 0 && d.touch {
		d.looks(t, d.s, "read")
	}
}

func (d *dayOf) number(t *testing.T, expression string) float64 {
	t.Helper()
	text := js[string](t, d.ctx, expression)
	v, err := strconv.ParseFloat(strings.Trim(text, "≈≥ "), 64)
	if err != nil {
		t.Fatalf("%q is no peak", text)
	}
	return v
}

// decide settles the drop that is shown.
func (d *dayOf) decide(t *testing.T, i int) {
	t.Helper()
	is := func(o string) string { return fmt.Sprintf(decided, o) }
	proposed := `document.querySelector("#outcome").textContent.includes("Proposed:")`
	switch i {
	case 1:
		d.reason(t, "the mass touched the guide", is("void"))
		d.shot(t, "voided with a reason")
	case 2:
		d.press(t, "c", is("broke"))
		d.shot(t, "where did it break")
		d.accessible(t, "where it broke")
		d.place(t, "knot")
		d.photograph(t, d.ids[i])
	case 3:
		d.press(t, "c", is("held"))
		d.takeBack(t, proposed)
		d.reason(t, "it swung", is("void"))
		d.takeBack(t, proposed)
		d.press(t, "c", is("held"))
	case 4: // the record of a drop triggered by hand may end before the tail tells its outcome
		d.press(t, map[bool]string{true: "c", false: "h"}[js[bool](t, d.ctx, proposed)], is("held"))
	case 5:
		d.press(t, "c", is("broke"))
	case 7: // later, on the page of the drop
	case 8, 11:
		if d.touch {
			d.press(t, "c", is("broke"))
		} else {
			d.press(t, "b", is("broke"))
		}
		d.place(t, map[int]string{8: "body", 11: "stitching"}[i])
	default:
		d.press(t, "c", is("held"))
	}
	if i == 6 && !js[bool](t, d.ctx, alerts+`.includes("the source was back")`) {
		t.Error("the loss of the connection is no longer told at the drop it concerns")
	}
	if i == 7 && js[bool](t, d.ctx, alerts+`.includes("the source was back")`) {
		t.Error("the loss of the connection is still told at the next drop")
	}
}

// takeBack takes the decision back with a reason that is typed.
func (d *dayOf) takeBack(t *testing.T, then string) {
	t.Helper()
	if d.touch {
		d.tap(t, "#takeback summary")
		d.tap(t, "#backwhy")
	} else {
		d.strike(t, "u", false)
	}
	until(t, d.ctx, `document.activeElement.id === "backwhy"`)
	d.strike(t, "the wrong key\r", false)
	until(t, d.ctx, then)
}

// place says where it broke.
func (d *dayOf) place(t *testing.T, place string) {
	t.Helper()
	button := fmt.Sprintf(`form:has(input[name=place][value=%s]) button`, place)
	if d.touch {
		d.tap(t, button)
	} else {
		d.tabTo(t, button)
		d.strike(t, "\r", false)
	}
	until(t, d.ctx, fmt.Sprintf(`document.querySelector("#outcome").textContent.includes("(%s)")`, place))
}

// reason voids with a reason that is typed.
func (d *dayOf) reason(t *testing.T, text, then string) {
	t.Helper()
	if d.touch {
		d.tap(t, "#void summary")
		d.tap(t, "#why")
	} else {
		d.strike(t, "v", false)
	}
	until(t, d.ctx, `document.activeElement.id === "why"`)
	d.seesFocus(t)
	d.strike(t, text+"\r", false)
	until(t, d.ctx, then)
}

// photograph attaches a photo of the break on the page of the drop and comes back.
func (d *dayOf) photograph(t *testing.T, id string) {
	t.Helper()
	file := filepath.Join(t.TempDir(), "break.jpg")
	if err := os.WriteFile(file, photograph(t), 0o600); err != nil {
		t.Fatal(err)
	}
	if d.touch {
		d.tap(t, `a[data-press="p"]`)
	} else {
		d.strike(t, "p", false)
	}
	d.loaded(t, "/drops/"+id)
	if d.touch {
		see(t, d.ctx, chromedp.SetUploadFiles("#photo", []string{file}))
		see(t, d.ctx, chromedp.Click("#caption"))
		d.strike(t, "both ends at the knot", false)
		see(t, d.ctx, chromedp.Click(`#photos form button`))
	} else {
		d.strike(t, "f", false)
		until(t, d.ctx, `document.activeElement.id === "photo"`)
		d.choose(t, file)
		until(t, d.ctx, `document.querySelector("#photo").files.length === 1`)
		d.tabTo(t, "#caption")
		d.strike(t, "both ends at the knot\r", false)
	}
	until(t, d.ctx, `location.pathname === "/live" && location.search === "?done=photo-position" && document.querySelector("#outcome")`)
	settled(t, d.ctx)
	d.shot(t, "back from the photo")
	if d.touch {
		d.tap(t, `a[data-press="p"]`)
	} else {
		d.strike(t, "p", false)
	}
	d.loaded(t, "/drops/"+id)
	until(t, d.ctx, `document.querySelector(".photos img") && document.querySelector(".photos img").naturalWidth === 320`)
	settled(t, d.ctx)
	if !js[bool](t, d.ctx, `document.querySelector("#photos figcaption").textContent.includes("both ends at the knot (cd)")`) {
		t.Error(js[string](t, d.ctx, `document.querySelector("#photos").textContent`))
	}
	d.shot(t, "photo attached")
	d.accessible(t, "a drop with a photo")
	d.goTo(t, "/live")
	until(t, d.ctx, `document.querySelector("#outcome").textContent.includes("(knot)")`)
}

// later decides a drop on its own page, found by what is left to decide.
func (d *dayOf) later(t *testing.T, id string) {
	t.Helper()
	d.goTo(t, "/")
	if d.touch {
		see(t, d.ctx, chromedp.Click(`section[aria-labelledby=open] a`))
		d.loaded(t, "/drops/"+id)
		see(t, d.ctx, chromedp.Click(`#confirm button`))
	} else {
		d.tabTo(t, `section[aria-labelledby=open] a`)
		d.strike(t, "\r", false)
		d.loaded(t, "/drops/"+id)
		d.strike(t, "h", false)
		until(t, d.ctx, `document.activeElement.id === "reason"`)
		d.strike(t, "seen on the film\r", false)
	}
	until(t, d.ctx, `location.search === "?done=decided"`)
	settled(t, d.ctx)
	d.shot(t, "decided later")
}

// byKeysAlone does what else a day needs without a pointer: zoom, an event moved by hand and back, theme and language.
func (d *dayOf) byKeysAlone(t *testing.T, id string) {
	t.Helper()
	taut := func() float64 {
		t.Helper()
		v, err := view.DropIn(context.Background(), d.s.app, d.s.path, id)
		if err != nil {
			t.Fatal(err)
		}
		return v.Reduction.Taut.SI()
	}
	d.strike(t, "/", false)
	d.loaded(t, "/drops")
	until(t, d.ctx, `document.activeElement.id === "find"`)
	d.strike(t, kb.Escape+"j", false)
	until(t, d.ctx, `document.activeElement.matches("table.drops tbody th a")`)
	for js[string](t, d.ctx, `document.activeElement.textContent`) != id {
		d.strike(t, "j", false)
		d.seesFocus(t)
	}
	d.strike(t, "\r", false)
	d.loaded(t, "/drops/"+id)
	d.tabTo(t, "#trace")
	until(t, d.ctx, `document.querySelector("#readout").textContent`)
	d.strike(t, "+", false)
	until(t, d.ctx, `location.search.includes("from=")`)
	near := js[string](t, d.ctx, "location.search")
	d.strike(t, kb.ArrowRight, false)
	until(t, d.ctx, fmt.Sprintf(`location.search.includes("from=") && location.search !== %q`, near))
	d.shot(t, "zoomed by keys")
	d.strike(t, "0", false)
	until(t, d.ctx, `!location.search.includes("from=")`)

	before := taut()
	d.strike(t, "e", false)
	until(t, d.ctx, `document.activeElement.id === "taut"`)
	d.strike(t, strconv.FormatFloat(before+0.002, 'f', 5, 64)+" s", false)
	d.tabTo(t, "#why")
	d.strike(t, "the rise begins later", false)
	d.shot(t, "taut moved by hand")
	d.strike(t, "\r", false)
	until(t, d.ctx, `location.search === "?done=moved"`)
	if moved := taut(); math.Abs(moved-before-0.002) > 1e-5 {
		t.Errorf("taut at %v s, before %v s", moved, before)
	}
	settled(t, d.ctx)
	d.tabTo(t, `form[action$="/events/withdraw"] button`)
	d.strike(t, "\r", false)
	until(t, d.ctx, `location.search === "?done=events-withdrawn"`)
	if taut() != before {
		t.Errorf("withdrawn, taut is %v s, before %v s", taut(), before)
	}
	settled(t, d.ctx)

	theme := func(query, want string) {
		t.Helper()
		d.tabTo(t, "details.view > summary")
		d.strike(t, "\r", false)
		until(t, d.ctx, `document.querySelector("details.view").open`)
		d.tabTo(t, query)
		d.shot(t, "menu of theme and language")
		d.strike(t, "\r", false)
		until(t, d.ctx, want)
		settled(t, d.ctx)
	}
	theme(`button[name=theme][value=sun]`, `document.documentElement.dataset.theme === "sun"`)
	theme(`button[name=language][value=fr]`, `document.documentElement.lang === "fr"`)
	d.shot(t, "sunlight in French")
	theme(`button[name=language][value=en]`, `document.documentElement.lang === "en"`)
	d.strike(t, "t", false)
	until(t, d.ctx, `document.documentElement.dataset.theme !== "sun"`)
	settled(t, d.ctx)
}

// ends holds the decisions in the file against those made.
func (d *dayOf) ends(t *testing.T) {
	t.Helper()
	for i, want := range dayEnds {
		v, err := view.DropIn(context.Background(), d.s.app, d.s.path, d.ids[i])
		if err != nil || len(v.Decisions) != want.decisions {
			t.Errorf("drop %d, %s: %d decisions, want %d (%v): %+v", i+1, d.ids[i], len(v.Decisions), want.decisions, err, v.Decisions)
			continue
		}
		last := v.Decisions[len(v.Decisions)-1]
		if last.Outcome != want.outcome || last.Place != want.place || last.By != "cd" || v.Reduction == nil || len(v.Checklists) != 1 {
			t.Errorf("drop %d, %s: %+v, want %+v", i+1, d.ids[i], last, want)
		}
	}
}

// counts holds the numbers of the pages and of the API against each other.
func (d *dayOf) counts(t *testing.T) {
	t.Helper()
	want := map[drop.Outcome]int{}
	for _, e := range dayEnds {
		want[e.outcome]++
	}
	var campaign struct {
		Tally struct {
			Trials, Held, Broke, Slipped, Void, Undecided int
		} `json:"tally"`
	}
	var results view.Results
	for path, to := range map[string]any{"/api/campaign": &campaign, "/api/results": &results} {
		if err := json.Unmarshal([]byte(d.s.page(t, path)), to); err != nil {
			t.Fatal(err)
		}
	}
	if c := campaign.Tally; c.Trials != 12 || c.Held != want[drop.Held] || c.Broke != want[drop.Broke] || c.Void != want[drop.Void] || c.Slipped+c.Undecided != 0 {
		t.Errorf("the API counts %+v, want %v", c, want)
	}
	sum := map[drop.Outcome]int{}
	for _, c := range results.Cells {
		sum[drop.Held], sum[drop.Broke], sum[drop.Void] = sum[drop.Held]+c.Held, sum[drop.Broke]+c.Broke, sum[drop.Void]+c.Void
	}
	if len(results.Cells) != 2 || fmt.Sprint(sum) != fmt.Sprint(want) {
		t.Errorf("the cells count %v, want %v", sum, want)
	}
	d.goTo(t, "/")
	d.shot(t, "campaign after the day")
	for o, n := range want {
		if got := js[string](t, d.ctx, fmt.Sprintf(`document.querySelector('.tally li:has(a[href="/drops?outcome=%s"]) b').textContent`, o)); got != strconv.Itoa(n) {
			t.Errorf("the campaign page counts %s %s, want %d", got, o, n)
		}
	}
	column := func(name string) (n int) {
		return js[int](t, d.ctx, fmt.Sprintf(`(() => { const table = document.querySelector("section[aria-labelledby=cells] table"), at = [...table.querySelectorAll("thead th")].findIndex(h => h.textContent === %q);
  return [...table.querySelectorAll("tbody tr")].reduce((n, r) => n + Number(r.children[at].textContent), 0); })()`, name))
	}
	for o, n := range want {
		if got := column(string(o)); got != n {
			t.Errorf("the results page counts %d %s, want %d", got, o, n)
		}
	}
}

// everywhere looks at every page of the list once.
func (d *dayOf) everywhere(t *testing.T) {
	t.Helper()
	for _, p := range []string{"/comparison", "/checks", "/drops", "/model", "/map", "/limits", "/rig", "/logbook", "/report", "/"} {
		d.goTo(t, p)
		if n := js[int](t, d.ctx, `document.querySelectorAll("h1").length`); n != 1 {
			t.Errorf("%s has %d main headings", p, n)
		}
		d.shot(t, "page "+p)
	}
}

// report opens the report and saves it; both hold all drops and the photo.
func (d *dayOf) report(t *testing.T) {
	t.Helper()
	dir := d.downloads(t)
	d.goTo(t, "/report")
	if d.touch {
		see(t, d.ctx, chromedp.Click(`button[name=save]`))
	} else {
		d.tabTo(t, `button[name=save]`)
		d.strike(t, "\r", false)
	}
	text := string(saved(t, filepath.Join(dir, "report.html")))
	for _, id := range d.ids {
		if !strings.Contains(text, id) {
			t.Errorf("the report lacks drop %s", id)
		}
	}
	if !strings.Contains(text, "both ends at the knot") || !strings.Contains(text, "data:image/jpeg;base64,") {
		t.Error("the report lacks the photo")
	}
	if d.touch {
		see(t, d.ctx, chromedp.Click(`form[action="/report/page"] button.main`))
	} else {
		d.tabTo(t, `form[action="/report/page"] button.main`)
		d.strike(t, "\r", false)
	}
	until(t, d.ctx, `location.pathname === "/report/page" && document.readyState === "complete"`)
	if n := js[int](t, d.ctx, `[...document.images].filter(i => i.naturalWidth === 320).length`); n != 1 {
		t.Errorf("the report shows %d photos", n)
	}
	d.shot(t, "report")
}
