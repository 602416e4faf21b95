package web_test

import (
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/view"
)

// A short day by keys alone on the simulated rig: one drop confirmed, one voided; and each state of the page has no
// violation that axe-core finds. Pictures go to dist/pages.
func TestLiveDayByKeys(t *testing.T) {
	t.Parallel()
	ctx := browser(t)
	if ctx == nil {
		return
	}
	axe, err := os.ReadFile("testdata/axe-4.14.0.min.js")
	if err != nil {
		t.Fatal(err)
	}
	folder := filepath.Join("..", "..", "dist", "pages")
	if err := os.MkdirAll(folder, 0o755); err != nil {
		t.Fatal(err)
	}
	s, p := liveServer(t)
	looked := func(name, theme, lang string) {
		t.Helper()
		themed(t, ctx, s, "/live", theme, lang)
		until(t, ctx, `document.querySelector("#f-max").textContent !== "–"`)
		for _, v := range violations(t, ctx, string(axe)) {
			t.Errorf("%s, %s: %s: %s\n  %s", name, theme, v.ID, v.Help, strings.Join(v.Nodes, "\n  "))
		}
		shot, err := chromedp.Run(ctx, chromedp.FullScreenshot(100))
		if err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(folder, theme+"-live-"+name+".png"), shot, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	press := func(key, then string) {
		t.Helper()
		see(t, ctx, chromedp.KeyEvent(key))
		until(t, ctx, then)
	}
	prepare := func() {
		t.Helper()
		for _, k := range []string{"1", "2", "3", "4", "5", "6", "7"} {
			at := `document.querySelector('[data-press="` + k + `"] strong').textContent`
			if js[string](t, ctx, at) == "open" {
				press(k, at+` === "done"`)
			}
		}
		press("a", `document.querySelector("#live").dataset.phase === "armed"`)
	}
	decided := func(id string) drop.Decision {
		t.Helper()
		v, err := view.DropIn(context.Background(), s.app, s.path, id)
		if err != nil || len(v.Decisions) == 0 {
			t.Fatalf("%s: %+v %v", id, v, err)
		}
		return v.Decisions[len(v.Decisions)-1]
	}
	looked("prepare", "sun", "en")
	until(t, ctx, `document.querySelector("#live")`)
	prepare()
	looked("armed", "dark", "en")
	p.drops <- 0
	until(t, ctx, `document.querySelector("#big")`)
	if tall := js[float64](t, ctx, `parseFloat(getComputedStyle(document.querySelector("#big")).fontSize)`); tall < 150 {
		t.Errorf("the peak is %v px tall on a screen 1280 px wide", tall)
	}
	looked("read", "light", "fr")
	looked("read", "dark", "de")
	looked("read", "sun", "en")
	press("c", `document.querySelector("#outcome").textContent.includes("Decided: held")`)
	if d := decided("d1"); d.Outcome != drop.Held || d.By != "ab" {
		t.Errorf("%+v", d)
	}
	press("n", `document.querySelector("h1").textContent.includes("d2")`)
	prepare()
	p.drops <- 5
	until(t, ctx, `document.querySelector("#big") && document.querySelector("#livealerts").textContent.includes("5 samples were lost")`)
	until(t, ctx, `(r => r.top >= 0 && r.bottom <= innerHeight)(document.querySelector("#big").getBoundingClientRect())`)
	// No number voids: it answered a question before. Voiding takes two steps.
	see(t, ctx, chromedp.KeyEvent("2"), chromedp.KeyEvent("v"))
	until(t, ctx, `document.querySelector("#void").open`)
	js[bool](t, ctx, `document.querySelectorAll("#void .steps button")[1].focus(), true`)
	see(t, ctx, chromedp.KeyEvent("\r"))
	until(t, ctx, `document.querySelector("#outcome").textContent.includes("Decided: void")`)
	if d := decided("d2"); d.Outcome != drop.Void || d.Reason != "the mass touched the guide" {
		t.Errorf("%+v", d)
	}
	// One key takes nothing back: it asks why.
	for _, k := range []string{"c", "\r", "h", "1", "2"} {
		see(t, ctx, chromedp.KeyEvent(k))
	}
	press("u", `document.activeElement.id === "backwhy"`)
	if d := decided("d2"); d.Outcome != drop.Void {
		t.Errorf("a key made it %+v", d)
	}
	js[string](t, ctx, `document.activeElement.value = ""`)
	see(t, ctx, chromedp.KeyEvent("it hung straight\r"))
	until(t, ctx, `document.querySelector("#outcome").textContent.includes("Proposed")`)
	press("v", `document.activeElement.id === "why"`)
	js[string](t, ctx, `document.activeElement.value = ""`) // the debugger types the letter all the same
	see(t, ctx, chromedp.KeyEvent("it swung\r"))
	until(t, ctx, `document.querySelector("#outcome").textContent.includes("Decided: void")`)
	if d := decided("d2"); d.Outcome != drop.Void || d.Reason != "it swung" {
		t.Errorf("%+v", d)
	}
	press("n", `document.querySelector("h1").textContent.includes("Nothing planned")`)
}
