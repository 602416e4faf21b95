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
	for _, outside := range []quantity.Length{0.012, 0.0081, 0.0039, 0} {
		if l, err := Cord(outside); err == nil {
			t.Errorf("%v is no cord of the standard: %+v", outside, l)
		}
	}
}

// Every figure a second time, from memory and by standard, in kN. Of EN 12275 by class: gate closed, gate open, across.
func TestTableFigures(t *testing.T) {
	want := map[string]float64{
		"sewn sling EN 566": 22, "tape EN 565:2017": 10, "rock anchor, axial EN 959:2018": 15, "rock anchor, radial EN 959:2018": 25,
		"harness, upright EN 12277:2015": 15, "harness, head down EN 12277:2015": 10,
		"harness for a small body, upright EN 12277:2015": 10, "harness for a small body, head down EN 12277:2015": 7,
		"lanyard, textile EN 354:2010": 22, "lanyard, metal EN 354:2010": 15,
		"work connector basic, closed EN 362:2004": 15, "work connector basic, locked EN 362:2004": 20, "work connector basic, across EN 362:2004": 7,
		"anchor device, static EN 795:2012": 12, "anchor device, static, non-metallic EN 795:2012": 18,
		"semi-static rope A, static EN 1891": 22, "semi-static rope A, arrest EN 1891": 6,
		"chock, least allowed EN 12270": 2, "frictional anchor, least allowed EN 12276": 5, "pulley EN 12278": 12,
		"piton, lengthwise EN 569": 25, "piton, backward EN 569": 10, "piton, across EN 569": 15,
		"dynamic rope, single EN 892": 12, "dynamic rope, half EN 892": 8, "dynamic rope, twin EN 892": 12,
		"energy absorber EN 355:2002": 6, "via ferrata set, 40 kg EN 958:2017": 3.5, "via ferrata set, 120 kg EN 958:2017": 6,
		"body harness, work at height (US) 29 CFR 1926 subpart M": 1.8 * 4.4482216152605, // 1800 lbf; the pound is exact
	}
	for class, row := range map[string]map[string]float64{
		"B": {"gate closed": 20, "gate open": 7, "across": 7}, "H": {"gate closed": 20, "gate open": 6, "across": 7},
		"K": {"gate closed": 25, "gate open": 8, "across": 7}, "X": {"gate closed": 18, "gate open": 5, "across": 7},
		"A": {"gate closed": 20, "gate open": 7}, "T": {"gate closed": 20, "gate open": 7}, "Q": {"closed": 25, "across": 10},
	} {
		for what, kN := range row {
			want["connector "+class+", "+what+" EN 12275:2013"] = kN
		}
	}
	found := 0
	for _, l := range Table() {
		if l.Source == "" || l.Edition == "" || l.Value <= 0 || l.Kind != Strength && l.Kind != Arrest {
			t.Errorf("%+v is not complete", l)
		}
		w, ok := want[l.Name+" "+l.Edition]
		if !ok {
			t.Errorf("%s of %s has no second figure here", l.Name, l.Edition)
			continue
		}
		found++
		if math.Abs(l.Value.SI()-1000*w) > 1e-9*1000*w {
			t.Errorf("%s: %v, want %v kN", l.Name, l.Value, w)
		}
	}
	if found != len(want) {
		t.Errorf("%d of %d figures are in the table", found, len(want))
	}
	last := quantity.Force(0)
	if n := len(Current()); n != len(want)-2 {
		t.Errorf("%d current limits, want all but the two replaced", n)
	}
	for _, l := range Current() {
		if l.Value < last {
			t.Errorf("%s at %v comes after %v", l.Name, l.Value, last)
		}
		last = l.Value
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
		// The sign of an uncertainty says nothing. At the limit itself neither side holds: the standards ask for "at most" and "at least".
		{arrest, 6100, -150, false, WithinReach}, {arrest, 5900, -150, false, WithinReach},
		{arrest, 6100, 100, false, WithinReach}, {arrest, 5900, 100, false, WithinReach}, {arrest, 6101, 100, false, Exceeds}, {arrest, 5899, 100, false, Below},
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
	// No diameter and no rating, or one outside the standard: only the table.
	for _, sp := range []drop.Specimen{{}, {Diameter: 0.012}} {
		if got := For(drop.Drop{Specimen: sp}); len(got) != n {
			t.Errorf("%+v: %+v", sp, got[n:])
		}
	}
	if got := For(drop.Drop{Specimen: drop.Specimen{Rating: 0.5}}); len(got) != n+1 {
		t.Error("a rating is a limit however small")
	}
}
