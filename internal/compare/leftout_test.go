package compare

import (
	"testing"

	"github.com/hardcatch/hardcatch/internal/drop"
)

// A drop that a finding leaves out is shown and counts nowhere: by hand, 10 and 12 kN have the mean 11, with 20 kN among them it would be 14.
func TestWhatAFindingLeavesOutCountsNowhere(t *testing.T) {
	in := []Entry{entry("1", "sewn", drop.Held, 10000), entry("2", "sewn", drop.Held, 12000), entry("3", "sewn", drop.Held, 20000), entry("4", "sewn", drop.Void, 9000)}
	in[2].LeftOut, in[3].LeftOut = "same-record:3+4", "same-record:3+4"
	cells, err := Cells(in, 0.95)
	if err != nil {
		t.Fatal(err)
	}
	c := cells[0]
	if c.N != 2 || c.Held != 2 || c.LeftOut != 1 || c.Void != 1 || c.Again != 0 || c.Mean.SI() != 11000 || len(c.Drops) != 4 {
		t.Errorf("%+v, want two that held with the mean 11 kN, one left out and one void", c)
	}
	if r := c.Drops[2]; r.LeftOut != "same-record:3+4" {
		t.Errorf("the row says %q", r.LeftOut)
	}
	if in[2].Counts() || !in[0].Counts() {
		t.Error("only what nothing leaves out counts")
	}
	if _, _, _, ok := in[2].Row().Range(); ok {
		t.Error("a drop that is left out has a range for the next one")
	}
	if said := UsedSpecimenWarnings(in); len(said) != 0 {
		t.Errorf("said of specimens dropped again: %v", said)
	}
	checks := []Entry{checkAt("a", "2026-03-01", 1, 10), checkAt("b", "2026-03-01", 2, 11), checkAt("c", "2026-03-02", 1, 30)}
	checks[2].LeftOut = "same-record:c+d"
	if n := ChartChecks(checks).N; n != 2 {
		t.Errorf("%d check drops are charted, want 2", n)
	}
}
