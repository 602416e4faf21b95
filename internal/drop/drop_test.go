package drop

import (
	"strings"
	"testing"

	"github.com/hardcatch/hardcatch/internal/quantity"
)

func TestVaryingFactors(t *testing.T) {
	mk := func(material, construction, knot string, fall, length float64) Drop {
		d := Drop{ID: "d", Specimen: Specimen{ID: "s", Material: material, Construction: construction, Knot: knot}}
		d.Fall, d.Specimen.Length = quantity.Length(fall), quantity.Length(length)
		return d
	}
	got := VaryingFactors([]Drop{mk("aramid", "cord", "sewn", 0.45, 0.9), mk("polyester", "webbing", "sewn", 0.9, 0.9), mk("polyester", "webbing", "", 0.9, 0.9)})
	// Construction goes with material; fall and fall factor too.
	if strings.Join(got, "|") != "material|knot" {
		t.Errorf("%v", got)
	}
	got = VaryingFactors([]Drop{mk("a", "x", "k", 0.6, 0.6), mk("a", "x", "k", 1.2, 1.2), mk("a", "x", "k", 1.2, 0.6)})
	if strings.Join(got, "|") != "fall|length|fall factor" {
		t.Errorf("%v", got)
	}
	if VaryingFactors(nil) != nil {
		t.Error("nothing varies among no drops")
	}
}

func TestDecisionCheck(t *testing.T) {
	for _, bad := range []Decision{{}, {Drop: "d"}, {Drop: "d", Outcome: Void}, {Drop: "d", Outcome: Void, Reason: " "}, {Drop: "d", Outcome: Held, Place: Knot}, {Drop: "d", Outcome: "lost"}} {
		if bad.Check() == nil {
			t.Errorf("%+v was accepted", bad)
		}
	}
	for _, good := range []Decision{{Drop: "d", Outcome: Held}, {Drop: "d", Outcome: Broke, Place: Knot}, {Drop: "d", Outcome: Void, Reason: "clipped"}} {
		if err := good.Check(); err != nil {
			t.Errorf("%+v: %v", good, err)
		}
	}
}

func TestFindingText(t *testing.T) {
	f := Finding{Place: "drop17.csv:412", Fact: "time goes backwards (0.0310 s after 0.0312 s)", WayOut: "cut the record there", Count: 3}
	if got := f.String(); got != "drop17.csv:412: time goes backwards (0.0310 s after 0.0312 s) (and 2 more of the kind); cut the record there" {
		t.Error(got)
	}
}

func TestCautionsAreComplete(t *testing.T) {
	all := strings.Join(Cautions(), "\n")
	for _, must := range []string{"rigid mass", "not injury thresholds", "named batch", "distribution", "Sample rate", "not a certification test", "recoil path", "never use a person", "retire every dropped specimen", "Local codes"} {
		if !strings.Contains(all, must) {
			t.Errorf("%q is missing", must)
		}
	}
}

// Drops with different masses must not share a cell.
func TestMassIsALevel(t *testing.T) {
	a := Drop{ID: "1", Fall: 0.9, Mass: 80, Specimen: Specimen{ID: "a", Material: "polyester", Length: 0.9}}
	b := a
	b.ID, b.Mass = "2", 100
	if f := VaryingFactors([]Drop{a, b}); len(f) != 1 || f[0] != "mass" {
		t.Errorf("%v", f)
	}
	if l := a.Levels()["mass"]; l != "80.0 kg" {
		t.Errorf("%q", l)
	}
}
