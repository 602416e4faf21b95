package arrest

import (
	"context"
	"math"
	"strings"
	"testing"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// Kelvin-Voigt without gravity, zeta < 0.5: F/(v0 sqrt(k m)) = exp(-(z/s) atan2(s(1-4z^2), z(3-4z^2))),
// s = sqrt(1-z^2); restitution exp(-(z/s) atan2(2zs, 2z^2-1)).
func TestKelvinVoigt(t *testing.T) {
	for _, c := range []struct{ z, peak, restitution float64 }{{0.1, 0.8801443, 0.7440794}, {0.25, 0.8107037, 0.5062766}} {
		const k, mass, v0 = 2e5, 80.0, 4.0
		var m solver
		m.compile(&Case{Mass: mass, Speed: v0, Until: 0.2, Chain: []Element{{Kind: KindRig, Rig: &Rig{Stiffness: k, Damping: quantity.Damping(2 * c.z * math.Sqrt(k*mass))}}}}, Options{})
		m.g = 0
		m.reset()
		if err := m.run(context.Background()); err != nil {
			t.Fatal(err)
		}
		s := math.Sqrt(1 - c.z*c.z)
		peak := math.Exp(-c.z / s * math.Atan2(s*(1-4*c.z*c.z), c.z*(3-4*c.z*c.z)))
		back := math.Exp(-c.z / s * math.Atan2(2*c.z*s, 2*c.z*c.z-1))
		within(t, "peak", m.track.peaks[0].Force.SI()/(v0*math.Sqrt(k*mass)), peak, 1e-9, 0)
		within(t, "peak (recomputed elsewhere)", peak, c.peak, 1e-7, 0)
		within(t, "restitution", -m.v[0]/v0, back, 1e-9, 0)
		within(t, "restitution (recomputed elsewhere)", back, c.restitution, 1e-7, 0)
	}
}

// Two lengths on one rig: k = (F^2 - 2 F W)/(2 W h) inverts Wexler; 1/k_a - 1/k_b = (L_a - L_b)/EA.
func TestTwoLengthsTellTextileFromRig(t *testing.T) {
	const ea, kr, w = 161e3, 1e6, 80 * g
	k := func(length float64) float64 {
		f := run(t, &Case{Mass: 80, Fall: 0.6, Until: 0.2, Chain: []Element{spring(kr), textile(length, ea, 0, 0)}}, Options{}).PeakForce.SI()
		return (f*f - 2*f*w) / (2 * w * 0.6)
	}
	a, b := k(0.6), k(1.5)
	gotEA := (0.6 - 1.5) / (1/a - 1/b)
	within(t, "EA", gotEA, ea, 1e-9, 0)
	within(t, "k_rig", 1/(1/a-0.6/gotEA), kr, 1e-8, 0)
}

// The Zener element between its limits: a very short and a very long relaxation time give Wexler with
// E1 and with E1 + E_M. The short one is stiff and takes the implicit method.
func TestZenerLimits(t *testing.T) {
	wexler := func(ea float64) float64 {
		w := 80 * g
		return w + math.Sqrt(w*w+2*w*0.6*ea/0.6)
	}
	c := func(tau float64) *Case {
		return &Case{Mass: 80, Fall: 0.6, Until: 0.08, Chain: []Element{textile(0.6, 100e3, 0, 0, Branch{E: 60e3, Tau: quantity.Duration(tau)})}}
	}
	r := run(t, c(1e-8), Options{})
	if r.Method != Radau {
		t.Errorf("method %s for a relaxation time of 10 ns", r.Method)
	}
	within(t, "short", r.PeakForce.SI(), wexler(100e3), 1e-5, 0)
	r = run(t, c(1e6), Options{})
	if r.Method != Taylor {
		t.Errorf("method %s for a long relaxation time", r.Method)
	}
	within(t, "long", r.PeakForce.SI(), wexler(160e3), 1e-6, 0)
}

// A node of a milligram on a stiff rig differs from a massless one by next to nothing, and forces the
// implicit method; so does a damper that is almost none.
func TestStiffRigsAgreeWithTheirLimit(t *testing.T) {
	if testing.Short() {
		t.Skip("takes seconds")
	}
	e := textile(0.9, 120e3, 400e3, 0, Branch{E: 15e3, Tau: 0.05})
	limit := run(t, &Case{Mass: 80, Fall: 0.9, Until: 0.15, Chain: []Element{spring(20e6), e}}, Options{})
	for _, rig := range []Rig{{Stiffness: 20e6, NodeMass: 1e-6, DampingRatio: 0.5}, {Stiffness: 20e6, Damping: 0.1}} {
		r := run(t, &Case{Mass: 80, Fall: 0.9, Until: 0.15, Chain: []Element{{Kind: KindRig, Rig: &rig}, e}}, Options{})
		if r.Method != Radau {
			t.Errorf("method %s for %+v", r.Method, rig)
		}
		within(t, "peak", r.PeakForce.SI(), limit.PeakForce.SI(), 1e-6, 0)
		within(t, "slack", at(r.Events, EventSlack, 0), at(limit.Events, EventSlack, 0), 1e-6, 0)
	}
}

// integral(F - W) dt over the contact = m (v0 + v_rebound), with the samples of the load cell.
func TestImpulseOfTheSamples(t *testing.T) {
	c := &Case{Mass: 80, Fall: 0.6, Until: 0.2, Chain: []Element{spring(1e6), textile(0.6, 100e3, 0, 500e3, Branch{E: 60e3, Tau: 0.03})}}
	r := run(t, c, Options{Sample: &Sampling{Rate: 1e5, Before: 0.5}})
	s := r.Samples
	if want := 70001; len(s.Cell) != want || len(s.Position) != want || s.Start != -0.5 {
		t.Fatalf("%d samples from %v, want %d from -0.5 s", len(s.Cell), s.Start, want)
	}
	v0, slack := math.Sqrt(2*g*0.6), at(r.Events, EventSlack, 0)
	sum := 0.0
	for i, f := range s.Cell {
		at := s.Start.SI() + float64(i)/s.Rate.SI()
		if (at < 0 || at > slack) && f != 0 {
			t.Fatalf("%v at %g s, while the chain is slack", f, at)
		}
		sum += f.SI() / s.Rate.SI()
	}
	rebound := -(r.End.Velocity.SI() - g*(0.2-slack))
	within(t, "impulse", sum-80*g*slack, 80*(v0+rebound), 1e-7, 0)
	if s.Position[0] != -0.6 || s.Velocity[0] != 0 {
		t.Errorf("before the release the mass hangs at %v with %v", s.Position[0], s.Velocity[0])
	}
	within(t, "position at the end", s.Position[len(s.Position)-1].SI(), r.End.Position.SI(), 1e-12, 0)
	i := int((0.5 - 0.1) * 1e5)
	within(t, "position in free fall", s.Position[i].SI(), -v0*0.1+g*0.01/2, 1e-12, 0)
}

// Drops on one specimen: knots tighten, set grows, and both are kept.
func TestSpecimenRemembers(t *testing.T) {
	x, _ := StartingSet("polyamide-webbing")
	x.Length, x.Strength = 1.2, 0
	k := StartingKnot()
	c := &Case{Mass: 80, Fall: 0.6, Until: 1, Drops: 3, Chain: []Element{spring(1e6), {Kind: KindTextile, Textile: &x}, {Kind: KindKnot, Knot: &k}}}
	r := run(t, c, Options{})
	if len(r.Earlier) != 2 {
		t.Fatalf("%d earlier drops", len(r.Earlier))
	}
	first, second := r.Earlier[0], r.Earlier[1]
	if !(second.PeakForce > first.PeakForce) {
		t.Errorf("peaks %v, %v", first.PeakForce, second.PeakForce)
	}
	if !(second.Elements[2].Slip >= first.Elements[2].Slip) || !(second.Elements[1].Slip >= first.Elements[1].Slip) || first.Elements[1].Slip <= 0 {
		t.Errorf("slip and set: %v, %v then %v, %v", first.Elements[2].Slip, first.Elements[1].Slip, second.Elements[2].Slip, second.Elements[1].Slip)
	}
	// a rest far longer than every relaxation time is a full rest; a short one leaves the branch tense
	c.Rest = 20
	long := run(t, c, Options{})
	within(t, "long rest", long.PeakForce.SI(), r.PeakForce.SI(), 1e-9, 0)
	c.Rest = 0.01
	short := run(t, c, Options{})
	if math.Abs(short.PeakForce.SI()/r.PeakForce.SI()-1) < 1e-6 {
		t.Errorf("a rest of 10 ms makes no difference: %v", short.PeakForce)
	}
	// a break ends the series
	x.Strength = 6000
	if r := run(t, c, Options{}); r.Outcome != drop.Broke || len(r.Earlier) != 0 {
		t.Errorf("%s after %d drops", r.Outcome, len(r.Earlier))
	}
}

// An absorber whose force falls faster than a soft chain can follow jumps, tooth by tooth; the energy
// per slip stays F_a on average and the ledger closes.
func TestSnappingAbsorber(t *testing.T) {
	a := StartingAbsorber()
	a.Ripple = 0.3
	c := &Case{Mass: 100, Fall: 2, Until: 0.6, Chain: []Element{spring(1e6), textile(2, 30e3, 0, 0), {Kind: KindAbsorber, Absorber: &a}}}
	r := run(t, c, Options{})
	jumps := 0
	for _, e := range r.Events {
		if e.Kind == EventJump {
			jumps++
		}
	}
	if jumps < 5 {
		t.Errorf("%d jumps", jumps)
	}
	if r.PeakForce.SI() > 4500*1.3*(1+1e-9) {
		t.Errorf("peak %v above the largest yield force", r.PeakForce)
	}
}

func TestFloorEndsTheDrop(t *testing.T) {
	r := run(t, &Case{Mass: 80, Fall: 0.6, Until: 0.2, Floor: 0.05, Chain: []Element{textile(0.6, 161e3, 0, 0)}}, Options{})
	if r.Outcome != drop.Void || r.Reason == "" {
		t.Fatalf("outcome %s %q", r.Outcome, r.Reason)
	}
	within(t, "depth", r.End.Position.SI(), 0.05, 1e-12, 0)
	k := 161e3 / 0.6
	within(t, "speed", r.End.Velocity.SI(), math.Sqrt(2*g*0.65-k*0.05*0.05/80), 1e-10, 0)
}

// A rigid torso (the rest of the body a thousandth) feels what the chain's force makes of its mass.
func TestBodyFeels(t *testing.T) {
	e := textile(2, 20e3, 0, 0)
	r := run(t, &Case{Mass: 80, Fall: 2, Until: 0.6, Chain: []Element{e, {Kind: KindBody, Body: &Body{Stiffness: 1e7, DampingRatio: 0.3, TorsoShare: 0.999}}}}, Options{})
	within(t, "peak", r.Body.PeakG.SI(), r.PeakForce.SI()/(80*g), 3e-3, 0)
	// F = k d with d harmonic about the static position: time above 4 W in closed form
	w, k := 80*g, 20e3/2.0
	om := math.Sqrt(k / 80)
	amp := math.Hypot(w/k, math.Sqrt(2*g*2)/om)
	want := 2 / om * math.Acos((4*w/k-w/k)/amp)
	for _, a := range r.Body.Above {
		if a.G == 4 {
			within(t, "time above 4 g", a.Duration.SI(), want, 1e-2, 0)
			return
		}
	}
	t.Errorf("no duration above 4 g: %+v", r.Body)
}

func TestImpossibleCases(t *testing.T) {
	good := full
	for _, c := range []struct {
		say  string
		harm func(*Case)
	}{
		{"mass", func(c *Case) { c.Mass = 0 }},
		{"fall", func(c *Case) { c.Fall = -1 }},
		{"until", func(c *Case) { c.Until = quantity.Duration(math.NaN()) }},
		{"no element", func(c *Case) { c.Chain = nil }},
		{"put it first", func(c *Case) { c.Chain[0], c.Chain[1] = c.Chain[1], c.Chain[0] }},
		{"put it last", func(c *Case) { c.Chain[4], c.Chain[3] = c.Chain[3], c.Chain[4] }},
		{"lanyard", func(c *Case) { c.Chain[1].Textile.E1 = -1 }},
		{"friction", func(c *Case) { c.Chain[1].Textile.Friction = 1 }},
		{"tau", func(c *Case) { c.Chain[1].Textile.Maxwell[0].Tau = 0 }},
		{"F0", func(c *Case) { c.Chain[2].Knot.F0 = 9000 }},
		{"pitch", func(c *Case) { c.Chain[3].Absorber.Pitch = 0 }},
		{"torso_share", func(c *Case) { c.Chain[4].Body.TorsoShare = 1 }},
		{"exactly one", func(c *Case) { c.Chain[4].Textile = c.Chain[1].Textile }},
		{"damping_ratio", func(c *Case) { c.Chain[0].Rig.NodeMass = 0 }},
		{"undetermined", func(c *Case) { c.Chain = append(c.Chain[:1], c.Chain[2:]...) }},
	} {
		bad := good()
		c.harm(bad)
		if _, err := Run(context.Background(), bad, Options{}); err == nil || !strings.Contains(err.Error(), c.say) {
			t.Errorf("%s: error %v", c.say, err)
		}
	}
	for _, o := range []Options{{Tolerance: 1}, {Method: "euler"}, {Sample: &Sampling{}}} {
		if _, err := Run(context.Background(), good(), o); err == nil {
			t.Errorf("%+v was accepted", o)
		}
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	long := good()
	long.Until = 600
	if _, err := Run(ctx, long, Options{}); err == nil {
		t.Error("a cancelled run went on")
	}
}

func TestWarnings(t *testing.T) {
	say := func(c *Case) string { return strings.Join(message.Texts(run(t, c, Options{}).Warnings), "\n") }
	x, _ := StartingSet("steel-wire")
	x.Length = 0.6
	stiff := &Case{Mass: 80, Fall: 0.1, Until: 0.05, Chain: []Element{spring(5e5), {Kind: KindTextile, Textile: &x}}}
	for _, want := range []string{"rigid mass", "steel-wire", "friction_stiffness", "new dry", "the rig takes", "certification"} {
		if w := say(stiff); !strings.Contains(w, want) {
			t.Errorf("nothing about %q in\n%s", want, w)
		}
	}
	if w := say(&Case{Mass: 80, Fall: 1, Until: 0.2, Chain: []Element{spring(2e7), textile(2, 2e4, 0, 0)}}); strings.Contains(w, "the rig takes") {
		t.Errorf("a stiff rig under a soft rope was blamed:\n%s", w)
	}
}

// A node with mass and a body stretch too: the undamped node's deflection is the force at the load cell over its
// stiffness; a body spring gives way by about its share of the force over its stiffness.
func TestElongationOfRigAndBody(t *testing.T) {
	c := &Case{Mass: 80, Fall: 0.6, Until: 0.3, Chain: []Element{
		{Kind: KindRig, Rig: &Rig{Stiffness: 1e6, NodeMass: 0.5}},
		{Kind: KindTextile, Textile: &Textile{Length: 0.6, E1: 100e3}},
		{Kind: KindBody, Body: &Body{Stiffness: 50e3, DampingRatio: 0.3, TorsoShare: 0.85}},
	}}
	r, err := Run(context.Background(), c, Options{})
	if err != nil {
		t.Fatal(err)
	}
	if got, want := r.Elements[0].Elongation.SI(), r.PeakForce.SI()/1e6; math.Abs(got-want) > 1e-6*want {
		t.Errorf("node: %v, want %v", got, want)
	}
	// The limbs (15 % of 80 kg) are slowed by the spring and its damper: their force is at most 12 kg times the torso's
	// largest acceleration, and not next to nothing.
	most := 12 * r.Body.PeakG.SI() * 9.80665 / 50e3
	if got := r.Elements[2].Elongation.SI(); got <= 0.1*most || got > 1.5*most {
		t.Errorf("body: %v beside %v", got, most)
	}
}
