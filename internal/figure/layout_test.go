package figure_test

import (
	"fmt"
	"html"
	"regexp"
	"strconv"
	"testing"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/figure"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

type placed struct {
	text           string
	x0, y0, x1, y1 float64
}

var (
	sizeOf = regexp.MustCompile(`^<svg [^>]*width="([0-9.]+)pt" height="([0-9.]+)pt"`)
	textOf = regexp.MustCompile(`<text x="([-0-9.]+)" y="([-0-9.]+)" font-size="([0-9.]+)"( text-anchor="[a-z]+")?( font-weight="bold")? fill="#[0-9a-f]+">([^<]*)</text>`)
)

func layout(t *testing.T, svg []byte) (w, h float64, all []placed) {
	t.Helper()
	num := func(b []byte) float64 {
		v, err := strconv.ParseFloat(string(b), 64)
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
	m := sizeOf.FindSubmatch(svg)
	if m == nil {
		t.Fatal("the drawing has no size")
	}
	for _, k := range textOf.FindAllSubmatch(svg, -1) {
		x, y, size := num(k[1]), num(k[2]), num(k[3])
		text := html.UnescapeString(string(k[6]))
		wide := figure.TextWidth(text, size, len(k[5]) > 0)
		switch string(k[4]) {
		case ` text-anchor="middle"`:
			x -= wide / 2
		case ` text-anchor="end"`:
			x -= wide
		}
		// Capitals and figures stand about 0.7 of the size above the base line.
		all = append(all, placed{text, x, y - 0.7*size, x + wide, y + 0.2*size})
	}
	return num(m[1]), num(m[2]), all
}

// No text leaves the drawing or covers another, set in a face as broad as the one the widths are of.
func TestTextHasItsPlace(t *testing.T) {
	ft, half, crowd := sampleForceTime(), sampleForceTime(), sampleForceTime()
	half.Width = figure.HalfWidth
	crowd.Limits = nil
	for i := range 12 {
		crowd.Limits = append(crowd.Limits, figure.Limit{Name: fmt.Sprintf("limit number %d of a standard, EN %d:2012", i, 300+i), Value: quantity.Force(4000 + 900*i)})
		crowd.Records = append(crowd.Records, record(fmt.Sprintf("E%02d", i), 9000+300*float64(i), 0.06, []drop.Outcome{drop.Held, drop.Broke}[i%2]))
	}
	strips := sampleStrips(16, 4)
	strips.Limits = append(strips.Limits, crowd.Limits...)
	slim, many := sampleMap(), sampleMap()
	slim.Width = figure.HalfWidth
	many.Limits = append(many.Limits, crowd.Limits...)
	for name, d := range map[string]figure.Drawing{
		"map": sampleMap(), "slim map": slim, "map with many limits": many, "full": ft, "half": half, "crowd": crowd, "loops": sampleLoops(), "strips": sampleStrips(16, 4), "one strip": sampleStrips(1, 1), "strips with many limits": strips,
		"empty": figure.ForceTime{}, "no strips": figure.StripPlot{},
		"intervals": sampleIntervals(), "shares": sampleShares(), "dots": sampleDots(1), "dots of four": sampleDots(4), "curves": sampleCurves(),
		"control": sampleControl(16, "2026-03-11"), "control, narrow": narrowed(sampleControl(16, "2027-03-11")), "control, past": sampleControl(7, "2025-03-11"),
	} {
		w, h, all := layout(t, d.SVG("x"))
		if len(all) < 5 {
			t.Errorf("%s: %d texts", name, len(all))
		}
		for i, a := range all {
			if a.x0 < -0.5 || a.x1 > w+0.5 || a.y0 < -0.5 || a.y1 > h+0.5 {
				t.Errorf("%s: %q leaves the drawing", name, a.text)
			}
			for _, b := range all[:i] {
				if a.x0 < b.x1-0.5 && b.x0 < a.x1-0.5 && a.y0 < b.y1-0.5 && b.y0 < a.y1-0.5 {
					t.Errorf("%s: %q covers %q", name, a.text, b.text)
				}
			}
		}
	}
}
