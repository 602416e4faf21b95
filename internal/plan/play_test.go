package plan

import (
	"math"
	"strings"
	"testing"
)

// What is played is what is planned: mass, fall, length and knot of each run's cell, the rig's stiffness, and a strength that differs from specimen to specimen
// by the plan's spread.
func TestPlayDropsWhatIsPlanned(t *testing.T) {
	p := small()
	for m, b := range p.Builds {
		b.Textile.Strength = 20e3
		p.Builds[m] = b
	}
	p.Spread = StartingSpread()
	l := layout(t, p)
	falls, err := l.Play(l.Runs, 1)
	if err != nil {
		t.Fatal(err)
	}
	if len(falls) != len(l.Runs) {
		t.Fatalf("%d falls of %d runs", len(falls), len(l.Runs))
	}
	strengths := map[float64]bool{}
	for i, r := range l.Runs {
		if r.Cell == 0 {
			continue
		}
		cell, c := l.Cells[r.Cell-1], falls[i]
		if math.Abs(c.Mass.SI()/cell.Mass.SI()-1) > 0.01 || math.Abs(c.Fall.SI()-cell.Fall.SI()) > 0.05 {
			t.Errorf("%s: %s fall %s, planned %s and %s", r.Drop, c.Mass, c.Fall, cell.Mass, cell.Fall)
		}
		tied := false
		for _, e := range c.Chain {
			tied = tied || e.Knot != nil
			if e.Textile != nil {
				strengths[e.Textile.Strength.SI()] = true
				if e.Textile.Length != cell.Length {
					t.Errorf("%s: length %s, planned %s", r.Drop, e.Textile.Length, cell.Length)
				}
			}
		}
		if tied != IsTied(cell.Knot) {
			t.Errorf("%s: a knot %v, planned %s", r.Drop, tied, cell.Knot)
		}
	}
	if len(strengths) < 2 {
		t.Error("every specimen has the same strength")
	}
	again, err := l.Play(l.Runs, 1)
	if err != nil || again[0].Mass != falls[0].Mass {
		t.Errorf("the same seed gave %v (%v), then %v", falls[0].Mass, err, again[0].Mass)
	}
}

func TestPlayRefusesACheckDropWithoutModel(t *testing.T) {
	p := small()
	p.Check = &CheckDrop{Specimen: "steel link", Length: 0.9, Fall: 0.05}
	l := layout(t, p)
	if _, err := l.Play(l.Runs, 1); err == nil || !strings.Contains(err.Error(), "set: steel-wire") {
		t.Errorf("%v, want the way out named", err)
	}
}
