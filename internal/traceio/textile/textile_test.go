package textile

import (
	"strings"
	"testing"

	"github.com/hardcatch/hardcatch/internal/arrest"
	"github.com/hardcatch/hardcatch/internal/quantity"
	"github.com/hardcatch/hardcatch/internal/traceio/yamlread"
)

type file struct {
	Name    string `yaml:"name"`
	Written `yaml:",inline"`
}

// What is written stands in place of the starting set's, zero and empty too; the rest is the set's.
func TestOver(t *testing.T) {
	name := arrest.StartingSetNames()[0]
	set, _ := arrest.StartingSet(name)
	var f file
	if _, err := yamlread.Decode("x.yaml", strings.NewReader("name: a\nE1: 120 kN\nE3: 0 kN\nmaxwell: []\nfriction: 6 %\n"), &f); err != nil {
		t.Fatal(err)
	}
	got, err := f.Over(name)
	if err != nil || got.E1 != 120e3 || got.E3 != 0 || len(got.Maxwell) != 0 || got.Friction != 0.06 || got.E2 != set.E2 || got.Strength != set.Strength || got.StartingSet != set.StartingSet {
		t.Errorf("%+v %v", got, err)
	}
	f = file{}
	if _, err := yamlread.Decode("x.yaml", strings.NewReader("maxwell: [{E: 15 kN, tau: 50 ms}]\nstrength: 22 kN\n"), &f); err != nil {
		t.Fatal(err)
	}
	if got, err = f.Over(""); err != nil || len(got.Maxwell) != 1 || got.Maxwell[0] != (arrest.Branch{E: 15e3, Tau: 0.05}) || got.Strength != quantity.Force(22e3) || got.E1 != 0 {
		t.Errorf("%+v %v", got, err)
	}
	if _, err = f.Over("spider silk"); err == nil || !strings.Contains(err.Error(), `no starting values for material "spider silk"; known are`) {
		t.Error(err)
	}
}
