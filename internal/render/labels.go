package render

import (
	"bytes"
	"errors"
	"fmt"
	"html/template"
	"io"
	"strings"

	qr "github.com/piglig/go-qr"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/foresee"
	"github.com/hardcatch/hardcatch/internal/plan"
)

// LabelSheet is the labels of a campaign's specimens.
type LabelSheet struct {
	Campaign string
	Question string
	Invented bool
	Seed     uint64
	Days     int
	Labels   []Label
}

// Label is one specimen's.
type Label struct {
	plan.Run
	Levels string // of the cell, in words
}

// LabelsOf is the sheet of a plan.
func LabelsOf(r *foresee.PlanResult) *LabelSheet {
	s := &LabelSheet{Campaign: r.Name, Question: r.Question, Invented: r.Invented, Seed: r.Seed, Days: r.Days}
	for _, run := range r.Labelled() {
		s.Labels = append(s.Labels, Label{run, r.LevelsOf(run)})
	}
	return s
}

// Code is the text of a label's QR code: specimen and campaign.
func (s *LabelSheet) Code(l Label) string { return l.Specimen + "\n" + s.Campaign }

// quiet is the width of the empty border of a QR code in modules. Source: ISO/IEC 18004, which asks for four.
const quiet = 4

// qrSVG draws a QR code as one path; level M stands a torn or soiled 15 % of the code.
func qrSVG(text string) (template.HTML, error) {
	code, err := qr.EncodeText(text, qr.Medium)
	if err != nil {
		return "", fmt.Errorf("label %q: %w; give the campaign a shorter name", text, err)
	}
	n := code.Size()
	var path strings.Builder
	for y := range n {
		for x := 0; x < n; x++ {
			if !code.Module(x, y) {
				continue
			}
			from := x
			for x+1 < n && code.Module(x+1, y) {
				x++
			}
			fmt.Fprintf(&path, "M%d %dh%dv1h-%dz", from+quiet, y+quiet, x-from+1, x-from+1)
		}
	}
	side := n + 2*quiet
	return template.HTML(fmt.Sprintf(`<svg class="qr" viewBox="0 0 %d %d" shape-rendering="crispEdges" role="img" aria-label="QR code of the specimen"><rect width="%d" height="%d" fill="#fff"/><path d="%s" fill="#000"/></svg>`, side, side, side, side, path.String())), nil //nolint:gosec // numbers only
}

var labelPage = template.Must(template.New("labels.html").ParseFS(files, "labels.html"))

// labelsPerPage fills an A4 page with three columns of six.
const labelsPerPage = 18

type labelView struct {
	Label
	QR template.HTML
}

type labelPageView struct {
	Labels   []labelView
	Number   int
	Of       int
	Campaign string
	Seed     uint64
}

// WriteLabels writes the labels as one HTML page that needs nothing from outside and prints on A4, eighteen to
// a page with the cautions at the foot of each. The same sheet gives the same bytes.
func WriteLabels(w io.Writer, s *LabelSheet) error {
	if s == nil || len(s.Labels) == 0 {
		return errors.New("labels: there is no specimen to label")
	}
	css, err := files.ReadFile("labels.css")
	if err != nil {
		return fmt.Errorf("labels: %w", err)
	}
	view := struct {
		*LabelSheet
		CSS      template.CSS
		Pages    []labelPageView
		Cautions []string
	}{LabelSheet: s, CSS: template.CSS(css), Cautions: drop.Cautions()} //nolint:gosec // our own file
	for i, l := range s.Labels {
		code, err := qrSVG(s.Code(l))
		if err != nil {
			return err
		}
		if i%labelsPerPage == 0 {
			view.Pages = append(view.Pages, labelPageView{Number: len(view.Pages) + 1, Of: (len(s.Labels) + labelsPerPage - 1) / labelsPerPage, Campaign: s.Campaign, Seed: s.Seed})
		}
		p := &view.Pages[len(view.Pages)-1]
		p.Labels = append(p.Labels, labelView{l, code})
	}
	var b bytes.Buffer
	if err := labelPage.Execute(&b, view); err != nil {
		return fmt.Errorf("labels: %w", err)
	}
	if _, err := w.Write(b.Bytes()); err != nil {
		return fmt.Errorf("labels: %w", err)
	}
	return nil
}
