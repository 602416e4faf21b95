package arrest

import (
	"context"
	"math"
	"testing"

	"pgregory.net/rapid"

	"github.com/hardcatch/hardcatch/internal/quantity"
)

// Textiles without stiffness at zero strain, alone and in series, undamped, on a rigid anchor: F = (x/C)^p with
// C = sum L_i E_i^(-1/p), so that the energy gives the lowest place, m g (h + x) = x^(p+1)/((p+1) C^p), and at h = 0
// the peak is (p+1) m g. The rebound is as fast as the impact; what comes of the hair of stiffness at the start is
// below a part in 10^8.
func TestHollowTextiles(t *testing.T) {
	quadratic := func(l, e float64) Element { return textile(l, 0, e, 0) }
	cubic := func(l, e float64) Element { return textile(l, 0, 0, e) }
	for _, c := range []struct {
		name  string
		p     float64
		chain []Element
		c     float64
	}{
		{"E2", 2, []Element{quadratic(1, 3e5)}, 1 / math.Sqrt(3e5)},
		{"E3", 3, []Element{cubic(1, 3e6)}, 1 / math.Cbrt(3e6)},
		{"two of E2", 2, []Element{quadratic(1, 3e5), quadratic(2, 2e5)}, 1/math.Sqrt(3e5) + 2/math.Sqrt(2e5)},
		{"two of E3", 3, []Element{cubic(1, 3e6), cubic(2, 2e6)}, 1/math.Cbrt(3e6) + 2/math.Cbrt(2e6)},
		{"three of E3", 3, []Element{cubic(1, 3e6), cubic(0.5, 8e6), cubic(2, 2e6)}, 1/math.Cbrt(3e6) + 0.5/math.Cbrt(8e6) + 2/math.Cbrt(2e6)},
	} {
		for _, h := range []float64{0, 1e-3, 1} {
			const mass, g = 80, 9.80665
			w := mass * g
			x := 0.0
			for lo, hi := 0.0, 10.0; hi-lo > 1e-15*hi; {
				if x = (lo + hi) / 2; x == lo || x == hi {
					break
				}
				if math.Pow(x, c.p+1)/((c.p+1)*math.Pow(c.c, c.p)) < w*(h+x) {
					lo = x
				} else {
					hi = x
				}
			}
			want := math.Pow(x/c.c, c.p)
			if h == 0 {
				within(t, c.name+" suddenly loaded", want, (c.p+1)*w, 1e-12, 0)
			}
			k := &Case{Mass: mass, Fall: quantity.Length(h), Until: 2.5, Chain: c.chain}
			r := run(t, k, Options{})
			within(t, c.name+" peak", r.PeakForce.SI(), want, 1e-8, 0)
			within(t, c.name+" lowest", r.Lowest.SI(), x, 1e-8, 0)
			if h == 1 {
				within(t, c.name+" flight", at(r.Events, EventTaut, 1)-at(r.Events, EventSlack, 0), 2*math.Sqrt(2*h/g), 1e-7, 0)
			}
			for _, s := range both(t, k) {
				within(t, c.name+" peak in an ensemble", s.PeakForce.SI(), want, 1e-7, 0)
			}
			if h > 0 {
				within(t, c.name+" by Dopri", run(t, k, Options{Method: Dopri}).PeakForce.SI(), want, 1e-7, 0)
			}
		}
	}
}

// both is the drop alone and in a batch.
func both(t *testing.T, c *Case) []Summary {
	t.Helper()
	var e Engine
	out := make([]Summary, 2)
	if err := e.Drop(c, &out[0]); err != nil {
		t.Fatal(err)
	}
	if err := e.Batch([]Case{*c}, out[1:]); err != nil {
		t.Fatal(err)
	}
	return out
}

// What else starts without stiffness: knots that slip from the first newton, beside it, with losses. The ledger closes,
// and the same falls by another method and in an ensemble agree.
func TestHollowTextilesInCompany(t *testing.T) {
	loss := textile(1, 0, 3e5, 0)
	loss.Textile.Friction, loss.Textile.Set = 0.1, 0.05
	node := Element{Kind: KindRig, Rig: &Rig{Stiffness: 2e6, NodeMass: 0.5, DampingRatio: 0.03}}
	tied := func(f0, power float64) Element {
		return Element{Kind: KindKnot, Knot: &Knot{F0: quantity.Force(f0), FL: 8000, Slip: 0.045, Power: quantity.Ratio(power)}}
	}
	for name, chain := range map[string][]Element{
		"losses": {loss}, "node": {node, loss}, "knot": {textile(1, 0, 3e5, 0), tied(0, 2)}, "node and knot": {node, textile(1, 0, 0, 3e6), tied(0, 2)},
		"two knots": {textile(1, 0, 3e5, 0), tied(0, 2), tied(0, 3)}, "branch": {textile(1, 0, 0, 3e6, Branch{E: 2e4, Tau: 0.05})},
	} {
		for _, h := range []quantity.Length{0, 1e-3, 1} {
			c := &Case{Mass: 80, Fall: h, Until: 0.6, Chain: chain}
			r := run(t, c, Options{})
			if open := math.Abs(r.Energy.Residual.SI()); open > 1e-9*r.Energy.In.SI() {
				t.Errorf("%s, %s: the ledger is open by %g J", name, h, open)
			}
			within(t, name+" finer", run(t, c, Options{Tolerance: 1e-13}).PeakForce.SI(), r.PeakForce.SI(), 1e-9, 0)
			for _, s := range both(t, c) {
				within(t, name+" in an ensemble", s.PeakForce.SI(), r.PeakForce.SI(), 1e-6, 0)
			}
		}
	}
}

// Powers of a knot's curve from next to nothing up: near 0 the knot is as good as rigid up to FL and slips there like an
// absorber of that force, at 20 it slips most of its way at F0. The drop with a power between two others lies between them.
func TestKnotPowers(t *testing.T) {
	peak := func(power float64, h quantity.Length, f0 quantity.Force) float64 {
		c := &Case{Mass: 80, Fall: h, Until: 0.3, Chain: []Element{textile(1, 1e5, 0, 0), {Kind: KindKnot, Knot: &Knot{F0: f0, FL: 8000, Slip: 0.045, Power: quantity.Ratio(power)}}}}
		r := run(t, c, Options{})
		for _, s := range both(t, c) {
			within(t, "in an ensemble", s.PeakForce.SI(), r.PeakForce.SI(), 1e-6, 0)
		}
		return r.PeakForce.SI()
	}
	for _, f0 := range []quantity.Force{0, 500} {
		for _, h := range []quantity.Length{0, 1e-3, 1} {
			last := 0.0
			for _, power := range []float64{1e-6, 1e-3, 0.01, 0.1, 0.5, 1, 1.5, 2, 2.5, 3, 5, 20} {
				if h == 1 { // the more a knot takes, the less is left for the peak behind its lock
					f := peak(power, h, f0)
					if f < last-1e-6 {
						t.Errorf("power %g, F0 %s: %.9g N after %.9g N", power, f0, f, last)
					}
					last = f
				} else {
					peak(power, h, f0)
				}
			}
		}
		even := run(t, &Case{Mass: 80, Fall: 1, Until: 0.3, Chain: []Element{textile(1, 1e5, 0, 0), {Kind: KindAbsorber, Absorber: &Absorber{Force: 8000, Travel: 0.045}}}}, Options{})
		within(t, "power near 0", peak(1e-6, 1, f0), even.PeakForce.SI(), 1e-5, 0)
	}
}

type weakCase struct {
	Name                                                   string
	Mass, Fall, Until, Length, E1, E2, E3, Mu, K, Strength float64
}

// SciPy's DOP853 at rtol 1e-12 (bench/weak_friction.py; version in the file): where friction is softer than mu times the
// tangent stiffness it does not reach its bound, or leaves it under load and follows it back.
func TestWeakFrictionAgainstSciPy(t *testing.T) {
	var file struct {
		Cases   []weakCase
		Results []struct {
			Name  string
			Broke *float64 `json:"broke_s"`
			Slack *float64 `json:"slack_s"`
			Peak  float64  `json:"peak_N"`
			EndX  float64  `json:"end_m"`
			EndV  float64  `json:"end_mps"`
		}
	}
	readTestdata(t, "reference-weak-friction.json", &file)
	if len(file.Cases) < 5 || len(file.Cases) != len(file.Results) {
		t.Fatalf("%d cases, %d results", len(file.Cases), len(file.Results))
	}
	for i, w := range file.Cases {
		t.Run(w.Name, func(t *testing.T) {
			want := file.Results[i]
			e := textile(w.Length, w.E1, w.E2, w.E3)
			e.Textile.Friction, e.Textile.FrictionStiffness, e.Textile.Strength = quantity.Ratio(w.Mu), quantity.Force(w.K), quantity.Force(w.Strength)
			c := &Case{Mass: quantity.Mass(w.Mass), Fall: quantity.Length(w.Fall), Until: quantity.Duration(w.Until), Chain: []Element{e}}
			for _, method := range []Method{Taylor, Dopri} {
				r := run(t, c, Options{Method: method})
				within(t, "peak", r.PeakForce.SI(), want.Peak, 1e-7, 0)
				if want.Broke != nil {
					within(t, "break", at(r.Events, EventBreak, 0), *want.Broke, 0, 1e-9)
				} else {
					within(t, "slack", at(r.Events, EventSlack, 0), *want.Slack, 0, 2e-7)
				}
			}
			for _, s := range both(t, c) {
				within(t, "peak in an ensemble", s.PeakForce.SI(), want.Peak, 1e-6, 0)
			}
		})
	}
	// Linear and always below its bound, friction adds its stiffness: k = (E1 + K)/L, and with the start at x = 0
	// F(t) = m g (1 - cos w t) + m w v sin w t, from which the time of the break follows; a friction at its bound would be stiffer.
	w := file.Cases[0]
	const g = 9.80665
	k := (w.E1 + w.K) / w.Length
	omega, v := math.Sqrt(k/w.Mass), math.Sqrt(2*g*w.Fall)
	amplitude := math.Hypot(w.Mass*g, w.Mass*omega*v)
	closed := (math.Asin((w.Strength-w.Mass*g)/amplitude) + math.Asin(w.Mass*g/amplitude)) / omega
	within(t, "closed form", *file.Results[0].Broke, closed, 1e-9, 0)
}

// Chains of any kind go on to their end with a closed ledger when their textiles have no stiffness at zero strain, a friction
// softer than its bound, or their knots a power of any size.
func TestAnyOddChainRuns(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := anyCase(t)
		for i := range c.Chain {
			e := &c.Chain[i]
			if x := e.Textile; x != nil {
				if rapid.Bool().Draw(t, "hollow") {
					x.E1 = 0
				}
				if x.E1+x.E2+x.E3 == 0 {
					x.E2 = 2e5
				}
				if x.Friction > 0 && rapid.Bool().Draw(t, "weak") {
					x.FrictionStiffness = quantity.Force(rapid.Float64Range(1e3, 1e5).Draw(t, "Kf"))
				}
			}
			if k := e.Knot; k != nil {
				k.Power = quantity.Ratio(math.Pow(10, rapid.Float64Range(-4, 1.3).Draw(t, "power")))
			}
		}
		r, err := Run(context.Background(), c, Options{})
		if err != nil {
			t.Fatalf("%v", err)
		}
		var e Engine
		var s Summary
		if err := e.Drop(c, &s); err != nil {
			t.Fatalf("engine: %v", err)
		}
		if d := math.Abs((s.PeakForce - r.PeakForce).SI()); d > 1e-5*r.PeakForce.SI()+1e-5*c.Mass.SI() && r.Outcome != "broke" {
			t.Fatalf("peaks %.9g N and %.9g N", s.PeakForce.SI(), r.PeakForce.SI())
		}
	})
}
