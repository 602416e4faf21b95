package web_test

import (
	"context"
	"fmt"
	"net/url"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/view"
)

const drawn = `document.querySelectorAll("#chart-force .marker").length >= 3 && document.querySelector("#readout").textContent`

// What is typed and not entered survives a reload, the loss of the tab and the program's next start, and is said to be
// kept; it goes when it is entered or discarded, and the reload of a refused form enters nothing.
func TestTypedTextIsKept(t *testing.T) {
	t.Parallel()
	ctx := browser(t)
	if ctx == nil {
		return
	}
	path := demonstration(t)
	s := start(t, path)
	page := s.url + "/drops/d02"
	reason := func(ctx context.Context, want string) {
		t.Helper()
		until(t, ctx, fmt.Sprintf(`document.readyState === "complete" && document.querySelector("#reason").value === %q`, want))
	}
	said := func(ctx context.Context, form, part string) {
		t.Helper()
		until(t, ctx, fmt.Sprintf(`(d => %q ? !d.hidden && d.textContent.includes(%q) : d.hidden)(document.querySelector(%q + " .draft"))`, part, part, form))
	}
	decisions := func() int {
		t.Helper()
		v, err := view.DropIn(context.Background(), s.app, path, "d02")
		if err != nil {
			t.Fatal(err)
		}
		return len(v.Decisions)
	}
	n := decisions()
	see(t, ctx, chromedp.Navigate(page))
	settled(t, ctx)
	said(ctx, "#decide", "")
	see(t, ctx, chromedp.Click(`#decide input[value="void"]`), chromedp.SendKeys("#reason", "the release stu"))
	said(ctx, "#decide", "Kept in this browser")
	see(t, ctx, chromedp.Reload())
	settled(t, ctx)
	reason(ctx, "the release stu")
	said(ctx, "#decide", "Brought back")
	if !js[bool](t, ctx, `document.querySelector('#decide input[value="void"]').checked`) {
		t.Error("the chosen outcome is lost")
	}
	// The tab is lost, the program started again; another tab has the text, and that of another form.
	js[bool](t, ctx, `(document.querySelector("#hand").open = true)`)
	see(t, ctx, chromedp.SendKeys("#peak", "0.844 s"), chromedp.SendKeys("#why", "it rings"))
	said(ctx, "#hand", "Kept in this browser")
	s.stop()
	s = startAt(t, path, s.addr)
	other, gone := chromedp.NewContext(ctx)
	defer gone()
	see(t, other, chromedp.Navigate(page))
	settled(t, other)
	reason(other, "the release stu")
	until(t, other, `document.querySelector("#hand").open && document.querySelector("#peak").value === "0.844 s" && document.querySelector("#why").value === "it rings"`)
	// Another drop has nothing of it.
	see(t, other, chromedp.Navigate(s.url+"/drops/d03"))
	settled(t, other)
	reason(other, "")
	see(t, other, chromedp.Navigate(page))
	settled(t, other)
	see(t, other, chromedp.Click(`#hand .draft button`))
	until(t, other, `document.querySelector("#peak").value === "" && document.querySelector("#why").value === ""`)
	see(t, other, chromedp.SendKeys("#by", "ab"), chromedp.SendKeys("#reason", "ck\r"))
	until(t, other, `location.search === "?done=decided"`)
	see(t, other, chromedp.Navigate(page))
	settled(t, other)
	reason(other, "")
	until(t, other, `document.querySelector("#peak").value === ""`)
	said(other, "#decide", "")
	if got := decisions(); got != n+1 {
		t.Errorf("%d decisions, want %d", got, n+1)
	}
	// Refused: the text stays, and a reload does not ask again for what was refused.
	js[bool](t, other, `(document.querySelector("#hand").open = true)`)
	see(t, other, chromedp.SendKeys("#peak", "99 s"), chromedp.SendKeys("#why", "too far\r"))
	until(t, other, `document.querySelector("[role=alert]") && location.pathname === "/drops/d02"`)
	see(t, other, chromedp.Reload())
	settled(t, other)
	until(t, other, `!document.querySelector("main > [role=alert]") && document.querySelector("#peak").value === "99 s" && document.querySelector("#why").value === "too far"`)
}

// The back button leads to where one was, undoes a zoom, and enters nothing a second time.
func TestBackLeadsBack(t *testing.T) {
	t.Parallel()
	ctx := browser(t)
	if ctx == nil {
		return
	}
	path := demonstration(t)
	s := start(t, path)
	see(t, ctx, chromedp.Navigate(s.url+"/drops"))
	js[bool](t, ctx, `(document.querySelector("#outcome").value = "void", document.querySelector("main form button").click(), true)`)
	until(t, ctx, `location.search.includes("outcome=void") && document.readyState === "complete"`)
	list := js[string](t, ctx, `location.search`)
	links := js[int](t, ctx, `document.querySelectorAll("table.drops tbody th a").length`)
	first := js[string](t, ctx, `document.querySelector("table.drops tbody th a").textContent`)
	second := js[string](t, ctx, `document.querySelectorAll("table.drops tbody th a")[1].textContent`)
	see(t, ctx, chromedp.Click(`table.drops tbody th a`))
	until(t, ctx, fmt.Sprintf(`location.pathname === "/drops/%s" && %s`, first, drawn))
	// n leads to the next of the list.
	if text := js[string](t, ctx, `document.querySelector("#list").textContent`); !strings.Contains(text, fmt.Sprintf("1 of %d", links)) {
		t.Errorf("the drop does not say where in the list it stands: %q", text)
	}
	if next := js[string](t, ctx, `document.querySelector("#next").textContent`); !strings.HasPrefix(next, second) {
		t.Errorf("next is %q, want %s", next, second)
	}
	at := js[string](t, ctx, "location.href")
	// Two stretches; back shows the first of them, then the page as it was opened.
	see(t, ctx, chromedp.Click(`[data-zoom=in]`))
	until(t, ctx, `location.search.includes("from=")`)
	one := js[string](t, ctx, "location.search")
	js[bool](t, ctx, `new Promise((r) => setTimeout(() => r(true), 1100))`)
	see(t, ctx, chromedp.Click(`[data-zoom=whole]`))
	until(t, ctx, `location.search.includes("whole=yes")`)
	js[bool](t, ctx, `(history.back(), true)`)
	until(t, ctx, fmt.Sprintf(`location.search === %q`, one))
	js[bool](t, ctx, `(history.back(), true)`)
	until(t, ctx, fmt.Sprintf(`location.href === %q`, at))
	// Decided, the list is still at hand, and neither back nor forward enters it again.
	see(t, ctx, chromedp.Click(`#decide input[value="held"]`), chromedp.SendKeys("#by", "ab"), chromedp.SendKeys("#reason", "looked again\r"))
	until(t, ctx, `location.search.includes("done=decided") && document.readyState === "complete"`)
	decided := func() int {
		t.Helper()
		v, err := view.DropIn(context.Background(), s.app, path, first)
		if err != nil {
			t.Fatal(err)
		}
		return len(v.Decisions)
	}
	n := decided()
	if text := js[string](t, ctx, `document.querySelector("#list").textContent`); !strings.Contains(text, fmt.Sprintf("List of %d", links-1)) {
		t.Errorf("decided off the list: %q", text)
	}
	if next := js[string](t, ctx, `document.querySelector("#next").textContent`); !strings.HasPrefix(next, second) {
		t.Errorf("decided, next is %q, want %s", next, second)
	}
	js[bool](t, ctx, `(history.back(), true)`)
	until(t, ctx, fmt.Sprintf(`location.href === %q && document.readyState === "complete" && document.querySelector(".verdictline").textContent.includes("held")`, at))
	js[bool](t, ctx, `(history.back(), true)`)
	until(t, ctx, fmt.Sprintf(`location.pathname === "/drops" && location.search === %q && document.querySelector("#outcome").value === "void"`, list))
	js[bool](t, ctx, `(history.go(2), true)`)
	until(t, ctx, `location.search.includes("done=decided") && document.readyState === "complete"`)
	if got := decided(); got != n || n < 2 {
		t.Errorf("%d decisions after going back and forth, %d before", got, n)
	}
}

// What is worth sending to somebody is in the address: a browser that was never here shows the same.
func TestAddressesSayWhatIsShown(t *testing.T) {
	t.Parallel()
	ctx := browser(t)
	if ctx == nil {
		return
	}
	s := shared(t)
	see(t, ctx, chromedp.Navigate(s.url+"/help")) // starts the browser
	in := url.QueryEscape("audit=disagrees&sort=peak")
	for path, shows := range map[string]string{
		"/drops?outcome=broke&sort=peak&find=aramid": `document.querySelector("#outcome").value === "broke" && document.querySelector("#find").value === "aramid" && [...document.querySelectorAll("tbody .o-broke")].length === document.querySelectorAll("tbody tr").length`,
		"/drops/d14?from=0.7&to=0.72&in=" + in:       `document.querySelector("#readout").textContent.includes("every sample") && document.querySelector("#list").textContent.includes("2 of 3")`,
		"/drops/d02?whole=yes":                       `document.querySelector("#readout").textContent.includes("no peak is lost")`,
		"/model?mass=220+lb&fall=31.5+in&length=3+ft&material=polyamide-webbing&rig=2+MN%2Fm": `document.querySelector("#mass").value === "220 lb" && document.querySelector("#fallheight").value === "31.5 in" && document.querySelector("#si-fallheight").textContent.includes("0.8001\u00a0m") && document.querySelector("#si-mass").textContent.includes("99.79\u00a0kg")`,
		"/logbook?before=100": `document.querySelector("tbody tr td").textContent === "99"`,
		"/cells/7":            `document.querySelector("h1").textContent.includes("7")`,
	} {
		fresh, gone := chromedp.NewContext(ctx, chromedp.WithNewBrowserContext())
		see(t, fresh, chromedp.Navigate(s.url+path))
		settled(t, fresh)
		until(t, fresh, shows)
		if got := js[string](t, fresh, `location.pathname + location.search`); got != path {
			t.Errorf("%s becomes %s", path, got)
		}
		gone()
	}
	if d, err := view.DropIn(context.Background(), s.app, s.path, "d14"); err != nil || d.Outcome != drop.Void {
		t.Errorf("%v %v", d.Outcome, err)
	}
}
