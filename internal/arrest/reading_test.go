package arrest

import (
	"context"
	"math"
	"testing"

	"github.com/hardcatch/hardcatch/internal/drop"
)

// A reading is what Run samples, with everything in the chain, and after a break.
func TestReadingIsWhatRunSamples(t *testing.T) {
	set, _ := StartingSet("polyester-webbing")
	set.Length = 0.9
	rig, knot := StartingRig(), StartingKnot()
	broken := set
	broken.Strength, broken.BreakRamp = 9e3, 0.0006
	steel := set
	steel.Friction, steel.Set, steel.E2 = 0, 0, 0
	for name, chain := range map[string][]Element{
		"all":    {{Kind: KindRig, Rig: &rig}, {Kind: KindTextile, Textile: &set}, {Kind: KindKnot, Knot: &knot}},
		"breaks": {{Kind: KindRig, Rig: &rig}, {Kind: KindTextile, Textile: &broken}},
		"plain":  {{Kind: KindTextile, Textile: &steel}},
	} {
		c := Case{Mass: 100, Fall: 0.9, Until: 0.3, Chain: chain}
		r, err := Run(context.Background(), &c, Options{Sample: &Sampling{Rate: 4000, Before: 0.01}})
		if err != nil {
			t.Fatal(name, err)
		}
		var e Engine
		out := make([]float64, len(r.Samples.Cell))
		for range 2 { // the second on a used engine
			if err := e.Reading(&c, 4000, -0.01, out); err != nil {
				t.Fatal(name, err)
			}
			for i, f := range r.Samples.Cell {
				if math.Abs(out[i]-f.SI()) > 1e-5*r.PeakForce.SI() {
					t.Fatalf("%s: sample %d is %g, want %g", name, i, out[i], f.SI())
				}
			}
		}
		if want := map[bool]drop.Outcome{true: drop.Broke, false: drop.Held}[name == "breaks"]; r.Outcome != want {
			t.Errorf("%s: %s", name, r.Outcome)
		}
		var s Summary
		if err := e.Drop(&c, &s); err != nil || math.Abs(s.PeakForce.SI()-r.PeakForce.SI()) > 1e-5*r.PeakForce.SI() {
			t.Errorf("%s: a drop after readings: %v, %v", name, s.PeakForce, err)
		}
	}
	if err := new(Engine).Reading(&Case{Mass: -1}, 1000, 0, make([]float64, 10)); err == nil {
		t.Error("an impossible case was read")
	}
}

func BenchmarkReading(b *testing.B) {
	set, _ := StartingSet("polyester-webbing")
	set.Length = 0.9
	rig, knot := StartingRig(), StartingKnot()
	c := Case{Mass: 100, Fall: 0.9, Chain: []Element{{Kind: KindRig, Rig: &rig}, {Kind: KindTextile, Textile: &set}, {Kind: KindKnot, Knot: &knot}}}
	var e Engine
	out := make([]float64, 600)
	for b.Loop() {
		if err := e.Reading(&c, 4000, -0.02, out); err != nil {
			b.Fatal(err)
		}
	}
}
