package compare

import (
	"math"
	"testing"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// By hand: S1 holds twice and breaks on the third fall (entered out of order); S2 holds twice; S3 once and counts nowhere here; S4 has a void drop between two held
// ones of unlike falls; what follows a break is no fall held.
func TestFallsHeld(t *testing.T) {
	at := func(id, specimen string, order int, o drop.Outcome, peak, fall float64) Entry {
		return Entry{Drop: drop.Drop{ID: id, Order: order, Fall: quantity.Length(fall), Specimen: drop.Specimen{ID: specimen, Length: 1}}, Outcome: o, Decided: true, Peak: quantity.Force(peak), Trusted: true}
	}
	list := []Entry{
		at("3", "S1", 3, drop.Broke, 11e3, 1), at("1", "S1", 1, drop.Held, 8e3, 1), at("2", "S1", 2, drop.Held, 10e3, 1), at("4", "S1", 4, drop.Held, 10e3, 1),
		at("5", "S2", 5, drop.Held, 8e3, 1), at("6", "S2", 6, drop.Held, math.NaN(), 1),
		at("7", "S3", 7, drop.Held, 8e3, 1),
		at("8", "S4", 8, drop.Held, 8e3, 1), at("9", "S4", 9, drop.Void, 8e3, 1), at("10", "S4", 10, drop.Held, 9e3, 2),
	}
	got := FallsHeldBy(list)
	if len(got) != 3 {
		t.Fatalf("%+v", got)
	}
	for i, want := range []struct {
		id              string
		drops, from, to int
		void            int
		last            float64
		said            string
	}{
		{"S1", 3, 2, 3, 0, 10e3, "specimen S1 held 2 falls and not fall 3; its peaks went from 8.00 kN to 10.0 kN; it counts as one specimen"},
		{"S2", 2, 2, 0, 0, 8e3, "specimen S2 held 2 falls, and may hold more; its peaks went from 8.00 kN to 8.00 kN; it counts as one specimen"},
		{"S4", 2, 2, 0, 1, 9e3, "specimen S4 held 2 falls, and may hold more; its peaks went from 8.00 kN to 9.00 kN; 1 void drops loaded it as well; its drops are not alike, so that the number says nothing of one fall repeated; it counts as one specimen"},
	} {
		x := got[i]
		if x.Specimen != want.id || x.Drops != want.drops || x.HeldFrom != want.from || (x.HeldTo != nil) != (want.to > 0) || x.HeldTo != nil && *x.HeldTo != want.to || x.Void != want.void || x.Last.SI() != want.last || x.Said.String() != want.said {
			t.Errorf("%+v: %s", x, x.Said)
		}
	}
	// Wherever specimens are counted, S1 and S2 are one each.
	n := 0
	cells, err := Cells(list, 0.95)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range cells {
		n += c.N
	}
	if n != 4 {
		t.Errorf("%d specimens of 4 count", n)
	}
}
