package limits

import (
	"math"
	"testing"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// EN 564: 0.2 d^2 kN, printed for 4 to 8 mm.
func TestCord(t *testing.T) {
	for mm, kn := range map[float64]float64{4: 3.2, 5: 5.0, 6: 7.2, 7: 9.8, 8: 12.8} {
		l, err := Cord(quantity.Length(mm / 1000))
		if err != nil || math.Abs(l.Value.SI()-kn*1000) > 1e-6 {
			t.Errorf("%g mm: %v %v", mm, l.Value, err)
		}
	}
	if _, err := Cord(0.012); err == nil {
		t.Error("12 mm is a rope, not a cord")
	}
}

// Figures as printed in published product tables, one of each standard.
func TestTableFigures(t *testing.T) {
	want := map[string]float64{
		"sewn sling EN 566": 22000, "tape EN 565:2017": 10000, "connector X, gate closed EN 12275:2013": 18000,
		"connector K, gate open EN 12275:2013": 8000, "rock anchor, axial EN 959:2018": 15000, "harness, head down EN 12277:2015": 10000,
		"lanyard, textile EN 354:2010": 22000, "work connector basic, locked EN 362:2004": 20000, "anchor device, static EN 795:2012": 12000,
		"dynamic rope, half EN 892": 8000, "energy absorber EN 355:2002": 6000, "via ferrata set, 40 kg EN 958:2017": 3500,
		"body harness, work at height (US) 29 CFR 1926 subpart M": 1800 * 4.4482216152605,
	}
	found := 0
	for _, l := range Table() {
		if l.Source == "" || l.Edition == "" || l.Value <= 0 || l.Kind != Strength && l.Kind != Arrest {
			t.Errorf("%+v is not complete", l)
		}
		if w, ok := want[l.Name+" "+l.Edition]; ok {
			found++
			if math.Abs(l.Value.SI()-w) > 1e-9*w {
				t.Errorf("%s: %v, want %v", l.Name, l.Value, w)
			}
		}
	}
	if found != len(want) {
		t.Errorf("%d of %d figures are in the table", found, len(want))
	}
	for _, l := range Current() {
		if l.Edition == "EN 958:2017" {
			t.Error("a replaced edition counts as current")
		}
	}
}

func TestJudge(t *testing.T) {
	arrest, strength := Limit{Value: 6000, Kind: Arrest}, Limit{Value: 6000, Kind: Strength}
	for _, c := range []struct {
		l       Limit
		p, u    quantity.Force
		bound   bool
		verdict Verdict
	}{
		{arrest, 6100, 50, false, Exceeds}, {arrest, 6100, 150, false, WithinReach}, {arrest, 5900, 150, false, WithinReach},
		{arrest, 5800, 150, false, Below}, {arrest, 4000, 10, true, WithinReach}, {strength, 4000, 10, true, WithinReach},
		{arrest, 6100, 50, true, Exceeds}, {arrest, 6000, 0, false, WithinReach}, {strength, 7000, 10, true, Exceeds}, {strength, 4000, 10, false, Below},
		{arrest, quantity.Force(math.NaN()), 10, false, WithinReach}, {arrest, 4000, quantity.Force(math.NaN()), false, WithinReach},
	} {
		if got := c.l.Judge(c.p, c.u, c.bound); got != c.verdict {
			t.Errorf("%v ± %v against %v %s (bound %v): %s, want %s", c.p, c.u, c.l.Value, c.l.Kind, c.bound, got, c.verdict)
		}
	}
}

func TestForASpecimen(t *testing.T) {
	n := len(Current())
	d := drop.Drop{Specimen: drop.Specimen{Diameter: 0.006, Rating: 9000, Standard: "maker"}}
	if got := For(d); len(got) != n+2 || got[n].Value != 7200 || got[n+1].Value != 9000 {
		t.Errorf("%+v", got[n:])
	}
}
