package view

import (
	"strings"
	"testing"

	"github.com/hardcatch/hardcatch/internal/compare"
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/foresee"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// Two cells: one held at 4 and 6 kN, a void drop of 9 kN that does not count, and one that broke at 8 kN, where the arrest force is at least that.
func TestPeaksBesideScenes(t *testing.T) {
	kN := func(v float64) *quantity.Force { f := quantity.Force(1000 * v); return &f }
	cell := func(name string, rows ...compare.Row) CellResult {
		return CellResult{Cell: compare.Cell{Levels: map[string]string{"material": name}, Drops: rows}}
	}
	r := &Results{Campaign: "c", Cells: []CellResult{
		cell("a", compare.Row{Outcome: drop.Held, Peak: kN(4)}, compare.Row{Outcome: drop.Held, Peak: kN(6)}, compare.Row{Outcome: drop.Void, Peak: kN(9)}, compare.Row{Outcome: drop.Held}),
		cell("b", compare.Row{Outcome: drop.Broke, Peak: kN(8), LowerBound: true}),
		cell("c", compare.Row{Outcome: drop.Void, Peak: kN(9)}),
	}}
	s, err := foresee.Scenes()
	if err != nil {
		t.Fatal(err)
	}
	v := besideScenes(r, s, message.English())
	if len(v.Peaks) != 2 || v.Peaks[0] != (ScenePeak{Cell: "a", Drops: 2, Low: 4000, High: 6000}) || v.Peaks[1] != (ScenePeak{Cell: "b", Drops: 1, Low: 8000, High: 8000, AtLeast: true}) {
		t.Errorf("%+v", v.Peaks)
	}
	svg := string(v.Drawing.SVG())
	for _, want := range []string{"4.00 to 6.00 kN", "at least 8.00 to 8.00 kN", "never what a person bears", "on the upper connector", "This campaign, rigid mass"} {
		if !strings.Contains(svg, want) {
			t.Errorf("the drawing lacks %q", want)
		}
	}
	for range 6 {
		r.Cells = append(r.Cells, r.Cells[0])
	}
	if svg = string(besideScenes(r, s, message.English()).Drawing.SVG()); !strings.Contains(svg, "8 cells together") || !strings.Contains(svg, "at least 4.00 to 8.00 kN") {
		t.Error("many cells have no row together")
	}
	if alone := ScenesAlone(s, message.English()); len(alone.Peaks) != 0 || strings.Contains(string(alone.Drawing.SVG()), "This campaign") {
		t.Error("there is no campaign")
	}
}
