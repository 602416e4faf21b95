package render

import (
	"fmt"
	"html/template"
	"io"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/message"
)

// dropsPerSheet is how many drops fit beside the questions on A4.
const dropsPerSheet = 8

// WriteChecklist writes the questions before a drop as a sheet to print on A4 and fill in by pen.
func WriteChecklist(w io.Writer, lang string) error {
	in, err := message.In(lang)
	if err != nil {
		return err
	}
	page, err := template.New("checklist.html").Funcs(template.FuncMap{"t": in.Say, "lang": func() string { return lang }}).ParseFS(files, "checklist.html")
	if err != nil {
		return fmt.Errorf("checklist: %w", err)
	}
	cautions := drop.Cautions()
	v := struct {
		Questions []drop.CheckQuestion
		Columns   [dropsPerSheet]struct{}
		Cautions  []string
	}{Questions: drop.CheckQuestions(), Cautions: cautions[len(cautions)-1:]}
	if err := page.Execute(w, v); err != nil {
		return fmt.Errorf("checklist: %w", err)
	}
	return nil
}
