package arrest

import (
	"math"
	"strings"
	"testing"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// wornSling is C2 with a law of damage: a linear textile on a rigid rig, so that every peak is Wexler's W + sqrt(W^2 + 2 W h k).
func wornSling(drops int, d Damage) *Case {
	return &Case{Mass: 80, Fall: 0.6, Drops: drops, Chain: []Element{{Kind: KindTextile, Name: "sling", Textile: &Textile{
		Length: 0.6, E1: 161e3, Strength: 30e3, Damage: &d}}}}
}

func wexler(m, h, k float64) float64 {
	w := m * 9.80665
	return w + math.Sqrt(w*w+2*w*h*k)
}

// The recurrence by hand: r = F/S, S falls by 0.5 r^4 of the first 30 kN, k grows by 0.5 r of what is missing to twice. The drop at which
// Wexler's peak is above what is left breaks.
func TestDamageByHand(t *testing.T) {
	r := run(t, wornSling(40, Damage{Exponent: 4, Loss: 0.5, Stiffening: 1, Rate: 0.5}), Options{})
	left, k := 1.0, 1.0
	for i, d := range append(append([]*Result{}, r.Earlier...), r) {
		peak, strength := wexler(80, 0.6, k*161e3/0.6), 30e3*left
		w := d.Wear[0]
		within(t, "strength before", w.Before.SI(), strength, 1e-8, 0)
		if peak >= strength {
			if d != r || d.Outcome != drop.Broke || w.After != 0 || r.Series.HeldFrom != i || r.Series.HeldTo == nil || *r.Series.HeldTo != i+1 || r.Series.Made != i+1 {
				t.Fatalf("drop %d: %s, %+v, %+v", i+1, d.Outcome, w, r.Series)
			}
			within(t, "peak of the break", d.PeakChain.SI(), strength, 1e-8, 0)
			return
		}
		within(t, "peak", d.PeakChain.SI(), peak, 1e-8, 0)
		load := peak / strength
		left -= 0.5 * math.Pow(load, 4)
		k += 0.5 * load * (2 - k)
		within(t, "force over strength", w.Load.SI(), load, 1e-8, 0)
		within(t, "share left", w.Left.SI(), left, 1e-8, 0)
		within(t, "stiffness", w.Stiffness.SI(), k, 1e-8, 0)
	}
	t.Fatal("nothing broke")
}

// A knot of efficiency 0.6 makes every load 1/0.6 of what it is on the textile alone, and is what parts.
func TestDamageAtTheKnot(t *testing.T) {
	c := wornSling(2, Damage{Exponent: 1, Loss: 0.1})
	c.Chain = append(c.Chain, Element{Kind: KindKnot, Knot: &Knot{F0: 1e6, FL: 2e6, Slip: 1, Efficiency: 0.6}})
	r := run(t, c, Options{})
	w := r.Earlier[0].Wear[0]
	within(t, "load", w.Load.SI(), wexler(80, 0.6, 161e3/0.6)/18e3, 1e-8, 0)
	within(t, "left", w.Left.SI(), 1-0.1*wexler(80, 0.6, 161e3/0.6)/18e3, 1e-8, 0)
	if r.Outcome != drop.Broke || r.Broke.Element != "knot" || r.Series.HeldFrom != 1 {
		t.Errorf("%s %+v %+v", r.Outcome, r.Broke, r.Series)
	}
	within(t, "break", r.Broke.Force.SI(), 18e3*w.Left.SI(), 1e-9, 0)
}

// Without a break the falls held are a lower bound; without a law nothing but set and slips changes.
func TestSeriesThatHolds(t *testing.T) {
	r := run(t, wornSling(3, Damage{Exponent: 20, Loss: 0.1}), Options{})
	if r.Series.HeldFrom != 3 || r.Series.HeldTo != nil || r.Series.Asked != 3 {
		t.Errorf("%+v", r.Series)
	}
	c := wornSling(2, Damage{})
	c.Chain[0].Textile.Damage = nil
	if r := run(t, c, Options{}); len(r.Wear) != 0 || math.Abs(r.PeakForce.SI()/r.Earlier[0].PeakForce.SI()-1) > 1e-9 {
		t.Errorf("%+v", r.Wear)
	}
	if r := run(t, &Case{Mass: 80, Fall: 0.6, Chain: c.Chain}, Options{}); r.Series != nil {
		t.Error("one drop is no series")
	}
}

// Set and friction: after a drop at r the textile is set up to (1 + 0.2 r) of its largest strain, longer by that, and the ledger closes after rests
// that leave force in the branches.
func TestDamageOfSetAndFriction(t *testing.T) {
	set, _ := StartingSet("polyamide-webbing")
	set.Length, set.Damage = 1, &Damage{Exponent: 10, SetGrowth: 0.2, FrictionLoss: 0.5, Stiffening: 0.5, Rate: 0.5}
	for _, rest := range []float64{0, 0.02, 5} {
		c := &Case{Mass: 80, Fall: 1, Drops: 3, Rest: quantity.Duration(rest), Chain: []Element{{Kind: KindRig, Rig: &Rig{Stiffness: 2e6}}, {Kind: KindTextile, Textile: &set}}}
		r := run(t, c, Options{})
		before := math.Inf(1)
		for _, d := range append(append([]*Result{}, r.Earlier...), r) {
			if math.Abs(d.Energy.Residual.SI()) > 1e-9*d.Energy.In.SI() {
				t.Errorf("rest %g: ledger open by %v of %v", rest, d.Energy.Residual, d.Energy.In)
			}
			if f := d.Wear[0].Friction.SI(); f >= before {
				t.Errorf("friction %g after %g", f, before)
			} else {
				before = f
			}
		}
		load := r.Earlier[0].Wear[0].Load.SI()
		within(t, "friction", r.Earlier[0].Wear[0].Friction.SI(), 1-0.5*load, 1e-12, 0)
		// 0.08 of the largest strain e/(1-0.08) of the first drop, grown
		e := r.Earlier[0].Elements[1].Elongation.SI() * 0.92
		if got, least := r.Earlier[1].Elements[1].Slip.SI(), 0.08/0.92*e*(1+0.2*load); got < least*(1-1e-6) {
			t.Errorf("rest %g: set %g, at least %g", rest, got, least)
		}
	}
}

// Dynamic ropes, 80 kg, fall factor 1.77. Published: a used rope of 10 mm gave 7.41, 9.20, 10.45 kN and broke on fall 3; its kind new 7 to 10 falls
// (postings of 1995 to 1999); EN 892 asks for 5 falls; second over first peak of hard drops +10 to +60 % (common practice, no source). What a rope has over the edge
// of the apparatus is taken as 0.8 of the starting strength new and 0.55 used (common practice, no source).
func TestDynamicRopeOfPublishedOrder(t *testing.T) {
	for _, k := range []struct {
		left     float64
		from, to int
		rises    int
	}{{0.8, 5, 15, 3}, {0.55, 1, 3, 1}} {
		set, _ := StartingSet("dynamic-rope")
		d := StartingDamage()
		set.Length, set.Damage, set.Degradation = 2.6, &d, 1
		set.Strength = quantity.Force(22e3 * k.left)
		r := run(t, &Case{Mass: 80, Fall: 4.6, Drops: 40, Chain: []Element{{Kind: KindRig, Rig: &Rig{Stiffness: 2e6}}, {Kind: KindTextile, Textile: &set}}}, Options{})
		if r.Series.HeldFrom < k.from || r.Series.HeldFrom > k.to || r.Series.HeldTo == nil {
			t.Errorf("left %g: %+v", k.left, r.Series)
		}
		if q := r.Earlier[1].PeakForce.SI() / r.Earlier[0].PeakForce.SI(); q < 1.10 || q > 1.60 {
			t.Errorf("left %g: second over first peak %g", k.left, q)
		}
		for i := 1; i <= k.rises; i++ {
			if r.Earlier[i].PeakForce <= r.Earlier[i-1].PeakForce {
				t.Errorf("left %g: drop %d does not rise", k.left, i+1)
			}
		}
	}
}

func TestDamageRefused(t *testing.T) {
	for want, change := range map[string]func(*Textile){
		"give the textile a strength": func(t *Textile) { t.Strength = 0 },
		"damage: exponent":            func(t *Textile) { t.Damage.Exponent = 0 },
		"damage: loss":                func(t *Textile) { t.Damage.Loss = 1.1 },
		"damage: stiffening":          func(t *Textile) { t.Damage.Stiffening = -1 },
		"damage: rate":                func(t *Textile) { t.Damage.Rate = 2 },
		"damage: set_growth":          func(t *Textile) { t.Damage.SetGrowth = quantity.Ratio(math.NaN()) },
		"damage: friction_loss":       func(t *Textile) { t.Damage.FrictionLoss = 2 },
	} {
		c := wornSling(2, StartingDamage())
		change(c.Chain[0].Textile)
		if err := c.Validate(); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%v, want %q", err, want)
		}
	}
}
