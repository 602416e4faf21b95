package web_test

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	chromium "github.com/chromedp/cdproto/browser"
	"github.com/chromedp/cdproto/dom"
	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"github.com/hardcatch/hardcatch/internal/waittest"
)

// user is a person at a page.
type user struct {
	ctx   context.Context
	touch bool   // a finger in a glove, else a keyboard alone
	name  string // of the day, for pictures
	n     int    // pictures taken
}

// strike presses keys as a keyboard does: a key that the page takes for itself types nothing.
func (u *user) strike(t *testing.T, keys string, shift bool) {
	t.Helper()
	for _, r := range keys {
		var down, up input.DispatchKeyEventParams
		for _, k := range kb.Encode(r) {
			switch k.Type {
			case kb.KeyChar:
				down.Text, down.UnmodifiedText = k.Text, k.UnmodifiedText
			case kb.KeyUp:
				up = *k
			default:
				text, plain := down.Text, down.UnmodifiedText
				down = *k
				down.Text, down.UnmodifiedText = text, plain
			}
		}
		if down.Text != "" {
			down.Type = input.DispatchKeyEventTypeKeyDown
		}
		if shift {
			down.Modifiers, up.Modifiers = 8, 8 // Shift, in the protocol
		}
		for _, k := range []input.DispatchKeyEventParams{down, up} {
			if _, err := chromedp.Call(u.ctx, input.DispatchKeyEvent, k); err != nil {
				t.Fatal(err)
			}
		}
	}
}

// reach is where a finger may press: the middle of an element in sight that nothing covers, 44 px high and wide at least.
const reach = `(q => { const e = [...document.querySelectorAll(q)].find(e => e.getClientRects().length);
  if (!e) return ["there is no " + q, 0, 0];
  e.scrollIntoView({block: "nearest"});
  const r = e.getBoundingClientRect(), x = r.left + r.width / 2, y = r.top + r.height / 2, at = document.elementFromPoint(x, y);
  if (!at || !(e.contains(at) || at.contains(e) && at.tagName === "LABEL")) return [q + " is covered by " + (at ? at.outerHTML.slice(0, 120) : "nothing in sight"), 0, 0];
  if (r.width < 44 || r.height < 44) return [q + " is " + r.width + " x " + r.height + " px", 0, 0];
  return ["", x, y]; })(%q)`

// tap presses an element with a finger.
func (u *user) tap(t *testing.T, query string) {
	t.Helper()
	var why string
	var at []any
	waittest.Until(t, func() string { return "a place to press: " + why }, func() bool {
		at = js[[]any](t, u.ctx, fmt.Sprintf(reach, query))
		why, _ = at[0].(string)
		return why == ""
	})
	x, _ := at[1].(float64)
	y, _ := at[2].(float64)
	see(t, u.ctx, chromedp.MouseClickXY(x, y))
}

// press gives an order of the page of the next drop by its key or its button.
func (u *user) press(t *testing.T, key, then string) {
	t.Helper()
	if u.touch {
		u.tap(t, `[data-press="`+key+`"]`)
	} else {
		u.strike(t, key, false)
	}
	until(t, u.ctx, then)
	if !u.touch {
		u.seesFocus(t)
	}
}

// lost tells why a reader does not see where the keyboard is, empty when it is seen.
const lost = `(() => { const e = document.activeElement;
  if (!e || e === document.body) return "";
  const s = getComputedStyle(e), r = e.getBoundingClientRect(), says = e.outerHTML.slice(0, 140);
  if (s.outlineStyle === "none" || !(parseFloat(s.outlineWidth) >= 2)) return "the focus is not seen on " + says;
  if (r.bottom <= 0 || r.top >= innerHeight || r.right <= 0 || r.left >= innerWidth) return "the focus is out of sight on " + says;
  const bar = document.querySelector(".nextstep"), b = bar && bar.getBoundingClientRect();
  if (b && !bar.contains(e) && r.top >= b.top && r.bottom <= b.bottom) return "the focus is behind what is next: " + says;
  return ""; })()`

// tabTo goes on with Tab until the focus is on the element; it is seen on every way station.
func (u *user) tabTo(t *testing.T, query string) {
	t.Helper()
	is := fmt.Sprintf(`(e => !!e && e.matches(%q))(document.activeElement)`, query)
	for range 150 {
		if js[bool](t, u.ctx, is) {
			return
		}
		u.strike(t, kb.Tab, false)
		u.seesFocus(t)
	}
	t.Fatalf("Tab does not lead to %s at %s", query, js[string](t, u.ctx, "location.pathname"))
}

// seesFocus fails when the focus stays unseen; what comes into sight may take a moment.
func (u *user) seesFocus(t *testing.T) {
	t.Helper()
	why := ""
	waittest.Until(t, func() string { return fmt.Sprintf("the focus: %s: %s", js[string](t, u.ctx, "location.pathname"), why) }, func() bool {
		why = js[string](t, u.ctx, lost)
		return why == ""
	})
}

// choose puts a file into the field that has the focus, as the chooser of the system does when a key opens it.
func (u *user) choose(t *testing.T, file string) {
	t.Helper()
	ctx, stop := context.WithTimeout(u.ctx, 20*time.Second)
	defer stop()
	opened := chromedp.Events(ctx, page.FileChooserOpened)
	if _, err := chromedp.Call(u.ctx, page.SetInterceptFileChooserDialog, page.SetInterceptFileChooserDialogParams{Enabled: true}); err != nil {
		t.Fatal(err)
	}
	u.strike(t, " ", false)
	for e, err := range opened {
		if err != nil {
			t.Fatal(err)
		}
		if _, err := chromedp.Call(u.ctx, dom.SetFileInputFiles, dom.SetFileInputFilesParams{Files: []string{file}, BackendNodeID: e.BackendNodeID}); err != nil {
			t.Fatal(err)
		}
		break
	}
}

// loaded waits until a page stands there.
func (u *user) loaded(t *testing.T, path string) {
	t.Helper()
	until(t, u.ctx, fmt.Sprintf("location.pathname === %q", path))
	settled(t, u.ctx)
}

// goTo leads to a page: first to its place, by its digit where digits are places, and from there.
func (u *user) goTo(t *testing.T, path string) {
	t.Helper()
	key, first := "", ""
	for _, p := range [][]string{{"1", "/", "/comparison"}, {"2", "/live", "/checks"}, {"3", "/drops"}, {"4", "/model", "/map", "/limits"}, {"5", "/rig", "/logbook", "/report"}} {
		if slices.Contains(p[1:], path) {
			key, first = p[0], p[1]
		}
	}
	place := `.places a[data-key="` + key + `"]`
	switch {
	case u.touch:
		u.tap(t, place)
	case js[string](t, u.ctx, "location.pathname") == "/live":
		js[bool](t, u.ctx, "(document.querySelector('"+place+"').focus(), true)")
		u.strike(t, kb.Enter, false)
	default:
		u.strike(t, key, false)
	}
	u.loaded(t, first)
	if path == first {
		return
	}
	if within := `.within a[href="` + path + `"]`; u.touch {
		u.tap(t, within)
	} else {
		u.tabTo(t, within)
		u.strike(t, kb.Enter, false)
	}
	u.loaded(t, path)
}

// downloads tells the browser where to save.
func (u *user) downloads(t *testing.T) string {
	t.Helper()
	dir := t.TempDir()
	if _, err := chromedp.CallBrowser(u.ctx, chromium.SetDownloadBehavior, chromium.SetDownloadBehaviorParams{Behavior: chromium.SetDownloadBehaviorBehaviorAllow, DownloadPath: dir}); err != nil {
		t.Fatal(err)
	}
	return dir
}

// saved waits for a file that a page gave.
func saved(t *testing.T, path string) []byte {
	t.Helper()
	var b []byte
	waittest.Until(t, waittest.For(path+" to be saved"), func() bool {
		var err error
		b, err = os.ReadFile(path)
		return err == nil && strings.HasSuffix(strings.TrimSpace(string(b)), "</html>")
	})
	return b
}

var notInNames = regexp.MustCompile(`[^a-z0-9]+`)

// shot keeps a picture of the screen for people to look at, in the folder that HARDCATCH_SHOTS names.
func (u *user) shot(t *testing.T, what string) {
	t.Helper()
	folder := os.Getenv("HARDCATCH_SHOTS")
	if folder == "" {
		return
	}
	if err := os.MkdirAll(folder, 0o755); err != nil {
		t.Fatal(err)
	}
	picture, err := chromedp.Run(u.ctx, chromedp.CaptureScreenshot())
	if err != nil {
		t.Fatal(err)
	}
	u.n++
	name := fmt.Sprintf("%s-%03d-%s.png", u.name, u.n, strings.Trim(notInNames.ReplaceAllString(strings.ToLower(what), "-"), "-"))
	if err := os.WriteFile(filepath.Join(folder, name), picture, 0o644); err != nil {
		t.Fatal(err)
	}
}

// small lists what on the page a finger in a glove misses.
const small = `[...document.querySelectorAll("#live button, #live a, #live input:not([type=hidden]), #live select, #live summary, .places a, .view > summary, #by")].filter(e => e.getClientRects().length).map(e => [e.getBoundingClientRect(), e])
  .filter(([r]) => r.height < 44 || r.width < 44).map(([r, e]) => Math.round(r.width) + " x " + Math.round(r.height) + " px: " + e.outerHTML.slice(0, 100)).join("\n")`

// looks holds the page of the next drop against what a person in sun and rain needs, in three widths, themes and languages.
func (u *user) looks(t *testing.T, s started, what string) {
	t.Helper()
	for _, theme := range []string{"light", "dark", "sun"} {
		for _, wide := range []int64{400, 800, 1280} {
			tall := map[int64]int64{400: 800, 800: 1100, 1280: 900}[wide]
			see(t, u.ctx, chromedp.EmulateViewport(wide, tall))
			themed(t, u.ctx, s, "/live", theme, map[string]string{"light": "en", "dark": "de", "sun": "fr"}[theme])
			until(t, u.ctx, `document.querySelector("#f-max").textContent !== "–"`)
			at := fmt.Sprintf("%s, %s, %d px", what, theme, wide)
			if over := js[int64](t, u.ctx, `document.documentElement.scrollWidth`); over > wide {
				t.Errorf("%s: the page is %d px wide", at, over)
			}
			if text := js[string](t, u.ctx, small); text != "" {
				t.Errorf("%s: too small for a glove:\n%s", at, text)
			}
			if !js[bool](t, u.ctx, `(r => r.top >= 0 && r.bottom <= innerHeight + 1)(document.querySelector(".nextstep").getBoundingClientRect())`) {
				t.Errorf("%s: what is next is out of sight", at)
			}
			if big := `document.querySelector("#big")`; wide == 1280 && js[bool](t, u.ctx, "!!"+big) {
				if size := js[float64](t, u.ctx, `parseFloat(getComputedStyle(`+big+`).fontSize)`); size < 48 {
					t.Errorf("%s: the peak is %v px tall and cannot be read at three metres", at, size)
				}
				if !js[bool](t, u.ctx, `(r => r.top >= 0 && r.bottom <= innerHeight)(`+big+`.getBoundingClientRect())`) {
					t.Errorf("%s: the peak is out of sight", at)
				}
			}
			u.shot(t, fmt.Sprintf("%s %s %d", what, theme, wide))
		}
	}
	see(t, u.ctx, chromedp.EmulateViewport(1280, 900))
	themed(t, u.ctx, s, "/live", "sun", "en")
}
