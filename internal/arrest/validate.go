package arrest

import (
	"fmt"
	"math"
)

// Validate reports the first value that the engine cannot work with: which element, what is wrong,
// what would be right.
func (c *Case) Validate() error {
	if err := c.validateFall(); err != nil {
		return err
	}
	if len(c.Chain) == 0 {
		return fmt.Errorf("chain: no element is given; write at least one textile between anchor and mass")
	}
	soft := false
	for i := range c.Chain {
		e := &c.Chain[i]
		if err := e.validate(); err != nil {
			return fmt.Errorf("chain: element %d (%s): %w", i+1, c.Label(i), err)
		}
		switch {
		case e.Kind == KindRig && i != 0:
			return fmt.Errorf("chain: element %d (%s): the rig stands at the anchor; put it first", i+1, c.Label(i))
		case e.Kind == KindBody && i != len(c.Chain)-1:
			return fmt.Errorf("chain: element %d (%s): the body is what falls; put it last", i+1, c.Label(i))
		}
		soft = soft || e.Kind == KindTextile || e.Kind == KindRig && e.Rig.NodeMass == 0
	}
	if err := c.validateEdge(); err != nil {
		return err
	}
	return c.validateRigid(soft)
}

func (c *Case) validateFall() error {
	for _, q := range []struct {
		name string
		v    float64
	}{
		{"fall", c.Fall.SI()}, {"speed", c.Speed.SI()}, {"gravity", c.Gravity.SI()}, {"until", c.Until.SI()},
		{"rest", c.Rest.SI()}, {"floor", c.Floor.SI()}, {"drops", float64(c.Drops)},
	} {
		if bad(q.v) || q.v < 0 {
			return fmt.Errorf("%s: %g may not be negative or without a finite value", q.name, q.v)
		}
	}
	switch {
	case bad(c.Mass.SI()) || c.Mass <= 0:
		return fmt.Errorf("mass: %g is missing or not positive; write for example 100 kg", c.Mass.SI())
	case c.Mass > 1e5:
		return fmt.Errorf("mass: %s is not believed; a bare number is kilograms", c.Mass)
	case c.Speed > 0 && c.Fall > 0:
		return fmt.Errorf("speed: %s and a fall of %s are both given; the speed alone says how fast the mass is when the chain comes taut: leave one out", c.Speed, c.Fall)
	case c.Fall > 1000:
		return fmt.Errorf("fall: %s is not believed; a bare number is metres", c.Fall)
	case c.Until > 3600:
		return fmt.Errorf("until: %s is more than the hour that is computed at most", c.Until)
	case c.Drops > 10000:
		return fmt.Errorf("drops: %d are more than the 10000 that are computed at most", c.Drops)
	}
	return nil
}

// validateRigid refuses chains whose force is not determined: nothing in them gives way elastically.
func (c *Case) validateRigid(soft bool) error {
	if soft {
		return nil
	}
	slips, loose := false, false
	for i := range c.Chain {
		switch c.Chain[i].Kind {
		case KindKnot, KindAbsorber:
			slips = true
		case KindRig, KindBody:
			loose = true
		}
	}
	switch {
	case !slips:
		return fmt.Errorf("chain: nothing carries the load between rig and mass; add a textile, or give the rig node_mass: 0")
	case loose:
		return fmt.Errorf("chain: knots and absorbers between two masses leave the force undetermined; add a textile, or give the rig node_mass: 0 and leave the body out")
	}
	return nil
}

func (e *Element) validate() error {
	set := 0
	for _, is := range []bool{e.Rig != nil, e.Textile != nil, e.Knot != nil, e.Absorber != nil, e.Body != nil, e.Edge != nil} {
		if is {
			set++
		}
	}
	if set != 1 {
		return fmt.Errorf("exactly one of rig, textile, knot, absorber, body and edge must be given, not %d", set)
	}
	switch {
	case e.Kind == KindRig && e.Rig != nil:
		return e.Rig.validate()
	case e.Kind == KindTextile && e.Textile != nil:
		return e.Textile.validate()
	case e.Kind == KindKnot && e.Knot != nil:
		return e.Knot.validate()
	case e.Kind == KindAbsorber && e.Absorber != nil:
		return e.Absorber.validate()
	case e.Kind == KindBody && e.Body != nil:
		return e.Body.validate()
	case e.Kind == KindEdge && e.Edge != nil:
		return e.Edge.validate()
	}
	return fmt.Errorf("its kind %q does not fit what is given", e.Kind)
}

type limits struct {
	name     string
	v        float64
	lo, hi   float64
	openLo   bool // lo itself is not allowed
	openHi   bool
	fallback string
}

func check(list ...limits) error {
	for _, l := range list {
		low := l.v < l.lo || l.openLo && l.v == l.lo
		high := l.v > l.hi || l.openHi && l.v == l.hi
		if bad(l.v) || low || high {
			return fmt.Errorf("%s: %g is not possible; %s", l.name, l.v, l.fallback)
		}
	}
	return nil
}

func bad(v float64) bool { return math.IsNaN(v) || math.IsInf(v, 0) }

var inf = math.Inf(1)

func (r *Rig) validate() error {
	err := check(
		limits{"stiffness", r.Stiffness.SI(), 0, inf, true, true, "it must be more than 0, for example 2 MN/m"},
		limits{"damping_ratio", r.DampingRatio.SI(), 0, 10, false, false, "it lies from 0 to 10"},
		limits{"damping", r.Damping.SI(), 0, inf, false, true, "it must be 0 or more"},
		limits{"node_mass", r.NodeMass.SI(), 0, 1e5, false, false, "it must be 0 or more"},
	)
	if err == nil && r.Damping > 0 && r.DampingRatio > 0 {
		err = fmt.Errorf("damping and damping_ratio are both given; leave one out")
	}
	if err == nil && r.DampingRatio > 0 && r.NodeMass == 0 {
		err = fmt.Errorf("a damping_ratio means nothing without a node mass; give node_mass, or damping in N s/m")
	}
	return err
}

func (t *Textile) validate() error {
	positive := "it must be more than 0"
	err := check(
		limits{"length", t.Length.SI(), 0, 1e4, true, false, "it must be more than 0 and at most 10 km"},
		limits{"E1", t.E1.SI(), 0, inf, false, true, "it must be 0 or more"},
		limits{"E2", t.E2.SI(), 0, inf, false, true, "it must be 0 or more"},
		limits{"E3", t.E3.SI(), 0, inf, false, true, "it must be 0 or more"},
		limits{"E1 + E2 + E3", (t.E1 + t.E2 + t.E3).SI(), 0, inf, true, true, positive},
		limits{"friction", t.Friction.SI(), 0, 1, false, true, "it lies from 0 to below 1"},
		limits{"friction_stiffness", t.FrictionStiffness.SI(), 0, inf, false, true, "it must be 0 or more"},
		limits{"set", t.Set.SI(), 0, 1, false, true, "it lies from 0 to below 1"},
		limits{"strength", t.Strength.SI(), 0, inf, false, true, "it must be 0 (never parts) or more"},
		limits{"degradation", t.Degradation.SI(), 0, 1, false, false, "it is the share of strength left, above 0 and at most 1"},
		limits{"break_ramp", t.BreakRamp.SI(), 0, 10, false, false, "it lies from 0 to 10 s"},
	)
	if err != nil {
		return err
	}
	if err := t.Damage.validate(t); err != nil {
		return err
	}
	for j, b := range t.Maxwell {
		if err := check(
			limits{"E", b.E.SI(), 0, inf, false, true, "it must be 0 or more"},
			limits{"tau", b.Tau.SI(), 0, inf, true, true, positive},
		); err != nil {
			return fmt.Errorf("maxwell branch %d: %w", j+1, err)
		}
	}
	return nil
}

func (k *Knot) validate() error {
	err := check(
		limits{"FL", k.FL.SI(), 0, inf, true, true, "it must be more than 0"},
		limits{"F0", k.F0.SI(), 0, k.FL.SI(), false, false, "it lies from 0 to FL"},
		limits{"slip", k.Slip.SI(), 0, 1e3, true, false, "it must be more than 0"},
		limits{"power", k.Power.SI(), 0, 20, false, false, "it lies above 0 and up to 20"},
		limits{"lock", k.Lock.SI(), 0, inf, false, true, "it must be more than 0"},
		limits{"efficiency", k.Efficiency.SI(), 0, 1, false, false, "it lies above 0 and up to 1"},
		limits{"state", k.State.SI(), 0, k.Slip.SI(), false, false, "it lies from 0 to the slip"},
	)
	return err
}

func (a *Absorber) validate() error {
	err := check(
		limits{"force", a.Force.SI(), 0, inf, true, true, "it must be more than 0"},
		limits{"ripple", a.Ripple.SI(), 0, 1, false, true, "it lies from 0 to below 1"},
		limits{"pitch", a.Pitch.SI(), 0, 1e3, false, false, "it must be more than 0"},
		limits{"travel", a.Travel.SI(), 0, 1e4, true, false, "it must be more than 0"},
		limits{"backing", a.Backing.SI(), 0, inf, false, true, "it must be more than 0"},
		limits{"strength", a.Strength.SI(), 0, inf, false, true, "it must be 0 (never parts) or more"},
		limits{"state", a.State.SI(), 0, a.Travel.SI(), false, false, "it lies from 0 to the travel"},
	)
	if err == nil && a.Ripple > 0 && a.Pitch == 0 {
		err = fmt.Errorf("pitch: a ripple needs one, for example 15 mm")
	}
	return err
}

func (b *Body) validate() error {
	return check(
		limits{"stiffness", b.Stiffness.SI(), 0, inf, true, true, "it must be more than 0"},
		limits{"damping_ratio", b.DampingRatio.SI(), 0, 10, false, false, "it lies from 0 to 10"},
		limits{"torso_share", b.TorsoShare.SI(), 0, 1, false, true, "it lies above 0 and below 1"},
	)
}
