package render_test

import (
	"bytes"
	"context"
	"html"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/hardcatch/hardcatch/internal/app"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/render"
	"github.com/hardcatch/hardcatch/internal/store/sqlstore"
	"github.com/hardcatch/hardcatch/internal/traceio"
	"github.com/hardcatch/hardcatch/internal/traceio/csvtrace"
	"github.com/hardcatch/hardcatch/internal/view"
)

var (
	drawn  = regexp.MustCompile(`(?s)<svg.*?</svg>`)
	style  = regexp.MustCompile(`(?s)<style>.*?</style>`)
	asKept = regexp.MustCompile(`(?s)<td lang="en">.*?</td>`) // settings, as the file keeps them
	tag    = regexp.MustCompile(`<[^>]*>`)
	space  = regexp.MustCompile(`\s+`)
	verb   = regexp.MustCompile(`%(?:\[\d+\])?[-+#0]*\d*(?:\.\d+)?[a-zA-Z%]`)
	point  = regexp.MustCompile(`\d\.\d`)
)

// The German and the French report of the demonstration hold no sentence of the English catalogue, no text marked as English
// and no decimal point, besides what the invented people wrote.
func TestReportInTheReadersLanguage(t *testing.T) {
	a := &look.Access{Files: sqlstore.Files{}, Formats: traceio.NewRegistry(), Now: time.Now, Version: "test"}
	a.Formats.Register(csvtrace.Format{})
	path := filepath.Join(t.TempDir(), "demo.hardcatch")
	if _, err := app.Demo(t.Context(), a, path); err != nil {
		t.Fatal(err)
	}
	made := a.Now()
	a.Now = func() time.Time { return made }
	ctx := context.Background()
	text, figures := map[string]string{}, map[string]string{}
	for _, lang := range message.Languages {
		var b bytes.Buffer
		if err := render.ReportOf(ctx, a, path, &b, view.ReportOptions{Lang: lang, EveryCheck: true}); err != nil {
			t.Fatal(err)
		}
		page := asKept.ReplaceAllString(style.ReplaceAllString(b.String(), ""), "")
		if !strings.Contains(page, `<html lang="`+lang+`">`) {
			t.Errorf("%s: the page does not say its language", lang)
		}
		if m := regexp.MustCompile(`<[a-z]+ lang="en">[^<]*`).FindString(page); lang != "en" && m != "" {
			t.Errorf("%s: left in English: %s", lang, m)
		}
		words := func(part string) string {
			return space.ReplaceAllString(html.UnescapeString(tag.ReplaceAllString(part, " ")), " ")
		}
		// Axes may have room for other marks in another language.
		figures[lang] = words(strings.Join(drawn.FindAllString(page, -1), " "))
		text[lang] = words(drawn.ReplaceAllString(page, " "))
	}
	var b bytes.Buffer
	if err := render.ReportOf(ctx, a, path, &b, view.ReportOptions{Lang: "it"}); err == nil || !strings.Contains(err.Error(), "en, de, fr") {
		t.Errorf("a language that is not known: %v", err)
	}
	de, err := message.In("de")
	if err != nil {
		t.Fatal(err)
	}
	looked, stands := 0, 0
	for _, sentence := range de.Sentences() {
		for _, piece := range verb.Split(sentence, -1) {
			if piece = strings.TrimSpace(piece); len(strings.Fields(piece)) < 3 || strings.Contains(piece, "JCGM") {
				continue
			}
			looked++
			if strings.Contains(text["en"], piece) {
				stands++
			}
			for _, lang := range message.Languages[1:] {
				if strings.Contains(text[lang], piece) || strings.Contains(figures[lang], piece) {
					t.Errorf("%s: the report says %q", lang, piece)
				}
			}
		}
	}
	if looked < 500 || stands < 150 {
		t.Errorf("%d pieces of sentences were looked for, %d stand in the English report", looked, stands)
	}
	for _, lang := range message.Languages[1:] {
		// Versions, file names and standards keep their points.
		rest := regexp.MustCompile(`JCGM 100:2008\.|Hardcatch \S+|reduce/\S+|\d\. `).ReplaceAllString(text[lang]+figures[lang], "")
		if at := point.FindStringIndex(rest); at != nil {
			t.Errorf("%s: a decimal point in %q", lang, rest[max(0, at[0]-40):min(len(rest), at[1]+40)])
		}
	}
	numbers := regexp.MustCompile(`\d+(?:[.,]\d+)*`)
	en := numbers.FindAllString(text["en"], -1)
	for _, lang := range message.Languages[1:] {
		got := numbers.FindAllString(text[lang], -1)
		count := map[string]int{}
		for _, n := range en {
			count[strings.ReplaceAll(n, ".", ",")]++
		}
		for _, n := range got {
			count[strings.ReplaceAll(n, ".", ",")]--
		}
		for n, k := range count {
			if k != 0 {
				t.Errorf("%s: the number %s stands %d times less than in the English report", lang, n, k)
			}
		}
	}
}
