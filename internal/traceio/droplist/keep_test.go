package droplist

import (
	"strings"
	"testing"

	"github.com/hardcatch/hardcatch/internal/drop"
)

// A header two letters away from a known one is a slip of the pen: taken as a column that nobody knows it would empty the one that was meant.
func TestMistypedHeaderIsRefused(t *testing.T) {
	for header, meant := range map[string]string{"knott": "knot", "kont": "knot", "materiel": "material", "lengtth": "length", "conditionings": "conditioning", "fal": "fall", "Takn": "taken"} {
		list := "drop,specimen,fall [m],record," + header + "\nd1,s1,1,a.csv,x\n"
		if header == "fal" {
			list = "drop,specimen,fal [m],record\nd1,s1,1,a.csv\n"
		}
		_, err := Read("list.csv", strings.NewReader(list))
		if err == nil || !strings.Contains(err.Error(), "list.csv:1: ") || !strings.Contains(err.Error(), meant+" was probably meant") {
			t.Errorf("%s: %v, want it refused with %s", header, err, meant)
		}
	}
	for _, header := range []string{"weather", "tower", "remark", "boat", "factor knott", "colour"} {
		if _, err := Read("list.csv", strings.NewReader("drop,specimen,fall [m],record,"+header+"\nd1,s1,1,a.csv,x\n")); err != nil {
			t.Errorf("%s: %v; it is like no known column", header, err)
		}
	}
}

// What a list does not speak of stays as it was entered; what it leaves empty is cleared.
func TestListKeepsWhatItDoesNotSpeakOf(t *testing.T) {
	before := drop.Drop{
		ID: "d1", Specimen: drop.Specimen{ID: "s1", Material: "polyamide", Knot: "overhand", Length: 0.9, Rating: 22e3}, Fall: 1, Mass: 80, Record: "a.csv", Taken: "2026-03-31",
		Role: drop.Check, Prior: 2, Order: 7, Factors: map[string]string{"wet": "yes", "day": "hot"},
		Entered: drop.Decision{Drop: "d1", Outcome: drop.Broke, Place: drop.Knot},
	}
	l, err := ReadPlanned("list.csv", strings.NewReader("drop,specimen,fall [m],material,length [m],factor day\nd1,s1,2,,1.2,cold\n"))
	if err != nil {
		t.Fatal(err)
	}
	got := l.Keep(l.Drops[0], before)
	if got.Specimen.Knot != "overhand" || got.Specimen.Rating != 22e3 || got.Mass != 80 || got.Record != "a.csv" || got.Taken != "2026-03-31" || got.Role != drop.Check || got.Prior != 2 || got.Order != 7 {
		t.Errorf("columns that the list lacks were cleared: %+v", got)
	}
	if got.Entered != before.Entered {
		t.Errorf("the outcome was %+v and is %+v", before.Entered, got.Entered)
	}
	if got.Fall != 2 || got.Specimen.Length != 1.2 || got.Specimen.Material != "" {
		t.Errorf("columns that the list has were not taken from it: %+v", got)
	}
	if got.Factors["wet"] != "yes" || got.Factors["day"] != "cold" || len(l.Drops[0].Factors) != 1 {
		t.Errorf("factors %v (of the list %v), want wet kept and day changed, and the list as it was", got.Factors, l.Drops[0].Factors)
	}
}
