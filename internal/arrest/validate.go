package arrest

import (
	"fmt"
	"math"

	"github.com/hardcatch/hardcatch/internal/arrest/element"
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
	loads := chainGives{}
	for i := range c.Chain {
		e := &c.Chain[i]
		err := e.Validate()
		if err == nil {
			err = e.StandsAt(i, len(c.Chain))
		}
		if err != nil {
			return fmt.Errorf("chain: element %d (%s): %w", i+1, c.Label(i), err)
		}
		loads[e.Gives()] = true
	}
	if err := c.validateEdge(); err != nil {
		return err
	}
	return loads.validate()
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

// chainGives says what the elements of a chain do together.
type chainGives [element.Redirects + 1]bool

// validate refuses chains whose force is not determined: nothing in them gives way elastically.
func (g chainGives) validate() error {
	switch {
	case g[element.Stretches]:
		return nil
	case !g[element.Slips]:
		return fmt.Errorf("chain: nothing carries the load between rig and mass; add a textile, or give the rig node_mass: 0")
	case g[element.Swings]:
		return fmt.Errorf("chain: knots and absorbers between two masses leave the force undetermined; add a textile, or give the rig node_mass: 0 and leave the body out")
	}
	return nil
}

func bad(v float64) bool { return math.IsNaN(v) || math.IsInf(v, 0) }

var inf = math.Inf(1)
