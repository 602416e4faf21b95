package web_test

import (
	"bufio"
	"context"
	"fmt"
	"io"
	"net"
	"net/http"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/hardcatch/hardcatch/internal/app"
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/view"
)

// ask sends a request with headers "Name: value"; Host replaces the host.
func (s started) ask(t testing.TB, method, path, body string, headers ...string) (reply, string) {
	t.Helper()
	req, err := http.NewRequestWithContext(context.Background(), method, s.url+path, strings.NewReader(body))
	if err != nil {
		t.Fatal(err)
	}
	for _, h := range headers {
		name, value, _ := strings.Cut(h, ": ")
		if name == "Host" {
			req.Host = value
		}
		req.Header.Set(name, value)
	}
	c := http.Client{CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	res, err := c.Do(req)
	if err != nil {
		t.Fatal(err)
	}
	defer func() {
		if err := res.Body.Close(); err != nil {
			t.Error(err)
		}
	}()
	b, err := io.ReadAll(res.Body)
	if err != nil {
		t.Fatal(err)
	}
	return reply{res.StatusCode, res.Header, res.Cookies()}, string(b)
}

// reply is what came back beside the body.
type reply struct {
	StatusCode int
	Header     http.Header
	cookies    []*http.Cookie
}

const form = "Content-Type: application/x-www-form-urlencoded"

func TestOnlyItsOwnNames(t *testing.T) {
	t.Parallel()
	s := shared(t)
	_, port, err := net.SplitHostPort(s.addr)
	if err != nil {
		t.Fatal(err)
	}
	for host, want := range map[string]int{
		s.addr: 200, "localhost:" + port: 200, "LOCALHOST:" + port: 200, "bench.example:" + port: 200,
		"evil.example:" + port: 421, "evil.example": 421, "127.0.0.1": 421, "127.0.0.1:1": 421, "127.0.0.2:" + port: 421, "localhost": 421,
		"localhost.evil.example:" + port: 421, "[::1]:" + port: 421, "0.0.0.0:" + port: 421,
	} {
		for _, path := range []string{"/", "/api/campaign", "/assets/page.css"} {
			if res, _ := s.ask(t, "GET", path, "", "Host: "+host); res.StatusCode != want {
				t.Errorf("host %s, %s: %d, want %d", host, path, res.StatusCode, want)
			}
		}
	}
	// A rebound name cannot change anything either, whatever it says of its origin.
	res, _ := s.ask(t, "POST", "/drops/d02/decide", "outcome=void&reason=x", form, "Host: evil.example:"+port, "Origin: http://evil.example:"+port, "Sec-Fetch-Site: same-origin")
	if res.StatusCode != 421 || s.decisions(t, "d02") != 1 {
		t.Errorf("%d, %d decisions", res.StatusCode, s.decisions(t, "d02"))
	}
}

func (s started) decisions(t testing.TB, id string) int {
	t.Helper()
	v, err := view.DropIn(context.Background(), s.app, s.path, id)
	if err != nil {
		t.Fatal(err)
	}
	return len(v.Decisions)
}

func TestOtherSitesNeitherReadNorChange(t *testing.T) {
	t.Parallel()
	s := start(t, demonstration(t))
	for _, h := range [][]string{
		{"Sec-Fetch-Site: cross-site"}, {"Sec-Fetch-Site: same-site"}, {"Origin: http://evil.example"}, {"Origin: null"}, {"Origin: https://" + s.addr},
		{"Sec-Fetch-Site: cross-site", "Sec-Fetch-Mode: no-cors", "Sec-Fetch-Dest: image"}, {"Sec-Fetch-Site: cross-site", "Sec-Fetch-Mode: navigate"},
	} {
		for _, path := range []string{"/", "/drops/d02", "/comparison", "/checks", "/api/comparison", "/api/drops", "/api/events", "/report/page", "/assets/page.js", "/drops/d02/record"} {
			if res, body := s.ask(t, "GET", path, "", h...); res.StatusCode != 403 || strings.Contains(body, "polyester") {
				t.Errorf("%v reads %s: %d", h, path, res.StatusCode)
			}
		}
		for _, path := range []string{"/drops/d02/decide", "/drops/d02/withdraw", "/drops/d02/events", "/drops/d02/events/withdraw", "/look"} {
			if res, _ := s.ask(t, "POST", path, "outcome=void&reason=x&theme=dark", append(h, form)...); res.StatusCode != 403 {
				t.Errorf("%v changes %s: %d", h, path, res.StatusCode)
			}
		}
		if res, _ := s.ask(t, "POST", "/api/drops/d02/decisions", `{"outcome":"void","reason":"x"}`, append(h, "Content-Type: application/json")...); res.StatusCode != 403 {
			t.Errorf("%v changes by the API: %d", h, res.StatusCode)
		}
	}
	if n := s.decisions(t, "d02"); n != 1 {
		t.Errorf("%d decisions", n)
	}
	// Its own pages may, and programs that are no browsers.
	for _, h := range [][]string{{"Sec-Fetch-Site: same-origin", "Origin: " + s.url}, {}} {
		if res, body := s.ask(t, "POST", "/drops/d02/decide", "outcome=void&reason=the+release+stuck&by=ab", append(h, form)...); res.StatusCode != 303 {
			t.Errorf("%v: %d %s", h, res.StatusCode, body)
		}
	}
	// A body that a plain form can send is no JSON.
	if res, _ := s.ask(t, "POST", "/api/drops/d02/decisions", `{"outcome":"void","reason":"x"}`, "Content-Type: text/plain"); res.StatusCode != 415 {
		t.Errorf("text/plain as JSON: %d", res.StatusCode)
	}
}

func TestEveryAnswerIsFenced(t *testing.T) {
	t.Parallel()
	s := shared(t)
	for _, path := range []string{"/", "/drops/d02", "/nothing", "/assets/page.js", "/api/campaign", "/api/nothing", "/drops/d02/record"} {
		res, _ := s.ask(t, "GET", path, "")
		want := "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; font-src 'self'; connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
		if got := res.Header.Get("Content-Security-Policy"); got != want {
			t.Errorf("%s: policy %q", path, got)
		}
		for name, want := range map[string]string{"X-Content-Type-Options": "nosniff", "Referrer-Policy": "same-origin", "X-Frame-Options": "DENY", "Cross-Origin-Opener-Policy": "same-origin", "Cross-Origin-Resource-Policy": "same-origin"} {
			if got := res.Header.Get(name); got != want {
				t.Errorf("%s: %s %q", path, name, got)
			}
		}
		if res.Header.Get("Access-Control-Allow-Origin") != "" {
			t.Errorf("%s may be read by others", path)
		}
	}
	res, body := s.ask(t, "GET", "/report/page", "")
	if p := res.Header.Get("Content-Security-Policy"); strings.Contains(p, "unsafe") || strings.Count(p, "'sha256-") != strings.Count(body, "<style>") || strings.Contains(body, "<script") || strings.Contains(body, " style=") {
		t.Errorf("report: policy %q", p)
	}
}

var inlined = regexp.MustCompile(`(?i)<style|\sstyle=|\son[a-z]+=|javascript:|<script>|<script (?:[^>]*[^"])?>[^<]|https?://`)

// No page holds what the policy forbids or asks for anything from outside.
func TestPagesHoldNothingInline(t *testing.T) {
	t.Parallel()
	s := shared(t)
	for _, path := range everyPage {
		_, body := s.ask(t, "GET", path, "")
		body = strings.ReplaceAll(body, `xmlns="http://www.w3.org/2000/svg"`, "")
		if m := inlined.FindString(body); m != "" {
			t.Errorf("%s holds %q", path, m)
		}
	}
}

func TestLimitsOfRequests(t *testing.T) {
	t.Parallel()
	s := shared(t)
	big := "outcome=void&reason=" + strings.Repeat("x", 70<<10)
	if res, _ := s.ask(t, "POST", "/drops/d02/decide", big, form); res.StatusCode != 413 {
		t.Errorf("a body of 70 KiB: %d", res.StatusCode)
	}
	if res, _ := s.ask(t, "POST", "/api/drops/d02/decisions", `{"reason":"`+big+`"}`, "Content-Type: application/json"); res.StatusCode != 413 {
		t.Errorf("a JSON body of 70 KiB: %d", res.StatusCode)
	}
	if res, _ := s.ask(t, "GET", "/", "", "X-Filler: "+strings.Repeat("x", 64<<10)); res.StatusCode != 431 {
		t.Errorf("headers of 64 KiB: %d", res.StatusCode)
	}
	if res, _ := s.ask(t, "GET", "/api/drops/d02/trace?px=100000000", ""); res.StatusCode != 422 {
		t.Errorf("a wide chart: %d", res.StatusCode)
	}
	for _, path := range []string{"/assets", "/assets/", "/assets/../page.go", "/assets/..%2fguard.go", "/assets/%2e%2e/guard.go", "/messages/de.json", "/templates/layout.html"} {
		if res, body := s.ask(t, "GET", path, ""); res.StatusCode == 200 || strings.Contains(body, "package web") || strings.Contains(body, "page.css</a>") {
			t.Errorf("%s: %d", path, res.StatusCode)
		}
	}
	for _, m := range []string{"POST", "PUT", "DELETE", "PATCH"} {
		if res, _ := s.ask(t, m, "/drops", ""); res.StatusCode != 405 && res.StatusCode != 404 {
			t.Errorf("%s /drops: %d", m, res.StatusCode)
		}
	}
	if res, _ := s.ask(t, "GET", "/drops/d02/decide", ""); res.StatusCode < 400 {
		t.Errorf("a decision by GET: %d", res.StatusCode)
	}
}

// Who begins a request and never ends it is let go.
func TestSlowRequestIsLetGo(t *testing.T) {
	t.Parallel()
	s := shared(t)
	c, err := (&net.Dialer{}).DialContext(context.Background(), "tcp", s.addr)
	if err != nil {
		t.Fatal(err)
	}
	defer func() {
		if err := c.Close(); err != nil {
			t.Error(err)
		}
	}()
	if _, err := fmt.Fprintf(c, "GET / HTTP/1.1\r\nHost: %s\r\n", s.addr); err != nil {
		t.Fatal(err)
	}
	if err := c.SetReadDeadline(time.Now().Add(60 * time.Second)); err != nil {
		t.Fatal(err)
	}
	// The server closes; without a limit the read would end by the deadline above, with another error.
	if _, err := io.ReadAll(c); err != nil {
		t.Errorf("the connection stays open: %v", err)
	}
}

// What people typed is shown as they typed it and nothing else.
func TestTypedTextIsNoMarkup(t *testing.T) {
	t.Parallel()
	path := demonstration(t)
	s := start(t, path)
	evil := `<script>alert(1)</script><img src=x onerror=alert(1)>"'`
	if _, err := app.Decide(context.Background(), s.app, path, drop.Decision{Drop: "d02", Outcome: drop.Void, Reason: evil, By: evil}); err != nil {
		t.Fatal(err)
	}
	for _, p := range []string{"/", "/drops", "/drops?find=%3Cscript%3E", "/drops/d02", "/logbook", "/cells/1", "/report/page", "/model?mass=%3Cscript%3Ealert(1)", "/map?ownname=%3Cscript%3Ealert(1)&own=9+kN&limits=on", "/map?x=%3Cscript%3Ealert(1)", "/%3Cscript%3E"} {
		if _, body := s.ask(t, "GET", p, ""); strings.Contains(body, "<script>alert") || strings.Contains(body, "<img src=x") || strings.Contains(body, "<script>\"") {
			t.Errorf("%s runs what was typed", p)
		}
	}
}

func TestLookGoesBackHereOnly(t *testing.T) {
	t.Parallel()
	s := shared(t)
	for to, want := range map[string]string{"/drops?outcome=held": "/drops?outcome=held", "http://evil.example/": "/", "//evil.example": "/", `/\evil.example`: "/", "": "/", "javascript:x": "/"} {
		res, _ := s.ask(t, "POST", "/look", "theme=sun&back="+strings.ReplaceAll(strings.ReplaceAll(to, "=", "%3D"), "&", "%26"), form)
		if got := res.Header.Get("Location"); res.StatusCode != 303 || got != want {
			t.Errorf("back to %q leads to %q (%d), want %q", to, got, res.StatusCode, want)
		}
		for _, c := range res.cookies {
			if !c.HttpOnly || c.SameSite != http.SameSiteStrictMode {
				t.Errorf("cookie %v", c)
			}
		}
	}
	if res, _ := s.ask(t, "POST", "/look", "theme=neon", form); res.StatusCode != 422 {
		t.Errorf("theme neon: %d", res.StatusCode)
	}
}

// A change of the logbook reaches a page that listens, whoever made it.
func TestEventsTellOfChanges(t *testing.T) {
	t.Parallel()
	path := demonstration(t)
	s := start(t, path)
	ctx, stop := context.WithTimeout(context.Background(), time.Minute)
	defer stop()
	req, err := http.NewRequestWithContext(ctx, "GET", s.url+"/api/events", nil)
	if err != nil {
		t.Fatal(err)
	}
	res, err := http.DefaultClient.Do(req)
	if err != nil {
		t.Fatal(err)
	}
	defer func() {
		if err := res.Body.Close(); err != nil {
			t.Error(err)
		}
	}()
	lines := bufio.NewScanner(res.Body)
	next := func() string {
		for lines.Scan() {
			if d, ok := strings.CutPrefix(lines.Text(), "data: "); ok {
				return d
			}
		}
		t.Fatal("the stream ended")
		return ""
	}
	before := next()
	rec, err := app.Decide(ctx, s.app, path, drop.Decision{Drop: "d02", Outcome: drop.Void, Reason: "by another program", By: "bench"})
	if err != nil {
		t.Fatal(err)
	}
	after := next()
	if before == after || !strings.Contains(after, fmt.Sprint(rec.Seq)) || !strings.Contains(after, rec.Hash) {
		t.Errorf("before %s, after %s, entered %+v", before, after, rec)
	}
	s.srv.Publish("live", map[string]int{"drop": 7})
	if got := next(); got != `{"drop":7}` {
		t.Errorf("published: %s", got)
	}
}
