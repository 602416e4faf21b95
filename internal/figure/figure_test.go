package figure_test

import (
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/figure"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

var nan = math.NaN()

// parsed is what a drawing says when it is read as XML.
type parsed struct {
	texts []string
	sizes []float64
	ids   map[string]int
	attrs []string // of the root
}

func parse(t testing.TB, svg []byte) parsed {
	t.Helper()
	p := parsed{ids: map[string]int{}}
	d := xml.NewDecoder(bytes.NewReader(svg))
	depth := 0
	for {
		tok, err := d.Token()
		if errors.Is(err, io.EOF) {
			return p
		}
		if err != nil {
			t.Fatalf("not well-formed: %v", err)
		}
		switch tok := tok.(type) {
		case xml.StartElement:
			depth++
			for _, a := range tok.Attr {
				if depth == 1 {
					p.attrs = append(p.attrs, a.Name.Local+"="+a.Value)
				}
				if a.Name.Local == "id" {
					p.ids[a.Value]++
				}
				if a.Name.Local == "font-size" {
					v, err := strconv.ParseFloat(a.Value, 64)
					if err != nil {
						t.Fatal(err)
					}
					p.sizes = append(p.sizes, v)
				}
			}
		case xml.EndElement:
			depth--
		case xml.CharData:
			if s := strings.TrimSpace(string(tok)); s != "" {
				p.texts = append(p.texts, s)
			}
		}
	}
}

func (p parsed) says(s string) bool { return strings.Contains(strings.Join(p.texts, "\n"), s) }

func TestEdges(t *testing.T) {
	lone := record("D01", 9000, 0.06, drop.Held)
	gaps := record("D02", 9000, 0.06, drop.Held)
	for i := 600; i < 700; i++ {
		gaps.ForceN[i] = nan
	}
	gaps.ForceN[900] = math.Inf(1)
	all := record("D03", 9000, 0.06, drop.Held)
	for i := range all.ForceN {
		all.ForceN[i] = nan
	}
	all.Peak, all.PeakTime, all.End = quantity.Force(nan), quantity.Duration(nan), quantity.Duration(nan)
	noRate := record("D04", 9000, 0.06, drop.Broke)
	noRate.Rate = 0
	under := record("D05", 9000, 0.06, "")
	for i := range under.ForceN {
		under.ForceN[i] = -under.ForceN[i]
	}
	one := figure.Record{Name: "D06", Outcome: drop.Held, Rate: 1000, ForceN: []float64{5000}, Peak: 5000, Expanded: 100}
	zero := figure.Record{Name: "D07", Outcome: drop.Void, Rate: 1000, ForceN: make([]float64, 10)}
	for name, d := range map[string]figure.Drawing{
		"no records":     figure.ForceTime{},
		"one drop":       figure.ForceTime{Records: []figure.Record{lone}},
		"gaps":           figure.ForceTime{Records: []figure.Record{gaps, lone}},
		"no number":      figure.ForceTime{Records: []figure.Record{all}},
		"no rate":        figure.ForceTime{Records: []figure.Record{noRate}},
		"below zero":     figure.ForceTime{Records: []figure.Record{under}},
		"single sample":  figure.ForceTime{Records: []figure.Record{one}},
		"all zero":       figure.ForceTime{Records: []figure.Record{zero}},
		"empty record":   figure.ForceTime{Records: []figure.Record{{Name: "D08"}}},
		"odd window":     figure.ForceTime{Records: []figure.Record{lone}, From: 3, To: 4, Top: quantity.Force(nan)},
		"odd limits":     figure.ForceTime{Records: []figure.Record{lone}, Limits: []figure.Limit{{Name: "a", Value: quantity.Force(nan)}, {Name: "b", Value: -3}, {Name: "c"}}},
		"narrow":         figure.ForceTime{Frame: figure.Frame{Width: 1, Depth: 1, Title: strings.Repeat("long ", 40)}, Records: []figure.Record{lone, gaps}},
		"no loops":       figure.ForceElongation{},
		"odd loops":      figure.ForceElongation{Loops: []figure.Loop{{Name: "a"}, {Name: "b", ElongationM: []float64{nan, 0.1}, ForceN: []float64{1, 2, 3}}, {Name: "c", ElongationM: []float64{0}, ForceN: []float64{0}}}},
		"no strips":      figure.StripPlot{},
		"empty strip":    figure.StripPlot{Strips: []figure.Strip{{}}},
		"strip no peaks": figure.StripPlot{Strips: []figure.Strip{{Name: "x", Mean: quantity.Force(nan), Specimens: []figure.Specimen{{Name: "D1", Peak: quantity.Force(nan), Expanded: quantity.Force(nan)}}}}},
		"one specimen":   sampleStrips(1, 1),
		"16 cells":       sampleStrips(16, 4),
	} {
		a, b := d.SVG("x"), d.SVG("x")
		if !bytes.Equal(a, b) {
			t.Errorf("%s: two drawings differ", name)
		}
		p := parse(t, a)
		if regexp.MustCompile(`NaN|Inf|e[+-]\d`).Match(regexp.MustCompile(`>[^<]*<`).ReplaceAll(a, nil)) {
			t.Errorf("%s: a place is not a plain number", name)
		}
		for _, s := range p.sizes {
			if s < 8 {
				t.Errorf("%s: text of %g pt is too small to read in print", name, s)
			}
		}
	}
}

func TestAccessibleName(t *testing.T) {
	for id, d := range map[string]figure.Drawing{"f1": sampleForceTime(), "f2": sampleLoops(), "f3": sampleStrips(4, 4)} {
		p := parse(t, d.SVG(id))
		root := strings.Join(p.attrs, " ")
		if !strings.Contains(root, "role=img") || !strings.Contains(root, "aria-labelledby="+id+"-title "+id+"-desc") {
			t.Errorf("the root says %s", root)
		}
		if p.ids[id+"-title"] != 1 || p.ids[id+"-desc"] != 1 {
			t.Errorf("ids are %v", p.ids)
		}
		for k, n := range p.ids {
			if n > 1 || !strings.HasPrefix(k, id+"-") {
				t.Errorf("id %q stands %d times", k, n)
			}
		}
	}
	if p := parse(t, sampleForceTime().SVG("a b<c")); p.ids["a_20b_3cc-title"] != 1 {
		t.Errorf("ids are %v", p.ids)
	}
}

// After a break the rig swings: the swing may not take the room of the record, and that it is cut is said.
func TestSwingIsCut(t *testing.T) {
	r := record("D01", 9000, 0.06, drop.Broke)
	svg := figure.ForceTime{Records: []figure.Record{r}}.SVG("x")
	if parse(t, svg).says("beyond the lower edge") {
		t.Error("a small swing is called cut")
	}
	for i := 900; i < 1000; i++ {
		r.ForceN[i] = -8000
	}
	svg = figure.ForceTime{Records: []figure.Record{r}}.SVG("x")
	if p := parse(t, svg); !p.says("beyond the lower edge") || p.says("\u22125") {
		t.Error("a large swing is shown whole, or its cut is not said")
	}
}

// What is told by colour must also be told by shape and by word.
func TestOutcomesDiffer(t *testing.T) {
	dash := regexp.MustCompile(`stroke-dasharray="([^"]*)"`)
	looks := map[string]drop.Outcome{}
	for _, o := range []drop.Outcome{drop.Held, drop.Broke, drop.Slipped, drop.Void, ""} {
		svg := figure.ForceTime{Records: []figure.Record{record("D01", 9000, 0.06, o)}}.SVG("x")
		look := "solid"
		if m := dash.FindSubmatch(svg); m != nil {
			look = string(m[1])
		}
		if before, ok := looks[look]; ok {
			t.Errorf("%q and %q are drawn with the same line %q", before, o, look)
		}
		looks[look] = o
		word := string(o)
		if word == "" {
			word = "not decided"
		}
		if !parse(t, svg).says("D01 " + word) {
			t.Errorf("the word %q is missing", word)
		}
	}
	if looks["solid"] != drop.Held {
		t.Errorf("a solid line means %q", looks["solid"])
	}
	broke := parse(t, figure.ForceTime{Records: []figure.Record{record("D01", 9000, 0.06, drop.Broke)}}.SVG("x"))
	if !broke.says("≥ ") || !broke.says("at least") {
		t.Error("the peak of a broken specimen is not marked as a lower bound")
	}
}

func TestHostileNames(t *testing.T) {
	bad := "<script>alert(1)</script>\"'&\x00\x1b\u202e]]>\xff"
	ft, loops, strips := sampleForceTime(), sampleLoops(), sampleStrips(2, 2)
	ft.Title, ft.Desc, ft.Note, ft.Records[0].Name, ft.Limits[0].Name = bad, bad, bad, bad, bad
	loops.Title, loops.Loops[0].Name = bad, bad
	strips.Title, strips.Strips[0].Name, strips.Strips[0].Specimens[0].Name, strips.Coverage = bad, bad, bad, bad
	for _, d := range []figure.Drawing{ft, loops, strips} {
		svg := d.SVG(bad)
		parse(t, svg)
		if bytes.Contains(svg, []byte("<script")) || bytes.ContainsAny(svg, "\x00\x1b\u202e") {
			t.Error("a name got through as code")
		}
	}
}

// A spike of one sample among a million must be drawn at its full height.
func TestThinningKeepsPeaks(t *testing.T) {
	const n, spike = 1_000_000, 345_678
	r := figure.Record{Name: "D01", Outcome: drop.Held, Rate: 1e6, ForceN: make([]float64, n), Peak: 9000, PeakTime: spike / 1e6, End: 0.9}
	for i := range r.ForceN {
		r.ForceN[i] = 1000 + 100*math.Sin(float64(i)/50)
	}
	r.ForceN[spike] = 9000
	svg := figure.ForceTime{Records: []figure.Record{r}, From: 0, To: 1}.SVG("x")
	// The glyph of the peak is placed from the peak itself; the curve must reach the same height.
	var cy float64
	if _, err := fmt.Sscanf(string(regexp.MustCompile(`<circle cx="[0-9.]+" cy="([0-9.]+)" r="2.5"`).FindSubmatch(svg)[1]), "%f", &cy); err != nil {
		t.Fatal(err)
	}
	top, points := math.Inf(1), 0
	for _, path := range regexp.MustCompile(`<path d="M([^"]*)" stroke="#0b5a60"`).FindAllSubmatch(svg, -1) {
		for _, pair := range regexp.MustCompile(`([0-9.]+) ([0-9.]+)`).FindAllSubmatch(path[1], -1) {
			y, err := strconv.ParseFloat(string(pair[2]), 64)
			if err != nil {
				t.Fatal(err)
			}
			top = math.Min(top, y)
			points++
		}
	}
	if math.Abs(top-cy) > 0.011 {
		t.Errorf("the curve reaches %.2f, the peak stands at %.2f", top, cy)
	}
	if points > 6000 {
		t.Errorf("%d points were kept of a million samples", points)
	}
}

func TestAnyRecordsDraw(t *testing.T) {
	value := rapid.OneOf(rapid.Float64Range(-3e4, 3e4), rapid.SampledFrom([]float64{nan, math.Inf(1), math.Inf(-1), 0, 1e300, -1e300, 5e-324}))
	outcome := rapid.SampledFrom([]drop.Outcome{drop.Held, drop.Broke, drop.Slipped, drop.Void, "", "odd"})
	rapid.Check(t, func(t *rapid.T) {
		var ft figure.ForceTime
		var fl figure.ForceElongation
		var sp figure.StripPlot
		ft.Width = rapid.SampledFrom([]float64{0, 236, -1, nan}).Draw(t, "width")
		for range rapid.IntRange(0, 20).Draw(t, "records") {
			o, name, peak := outcome.Draw(t, "outcome"), rapid.String().Draw(t, "name"), quantity.Force(value.Draw(t, "peak"))
			force, long := rapid.SliceOfN(value, 0, 30).Draw(t, "force"), rapid.SliceOfN(value, 0, 30).Draw(t, "long")
			u := quantity.Force(value.Draw(t, "u"))
			ft.Records = append(ft.Records, figure.Record{
				Name: name, Outcome: o, ForceN: force, Rate: quantity.Frequency(value.Draw(t, "rate")), Start: quantity.Duration(value.Draw(t, "start")),
				Peak: peak, Expanded: u, PeakTime: quantity.Duration(value.Draw(t, "at")), End: quantity.Duration(value.Draw(t, "end")),
			})
			fl.Loops = append(fl.Loops, figure.Loop{Name: name, Outcome: o, ForceN: force, ElongationM: long, Peak: peak, PeakAt: quantity.Length(value.Draw(t, "along"))})
			sp.Strips = append(sp.Strips, figure.Strip{Name: name, Mean: peak, Lo: quantity.Force(value.Draw(t, "lo")), Hi: u, Specimens: []figure.Specimen{{Name: name, Outcome: o, Peak: peak, Expanded: u}, {Outcome: o, Peak: u}}})
			ft.Limits = append(ft.Limits, figure.Limit{Name: name, Value: u})
		}
		fl.Limits, sp.Limits = ft.Limits, ft.Limits
		for _, d := range []figure.Drawing{ft, fl, sp} {
			a := d.SVG("x")
			if !bytes.Equal(a, d.SVG("x")) {
				t.Fatal("two drawings differ")
			}
			if err := xml.Unmarshal(a, new(struct{})); err != nil {
				t.Fatalf("not well-formed: %v", err)
			}
		}
	})
}

func BenchmarkForceTimeOfMillions(b *testing.B) {
	ft := figure.ForceTime{}
	for i := range 4 {
		r := figure.Record{Name: strconv.Itoa(i), Outcome: drop.Held, Rate: 1e6, ForceN: make([]float64, 1e6), End: 0.9}
		for k := range r.ForceN {
			r.ForceN[k] = 9000*math.Sin(float64(k)/4e5) + 50*math.Sin(float64(k)*1.7)
		}
		ft.Records = append(ft.Records, r)
	}
	b.ResetTimer()
	for b.Loop() {
		ft.SVG("x")
	}
}
