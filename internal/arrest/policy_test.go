package arrest

import (
	"math"
	"testing"

	"github.com/hardcatch/hardcatch/internal/quantity"
)

// Through the filter the reading of a ringing node comes back to about the force in the chain; and of a half-sine it keeps what
// the filter's own table says: a linear textile let go at speed on a rigid anchor gives a half-sine but for the weight, and at 10 ms
// CFC 60 keeps 0.9507 of it (check values of the filter, SciPy). Here 10 ms: w = 100 pi.
func TestFilteredReading(t *testing.T) {
	const mass, g = 80.0, 9.80665
	k := mass * (100 * math.Pi) * (100 * math.Pi)
	c := &Case{Mass: mass, Fall: 10, Gravity: 0.01, Until: 0.1, Chain: []Element{textile(1, k, 0, 0)}}
	c.Fall, c.Speed = 0, 10 // the weight is next to nothing, and so are its effects
	r := run(t, c, Options{})
	within(t, "share that is left of a half-sine", r.PeakFiltered.SI()/r.PeakForce.SI(), 0.9507, 2e-3, 0)
	for _, method := range []Method{Dopri, Radau} {
		within(t, string(method), run(t, c, Options{Method: method}).PeakFiltered.SI(), r.PeakFiltered.SI(), 1e-6, 0)
	}
	// A node of 2 kg at 225 Hz under the cell rings by some of the force; the filter takes most of it out.
	node := &Case{Mass: 80, Fall: 1, Until: 0.5, Chain: []Element{{Kind: KindRig, Rig: &Rig{Stiffness: 4e6, NodeMass: 2, DampingRatio: 0.01}}, textile(1, 2e5, 0, 0)}}
	r = run(t, node, Options{})
	if r.PeakForce < r.PeakChain*1015/1000 {
		t.Fatalf("the node does not ring: %v and %v", r.PeakForce, r.PeakChain)
	}
	l := r.Loads()
	if d := math.Abs(l.Filtered.SI()/l.Chain.SI() - 1); d > 0.03 || l.For(Strength) != r.PeakChain || l.For(ArrestForce) != r.PeakFiltered || l.For(Reading) != r.PeakForce {
		t.Errorf("%+v", l)
	}
	// A stiff rig with no node adds nothing: filtered is below the chain's and near it for a slow arrest.
	slow := run(t, &Case{Mass: 80, Fall: 1, Until: 1, Chain: []Element{textile(5, 1e4, 0, 0)}}, Options{})
	within(t, "slow arrest", slow.PeakFiltered.SI(), slow.PeakChain.SI(), 2e-3, 0)
	if slow.PeakFiltered > slow.PeakChain+quantity.Force(1e-6) {
		t.Error("the filter adds force")
	}
}

// A step of the general methods costs ten times stepwiseCost of one of a series, by which a chain check that would take minutes is refused.
func TestWorkOfADrop(t *testing.T) {
	for _, c := range []struct {
		method Method
		want   int
	}{{Dopri, 70 * stepwiseCost}, {Radau, 70 * stepwiseCost}, {"", 7}} {
		if got := (&Summary{Method: c.method, Steps: 7}).Work(); got != c.want {
			t.Errorf("%q: %d, not %d", c.method, got, c.want)
		}
	}
	if stepwiseCost < 2 {
		t.Errorf("a step of the general methods costs %d", stepwiseCost)
	}
}
