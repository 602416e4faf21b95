package figure_test

import (
	"bytes"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/hardcatch/hardcatch/internal/figure"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// What a map must say is there in words or signs, not in colour alone.
func TestMapSaysWhatItShows(t *testing.T) {
	m := sampleMap()
	m.Limits = append(m.Limits, figure.Limit{Name: "a limit out of reach", Value: 25000})
	svg, at := m.Draw("map")
	p := parse(t, svg)
	for _, must := range []string{
		"peak force in kN, if nothing parts", "predicted to part, above 19 kN", "extrapolation: not dropped", "the fall asked for", "held", "broke", "slipped",
		"D03 broke, 15.00 kN", "C 12", "12 kN anchor device, EN 795:2012", "Passed everywhere", "E 22", "Not reached on this map: 25 kN a limit out of reach.",
		"drops of one fall stand side by side",
	} {
		want := must != "Passed everywhere"
		if p.says(must) != want {
			t.Errorf("says %q: %v", must, !want)
		}
	}
	if at.Left <= 0 || at.Right <= at.Left+300 || at.Bottom <= at.Top+200 || at.Height <= at.Bottom || at.Width != figure.FullWidth {
		t.Errorf("%+v", at)
	}
	for _, s := range p.sizes {
		if s < 8 {
			t.Errorf("text of %g pt", s)
		}
	}
	if !bytes.Equal(svg, m.SVG("map")) {
		t.Error("the same map gives other bytes")
	}
}

// The ring of a drop stands where the axes say, and the hatch lies where the peak is above the force that parts, only there.
func TestMapPlaces(t *testing.T) {
	m := sampleMap()
	m.Drops, m.Asked, m.Limits = m.Drops[:1], nil, nil
	m.Drops[0].X, m.Drops[0].Y = 1, 1.65
	svg, at := m.Draw("map")
	c := regexp.MustCompile(`<circle cx="([0-9.]+)" cy="([0-9.]+)" r="2.5"`).FindSubmatch(svg)
	if c == nil {
		t.Fatal("no disc")
	}
	x, _ := strconv.ParseFloat(string(c[1]), 64)
	y, _ := strconv.ParseFloat(string(c[2]), 64)
	// 1 of 0 to 2, and 1.65 of 0.3 to 3: the middle of the plot.
	if math.Abs(x-(at.Left+at.Right)/2) > 0.02 || math.Abs(y-(at.Top+at.Bottom)/2) > 0.02 {
		t.Errorf("%g, %g in %+v", x, y, at)
	}
	hatch := regexp.MustCompile(`Predicted to part</title>\s*<path d="([^"]+)"`).FindSubmatch(svg)
	if hatch == nil {
		t.Fatal("no hatch")
	}
	n := 0
	for _, run := range strings.Split(string(hatch[1]), "M")[1:] {
		for _, pair := range strings.Split(run, "L") {
			var v [2]float64
			for i, s := range strings.Fields(pair) {
				v[i], _ = strconv.ParseFloat(s, 64)
			}
			f, l := 2*(v[0]-at.Left)/(at.Right-at.Left), 3-2.7*(v[1]-at.Top)/(at.Bottom-at.Top)
			const w = 980.665
			k := 1 / (l/120e3 + 1/1e6)
			if peak := w + math.Sqrt(w*w+2*w*k*f*l); peak < 19000*0.995 {
				t.Errorf("hatch at factor %g, length %g, where the peak is %g N", f, l, peak)
			}
			n++
		}
	}
	if n < 40 {
		t.Errorf("%d ends of hatch lines", n)
	}
}

func TestMapWithoutMuch(t *testing.T) {
	flat := figure.Map{X: []float64{0, 1}, Y: []float64{1, 10}, PeakN: []float64{5000, 5000, 5000, 5000}, Up: figure.MapAxis{Title: "Rig (MN/m)", Log: true}, Across: figure.MapAxis{Title: "Fall (m)"}}
	p := parse(t, flat.SVG("flat"))
	for _, must := range []string{"Rig (MN/m)", "Fall (m)", "10", "5", "2", "1"} {
		if !p.says(must) {
			t.Errorf("lacks %q", must)
		}
	}
	if p.says("extrapolation") || p.says("predicted to part") {
		t.Error("says what it does not show")
	}
	whole := sampleMap()
	whole.Parts, whole.Known = 1, func(float64, float64) bool { return false }
	whole.Limits = []figure.Limit{{Name: "low", Value: quantity.Force(500)}}
	if p := parse(t, whole.SVG("whole")); !p.says("Passed everywhere on this map: 0.5 kN low.") {
		t.Error("a limit below every peak is not said")
	}
}

func BenchmarkMap(b *testing.B) {
	m := sampleMap()
	for b.Loop() {
		m.SVG("map")
	}
}
