package arrest

import (
	"context"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"unsafe"

	"pgregory.net/rapid"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// randomRace draws a case for the short way.
func randomRace(r *rand.Rand) Case {
	log := func(lo, hi float64) float64 { return lo * math.Exp(r.Float64()*math.Log(hi/lo)) }
	length := log(0.3, 5)
	e := textile(length, log(1e4, 4e5), 0, log(1e3, 1e7))
	if r.IntN(4) > 0 {
		e.Textile.Maxwell = []Branch{{E: quantity.Force(log(1e3, 1e5)), Tau: quantity.Duration(log(5e-3, 1))}}
	}
	if r.IntN(3) == 0 {
		e.Textile.Strength = quantity.Force(log(5e3, 4e4))
	}
	c := Case{Mass: quantity.Mass(log(30, 200)), Fall: quantity.Length(length * 2 * r.Float64()), Until: quantity.Duration(log(0.1, 3)), Chain: []Element{e}}
	if r.IntN(4) > 0 {
		c.Chain = []Element{spring(log(2e5, 2e7)), e}
	}
	return c
}

// The assembly knows the fields of lanes by their order and the arrays by their length.
func TestLaneLayout(t *testing.T) {
	var l lanes
	const row, array = 64, 64 * (fastOrder + 1)
	for i, c := range []struct {
		at, want uintptr
	}{
		{unsafe.Offsetof(l.e), 0}, {unsafe.Offsetof(l.h), 5 * row}, {unsafe.Offsetof(l.stiff), 6 * row}, {unsafe.Offsetof(l.g), 13 * row},
		{unsafe.Offsetof(l.ce), 14 * row}, {unsafe.Offsetof(l.cs), 14*row + array}, {unsafe.Offsetof(l.cf), 14*row + 2*array},
		{unsafe.Offsetof(l.cv), 14*row + 3*array}, {unsafe.Offsetof(l.cz), 14*row + 4*array}, {unsafe.Sizeof(l), 14*row + 5*array},
	} {
		if c.at != c.want {
			t.Errorf("field %d lies at %d, want %d", i, c.at, c.want)
		}
	}
}

func TestEngineRefusesBadCases(t *testing.T) {
	var e Engine
	var s Summary
	for i, harm := range []func(*Case){
		func(c *Case) { c.Mass = -1 }, func(c *Case) { c.Chain[1].Textile.Length = 0 }, func(c *Case) { c.Chain[1].Textile.E3 = -1 },
		func(c *Case) { c.Chain[1].Textile.Maxwell[0].Tau = 0 }, func(c *Case) { c.Chain[0].Rig.Stiffness = 0 }, func(c *Case) { c.Chain = nil },
	} {
		c := raceDrops()[0].c
		harm(&c)
		if err := e.Drop(&c, &s); err == nil {
			t.Errorf("case %d was accepted", i)
		}
		if err := e.Batch([]Case{c}, make([]Summary, 1)); err == nil {
			t.Errorf("case %d was accepted in a batch", i)
		}
	}
}

// Where the ledger of a drop stays open, Run takes it again. With 1e-11 of the fall's energy for a limit
// the series of an ensemble's drop do not close it, and those of Run do; with 1e-18 neither does, and
// the error says where it opened first: at once, not at the end.
func TestOpenLedgerIsTakenAgain(t *testing.T) {
	c := full()
	c.Until = 0.2
	want := run(t, c, Options{})
	e := Engine{limit: 1e-11}
	var s Summary
	if err := e.Drop(c, &s); err != nil {
		t.Fatal(err)
	}
	if s.Steps != want.Steps || s.PeakForce != want.PeakForce || s.PeakChain != want.PeakChain || s.End != want.End || s.Outcome != want.Outcome ||
		s.Arrests != len(want.Peaks) || s.Broke >= 0 != (want.Broke != nil) {
		t.Errorf("%+v, want that of Run in %d steps", s, want.Steps)
	}
	c.Chain[1].Textile.Strength = 3000
	want = run(t, c, Options{})
	if err := e.Drop(c, &s); err != nil {
		t.Fatal(err)
	}
	if s.Steps != want.Steps || s.Outcome != drop.Broke || s.BrokeTime != want.Broke.T || c.Label(s.Broke) != want.Broke.Element {
		t.Errorf("%+v, want the break of %s at %v in %d steps", s, want.Broke.Element, want.Broke.T, want.Steps)
	}
	e.limit = 1e-18
	err := e.Drop(c, &s)
	at := math.Inf(1)
	if err == nil || !errors.Is(err, errOpen) {
		t.Fatalf("%v", err)
	}
	_, after, _ := strings.Cut(err.Error(), "at t = ")
	if _, scan := fmt.Sscanf(after, "%g s (taut", &at); scan != nil || !(at < 0.01) {
		t.Error(err)
	}
}

func TestEngineDoesNotAllocate(t *testing.T) {
	if testing.Short() {
		t.Skip("takes seconds")
	}
	var e Engine
	var s Summary
	race, every := raceDrops()[0].c, full()
	every.Until = 0.2
	cases, out := []Case{race, race, race}, make([]Summary, 3)
	slings := []Case{sling(), sling(), sling()}
	for name, f := range map[string]func(){
		"short":   func() { _ = e.Drop(&race, &s) },
		"general": func() { _ = e.Drop(every, &s) },
		"batch":   func() { _ = e.Batch(cases, out) },
		"lanes":   func() { _ = e.Batch(slings, out) },
		"a lane":  func() { _ = e.Drop(&slings[0], &s) },
	} {
		f()
		if n := testing.AllocsPerRun(20, f); n != 0 {
			t.Errorf("%s: %v allocations a drop", name, n)
		}
	}
}

// Whatever chain is put together runs to its end with a closed ledger.
func TestAnyChainRuns(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := anyCase(t)
		if _, err := Run(context.Background(), c, Options{}); err != nil {
			t.Fatalf("%v", err)
		}
		var e Engine
		var s Summary
		if err := e.Drop(c, &s); err != nil {
			t.Fatalf("engine: %v", err)
		}
	})
}

func anyCase(t *rapid.T) *Case {
	draw := func(lo, hi float64, name string) float64 { return rapid.Float64Range(lo, hi).Draw(t, name) }
	yes := func(name string) bool { return rapid.Bool().Draw(t, name) }
	c := &Case{Mass: quantity.Mass(draw(30, 150, "mass")), Fall: quantity.Length(draw(0, 3, "fall")), Until: quantity.Duration(draw(0.05, 0.4, "until"))}
	switch rapid.IntRange(0, 3).Draw(t, "rig") {
	case 1:
		c.Chain = append(c.Chain, spring(draw(2e5, 2e7, "k")))
	case 2:
		c.Chain = append(c.Chain, Element{Kind: KindRig, Rig: &Rig{Stiffness: quantity.Stiffness(draw(2e5, 2e7, "k")), NodeMass: quantity.Mass(draw(0.2, 5, "mc")), DampingRatio: quantity.Ratio(draw(0, 0.5, "zeta"))}})
	case 3:
		c.Chain = append(c.Chain, Element{Kind: KindRig, Rig: &Rig{Stiffness: quantity.Stiffness(draw(2e5, 5e6, "k")), Damping: quantity.Damping(draw(500, 5000, "c"))}})
	}
	for range rapid.IntRange(1, 3).Draw(t, "textiles") {
		e := textile(draw(0.2, 4, "L"), draw(1e4, 3e5, "E1"), draw(0, 2e6, "E2"), draw(0, 2e6, "E3"))
		for range rapid.IntRange(0, 2).Draw(t, "branches") {
			e.Textile.Maxwell = append(e.Textile.Maxwell, Branch{E: quantity.Force(draw(1e3, 5e4, "EM")), Tau: quantity.Duration(draw(5e-3, 0.5, "tau"))})
		}
		if yes("friction") {
			e.Textile.Friction = quantity.Ratio(draw(0.01, 0.3, "mu"))
		}
		if yes("set") {
			e.Textile.Set = quantity.Ratio(draw(0.01, 0.2, "alpha"))
		}
		if yes("strong") {
			e.Textile.Strength, e.Textile.BreakRamp = quantity.Force(draw(4e3, 3e4, "strength")), quantity.Duration(draw(0, 2e-3, "ramp"))
		}
		c.Chain = append(c.Chain, e)
	}
	for range rapid.IntRange(0, 2).Draw(t, "knots") {
		c.Chain = append(c.Chain, Element{Kind: KindKnot, Knot: &Knot{F0: quantity.Force(10 * rapid.IntRange(0, 100).Draw(t, "F0")), FL: quantity.Force(draw(2000, 1e4, "FL")), Slip: quantity.Length(draw(0.005, 0.08, "slip")), Power: quantity.Ratio(rapid.SampledFrom([]float64{0, 1, 1.5, 2, 3}).Draw(t, "p"))}})
	}
	if yes("absorber") {
		c.Chain = append(c.Chain, Element{Kind: KindAbsorber, Absorber: &Absorber{Force: quantity.Force(draw(2000, 6000, "Fa")), Ripple: quantity.Ratio(draw(0, 0.3, "r")), Pitch: quantity.Length(draw(0.01, 0.1, "pitch")), Travel: quantity.Length(draw(0.1, 1, "travel"))}})
	}
	if yes("body") {
		c.Chain = append(c.Chain, Element{Kind: KindBody, Body: &Body{Stiffness: quantity.Stiffness(draw(2e4, 1e5, "kb")), DampingRatio: quantity.Ratio(draw(0, 1, "zb"))}})
	}
	return c
}
