package arrest

import "testing"

// The three methods share the equations and nothing of the integration; they must agree.
func TestMethodsAgree(t *testing.T) {
	if testing.Short() {
		t.Skip("takes seconds")
	}
	for i, n := range []int{2, 3, 4, 5} {
		c := full()
		c.Chain = c.Chain[:n]
		c.Until = 0.1
		if n == 2 {
			c.Until = 0.9
		}
		a := run(t, c, Options{Method: Taylor})
		for _, method := range []Method{Dopri, Radau} {
			b := run(t, c, Options{Method: method})
			tol := 1e-7
			within(t, string(method)+" peak", b.PeakForce.SI(), a.PeakForce.SI(), tol, 0)
			within(t, string(method)+" peak time", b.PeakTime.SI(), a.PeakTime.SI(), tol, 0)
			within(t, string(method)+" end", b.End.Position.SI(), a.End.Position.SI(), tol, 0)
			if len(a.Events) != len(b.Events) {
				t.Errorf("case %d: %d events by taylor, %d by %s", i, len(a.Events), len(b.Events), method)
			}
			t.Log(method, b.Steps, a.Steps)
		}
	}
}

// A force that falls along its ramp ends when the ramp does, by every method: 121.8 us after the break. Behind it the textile's
// force folds back below zero, so that a trial step that went on would never return.
func TestMethodsAgreeOnARamp(t *testing.T) {
	const ramp = 121.8e-6
	e := textile(0.3187770199486475, 10420.118586704652, 88771.38184835167, 100000, Branch{E: 1000, Tau: 0.01})
	e.Textile.Set, e.Textile.Strength, e.Textile.BreakRamp = 0.01, 2000, ramp
	c := &Case{Mass: 150, Fall: 0.05, Until: 0.1, Chain: []Element{e}}
	a := run(t, c, Options{})
	for _, method := range []Method{Taylor, Dopri, Radau} {
		b := run(t, c, Options{Method: method})
		within(t, string(method)+" ramp", at(b.Events, EventParted, 0)-at(b.Events, EventBreak, 0), ramp, 0, 1e-12)
		within(t, string(method)+" energy of the break", b.Energy.Break.SI(), a.Energy.Break.SI(), 1e-8, 0)
		within(t, string(method)+" end", b.End.Position.SI(), a.End.Position.SI(), 1e-9, 0)
	}
}

// Samples and repeated drops do not depend on the method either.
func TestSamplesAgree(t *testing.T) {
	c := full()
	c.Chain = c.Chain[:3]
	c.Chain[1].Textile.Strength = 0
	c.Until, c.Drops = 0.08, 2
	o := Options{Sample: &Sampling{Rate: 5000, Before: 0.01}}
	a := run(t, c, o)
	o.Method = Radau
	b := run(t, c, o)
	for k, pair := range [][2]*Result{{a, b}, {a.Earlier[0], b.Earlier[0]}} {
		x, y := pair[0].Samples, pair[1].Samples
		if len(x.Cell) != 451 || len(y.Cell) != 451 || &x.Cell[0] == &y.Cell[0] {
			t.Fatalf("%d and %d samples", len(x.Cell), len(y.Cell))
		}
		for i := range x.Cell {
			within(t, "cell", y.Cell[i].SI(), x.Cell[i].SI(), 1e-6, 0.05)
			within(t, "chain", y.Chain[i].SI(), x.Chain[i].SI(), 1e-6, 0.05)
			within(t, "position", y.Position[i].SI(), x.Position[i].SI(), 1e-7, 1e-8)
			within(t, "velocity", y.Velocity[i].SI(), x.Velocity[i].SI(), 1e-6, 1e-6)
			if t.Failed() {
				t.Fatalf("drop %d, sample %d", k, i)
			}
		}
	}
}

// full has every element; invented values.
func full() *Case {
	return &Case{Mass: 100, Fall: 0.9, Until: 1.5, Chain: []Element{
		{Kind: KindRig, Rig: &Rig{Stiffness: 2e6, DampingRatio: 0.03, NodeMass: 0.5}},
		{Kind: KindTextile, Name: "lanyard", Textile: &Textile{Length: 0.9, E1: 120e3, E2: 400e3, Maxwell: []Branch{{E: 15e3, Tau: 0.05}}, Friction: 0.06, Set: 0.05, Strength: 22e3}},
		{Kind: KindKnot, Knot: &Knot{F0: 500, FL: 8500, Slip: 0.045, Power: 2, Lock: 3e6, Efficiency: 0.6}},
		{Kind: KindAbsorber, Absorber: &Absorber{Force: 4500, Ripple: 0.1, Pitch: 0.015, Travel: 1, Strength: 15e3}},
		{Kind: KindBody, Body: &Body{Stiffness: 50e3, DampingRatio: 0.3, TorsoShare: 0.85}},
	}}
}
