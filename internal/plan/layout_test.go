package plan

import (
	"bytes"
	"encoding/json"
	"flag"
	"os"
	"strings"
	"testing"

	"github.com/hardcatch/hardcatch/internal/arrest"
	"github.com/hardcatch/hardcatch/internal/drop"
)

var makeFrozen = flag.Bool("make-frozen", false, "make the frozen layout, if it is not there")

// frozen is a layout in form 1 as campaigns keep it. The maker does not overwrite it: a file made by later code would
// not show that the first form is still read.
const frozen = "testdata/layout1.json"

func kept() *Plan {
	set, _ := arrest.StartingSet("polyamide-webbing")
	p := small()
	p.Name, p.Invented, p.Skip = "trial", true, []Combination{{Material: "b", Knot: "overhand"}}
	p.Builds["a"] = Build{Construction: "sling", Rating: 22e3, Textile: set, Knots: p.Builds["a"].Knots}
	p.Tower = Tower{Height: 8, Connectors: 25e3, LeastCellPart: 0.1, MostCellPart: 0.9}
	p.Check = &CheckDrop{Specimen: "link", Length: 0.9, Fall: 0.05, Textile: &arrest.Textile{E1: 2.3e6}}
	p.Effects = []Effect{{Knot, "overhand", 0.9, 1}}
	p.Spread, p.Batches = StartingSpread(), []string{"A", "B"}
	return p
}

func TestFirstFormIsStillRead(t *testing.T) {
	if _, err := os.Stat(frozen); *makeFrozen && os.IsNotExist(err) {
		text, err := json.MarshalIndent(layout(t, kept()), "", " ")
		if err == nil {
			err = os.WriteFile(frozen, text, 0o644)
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	text, err := os.ReadFile(frozen)
	if err != nil {
		t.Fatal(err)
	}
	l, err := ReadLayout(text)
	if err != nil {
		t.Fatal(err)
	}
	if len(l.Cells) != 3 || len(l.Runs) != 6+4 || l.Runs[0].Role != drop.Check || l.Plan.Builds["a"].Textile.E1 != 80e3 || l.Plan.Builds["a"].Textile.Maxwell[0].E != 20e3 || l.Plan.Seed != 7 {
		t.Errorf("%+v", l)
	}
	// Nothing of it is lost on the way.
	d := json.NewDecoder(bytes.NewReader(text))
	d.DisallowUnknownFields()
	if err := d.Decode(&Layout{}); err != nil {
		t.Error(err)
	}
	again, err := json.MarshalIndent(l, "", " ")
	if err != nil || !bytes.Equal(again, text) {
		t.Errorf("written again the layout is another: %v", err)
	}
	// The run order of a seed is for ever: regression only.
	fresh, err := json.MarshalIndent(layout(t, kept()).Runs, "", " ")
	if err != nil {
		t.Fatal(err)
	}
	old, err := json.MarshalIndent(l.Runs, "", " ")
	if err != nil || !bytes.Equal(fresh, old) {
		t.Errorf("the seed gives another order than it did: %v\n%s", err, fresh)
	}
}

func TestLayoutsRefused(t *testing.T) {
	for text, want := range map[string]string{
		"{":                                 "cannot be read",
		`{"version":2}`:                     "has the form 2, this program knows 1",
		`{"version":1,"runs":[{"cell":1}]}`: "is of cell 1 of 0",
	} {
		if _, err := ReadLayout([]byte(text)); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v, want %q", text, err, want)
		}
	}
}
