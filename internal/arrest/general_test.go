package arrest

import (
	"math"
	"math/rand/v2"

	"github.com/hardcatch/hardcatch/internal/quantity"
)

// randomFull draws a case for the general way: every sort of rig, textiles with friction and set, a
// knot, at times an absorber and a body.
func randomFull(r *rand.Rand) Case {
	log := func(lo, hi float64) float64 { return lo * math.Exp(r.Float64()*math.Log(hi/lo)) }
	c := Case{Mass: quantity.Mass(log(50, 150)), Fall: quantity.Length(2 * r.Float64()), Until: quantity.Duration(log(0.1, 1.5))}
	rig := Rig{Stiffness: quantity.Stiffness(log(3e5, 1e7))}
	switch r.IntN(8) {
	case 0:
	case 1:
		rig.Damping = quantity.Damping(log(500, 5000))
	default:
		rig.NodeMass, rig.DampingRatio = quantity.Mass(log(0.2, 5)), quantity.Ratio(log(0.01, 0.5))
	}
	c.Chain = append(c.Chain, Element{Kind: KindRig, Rig: &rig})
	for range 1 + r.IntN(5)/4 {
		e := textile(log(0.3, 4), log(2e4, 3e5), 0, 0)
		t := e.Textile
		if r.IntN(3) > 0 {
			t.E2 = quantity.Force(log(1e5, 3e6))
		}
		if r.IntN(3) == 0 {
			t.E3 = quantity.Force(log(1e5, 3e6))
		}
		for range r.IntN(3) {
			t.Maxwell = append(t.Maxwell, Branch{E: quantity.Force(log(1e3, 5e4)), Tau: quantity.Duration(log(1e-2, 0.5))})
		}
		if r.IntN(4) > 0 {
			t.Friction = quantity.Ratio(log(0.01, 0.2))
		}
		if r.IntN(4) > 0 {
			t.Set = quantity.Ratio(log(0.01, 0.1))
		}
		if r.IntN(4) == 0 {
			t.Strength, t.BreakRamp = quantity.Force(log(8e3, 3e4)), quantity.Duration(log(1e-4, 1e-3))
		}
		c.Chain = append(c.Chain, e)
	}
	if r.IntN(4) > 0 {
		k := StartingKnot()
		k.F0, k.FL, k.Slip = quantity.Force(log(100, 1500)), quantity.Force(log(3e3, 1e4)), quantity.Length(log(0.01, 0.06))
		k.Power = [...]quantity.Ratio{0, 0, 1, 1.5, 3}[r.IntN(5)]
		c.Chain = append(c.Chain, Element{Kind: KindKnot, Knot: &k})
	}
	if r.IntN(6) == 0 {
		a := StartingAbsorber()
		a.Ripple *= quantity.Ratio(r.IntN(2))
		a.Travel = quantity.Length(log(0.1, 1))
		c.Chain = append(c.Chain, Element{Kind: KindAbsorber, Absorber: &a})
	}
	if r.IntN(6) == 0 {
		b := startingBody()
		c.Chain = append(c.Chain, Element{Kind: KindBody, Body: &b})
	}
	return c
}

// startingBody is, by common practice without a source, a harnessed person's torso and the rest.
func startingBody() Body {
	return Body{Stiffness: 50e3, DampingRatio: 0.3, TorsoShare: 0.85}
}
