package arrest

import (
	"bytes"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/quantity"
	"github.com/hardcatch/hardcatch/internal/traceio/yamlread"
)

func linear(length, ea float64) Element {
	return Element{Kind: KindTextile, Textile: &Textile{Length: quantity.Length(length), E1: quantity.Force(ea)}}
}

func overEdge(mu, angle float64, before, after Element) *Case {
	return &Case{Mass: 80, Fall: 0.6, Chain: []Element{before, {Kind: KindEdge, Edge: &Edge{Friction: quantity.Ratio(mu), Angle: quantity.Angle(angle)}}, after}}
}

// The capstan equation: exp(0.25 pi) = 2.193280, exp(0.3 pi/2) = 1.601978.
//
// Loaded, the chain of two linear sides is one of stiffness 1/(1/k_b + 1/(R k_a)) (its peak is Wexler's). Unloaded, the mass's side alone gives way
// until its force is 1/R^2 of the peak, then both with 1/(1/k_b + R/k_a). What the two ways differ by is the edge's, and is missing from the speed
// at which the mass leaves.
func TestCapstan(t *testing.T) {
	for _, k := range []struct{ mu, angle, ratio float64 }{{0.25, math.Pi, 2.193280}, {0.3, math.Pi / 2, 1.601978}, {0, 1, 1}} {
		c := overEdge(k.mu, k.angle, linear(0.4, 161e3), linear(0.2, 90e3))
		within(t, "ratio", c.Chain[1].Edge.Ratio(), k.ratio, 1e-6, 0)
		ka, kb, r := 161e3/0.4, 90e3/0.2, math.Exp(k.mu*k.angle)
		up, down := 1/(1/kb+1/(r*ka)), 1/(1/kb+r/ka)
		res := run(t, c, Options{})
		f := wexler(80, 0.6, up)
		within(t, "peak on the mass's side", res.PeakChain.SI(), f, 1e-9, 0)
		within(t, "peak at the anchor", res.PeakForce.SI(), f/r, 1e-9, 0)
		within(t, "peak of what lies there", res.Elements[0].Peak.SI(), f/r, 1e-9, 0)
		within(t, "load on the edge", res.Elements[1].Peak.SI(), f*math.Sqrt(1+1/(r*r)-2*math.Cos(k.angle)/r), 1e-9, 0)
		low := f / (r * r)
		lost := f*f/(2*up) - (f*f-low*low)/(2*kb) - low*low/(2*down)
		c.Until = quantity.Duration(at(res.Events, EventSlack, 0))
		res = run(t, c, Options{})
		v0 := 2 * 9.80665 * 0.6
		within(t, "speed of leaving", -res.End.Velocity.SI(), math.Sqrt(v0-2*lost/80), 1e-7, 0)
		within(t, "friction", res.Energy.Friction.SI(), lost, 1e-7, 1e-6)
		if open := math.Abs(res.Energy.Residual.SI()); open > 1e-9*res.Energy.In.SI() {
			t.Errorf("ledger open by %g of %g", open, res.Energy.In.SI())
		}
	}
	if l := (&Edge{Angle: math.Pi}).Load(2, 3); math.Abs(l-5) > 1e-12 { // both pull one way
		t.Errorf("load %g", l)
	}
	if l := (&Edge{Angle: math.Pi / 2}).Load(3, 4); math.Abs(l-5) > 1e-12 {
		t.Errorf("load %g", l)
	}
}

// SciPy's DOP853 with the length run over the edge as a state (bench/edge.py), by every method.
func TestEdgeAgainstSciPy(t *testing.T) {
	var file struct {
		Maker    string `yaml:"maker"`
		Versions string `yaml:"versions"`
		Cases    []struct {
			Name string `yaml:"name"`
			Case `yaml:",inline"`
		} `yaml:"cases"`
		Results []struct {
			Name  string     `yaml:"name"`
			Peak  float64    `yaml:"peak_chain_N"`
			Far   float64    `yaml:"far_N"`
			Cell  float64    `yaml:"cell_N"`
			T     float64    `yaml:"end_t_s"`
			X     float64    `yaml:"end_m"`
			V     float64    `yaml:"end_mps"`
			Modes [][]string `yaml:"modes"`
		} `yaml:"results"`
	}
	b, err := os.ReadFile(filepath.Join("testdata", "reference-edge.json"))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := yamlread.Decode("reference-edge.json", bytes.NewReader(b), &file); err != nil {
		t.Fatal(err)
	}
	if len(file.Results) < 5 {
		t.Fatal("too few")
	}
	for i, want := range file.Results {
		for _, method := range []Method{Auto, Dopri} {
			c := file.Cases[i].Case
			c.Until = quantity.Duration(want.T)
			r := run(t, &c, Options{Method: method})
			tol := 1e-8
			if method == Dopri {
				tol = 1e-6
			}
			within(t, want.Name+": peak", r.PeakChain.SI(), want.Peak, tol, 0)
			within(t, want.Name+": on the anchor's side", r.Elements[1].Peak.SI(), want.Far, tol, 0)
			within(t, want.Name+": at the cell", r.PeakForce.SI(), want.Cell, 10*tol, 0)
			within(t, want.Name+": place at the end", r.End.Position.SI(), want.X, 10*tol, 1e-8)
			within(t, want.Name+": speed at the end", r.End.Velocity.SI(), want.V, 100*tol, 1e-6)
		}
	}
}

// The weakest on either side parts by its own force; an edge of radius over thickness 1 leaves 0.65 of the textile that runs over it.
func TestWhatPartsAtAnEdge(t *testing.T) {
	base := func() *Case { return overEdge(0.25, math.Pi, linear(0.4, 161e3), linear(0.2, 90e3)) }
	peak := run(t, base(), Options{}).PeakChain.SI()
	r := math.Exp(0.25 * math.Pi)
	for _, k := range []struct {
		before, after float64
		edge          Edge
		want          string
		force         float64
	}{
		{0.9 * peak / r, 1.1 * peak, Edge{}, "textile 1", 0.9 * peak / r},
		{1.1 * peak / r, 0.9 * peak, Edge{}, "textile 2", 0.9 * peak},
		{1.1 * peak / r, 1.1 * peak, Edge{}, "", 0},
		{0, 1.2 * peak, Edge{Radius: 0.01, Thickness: 0.01}, "edge", 0.65 * 1.2 * peak},
		{0, 1.2 * peak, Edge{Strength: 0.5}, "edge", 0.6 * peak},
		{0, 1.2 * peak, Edge{Radius: 0.03, Thickness: 0.01}, "", 0},
	} {
		c := base()
		c.Chain[0].Textile.Strength, c.Chain[2].Textile.Strength = quantity.Force(k.before), quantity.Force(k.after)
		c.Chain[1].Edge.Radius, c.Chain[1].Edge.Thickness, c.Chain[1].Edge.Strength = k.edge.Radius, k.edge.Thickness, k.edge.Strength
		res := run(t, c, Options{})
		var s Summary
		if err := new(Engine).Drop(c, &s); err != nil || s.Outcome != res.Outcome || math.Abs(s.PeakChain.SI()/res.PeakChain.SI()-1) > 1e-9 {
			t.Errorf("engine: %v %+v", err, s)
		}
		if k.want == "" {
			if res.Outcome != drop.Held {
				t.Errorf("%+v: %s", k, res.Outcome)
			}
			continue
		}
		if res.Outcome != drop.Broke || res.Broke.Element != k.want {
			t.Errorf("%+v: %s %+v", k, res.Outcome, res.Broke)
			continue
		}
		within(t, "break", res.Broke.Force.SI(), k.force, 1e-9, 0)
		if open := math.Abs(res.Energy.Residual.SI()); open > 1e-9*res.Energy.In.SI() {
			t.Errorf("ledger open by %g", open)
		}
		c.Unbroken = true
		if res = run(t, c, Options{}); res.Outcome != drop.Held || math.Abs(res.PeakChain.SI()/peak-1) > 1e-9 {
			t.Errorf("unbroken: %s %v", res.Outcome, res.PeakChain)
		}
	}
	for q, want := range map[float64]float64{0.05: 0.25, 0.1: 0.25, 0.55: 0.45, 2: 0.825, 5: 1} {
		if f := (&Edge{Radius: quantity.Length(q), Thickness: 1}).Factor(); math.Abs(f-want) > 1e-12 {
			t.Errorf("radius over thickness %g: %g, want %g", q, f, want)
		}
	}
}

// A full chain (knots and an absorber on either side, set, friction, branches, node, body) over an edge closes its ledger, and comes taut again.
func TestEdgeInAFullChain(t *testing.T) {
	rope, _ := StartingSet("dynamic-rope")
	rope.Length, rope.Strength = 2, 0
	other := rope
	other.Length = 3
	knot, absorber, rig := StartingKnot(), Absorber{Force: 2500, Travel: 0.5}, StartingRig()
	edge := Element{Kind: KindEdge, Edge: &Edge{Friction: 0.2, Angle: 2.5}}
	for _, chain := range [][]Element{
		{{Kind: KindRig, Rig: &rig}, {Kind: KindTextile, Textile: &rope}, edge, {Kind: KindTextile, Textile: &other}, {Kind: KindKnot, Knot: &knot}},
		{{Kind: KindRig, Rig: &rig}, {Kind: KindAbsorber, Absorber: &absorber}, {Kind: KindTextile, Textile: &rope}, edge, {Kind: KindTextile, Textile: &other}},
		{{Kind: KindKnot, Knot: &knot}, {Kind: KindTextile, Textile: &rope}, edge, {Kind: KindTextile, Textile: &other}, {Kind: KindBody, Body: &Body{Stiffness: 50e3, DampingRatio: 0.3}}},
		{{Kind: KindRig, Rig: &Rig{Stiffness: 1e6, Damping: 500}}, {Kind: KindTextile, Textile: &rope}, edge, {Kind: KindTextile, Textile: &other}},
	} {
		c := &Case{Mass: 80, Fall: 3, Until: 4, Drops: 2, Chain: chain}
		r := run(t, c, Options{})
		for _, d := range []*Result{r.Earlier[0], r} {
			if open := math.Abs(d.Energy.Residual.SI()); open > 1e-9*d.Energy.In.SI() {
				t.Errorf("%d elements: ledger open by %g of %g", len(chain), open, d.Energy.In.SI())
			}
			within(t, "force over that on the anchor's side", d.PeakChain.SI()/d.Elements[1].Peak.SI(), math.Exp(0.5), 1e-6, 0)
		}
		if chain[0].Rig != nil && chain[0].Rig.NodeMass > 0 {
			continue // too stiff for a quick test
		}
		p := run(t, c, Options{Method: Dopri})
		within(t, "peak by another method", p.PeakChain.SI(), r.PeakChain.SI(), 1e-6, 0)
		within(t, "friction by another method", p.Energy.Friction.SI(), r.Energy.Friction.SI(), 1e-5, 0)
	}
}

func TestEdgeRefused(t *testing.T) {
	for want, change := range map[string]func(c *Case){
		"friction: -1":              func(c *Case) { c.Chain[1].Edge.Friction = -1 },
		"angle: 0":                  func(c *Case) { c.Chain[1].Edge.Angle = 0 },
		"give both, or strength":    func(c *Case) { c.Chain[1].Edge.Radius = 0.01 },
		"the radius says it too":    func(c *Case) { e := c.Chain[1].Edge; e.Radius, e.Thickness, e.Strength = 1, 1, 0.5 },
		"a second edge":             func(c *Case) { c.Chain = append(c.Chain, c.Chain[1], linear(1, 1e4)) },
		"on either side of an edge": func(c *Case) { c.Chain = c.Chain[1:] },
		"parts at once":             func(c *Case) { c.Chain[0].Textile.BreakRamp = 1e-3 },
		"a textile needs one":       func(c *Case) { c.Chain[2].Textile.E1, c.Chain[2].Textile.E2 = 0, 1e5 },
		"slips evenly": func(c *Case) {
			a := StartingAbsorber()
			c.Chain = append(c.Chain, Element{Kind: KindAbsorber, Absorber: &a})
		},
		"power: beside an edge": func(c *Case) {
			k := StartingKnot()
			k.Power = 2.5
			c.Chain = append(c.Chain, Element{Kind: KindKnot, Knot: &k})
		},
	} {
		c := overEdge(0.25, math.Pi, linear(0.4, 161e3), linear(0.2, 90e3))
		change(c)
		if err := c.Validate(); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%v, want %q", err, want)
		}
	}
}
