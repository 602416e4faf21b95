package render

import (
	"bytes"
	"context"
	"embed"
	"encoding/base64"
	"errors"
	"fmt"
	"html/template"
	"io"
	"strings"
	"sync"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/foresee"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/quantity"
	"github.com/hardcatch/hardcatch/internal/question"
	"github.com/hardcatch/hardcatch/internal/view"
)

//go:embed page.html tables.html scenes.html compare.html plan.html appendix.html page.css labels.html labels.css checklist.html
var files embed.FS

// pages give the templates by language, parsed when a report in it is first written.
var pages = onDemand()

func onDemand() map[string]func() *template.Template {
	out := map[string]func() *template.Template{}
	for _, lang := range message.Languages {
		out[lang] = sync.OnceValue(func() *template.Template {
			in, err := message.In(lang)
			if err != nil {
				panic(err) // a language of the list
			}
			return template.Must(template.New("page.html").Funcs(functions(in)).ParseFS(files, "page.html", "tables.html", "scenes.html", "compare.html", "plan.html", "appendix.html"))
		})
	}
	return out
}

// functions are what the templates may call, in one language.
func functions(in message.Locale) template.FuncMap {
	s := say{in}
	return template.FuncMap{
		"t": in.Say, "w": in.Markup, "plainword": in.Text, "count": in.Count, "num": in.Number, "name": s.name, "names": s.names, "told": s.told,
		"kN": s.kN, "peak": s.peak, "rebuilt": s.rebuilt, "breaks": s.breakRange, "sign": drop.Outcome.Sign, "word": s.outcome, "number": s.number, "numberonly": s.numberOnly, "dof": s.dof,
		"percent": s.percent, "together": together, "notstated": s.notStated, "add": func(a, b int) int { return a + b },
		"reminder": func() string { return in.Say(reminder) }, "invented": func() string { return in.Say(inventedLine) },
		"force":    func(f interface{ Text(int) string }) string { return in.Number(f.Text(3)) },
		"k":        func(k float64) string { return in.Number(fmt.Sprintf("%.2f", k)) },
		"kN2":      func(f quantity.Force) string { return s.kN(&f) },
		"share":    func(v float64) string { return in.Number(quantity.Significant(100*v, 2)) + "\u00a0%" },
		"settings": view.Settings,
		"sceneband": func(b foresee.Band) string {
			return in.Say("%s to %s", in.Number(quantity.Significant(b.Low.SI()/1000, 2)), in.Number(quantity.Significant(b.High.SI()/1000, 2)))
		},
		"unit":    func(v float64, unit string) string { return s.number(&v, unit) },
		"short":   func(hash string) string { return hash[:min(len(hash), 12)] },
		"p":       s.probability,
		"ruler":   func(a question.Answer, n int) template.HTML { return template.HTML(view.AnswerSVG(a, n, in)) }, //nolint:gosec // a drawing escapes what it is given
		"picture": dataURI, "css": cssString, "listed": func(names []string) string { return in.Tell(message.Listed(names, 8)) }, "join": strings.Join,
	}
}

// cssString is a text that stands in a style sheet between quotation marks.
func cssString(text string) template.CSS {
	return template.CSS(`"` + strings.NewReplacer(`\`, `\\`, `"`, `\"`, "<", `\3c `, "\n", " ").Replace(text) + `"`) //nolint:gosec // the program's own sentences
}

// dataURI is a JPEG that stands in the page itself. Its bytes cannot leave the base64 alphabet.
func dataURI(jpeg []byte) template.URL {
	return template.URL("data:image/jpeg;base64," + base64.StdEncoding.EncodeToString(jpeg))
}

// Report writes a report as one HTML file that needs nothing from outside. The same report gives the
// same bytes.
func Report(w io.Writer, d *view.Report) error {
	if d == nil {
		return errors.New("report: there is no document to write")
	}
	css, err := files.ReadFile("page.css")
	if err != nil {
		return fmt.Errorf("report: %w", err)
	}
	v := newPage(d, string(css))
	var b bytes.Buffer
	if err := pages[v.Lang]().Execute(&b, v); err != nil {
		return fmt.Errorf("report: %w", err)
	}
	if _, err := w.Write(b.Bytes()); err != nil {
		return fmt.Errorf("report: %w", err)
	}
	return nil
}

// ReportOf gathers the report of a campaign and writes it.
func ReportOf(ctx context.Context, a *look.Access, path string, w io.Writer, o view.ReportOptions) error {
	d, err := view.ReportOf(ctx, a, path, o)
	if err != nil {
		return err
	}
	return Report(w, d)
}
