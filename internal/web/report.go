package web

import (
	"bytes"
	"crypto/sha256"
	"encoding/base64"
	"net/http"
	"regexp"
	"strings"
	"sync"

	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/render"
	"github.com/hardcatch/hardcatch/internal/store"
	"github.com/hardcatch/hardcatch/internal/view"
)

// reportPage is the route of the report itself, which may take longer than any page.
const reportPage = "GET /report/page"

// reports keeps the report made last.
type reports struct {
	mu   sync.Mutex
	head store.Head
	o    view.ReportOptions
	page []byte
}

type reportView struct {
	*view.Campaign
	Tally
}

// showReport offers the report.
func (s *Server) showReport(w http.ResponseWriter, r *http.Request) error {
	st, err := view.Of(r.Context(), s.s)
	if err != nil {
		return err
	}
	return s.render(w, r, http.StatusOK, "report", reportView{st, tally(st)})
}

// giveReport is the report as the command writes it. It brings its own style, which the policy names by its hash.
func (s *Server) giveReport(w http.ResponseWriter, r *http.Request) error {
	q := r.URL.Query()
	o := view.ReportOptions{EveryBudget: q.Get("budgets") != "", EveryCheck: q.Get("checks") != "", NoFigures: q.Get("figures") == "none", NoRepeat: q.Get("save") == "", Lang: localeOf(r).lang}
	if lang := q.Get("language"); lang != "" {
		if _, err := message.In(lang); err != nil {
			return problem{http.StatusUnprocessableEntity, err.Error()}
		}
		o.Lang = lang
	}
	b, err := s.report(r, o)
	if err != nil {
		return err
	}
	h := w.Header()
	h.Set("Content-Type", "text/html; charset=utf-8")
	h.Set("Content-Language", o.Lang)
	h.Set("Vary", "Cookie, Accept-Language")
	h.Set("Content-Security-Policy", "default-src 'none'; style-src "+styleHashes(b)+"; img-src data:; form-action 'none'; base-uri 'none'; frame-ancestors 'none'")
	if q.Get("save") != "" {
		h.Set("Content-Disposition", `attachment; filename="report.html"`)
	}
	// The client has gone when this fails.
	_, _ = w.Write(b)
	return nil
}

func (s *Server) report(r *http.Request, o view.ReportOptions) ([]byte, error) {
	s.reads.mu.Lock()
	defer s.reads.mu.Unlock()
	head, err := s.s.Head(r.Context())
	if err != nil {
		return nil, err
	}
	if s.reads.page != nil && s.reads.head == head && s.reads.o == o {
		return s.reads.page, nil
	}
	var b bytes.Buffer
	if err := render.ReportOf(r.Context(), s.app, s.s.Path(), &b, o); err != nil {
		return nil, err
	}
	s.reads.head, s.reads.o, s.reads.page = head, o, b.Bytes()
	return b.Bytes(), nil
}

var styleElement = regexp.MustCompile(`(?s)<style>(.*?)</style>`)

// styleHashes names the style elements of a page for its policy.
func styleHashes(page []byte) string {
	var out []string
	for _, m := range styleElement.FindAllSubmatch(page, -1) {
		sum := sha256.Sum256(m[1])
		out = append(out, "'sha256-"+base64.StdEncoding.EncodeToString(sum[:])+"'")
	}
	if len(out) == 0 {
		return "'none'"
	}
	return strings.Join(out, " ")
}
