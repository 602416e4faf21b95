package arrest

import (
	"errors"
	"strings"
	"testing"

	"github.com/hardcatch/hardcatch/internal/quantity"
)

// The rig is said to rule the peak above a fifth of the elongation: 10 kN on 1 MN/m are 10 mm, a fifth of 50 mm, so that a textile that gives 40.1 mm
// leaves the rig less than its share and one that gives 39.9 mm more. (The fifth is common practice, no source.)
func TestRigShare(t *testing.T) {
	c := full()
	c.Chain[0].Rig.Stiffness = 1e6
	for _, v := range []struct {
		stretch quantity.Length
		want    string
	}{{0.0401, ""}, {0.0399, "the rig takes 20 % of the elongation"}, {0.01, "the rig takes 50 % of the elongation"}, {0.0999, ""}} {
		r := &Result{PeakForce: 10000, Elements: make([]ElementResult, len(c.Chain))}
		for i := range c.Chain {
			if c.Chain[i].Kind == KindTextile {
				r.Elements[i].Elongation = v.stretch
			} else {
				r.Elements[i].Elongation = 1 // what is no textile does not count
			}
		}
		got := ""
		for _, w := range warnings(c, r) {
			if strings.HasPrefix(w.String(), "the rig takes") {
				got = w.String()
			}
		}
		if got != v.want && (v.want == "" || !strings.HasPrefix(got, v.want)) {
			t.Errorf("textile gives %v: %q, want %q", v.stretch, got, v.want)
		}
	}
}

// The ledger may be open by a millionth of m g h, to either side and no more. At first taut all the energy of the fall is kinetic; a dissipation that
// did not happen opens the ledger by just that.
func TestBalanceLimit(t *testing.T) {
	c := full()
	var m solver
	m.compile(c, Options{})
	m.v[0], m.v2[0] = m.speed, m.speed
	fallen := (m.mass + m.limbs) * max(m.g*m.fall, m.speed*m.speed/2)
	closed := m.balance()
	if closed != nil || fallen < 100 {
		t.Fatalf("%v; %g J", closed, fallen)
	}
	for _, v := range []struct {
		share float64
		open  bool
	}{{0.99e-6, false}, {-0.99e-6, false}, {1.01e-6, true}, {-1.01e-6, true}} {
		m.friction = v.share * fallen
		if err := m.balance(); errors.Is(err, errOpen) != v.open {
			t.Errorf("open by %g of the fall's energy: %v", v.share, err)
		}
		m.friction = 0
		m.slip = v.share * fallen
		if err := m.balance(); errors.Is(err, errOpen) != v.open {
			t.Errorf("open by %g in the slip: %v", v.share, err)
		}
		m.slip = 0
	}
}
