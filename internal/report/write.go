package report

import (
	"bytes"
	"embed"
	"encoding/base64"
	"errors"
	"fmt"
	"html/template"
	"io"
)

//go:embed page.html tables.html page.css labels.html labels.css
var files embed.FS

var page = template.Must(template.New("page.html").Funcs(template.FuncMap{
	"kN": kN, "peak": peak, "breaks": breakRange, "sign": sign, "word": word, "number": number, "plain": plain, "dof": dof,
	"percent": percent, "together": together, "notstated": notStated, "add": func(a, b int) int { return a + b }, "reminder": func() string { return reminder },
	"invented": func() string { return inventedLine }, "force": func(f interface{ Text(int) string }) string { return f.Text(3) },
	"picture": dataURI,
}).ParseFS(files, "page.html", "tables.html"))

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
	var b bytes.Buffer
	if err := page.Execute(&b, newView(d, string(css))); err != nil {
		return fmt.Errorf("report: %w", err)
	}
	if _, err := w.Write(b.Bytes()); err != nil {
		return fmt.Errorf("report: %w", err)
	}
	return nil
}
