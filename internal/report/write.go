package report

import (
	"bytes"
	"embed"
	"encoding/base64"
	"errors"
	"fmt"
	"html/template"
	"io"
	"strings"
	"sync"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

//go:embed page.html tables.html compare.html plan.html appendix.html page.css labels.html labels.css
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
			return template.Must(template.New("page.html").Funcs(functions(in)).ParseFS(files, "page.html", "tables.html", "compare.html", "plan.html", "appendix.html"))
		})
	}
	return out
}

// functions are what the templates may call, in one language.
func functions(in message.Locale) template.FuncMap {
	s := say{in}
	return template.FuncMap{
		"t": in.Say, "w": s.text, "plainword": s.words, "count": in.Count, "num": in.Number, "name": s.name, "names": s.names, "told": s.told,
		"kN": s.kN, "peak": s.peak, "breaks": s.breakRange, "sign": drop.Outcome.Sign, "word": s.outcome, "number": s.number, "plain": s.plain, "dof": s.dof,
		"percent": s.percent, "together": together, "notstated": s.notStated, "add": func(a, b int) int { return a + b },
		"reminder": func() string { return in.Say(reminder) }, "invented": func() string { return in.Say(inventedLine) },
		"force":   func(f interface{ Text(int) string }) string { return in.Number(f.Text(3)) },
		"k":       func(k float64) string { return in.Number(fmt.Sprintf("%.2f", k)) },
		"kN2":     func(f quantity.Force) string { return s.kN(&f) },
		"share":   func(v float64) string { return in.Number(quantity.Significant(100*v, 2)) + "\u00a0%" },
		"unit":    func(v float64, unit string) string { return s.number(&v, unit) },
		"short":   func(hash string) string { return hash[:min(len(hash), 12)] },
		"p":       s.probability,
		"picture": dataURI, "css": cssString, "join": strings.Join,
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

// Write writes the report as one HTML file that needs nothing from outside. The same document gives the
// same bytes.
func Write(w io.Writer, d *Document) error {
	if d == nil {
		return errors.New("report: there is no document to write")
	}
	css, err := files.ReadFile("page.css")
	if err != nil {
		return fmt.Errorf("report: %w", err)
	}
	v := newView(d, string(css))
	var b bytes.Buffer
	if err := pages[v.Lang]().Execute(&b, v); err != nil {
		return fmt.Errorf("report: %w", err)
	}
	if _, err := w.Write(b.Bytes()); err != nil {
		return fmt.Errorf("report: %w", err)
	}
	return nil
}
