package compare

import "testing"

// A force that is drawn again has its unit beside it, a ratio has none.
func TestResampledFiguresHaveTheirUnit(t *testing.T) {
	in := entriesOf(cellData{"sewn", 0.9, []float64{15000, 15500, 15200}, nil}, cellData{"overhand", 0.9, []float64{9000, 9500, 9200}, nil})
	cells, err := Cells(in, 0.95)
	if err != nil {
		t.Fatal(err)
	}
	b := NewBootstrap(cells, nil, Against{})
	draws := make([][]float64, 40)
	for i := range draws {
		draws[i] = make([]float64, b.Figures())
	}
	b.Part(1, 1, draws)
	out, _ := b.SumUp(draws, 0.95)
	units := map[string]int{}
	for _, r := range out {
		units[r.Unit]++
		if (r.Unit == "N") != (r.Value > 100) {
			t.Errorf("%s: %g in %q", r.Figure, r.Value, r.Unit)
		}
	}
	if units["N"] != 2 || units[""] != 1 {
		t.Errorf("%v", units)
	}
}
