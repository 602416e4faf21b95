package arrest

import (
	"strings"
	"testing"
)

// The HMPE sling of 0.6 m at fall factor 1 gives the 23 kN that the doubt names, and says so; other materials have no such doubt.
func TestContradicted(t *testing.T) {
	set, _ := StartingSet("hmpe-blend-sling")
	set.Length, set.Strength = 0.6, 0
	rig := StartingRig()
	r := run(t, &Case{Mass: 80, Fall: 0.6, Chain: []Element{{Kind: KindRig, Rig: &rig}, {Kind: KindTextile, Textile: &set}}}, Options{})
	within(t, "peak", r.PeakForce.SI(), 23e3, 0.005, 0)
	said := ""
	for _, w := range r.Warnings {
		said += w.String()
	}
	if !strings.Contains(said, "16 to 17 kN on an unknown rig") {
		t.Error(said)
	}
	knot := StartingKnot()
	if len(Contradicted("dynamic-rope", nil)) != 0 || len(Contradicted("", &knot)) != 1 || len(Contradicted("", &Knot{F0: 500, FL: 8000, Slip: 0.045})) != 0 {
		t.Error("doubts of others")
	}
}
