package web

import (
	"bytes"
	"embed"
	"fmt"
	"html/template"
	"math"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"time"

	"github.com/hardcatch/hardcatch/internal/compare"
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/figure"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/quantity"
	"github.com/hardcatch/hardcatch/internal/question"
	"github.com/hardcatch/hardcatch/internal/reduce"
	"github.com/hardcatch/hardcatch/internal/view"
)

//go:embed templates
var templateFiles embed.FS

// page is a template with its title.
type page struct {
	t *template.Template
}

// pageNames are the pages; each is a file of templates.
var pageNames = []string{"campaign", "live", "drops", "drop", "cell", "comparison", "working", "checks", "limits", "model", "map", "rig", "logbook", "report", "help", "error"}

// place is where a reader may be: a few pages that belong together. Its key leads there from every page but the tower's, whose digits are
// its own.
type place struct {
	Name, Key, Path string
	Pages           []navItem // empty when it has but one list of them
}

// navItem is a page of a place.
type navItem struct {
	Name, Path string
}

// places are the five.
var places = []place{
	{"Answer", "1", "/", []navItem{{"In short", "/"}, {"Comparison", "/comparison"}}},
	{"Tower", "2", "/live", []navItem{{"Next drop", "/live"}, {"Check drops", "/checks"}}},
	{"Drops", "3", "/drops", nil},
	{"Foresee", "4", "/model", []navItem{{"What if", "/model"}, {"Map", "/map"}, {"Limits", "/limits"}}},
	{"Proof", "5", "/rig", []navItem{{"Rig", "/rig"}, {"Logbook", "/logbook"}, {"Report", "/report"}}},
}

// placeOf is the place to which a page belongs; none for the help.
func placeOf(page string) place {
	for _, p := range places {
		if p.Path == page {
			return p
		}
		for _, n := range p.Pages {
			if n.Path == page {
				return p
			}
		}
	}
	return place{}
}

// frame is what every page has.
type frame struct {
	Lang, Theme string
	Keys        bool
	Name        string // of the page
	Here        string // path of the entry in the list of pages
	URL         string // to come back to
	Campaign    string
	Question    string
	Invented    bool
	Seq         int64
	Made        int64 // when the campaign was made, s since 1970: tells it from others
	Posted      bool  // the page answers a form: URL is its address without one
	Places      []place
	At          place  // in which the page stands
	Done        string // what was just done
	Cautions    []string
	Body        any
}

func loadPages(files map[string]asset) (map[string]map[string]page, error) {
	out := map[string]map[string]page{}
	for _, lang := range message.Languages {
		l, err := localeIn(lang)
		if err != nil {
			return nil, err
		}
		base, err := template.New("layout.html").Funcs(functions(l, files)).ParseFS(templateFiles, "templates/layout.html", "templates/parts.html")
		if err != nil {
			return nil, fmt.Errorf("templates: %w", err)
		}
		out[lang] = map[string]page{}
		for _, name := range pageNames {
			t, err := template.Must(base.Clone()).ParseFS(templateFiles, "templates/"+name+".html")
			if err != nil {
				return nil, fmt.Errorf("templates: %w", err)
			}
			out[lang][name] = page{t}
		}
	}
	return out, nil
}

// functions are what templates may call, in one language.
func functions(l locale, files map[string]asset) template.FuncMap {
	return template.FuncMap{
		"t": l.say, "w": l.Markup, "unmarked": l.Text, "count": l.count, "num": l.number, "kN": l.kN, "peak": l.peak, "rebuilt": l.rebuilt,
		"asset": func(name string) (string, error) {
			a, ok := files[name]
			if !ok {
				return "", fmt.Errorf("there is no asset %s", name)
			}
			return a.address(name), nil
		},
		"q": func(q interface{ Text(int) string }, digits int) string {
			return l.number(strings.ReplaceAll(q.Text(digits), " ", "\u00a0"))
		},
		"withu": func(value, u float64, unit string) string { return l.number(withU(value, u, unit)) },
		"sig": func(v any, digits int) string {
			switch v := v.(type) {
			case float64:
				return l.number(significant(v, digits))
			case *float64:
				if v != nil {
					return l.number(significant(*v, digits))
				}
			}
			return "–"
		},
		"svg":            func(b []byte) template.HTML { return template.HTML(b) }, // a drawing escapes what it is given
		"sign":           func(o drop.Outcome) template.HTML { return template.HTML(figure.SignSVG(o)) },
		"add":            func(a, b int) int { return a + b },
		"pct":            func(v float64) string { return l.number(significant(100*v, 3)) + "\u00a0%" },
		"date":           func(t time.Time) string { return t.UTC().Format("2006-01-02 15:04") + " UTC" },
		"breaks":         l.breaks,
		"apart":          apart,
		"points":         func(v float64) string { return l.number(significant(100*math.Abs(v), 2)) + "\u00a0%" },
		"share":          func(v float64) string { return l.number(strconv.FormatFloat(100*v, 'g', 4, 64)) + "\u00a0%" },
		"aroundratio":    func(lo, hi *float64) string { return l.around(lo, hi, 1, 3) },
		"aroundstrength": func(lo, hi *float64) string { return l.around(lo, hi, 1000, 4) },
		"strengthkN": func(v any) string {
			switch v := v.(type) {
			case float64:
				return l.number(strengthText(v))
			case *float64:
				if v != nil {
					return l.number(strengthText(*v))
				}
			}
			return "–"
		},
		"bound":    l.bound,
		"ruler":    func(a question.Answer, n int) []byte { return view.AnswerSVG(a, n, l.Locale) },
		"days":     func(n int) int { return max(n, -n) },
		"abs":      math.Abs,
		"slack":    l.slack,
		"offby":    l.offby,
		"mapshare": l.share,
		"pathseg":  url.PathEscape,
		"query":    url.QueryEscape,
		"places": func() []drop.Place {
			return []drop.Place{drop.Body, drop.Knot, drop.Stitching, drop.Edge, drop.Connector}
		},
		"fp": func(f quantity.Force) *quantity.Force { return &f },
		"beside": func(typed string, value float64, unit string) string { // a value typed in another unit, in the usual one
			number, was := strings.CutSuffix(strings.TrimSpace(typed), unit)
			if was && strings.ContainsAny(number[max(0, len(number)-1):], " 0123456789") {
				return ""
			}
			return l.number("= " + significant(value, 4) + "\u00a0" + unit)
		},
		"fixed": func(v float64, decimals int) string {
			return l.number(strings.Replace(strconv.FormatFloat(v, 'f', decimals, 64), "-", "\u2212", 1))
		},
		"mega": func(q quantity.Stiffness) float64 { return q.SI() / 1e6 },
		"level": func(text string) string { // a short level stays on one line
			if len(text) <= 14 {
				text = strings.ReplaceAll(text, " ", "\u00a0")
			}
			return l.number(text)
		},
		"seconds": func(q quantity.Duration) string { return l.number(fmt.Sprintf("%.5f s", q.SI())) },
		"at": func(t string) string {
			when, err := time.Parse(time.RFC3339Nano, t)
			if err != nil {
				return t
			}
			return when.UTC().Format("2006-01-02 15:04:05 UTC")
		},
		"dof":       func(d reduce.DoF) string { return strings.Replace(l.number(d.String()), "inf", "∞", 1) },
		"languages": func() []string { return message.Languages },
		"language": func(code string) string {
			return map[string]string{"en": "English", "de": "Deutsch", "fr": "Français"}[code]
		},
	}
}

func significant(v float64, digits int) string {
	s := quantity.Significant(v, digits)
	if strings.HasPrefix(s, "-") {
		s = "\u2212" + s[1:]
	}
	return s
}

// withU is a value with an uncertainty to two digits.
func withU(value, u float64, unit string) string {
	if !(u > 0) || math.IsInf(u, 0) {
		return significant(value, 4) + " " + unit
	}
	decimals := max(0, 1-int(math.Floor(math.Log10(u))))
	return fmt.Sprintf("%.*f ± %.*f %s", decimals, value, decimals, u, unit)
}

// breaks prints a break probability outward: never narrower than it is.
func (l locale) breaks(lo, hi *float64) string {
	if lo == nil || hi == nil {
		return "–"
	}
	return l.say("%s to %s %%", l.number(compare.RoundOutward(100**lo, math.Floor)), l.number(compare.RoundOutward(100**hi, math.Ceil)))
}

// render writes a page whole or not at all.
func (s *Server) render(w http.ResponseWriter, r *http.Request, status int, name string, body any) error {
	l := localeOf(r)
	f := frame{
		Lang: l.lang, Theme: themeOf(r), Keys: keysOf(r), Name: name, Here: sectionOf(r.URL.Path), URL: r.URL.RequestURI(), Places: places, At: placeOf(sectionOf(r.URL.Path)),
		Done: r.URL.Query().Get("done"), Cautions: drop.Cautions(), Body: body,
	}
	if r.Method != http.MethodGet {
		f.URL, f.Posted = formPage(r), true
	}
	if _, ok := doneWords[f.Done]; !ok {
		f.Done = ""
	}
	f.Done = doneWords[f.Done]
	if st, err := s.s.Moment(r.Context()); err == nil {
		f.Campaign, f.Question, f.Invented, f.Seq = st.Info.Name, st.Info.Question, st.Info.Invented, st.Head.Seq
		f.Made = st.Info.Created.Unix()
	} else if status < 400 {
		return err
	}
	var b bytes.Buffer
	if err := s.pages[l.lang][name].t.Execute(&b, f); err != nil {
		return problem{http.StatusInternalServerError, fmt.Sprintf("page %s: %v", name, err)}
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.Header().Set("Content-Language", l.lang)
	w.Header().Set("Vary", "Cookie, Accept-Language")
	w.WriteHeader(status)
	// The client has gone when this fails.
	_, _ = w.Write(b.Bytes())
	return nil
}

// doneWords are what a page may say was just done.
var doneWords = map[string]string{
	"decided": "The decision is entered.", "withdrawn": "The decision before stands again.", "moved": "The events are moved and the drop is reduced again.",
	"events-withdrawn": "The events stand as before.", "photo": "The photo is attached.",
	"photo-position": "The photo is attached, without the position that the camera wrote into it.",
}

// formPage is the address of the page on which the form of a request stands.
func formPage(r *http.Request) string {
	switch id := r.PathValue("id"); {
	case id != "":
		return "/drops/" + url.PathEscape(id) + inList(r)
	case strings.HasPrefix(r.URL.Path, "/live/"):
		return "/live"
	}
	return "/"
}

// sectionOf is the entry of the list of pages under which a path stands.
func sectionOf(path string) string {
	switch {
	case strings.HasPrefix(path, "/cells"):
		return "/drops"
	case path == "/":
		return "/"
	}
	first, _, _ := strings.Cut(path[1:], "/")
	return "/" + first
}
