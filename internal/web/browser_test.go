package web_test

import (
	"context"
	"encoding/json"
	"fmt"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"github.com/hardcatch/hardcatch/internal/app"
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/view"
	"github.com/hardcatch/hardcatch/internal/waittest"
)

// chrome is the one headless Chromium of the package; TestMain ends it.
var chrome struct {
	once    sync.Once
	ctx     context.Context
	stop    context.CancelFunc
	missing bool
	opts    []chromedp.ExecAllocatorOption
	err     error
}

func startChrome() {
	path := ""
	for _, name := range []string{"chromium", "chromium-browser", "google-chrome", "chrome"} {
		if p, err := exec.LookPath(name); err == nil {
			path = p
			break
		}
	}
	if chrome.missing = path == ""; chrome.missing {
		return
	}
	opts := []chromedp.ExecAllocatorOption{chromedp.ExecPath(path), chromedp.Headless, chromedp.Flag("disable-quic", true), chromedp.Flag("disable-background-networking", true), chromedp.WindowSize(1280, 900),
		// What is not in front works as if it were: several tests share the browser.
		chromedp.Flag("disable-background-timer-throttling", true), chromedp.Flag("disable-backgrounding-occluded-windows", true), chromedp.Flag("disable-renderer-backgrounding", true)}
	if os.Geteuid() == 0 {
		opts = append(opts, chromedp.NoSandbox)
	}
	chrome.opts = opts
	ctx, stopProcess := chromedp.NewExecAllocator(context.Background(), opts...)
	ctx, stopTab := chromedp.NewContext(ctx)
	chrome.ctx, chrome.stop = ctx, func() { stopTab(); stopProcess() }
	_, chrome.err = chromedp.Run(ctx, chromedp.Location()) // starts it
}

// ownBrowser is a Chromium of its own, for a day whose times another test's window must not delay.
func ownBrowser(t testing.TB) context.Context {
	t.Helper()
	if browser(t) == nil {
		return nil
	}
	ctx, stop := chromedp.NewExecAllocator(context.Background(), chrome.opts...)
	t.Cleanup(stop)
	ctx, stopTime := context.WithTimeout(ctx, 8*time.Minute)
	t.Cleanup(stopTime)
	ctx, stopTab := chromedp.NewContext(ctx)
	t.Cleanup(stopTab)
	return ctx
}

// browser is a window of its own in the headless Chromium, with nothing in it from another test. A machine without one must say that it
// means to go without.
func browser(t testing.TB) context.Context {
	t.Helper()
	chrome.once.Do(startChrome)
	if chrome.missing {
		if os.Getenv("HARDCATCH_NO_BROWSER") == "1" {
			t.Log("NOT TESTED: no Chromium on this machine, and HARDCATCH_NO_BROWSER=1 allows that")
			return nil
		}
		t.Fatal("no Chromium on this machine: install it (apt-get install chromium), or set HARDCATCH_NO_BROWSER=1 to go without these tests")
	}
	if chrome.err != nil {
		t.Fatal(chrome.err)
	}
	ctx, stopTime := context.WithTimeout(chrome.ctx, 8*time.Minute)
	t.Cleanup(stopTime)
	ctx, stopTab := chromedp.NewContext(ctx, chromedp.WithNewBrowserContext())
	t.Cleanup(stopTab)
	see(t, ctx, chromedp.EmulateViewport(1280, 900))
	if _, err := chromedp.Call(ctx, emulation.SetFocusEmulationEnabled, emulation.SetFocusEmulationEnabledParams{Enabled: true}); err != nil {
		t.Fatal(err)
	}
	return ctx
}

// see runs steps in the browser.
func see(t testing.TB, ctx context.Context, steps ...chromedp.Action[chromedp.Void]) {
	t.Helper()
	if err := chromedp.Do(ctx, steps...); err != nil {
		t.Fatal(err)
	}
}

// js is what an expression of the page gives.
func js[T any](t testing.TB, ctx context.Context, expression string) T {
	t.Helper()
	v, err := chromedp.Run(ctx, chromedp.Evaluate[T](expression, chromedp.EvalAwaitPromise))
	if err != nil {
		t.Fatalf("%s: %v", expression, err)
	}
	return v
}

// until waits for an expression to become true.
func until(t testing.TB, ctx context.Context, expression string) {
	t.Helper()
	var err error
	waittest.Until(t, func() string {
		where, _ := chromedp.Run(ctx, chromedp.Location())
		return fmt.Sprintf("%s at %s (%v)", expression, where, err)
	}, func() bool {
		var v bool
		v, err = chromedp.Run(ctx, chromedp.Evaluate[bool]("!!("+expression+")"))
		return err == nil && v
	})
}

// leave marks the page in the browser before it is left. A page that the browser had put away keeps the mark when the way leads back to
// it, and then loads itself anew; whoever comes back waits until the mark is gone.
func leave(t testing.TB, ctx context.Context) {
	t.Helper()
	js[bool](t, ctx, `window.left = true`)
}

// back goes back to a page left before, and waits until it is the one that stays.
func back(t testing.TB, ctx context.Context, path string) {
	t.Helper()
	see(t, ctx, chromedp.NavigateBack())
	until(t, ctx, fmt.Sprintf(`location.pathname === %q && document.readyState === "complete" && !window.left`, path))
}

// settled waits until a page's chart is drawn, where it has one.
func settled(t *testing.T, ctx context.Context) {
	t.Helper()
	until(t, ctx, `document.readyState === "complete" && (!document.querySelector(".chart") || document.querySelector(".chart .uplot canvas"))`)
}

// themed opens a page in a theme and a language.
func themed(t *testing.T, ctx context.Context, s started, path, theme, lang string) {
	t.Helper()
	see(t, ctx, chromedp.Navigate(s.url+"/help"))
	back := url.QueryEscape(path)
	js[string](t, ctx, `(async () => (await fetch("/look", {method: "POST", headers: {"Content-Type": "application/x-www-form-urlencoded"}, body: "theme=`+theme+`&language=`+lang+`&back=`+back+`"})).url)()`)
	see(t, ctx, chromedp.Navigate(s.url+path))
	settled(t, ctx)
	if got := js[string](t, ctx, `document.documentElement.dataset.theme + document.documentElement.lang`); got != theme+lang {
		t.Fatalf("%s is shown in %s, want %s", path, got, theme+lang)
	}
}

type violation struct {
	ID    string   `json:"id"`
	Help  string   `json:"help"`
	Nodes []string `json:"nodes"`
}

// Every page in every theme has no violation that axe-core finds by the rules of WCAG 2.2 A and AA and its best
// practices. Pictures go to dist/pages, for people to look at.
func TestPagesAreAccessible(t *testing.T) {
	axe, err := os.ReadFile("testdata/axe-4.14.0.min.js")
	if err != nil {
		t.Fatal(err)
	}
	folder := filepath.Join("..", "..", "dist", "pages")
	if err := os.MkdirAll(folder, 0o755); err != nil {
		t.Fatal(err)
	}
	picture := func(t *testing.T, ctx context.Context, name string) {
		t.Helper()
		shot, err := chromedp.Run(ctx, chromedp.FullScreenshot(100))
		if err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(folder, name), shot, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	for theme, lang := range map[string]string{"light": "en", "dark": "de", "sun": "fr"} {
		t.Run(theme, func(t *testing.T) {
			t.Parallel()
			s, ctx := shared(t), browser(t)
			if ctx == nil {
				return
			}
			for i, path := range append([]string{"/cells/1"}, everyPage...) {
				themed(t, ctx, s, path, theme, lang)
				for _, v := range violations(t, ctx, string(axe)) {
					t.Errorf("%s: %s: %s\n  %s", path, v.ID, v.Help, strings.Join(v.Nodes, "\n  "))
				}
				name := strings.Trim(strings.NewReplacer("/", "-", "?", "-", "&", "-", "=", "-").Replace(strings.SplitN(path, "?", 2)[0]), "-")
				picture(t, ctx, fmt.Sprintf("%s-%02d-%s.png", theme, i, name))
			}
			// What opens on demand, and a narrow screen.
			if theme == "light" {
				themed(t, ctx, s, "/drops/d02", "light", "en")
				see(t, ctx, chromedp.KeyEvent("?"))
				until(t, ctx, `document.querySelector("dialog[open]")`)
				for _, v := range violations(t, ctx, string(axe)) {
					t.Errorf("list of keys: %s: %s %v", v.ID, v.Help, v.Nodes)
				}
			}
			themed(t, ctx, s, "/drops/d07", theme, "de")
			js[bool](t, ctx, `(document.querySelector("details.view").open = true, document.querySelector("#hand").open = true)`)
			for _, v := range violations(t, ctx, string(axe)) {
				t.Errorf("opened: %s: %s %v", v.ID, v.Help, v.Nodes)
			}
			see(t, ctx, chromedp.EmulateViewport(360, 740))
			for _, path := range []string{"/", "/drops", "/drops/d07", "/model", "/map", "/comparison", "/checks"} {
				themed(t, ctx, s, path, theme, "de")
				if wide := js[int](t, ctx, `document.documentElement.scrollWidth`); wide > 360 {
					t.Errorf("%s: %d px wide on a screen of 360: %s", path, wide, js[string](t, ctx, `[...document.querySelectorAll("main *")].filter(e => e.getBoundingClientRect().right > 361 && !e.closest(".scroll")).slice(0, 6).map(e => e.tagName + "." + e.className + " " + e.textContent.slice(0, 40)).join("; ")`))
				}
				for _, v := range violations(t, ctx, string(axe)) {
					t.Errorf("narrow %s: %s: %s %v", path, v.ID, v.Help, v.Nodes)
				}
			}
			picture(t, ctx, "narrow-"+theme+".png")
		})
	}
}

// Nothing written in a drawing is smaller than 14 px, at any width.
func TestSmallestTextOfDrawings(t *testing.T) {
	t.Parallel()
	ctx := browser(t)
	if ctx == nil {
		return
	}
	s := shared(t)
	for _, width := range []int64{390, 1024, 1440} {
		see(t, ctx, chromedp.EmulateViewport(width, 844))
		for _, path := range []string{"/", "/comparison", "/checks", "/cells/1", "/map"} {
			see(t, ctx, chromedp.Navigate(s.url+path))
			settled(t, ctx)
			found := js[[]float64](t, ctx, `(() => { for (const d of document.querySelectorAll("details")) d.open = true;
  const sizes = [...document.querySelectorAll("main svg text")].filter(e => e.getClientRects().length).map(e => parseFloat(getComputedStyle(e).fontSize) * e.getScreenCTM().a);
  return [sizes.length, Math.min(...sizes)]; })()`)
			if found[0] == 0 || found[1] < 13.99 {
				t.Errorf("%s, %d px wide: %g texts, the smallest %.2f px", path, width, found[0], found[1])
			}
		}
	}
}

func violations(t *testing.T, ctx context.Context, axe string) []violation {
	t.Helper()
	// Evaluated by the debugger, so that the policy of the page stays as strict as it is.
	js[bool](t, ctx, axe+";\ntrue")
	text := js[string](t, ctx, `axe.run(document, {runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]}).then(r => JSON.stringify(r.violations.map(v => ({id: v.id, help: v.help, nodes: v.nodes.slice(0, 4).map(n => n.html.slice(0, 160) + " :: " + n.failureSummary)}))))`)
	var out []violation
	if err := json.Unmarshal([]byte(text), &out); err != nil {
		t.Fatal(err)
	}
	return out
}

// The day's decisions by keys alone; the back button and deep links lead where they should.
func TestKeysDecideAndLeadOn(t *testing.T) {
	t.Parallel()
	ctx := browser(t)
	if ctx == nil {
		return
	}
	path := demonstration(t)
	s := start(t, path)
	at := func(want string) {
		t.Helper()
		until(t, ctx, fmt.Sprintf("location.pathname === %q && document.readyState === 'complete'", want))
	}
	outcome := func(id string, n int) drop.Decision {
		t.Helper()
		v, err := view.DropIn(context.Background(), s.app, path, id)
		if err != nil || len(v.Decisions) != n {
			t.Fatalf("%s: %d decisions, want %d (%v)", id, len(v.Decisions), n, err)
		}
		return v.Decisions[n-1]
	}
	see(t, ctx, chromedp.Navigate(s.url+"/"))
	for _, p := range [][2]string{{"4", "/model"}, {"5", "/rig"}, {"1", "/"}, {"3", "/drops"}} {
		see(t, ctx, chromedp.KeyEvent(p[0]))
		at(p[1])
	}
	see(t, ctx, chromedp.KeyEvent("jj\r"))
	at("/drops/d02")
	settled(t, ctx)
	// What is decided is not confirmed again: the key does nothing.
	see(t, ctx, chromedp.KeyEvent("c"))
	js[string](t, ctx, `sessionStorage.setItem("hardcatch-by", "cd"); for (const f of document.querySelectorAll("[data-keep=by]")) f.value = "cd"; ""`)
	outcome("d02", 1)
	see(t, ctx, chromedp.KeyEvent("v"))
	until(t, ctx, `document.activeElement.id === "reason"`)
	// The debugger types a letter even where the page has taken its key, which a keyboard does not.
	js[string](t, ctx, `document.activeElement.value = ""`)
	see(t, ctx, chromedp.KeyEvent("the vuch release stuck\r")) // letters in a field do nothing else
	until(t, ctx, `document.querySelector(".verdictline").textContent.includes("void")`)
	if d := outcome("d02", 2); d.Outcome != drop.Void || d.Reason != "the vuch release stuck" {
		t.Errorf("%+v", d)
	}
	settled(t, ctx)
	see(t, ctx, chromedp.KeyEvent("c"), chromedp.KeyEvent("u"))
	until(t, ctx, `document.activeElement.id === "backwhy"`)
	outcome("d02", 2)
	js[string](t, ctx, `document.activeElement.value = ""`)
	see(t, ctx, chromedp.KeyEvent("it ran free\r"))
	until(t, ctx, `location.search === "?done=withdrawn"`)
	if d := outcome("d02", 3); d.By != "cd" || d.Outcome == drop.Void {
		t.Errorf("%+v", d)
	}
	settled(t, ctx)
	leave(t, ctx)
	see(t, ctx, chromedp.KeyEvent("n"))
	at("/drops/d03")
	settled(t, ctx)
	back(t, ctx, "/drops/d02")
	// Single keys can be turned off.
	js[string](t, ctx, `(async () => (await fetch("/look", {method: "POST", headers: {"Content-Type": "application/x-www-form-urlencoded"}, body: "keys=off"})).url)()`)
	see(t, ctx, chromedp.Navigate(s.url+"/drops/d02"))
	settled(t, ctx)
	see(t, ctx, chromedp.KeyEvent("cn?"))
	// What the keys would have asked of the server was asked before this, and what they would have opened was fetched the same way.
	js[string](t, ctx, `(async () => { for (let i = 0; i < 2; i++) await (await fetch("/help")).text(); return "answered"; })()`)
	outcome("d02", 3)
	if p := js[string](t, ctx, "location.pathname"); p != "/drops/d02" || js[bool](t, ctx, `!!document.querySelector("dialog[open]")`) {
		t.Errorf("keys that are off lead to %s", p)
	}
}

// Zoom by keys and by address; the page says when another program has changed the campaign.
func TestChartAndNotice(t *testing.T) {
	t.Parallel()
	ctx := browser(t)
	if ctx == nil {
		return
	}
	path := demonstration(t)
	s := start(t, path)
	see(t, ctx, chromedp.Navigate(s.url+"/drops/d02"))
	settled(t, ctx)
	until(t, ctx, `document.querySelectorAll("#chart-force .marker").length >= 3 && document.querySelector("#readout").textContent`)
	see(t, ctx, chromedp.Focus("#trace"), chromedp.KeyEvent("+"))
	until(t, ctx, `location.search.includes("from=")`)
	address := js[string](t, ctx, "location.search")
	see(t, ctx, chromedp.KeyEvent(kb.ArrowRight))
	until(t, ctx, fmt.Sprintf("location.search.includes('from=') && location.search !== %q", address))
	address = js[string](t, ctx, "location.search")
	see(t, ctx, chromedp.Navigate(s.url+"/drops/d02"+address))
	settled(t, ctx)
	until(t, ctx, `document.querySelector("#readout").textContent`)
	q, err := url.ParseQuery(address[1:])
	if err != nil {
		t.Fatal(err)
	}
	// The page has been told where the history stands: whoever listens is told at once, one after the other.
	js[bool](t, ctx, `new Promise((told) => { const e = new EventSource("/api/events"); e.addEventListener("head", () => { e.close(); told(true); }); })`)
	if js[string](t, ctx, "location.search") != address || q.Get("from") == "" {
		t.Error("the address of a stretch does not stay")
	}
	if js[bool](t, ctx, `!document.querySelector(".fresh").hidden`) {
		t.Error("the page says that the campaign has changed, and it has not")
	}
	if _, err := app.Decide(context.Background(), s.app, path, drop.Decision{Drop: "d05", Outcome: drop.Void, Reason: "elsewhere", By: "bench"}); err != nil {
		t.Fatal(err)
	}
	until(t, ctx, `!document.querySelector(".fresh").hidden`)
	see(t, ctx, chromedp.KeyEvent("\x1b"))
	js[bool](t, ctx, `(document.activeElement.blur(), true)`)
	see(t, ctx, chromedp.KeyEvent("r"))
	until(t, ctx, `document.readyState === "complete" && document.querySelector(".fresh").hidden`)
	// Sliders ask the server.
	see(t, ctx, chromedp.Navigate(s.url+"/model"))
	settled(t, ctx)
	before := js[string](t, ctx, `document.querySelector("#a-peak").textContent`)
	js[bool](t, ctx, `(() => { const r = document.querySelector("[data-for=fallheight]"); r.value = 2; return r.dispatchEvent(new Event("input", {bubbles: true})); })()`)
	until(t, ctx, fmt.Sprintf(`document.querySelector("#a-peak").textContent !== %q && location.search.includes("fall=2+m")`, before))
}

// A marker dragged in the chart fills its field; with a reason the drop is reduced again, and taking the move back brings it back.
func TestMarkerIsDragged(t *testing.T) {
	t.Parallel()
	ctx := browser(t)
	if ctx == nil {
		return
	}
	path := demonstration(t)
	s := start(t, path)
	taut := func() float64 {
		t.Helper()
		v, err := view.DropIn(context.Background(), s.app, path, "d02")
		if err != nil {
			t.Fatal(err)
		}
		return v.Reduction.Taut.SI()
	}
	before := taut()
	see(t, ctx, chromedp.Navigate(s.url+"/drops/d02"))
	settled(t, ctx)
	until(t, ctx, `document.querySelectorAll("#chart-force .marker").length >= 3 && document.querySelector("#readout").textContent`)
	js[bool](t, ctx, `(document.querySelector("#trace-h").scrollIntoView(), true)`)
	at := js[[]float64](t, ctx, `(r => [r.left + r.width / 2, r.top + r.height / 2])(document.querySelector("#chart-force .marker.m0").getBoundingClientRect())`)
	see(t, ctx, chromedp.DragAndDropXY(at[0], at[1], at[0]+40, at[1], 5))
	until(t, ctx, `document.querySelector("#hand").open && document.querySelector("#taut").value.endsWith(" s")`)
	if q := js[string](t, ctx, "location.search"); q != "" {
		t.Errorf("dragging a marker zooms: %s", q)
	}
	see(t, ctx, chromedp.SendKeys("#why", "the rise begins later\r"))
	until(t, ctx, `location.search === "?done=moved"`)
	moved := taut()
	if moved <= before || moved > before+0.01 {
		t.Errorf("taut at %v, before %v", moved, before)
	}
	settled(t, ctx)
	see(t, ctx, chromedp.Click(`form[action$="/events/withdraw"] button`))
	until(t, ctx, `location.search === "?done=events-withdrawn"`)
	if taut() != before {
		t.Errorf("withdrawn, taut is %v, before %v", taut(), before)
	}
	// The peak by its label, where its line stands next to the one of the break.
	settled(t, ctx)
	until(t, ctx, `document.querySelectorAll("#chart-force .marker").length >= 3 && document.querySelector("#readout").textContent`)
	js[bool](t, ctx, `(document.querySelector("#trace-h").scrollIntoView(), true)`)
	at = js[[]float64](t, ctx, `(r => [r.left + r.width / 2, r.top + r.height / 2])(document.querySelector("#chart-force .marker.m1 span").getBoundingClientRect())`)
	see(t, ctx, chromedp.DragAndDropXY(at[0], at[1], at[0]-20, at[1], 5))
	until(t, ctx, `document.querySelector("#hand").open && document.querySelector("#peak").value.endsWith(" s")`)
	see(t, ctx, chromedp.SendKeys("#why", "it rings before it parts\r"))
	until(t, ctx, `location.search === "?done=moved"`)
	if v, err := view.DropIn(context.Background(), s.app, path, "d02"); err != nil || v.Reduction.Alone == nil || v.Reduction.PeakTime >= v.Reduction.Alone.PeakTime || v.Reduction.PeakU < v.Reduction.Alone.PeakU {
		t.Errorf("%v %+v", err, v.Reduction.Alone)
	}
	// A stretch dragged in the chart is shown.
	settled(t, ctx)
	until(t, ctx, `document.querySelector("#readout").textContent`)
	js[bool](t, ctx, `(document.querySelector("#trace-h").scrollIntoView(), true)`)
	at = js[[]float64](t, ctx, `(r => [r.left + r.width * 0.4, r.top + r.height / 2])(document.querySelector("#chart-force .u-over").getBoundingClientRect())`)
	see(t, ctx, chromedp.DragAndDropXY(at[0], at[1], at[0]+150, at[1], 5))
	until(t, ctx, `location.search.includes("from=") && location.search.includes("to=")`)
}
