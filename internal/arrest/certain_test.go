package arrest

import (
	"math"
	"strings"
	"testing"

	"github.com/hardcatch/hardcatch/internal/quantity"
)

// A load let go on 60 m of rope turns after half a period, pi sqrt(m L/EA), and asks for twice its weight (a linear rope,
// no fall): by default the run goes on until then, on every way that a drop may take, and until a stated end no further.
func TestRunGoesOnUntilThePeakIsPassed(t *testing.T) {
	const mass, length, ea, g = 150.0, 60.0, 10e3, 9.80665
	half := math.Pi * math.Sqrt(mass*length/ea)
	if half < 2 {
		t.Fatal("the run must go on beyond 1.5 s")
	}
	node := Element{Kind: KindRig, Rig: &Rig{Stiffness: 2e6, NodeMass: 0.5, DampingRatio: 0.03}}
	for name, c := range map[string]*Case{
		"short way":  {Mass: mass, Chain: []Element{textile(length, ea, 0, 0)}},
		"lanes":      {Mass: mass, Chain: []Element{node, textile(length, ea, 0, 0)}},
		"one by one": {Mass: mass, Chain: []Element{node, textile(length/2, ea, 0, 0), textile(length/2, ea, 0, 0)}},
	} {
		r := run(t, c, Options{Sample: &Sampling{Rate: 100}})
		within(t, name+" peak", r.PeakForce.SI(), 2*mass*g, 1e-3, 0) // the rig's give and its node take and add some
		if r.Certainty != PeakPassed || !r.Certainty.Passed() || r.End.T.SI() < half {
			t.Errorf("%s: %s at %v", name, r.Certainty, r.End.T)
		}
		if n, last := len(r.Samples.Cell), int(r.End.T.SI()*100); n < last || n > last+1 {
			t.Errorf("%s: %d samples up to %v", name, n, r.End.T)
		}
		for _, s := range both(t, c) {
			within(t, name+" peak in an ensemble", s.PeakForce.SI(), r.PeakForce.SI(), 1e-6, 0)
			if s.Certainty != PeakPassed {
				t.Errorf("%s in an ensemble: %s", name, s.Certainty)
			}
		}
		short := *c
		short.Until = 1.5
		r = run(t, &short, Options{})
		if r.Certainty != RunTooShort || r.Certainty.Passed() || r.End.T != 1.5 {
			t.Errorf("%s: %s at %v, want the run too short", name, r.Certainty, r.End.T)
		}
		if !warned(r, "the run ended while the force could still rise") {
			t.Errorf("%s: %v", name, r.Warnings)
		}
		for _, s := range both(t, &short) {
			if s.Certainty != RunTooShort || s.End.T != 1.5 {
				t.Errorf("%s in an ensemble: %s at %v", name, s.Certainty, s.End.T)
			}
		}
		short.AtLeast = true
		for _, s := range both(t, &short) {
			if s.Certainty != PeakPassed {
				t.Errorf("%s, at least: %s", name, s.Certainty)
			}
		}
	}
}

func warned(r *Result, part string) bool {
	for _, w := range r.Warnings {
		if strings.Contains(w.String(), part) {
			return true
		}
	}
	return false
}

// The floor before the turn leaves the peak open; a break does not.
func TestCertaintyOfOtherEnds(t *testing.T) {
	c := &Case{Mass: 80, Fall: 1, Until: 0.5, Floor: 0.05, Chain: []Element{textile(1, 1e5, 0, 0)}}
	r := run(t, c, Options{})
	if r.Certainty != FloorHit || !warned(r, "the mass reached the floor") {
		t.Errorf("%s", r.Certainty)
	}
	for _, s := range both(t, c) {
		if s.Certainty != FloorHit {
			t.Errorf("in an ensemble: %s", s.Certainty)
		}
	}
	c.Floor = 0
	c.Chain[0].Textile.Strength = 5000
	for _, s := range append(both(t, c), Summary{Certainty: run(t, c, Options{}).Certainty}) {
		if s.Certainty != PeakPassed {
			t.Errorf("a break: %s", s.Certainty)
		}
	}
	// Unbroken, the same fall asks for what an endless strength would let it.
	c.Unbroken = true
	whole := *c
	whole.Chain = []Element{textile(1, 1e5, 0, 0)}
	for _, s := range both(t, c) {
		within(t, "unbroken", s.PeakForce.SI(), run(t, &whole, Options{}).PeakForce.SI(), 1e-6, 0)
		if s.Outcome != "held" {
			t.Error(s.Outcome)
		}
	}
}

// The floor stays where it is: a specimen that the first drop has left longer by its set comes taut lower, and the mass
// then needs less of a way to the floor. A linear textile with set alpha: the second drop comes taut lower by the set
// of the first, so that a floor between the lowest places of the two drops, seen from the anchor, is reached by the second alone.
func TestFloorStaysWhereItIs(t *testing.T) {
	e := textile(1, 1e5, 0, 0)
	e.Textile.Set = 0.1
	c := &Case{Mass: 80, Fall: 1, Until: 0.5, Drops: 2, Chain: []Element{e}}
	r := run(t, c, Options{})
	first := r.Earlier[0]
	set := first.Elements[0].Slip
	second := set + r.Lowest // from the place of the first taut
	if !(set > 0.01) || second <= first.Lowest {
		t.Fatalf("set %v, lowest %v and %v", set, first.Lowest, second)
	}
	c.Floor = (first.Lowest + second) / 2
	r = run(t, c, Options{})
	if len(r.Earlier) != 1 || r.Earlier[0].Outcome != "held" || r.Outcome != "void" || r.Certainty != FloorHit && r.Certainty != PeakPassed {
		t.Fatalf("%d drops before, %s, %s", len(r.Earlier), r.Outcome, r.Certainty)
	}
	within(t, "depth of the floor", (r.Lowest + set).SI(), c.Floor.SI(), 1e-9, 0)
}

// Two ways to say how fast the mass is are one too many.
func TestSpeedBesideAFallIsRefused(t *testing.T) {
	c := &Case{Mass: 80, Fall: 1, Speed: 4, Chain: []Element{textile(1, 1e5, 0, 0)}}
	if err := c.Validate(); err == nil || !strings.Contains(err.Error(), "speed: ") || !strings.Contains(err.Error(), "leave one out") {
		t.Error(err)
	}
	c.Fall = 0
	v := run(t, c, Options{})
	c.Fall, c.Speed = quantity.Length(16/(2*9.80665)), 0
	within(t, "peak", v.PeakForce.SI(), run(t, c, Options{}).PeakForce.SI(), 1e-12, 0)
}
