package figure_test

import (
	"math"
	"regexp"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"github.com/hardcatch/hardcatch/internal/figure"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

func sampleRatios() figure.Ratios {
	return figure.Ratios{
		Frame: figure.Frame{Title: "All factors together: strength", Note: "1 means no difference."}, Across: "times as high",
		Rows: []figure.Ratio{
			{Name: "aramid / polyester", Value: 1.42, Lo: 1.31, Hi: 1.55}, {Name: "tied / sewn", Value: 0.55, Lo: 0.5, Hi: 0.61},
			{Name: "wet / dry", Value: 0.9, Lo: nan, Hi: 1.2}, {Name: "four winters / new", Value: 0.8, Lo: 0.7, Hi: nan}, {Name: "no number", Value: nan},
		},
	}
}

func sampleStrengths() figure.StrengthCurve {
	return figure.StrengthCurve{
		Frame: figure.Frame{Title: "polyester, sewn", Width: figure.HalfWidth},
		Steps: []figure.ShareStep{{Force: 16000, Share: 0.8, Lo: 0.4, Hi: 0.95}, {Force: 17500, Share: 0.53, Lo: 0.2, Hi: 0.8}, {Force: 19000, Share: 0, Lo: nan, Hi: nan}},
		Fit:   func(f quantity.Force) float64 { return math.Exp(-math.Pow(f.SI()/17800, 14)) },
		Broke: []quantity.Force{16000, 17500, 19000}, Held: []quantity.Force{16500, 17000},
	}
}

func sampleChecks() figure.CheckDrops {
	return figure.CheckDrops{
		Frame: figure.Frame{Title: "Peaks of the check drops"}, Names: []string{"c01", "c02", "c03", "c04"},
		Peaks: []quantity.Force{21000, 21040, 20980, 21010}, Average: []quantity.Force{21000, 21008, 21002, 21004}, Centre: 21007, Lower: 20860, Upper: 21150,
	}
}

func TestPrintedDrawings(t *testing.T) {
	for name, c := range map[string]struct {
		d    figure.Drawing
		says []string
	}{
		"ratios":  {sampleRatios(), []string{"aramid / polyester", "1.42 (1.31–1.55)", "0.900 (?–1.20)", "0.800 (0.700–?)", "times as high", "–"}},
		"curve":   {sampleStrengths(), []string{"Share that holds", "50\u00a0%", "3 broke, 2 held.", "broke 16.00 kN", "held 17.00 kN"}},
		"checks":  {sampleChecks(), []string{"upper limit", "lower limit", "centre", "c03", "c03: 20.98 kN", "Peaks of 4 check drops."}},
		"nothing": {figure.Ratios{}, []string{"Figure without a title"}},
		"empty":   {figure.StrengthCurve{}, []string{"0 broke, 0 held."}},
		"none":    {figure.CheckDrops{}, []string{"Peaks of 0 check drops."}},
		"odd":     {figure.CheckDrops{Peaks: []quantity.Force{quantity.Force(nan), quantity.Force(math.Inf(1)), 3}, Names: []string{"<x>"}, Centre: 1}, []string{"<x>"}},
	} {
		p := parse(t, c.d.SVG(name))
		for _, want := range c.says {
			if !p.says(want) {
				t.Errorf("%s does not say %q", name, want)
			}
		}
		w, h, all := layout(t, c.d.SVG(name))
		for i, a := range all {
			if a.x0 < -0.5 || a.x1 > w+0.5 || a.y0 < -0.5 || a.y1 > h+0.5 {
				t.Errorf("%s: %q leaves the drawing (%.1f to %.1f of %.1f)", name, a.text, a.x0, a.x1, w)
			}
			for _, b := range all[:i] {
				if a.x0 < b.x1 && b.x0 < a.x1 && a.y0 < b.y1 && b.y0 < a.y1 {
					t.Errorf("%s: %q covers %q", name, a.text, b.text)
				}
			}
		}
	}
}

// The line at 1 lies between ratios above and below it, and twice as much is as far as half: the axis is logarithmic.
func TestRatiosAreLogarithmic(t *testing.T) {
	svg := string(figure.Ratios{Rows: []figure.Ratio{{Name: "a", Value: 0.5, Lo: 0.5, Hi: 0.5}, {Name: "b", Value: 1, Lo: 1, Hi: 1}, {Name: "c", Value: 2, Lo: 2, Hi: 2}}}.SVG("r"))
	var at []float64
	for _, m := range regexp.MustCompile(`<circle cx="([0-9.]+)"`).FindAllStringSubmatch(svg, -1) {
		at = append(at, number(t, m[1]))
	}
	if len(at) != 3 || math.Abs((at[1]-at[0])-(at[2]-at[1])) > 0.05 || at[1] <= at[0] {
		t.Errorf("the dots stand at %v", at)
	}
}

// A drawing in German or French has the words and the decimal sign of that language, in its marks and in what is read out.
func TestDrawingsInOtherLanguages(t *testing.T) {
	for lang, words := range map[string][]string{"de": {"Zeit nach", "Kraft (kN)", "gerissen", "Spitzenkraft (kN)", "Anteil, der hält", "obere Grenze"}, "fr": {"Temps après", "Force (kN)", "rompue", "Force maximale (kN)", "Part qui tient", "limite haute"}} {
		in, err := message.In(lang)
		if err != nil {
			t.Fatal(err)
		}
		ft, strips, curve, checks := sampleForceTime(), sampleStrips(4, 5), sampleStrengths(), sampleChecks()
		ft.In, strips.In, curve.In, checks.In = in, in, in, in
		text := ""
		for _, d := range []figure.Drawing{ft, strips, curve, checks} {
			text += strings.Join(parse(t, d.SVG("x")).texts, "\n") + "\n"
		}
		for _, w := range words {
			if !strings.Contains(text, w) {
				t.Errorf("%s: the drawings do not say %q", lang, w)
			}
		}
		if m := regexp.MustCompile(`.*\d\.\d.*`).FindString(text); m != "" {
			t.Errorf("%s: a decimal point in %q", lang, m)
		}
		for _, english := range []string{"broke", "held", "Peak force (kN)", "not counted", "lower limit"} {
			if strings.Contains(text, english) {
				t.Errorf("%s: the drawings say %q", lang, english)
			}
		}
	}
}

func TestPrintedDrawingsNeverPanic(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		any := rapid.OneOf(rapid.Float64(), rapid.SampledFrom([]float64{nan, math.Inf(1), math.Inf(-1), 0, -1, 1e300, 1e-300}))
		v := func() quantity.Force { return quantity.Force(any.Draw(r, "v")) }
		share := any.Draw(r, "f")
		figure.Ratios{Rows: []figure.Ratio{{Value: any.Draw(r, "a"), Lo: any.Draw(r, "b"), Hi: any.Draw(r, "c")}}}.SVG("a")
		figure.StrengthCurve{Steps: []figure.ShareStep{{Force: v(), Share: any.Draw(r, "s"), Lo: any.Draw(r, "l"), Hi: any.Draw(r, "h")}}, Fit: func(quantity.Force) float64 { return share }, Broke: []quantity.Force{v()}, Held: []quantity.Force{v(), v()}}.SVG("b")
		figure.CheckDrops{Peaks: []quantity.Force{v(), v()}, Average: []quantity.Force{v()}, Centre: v(), Lower: v(), Upper: v()}.SVG("c")
	})
}

func number(t testing.TB, text string) float64 {
	t.Helper()
	var q quantity.Ratio
	if err := q.UnmarshalText([]byte(text)); err != nil {
		t.Fatal(err)
	}
	return q.SI()
}
