package figure

import (
	"math"
	"strings"
	"testing"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// lost is a half-sine of 10 kN over 40 ms at 10 kHz of which the top is cut off at 8 kN, 12 ms to 28 ms, and one sample is lost at 5 ms.
func lost() Record {
	r := Record{Name: "D01", Outcome: drop.Held, ForceN: make([]float64, 500), Rate: 10000, Peak: 8000, PeakTime: 0.012, End: 0.04}
	for i := range r.ForceN {
		r.ForceN[i] = math.Min(8000, math.Max(0, 10000*math.Sin(math.Pi*float64(i)*1e-4/0.04)))
	}
	r.Known = Known{AtLeast: true, Rebuilt: &[2]quantity.Force{9700, 10300}}
	r.Unmeasured = []Unmeasured{{drop.Lost, 0.00495, 0.00505}, {drop.Saturated, 0.012, 0.028}}
	return r
}

// What was not measured is shaded between edges that tell its kind, and the key says which it is; the peak is an interval with its whisker.
func TestUnmeasuredIsShaded(t *testing.T) {
	svg := string(ForceTime{Records: []Record{lost()}}.SVG("x"))
	for _, want := range []string{"not measured: saturated", "not measured: lost", "9.70 to 10.30 kN, rebuilt (≥ 8.00 kN)", "peak 9.70 to 10.30 kN, rebuilt from momentum; at least 8.00 kN was measured"} {
		if !strings.Contains(svg, want) {
			t.Errorf("%q is not drawn", want)
		}
	}
	if strings.Contains(svg, "bridged") || strings.Contains(svg, "out of range") {
		t.Error("the key names kinds that do not occur")
	}
	good := lost()
	good.Known, good.Unmeasured = Known{}, nil
	if svg := string(ForceTime{Records: []Record{good}}.SVG("x")); strings.Contains(svg, "not measured") || strings.Contains(svg, "≥") || strings.Contains(svg, "rebuilt") {
		t.Error("a good record is drawn as if something were missing")
	}
	bound := lost()
	bound.Rebuilt = nil
	if svg := string(ForceTime{Records: []Record{bound}}.SVG("x")); !strings.Contains(svg, "≥ 8.00 kN") || !strings.Contains(svg, "D01 held, peak at least 8.00 kN") {
		t.Error("a bound of a specimen that held is drawn as a value")
	}
}

// Bands stand where the stretch is; one that is too narrow to be seen has the least width about its middle, and single ones beside each other
// are one.
func TestShadesOnTheAxis(t *testing.T) {
	o := overlay{x: scale{lo: 0, hi: 100, a: 0, b: 400}, curves: []curve{{name: "D", shades: []shade{
		{drop.Lost, -9, -5}, {drop.Lost, 10, 10.01}, {drop.Lost, 10.1, 10.11}, {drop.Saturated, 10.12, 30}, {drop.Lost, 90, 130}, {drop.Lost, 120, 130},
	}}}}
	var g group
	o.drawShades(&g, box{0, 0, 400, 100})
	want := [][2]float64{{(40 + 40.44 - leastShade) / 2, (40 + 40.44 + leastShade) / 2}, {40.48, 120}, {360, 400}}
	if len(g.marks) != len(want) {
		t.Fatalf("%d bands", len(g.marks))
	}
	for i, m := range g.marks {
		run := m.(*group).marks[0].(outline).runs[0]
		if math.Abs(run[0].x-want[i][0]) > 1e-9 || math.Abs(run[1].x-want[i][1]) > 1e-9 || run[0].y != 0 || run[2].y != 100 {
			t.Errorf("band %d: %v, want %v", i, run, want[i])
		}
	}
	// 8 - 7.5 kN is the reach of a whisker of the strip plot, or the rebuilt interval.
	d := Specimen{Outcome: drop.Held, Peak: 8000, Expanded: 500}
	if lo, hi, ok := d.whisker(); !ok || lo != 7.5 || hi != 8.5 || d.glyph() != drop.Held {
		t.Errorf("%g %g %v", lo, hi, ok)
	}
	d.Known = Known{AtLeast: true, Rebuilt: &[2]quantity.Force{9700, 10300}}
	if lo, hi, ok := d.whisker(); !ok || math.Abs(lo-9.7) > 1e-12 || math.Abs(hi-10.3) > 1e-12 || d.glyph() != drop.Broke {
		t.Errorf("%g %g %v", lo, hi, ok)
	}
}
