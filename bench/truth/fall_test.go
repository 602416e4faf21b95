package truth

import (
	"math"
	"testing"
)

func near(t *testing.T, what string, got, want, rel, floor float64) {
	t.Helper()
	if !(math.Abs(got-want) <= rel*math.Abs(want)+floor) {
		t.Errorf("%s: %.10g, want %.10g", what, got, want)
	}
}

// classic is a mass of 80 kg that falls 0.6 m onto 0.6 m of a linear textile of 161 kN per unit strain.
func classic() Fall {
	return Fall{Specimen: Specimen{Length: 0.6, E1: 161e3}, Mass: 80, Height: 0.6, Gravity: gravity}
}

// The grid's first time after taut is off taut, as it is in a record.
func (f Fall) test(step float64) *Path { return f.Run(0.1+step/3, step, int(0.4/step)) }

// Closed form of Wexler, American Alpine Journal 1950: W + sqrt(W^2 + 2 W h k), at (pi - atan(v0 w/g))/w, slack after twice that; the impulse is
// m (v0 + v0) + m g t, and the work up to the lowest point m g (h + x).
func TestLinearSpring(t *testing.T) {
	f := classic()
	for _, step := range []float64{1e-4, 2e-5} {
		p := f.test(step)
		w := f.Mass * gravity
		k := f.Specimen.E1 / f.Specimen.Length
		v0 := math.Sqrt(2 * gravity * f.Height)
		om := math.Sqrt(k / f.Mass)
		at := (math.Pi - math.Atan(v0*om/gravity)) / om
		peak := w + math.Sqrt(w*w+2*w*f.Height*k)
		near(t, "recalled peak", peak, 16697.885, 1e-7, 0)
		near(t, "peak", p.Peak, peak, 1e-8, 0)
		near(t, "peak of the specimen", p.PeakSpecimen, peak, 1e-8, 0)
		near(t, "moment of the peak", p.PeakTime-p.Taut, at, 1e-7, 0)
		near(t, "duration", p.End-p.Taut, 2*at, 1e-8, 0)
		near(t, "elongation", p.Elongation, peak/k, 1e-8, 0)
		near(t, "energy", p.Energy, w*(f.Height+peak/k), 1e-8, 0)
		near(t, "impulse", p.Impulse, f.Mass*2*v0+w*2*at, 1e-8, 0)
		near(t, "rebound", p.EndSpeed, -v0, 1e-8, 0)
		if p.Broke {
			t.Error("it held")
		}
	}
}

// A standard linear solid with E1 100 kN, one branch of 60 kN and 30 ms: an independent solver at a relative tolerance of 1e-12 gave the
// values of this line.
func TestStandardLinearSolid(t *testing.T) {
	f := classic()
	f.Specimen.E1, f.Specimen.EM, f.Specimen.Tau = 100e3, 60e3, 0.03
	p := f.test(2e-5)
	near(t, "peak", p.Peak, 14615.608, 1e-7, 0)
	near(t, "moment", p.PeakTime-p.Taut, 27.173e-3, 2e-5, 0)
	near(t, "slack", p.End-p.Taut, 58.258e-3, 2e-5, 0)
}

// Kelvin and Voigt without gravity: F/(v0 sqrt(k m)) = exp(-(z/s) atan2(s(1-4z^2), z(3-4z^2))), restitution exp(-(z/s) atan2(2zs, 2z^2-1)),
// s = sqrt(1-z^2); the force begins with a step of 2 z v0 sqrt(k m).
func TestKelvinVoigt(t *testing.T) {
	for _, z := range []float64{0.1, 0.25} {
		f := classic()
		f.Gravity, f.Height = 1e-12, 0.5e12 // v0 = 1 m/s
		k := f.Specimen.E1 / f.Specimen.Length
		f.Specimen.Dashpot = 2 * z * math.Sqrt(k*f.Mass)
		p := f.test(2e-5)
		s := math.Sqrt(1 - z*z)
		near(t, "peak", p.Peak/math.Sqrt(k*f.Mass), math.Exp(-z/s*math.Atan2(s*(1-4*z*z), z*(3-4*z*z))), 1e-7, 0)
		near(t, "restitution", -p.EndSpeed, math.Exp(-z/s*math.Atan2(2*z*s, 2*z*z-1)), 1e-7, 0)
	}
}

// Friction of a share mu that sets in at once: loading on k (1+mu), unloading on k (1-mu); C2's data with mu 0.2.
func TestFriction(t *testing.T) {
	f := classic()
	f.Specimen.Friction, f.Specimen.EF = 0.2, 1e9
	p := f.test(1e-6)
	near(t, "peak", p.Peak, 18213.205, 2e-4, 0)
	near(t, "rebound", -p.EndSpeed, 2.734141, 2e-4, 0)
}

// A break on a rigid rig: v^2 = v0^2 + 2 g x - 2 U(x)/m at the elongation at which the force is the strength, which is the true peak.
func TestBreak(t *testing.T) {
	f := classic()
	f.Specimen.Strength, f.Specimen.Collapse = 9000, 1e-3
	p := f.test(2e-5)
	k := f.Specimen.E1 / f.Specimen.Length
	x := 9000 / k
	near(t, "peak", p.Peak, 9000, 1e-9, 0)
	near(t, "elongation", p.Elongation, x, 1e-9, 0)
	near(t, "energy", p.Energy, k*x*x/2, 1e-9, 0)
	near(t, "speed", p.EndSpeed*p.EndSpeed, 2*gravity*(f.Height+x)-k*x*x/f.Mass, 1e-9, 0)
	if !p.Broke {
		t.Error("it broke")
	}
	// From the end the force falls in a straight line within 1 ms.
	for _, ms := range []float64{0.25, 0.5, 0.9, 1.1, 50} {
		i := int(math.Round((p.End + ms*1e-3) / p.Step))
		near(t, "collapse", p.Specimen[i], 9000*math.Max(0, 1-(float64(i)*p.Step-p.End)/1e-3), 1e-9, 1e-9)
	}
}

// After a break the node rings freely: each swing is exp(-2 pi z/sqrt(1-z^2)) of the one before, and they follow at its damped frequency.
func TestNodeRingsFreely(t *testing.T) {
	f := classic()
	f.Specimen.Strength, f.Specimen.Collapse = 9000, 1e-4
	f.Rig = Rig{Stiffness: 2e6, NodeMass: 0.5, Damping: 0.05}
	p := f.Run(0.1, 5e-6, 40000)
	var at, high []float64
	for i := int((p.End + 2e-4) / p.Step); len(at) < 4; i++ {
		if c := p.Cell; c[i] > c[i-1] && c[i] >= c[i+1] {
			at, high = append(at, float64(i)*p.Step), append(high, c[i])
		}
	}
	root := math.Sqrt(1 - 0.05*0.05)
	for i := 1; i < len(at); i++ {
		near(t, "decrement", high[i]/high[i-1], math.Exp(-2*math.Pi*0.05/root), 1e-3, 0)
		near(t, "period", at[i]-at[i-1], 2*math.Pi/(2000*root), 0, 1e-5)
	}
}

// A slack specimen shortens without force: beside a dashpot c its elongation fades as exp(-k t/c), with a Maxwell branch of k_M and tau, whose force
// is -k s then, as exp(-k t/(tau (k + k_M))).
func TestSlackSpecimenRecovers(t *testing.T) {
	for _, c := range []struct {
		p    Specimen
		rate float64
	}{
		{Specimen{Length: 0.5, E1: 50e3, Dashpot: 1000}, 100},
		{Specimen{Length: 0.5, E1: 50e3, EM: 30e3, Tau: 0.02}, 100e3 / (0.02 * 160e3)},
		{Specimen{Length: 0.5, E1: 50e3}, 0},
	} {
		m := &mover{Fall: Fall{Specimen: c.p, Mass: 80, Gravity: gravity}, mode: falling}
		m.y[length] = 0.01
		if c.p.EM > 0 {
			m.y[branch] = -100e3 * 0.01
		}
		for range 100 {
			m.y = m.step(1e-4)
		}
		near(t, "elongation", m.y[length], 0.01*math.Exp(-0.01*c.rate), 1e-8, 0)
		near(t, "way", m.y[way], gravity*1e-4/2, 1e-9, 0) // of a free fall of 10 ms
	}
}

// The ledger of a specimen with every smooth branch on a rig with a node: what the fall gave is stored, moving or in the dashpots.
func TestEnergyBalance(t *testing.T) {
	f := classic()
	f.Specimen.E2, f.Specimen.E3, f.Specimen.EM, f.Specimen.Tau, f.Specimen.Dashpot = 50e3, 400e3, 60e3, 0.03, 150
	f.Rig = Rig{Stiffness: 2e6, NodeMass: 0.5, Damping: 0.03}
	near(t, "frequency", f.Rig.Frequency(), 318.31, 1e-5, 0)
	p := f.test(2e-5)
	y := p.last
	s := &f.Specimen
	given := f.Mass * gravity * (f.Height + y[way])
	kept := f.Mass*y[speed]*y[speed]/2 + s.stored(y[way]-y[node]) + y[branch]*y[branch]*s.Length/(2*s.EM) +
		f.Rig.Stiffness*y[node]*y[node]/2 + f.Rig.NodeMass*y[nodeSpeed]*y[nodeSpeed]/2 + y[dissipated]
	near(t, "ledger", kept, given, 1e-6, 0)
	if y[dissipated] < 0.1*given {
		t.Errorf("only %g J of %g are dissipated: nothing is tested", y[dissipated], given)
	}
	// Impulse to the change of momentum, over the same arrest.
	near(t, "impulse", p.Impulse, f.Mass*(math.Sqrt(2*gravity*f.Height)-y[speed])+f.Mass*gravity*(p.End-p.Taut), 1e-9, 0)
}

// Halving the step takes the error to a sixteenth: the rule is of order four.
func TestOrder(t *testing.T) {
	f := classic()
	f.Specimen.EM, f.Specimen.Tau = 60e3, 0.03
	state := func(n int) float64 {
		m := &mover{Fall: f, mode: loaded}
		m.y[speed] = 3
		for range n {
			h := 0.02 / float64(n)
			m.y, m.at = m.step(h), m.at+h
		}
		return m.y[way]
	}
	exact := state(4096)
	if r := (state(64) - exact) / (state(128) - exact); r < 13 || r > 19 {
		t.Errorf("the error falls to 1/%.2f when the step is halved, not to 1/16", r)
	}
}

// The mass comes taut again after a flight of twice its rebound speed over g.
func TestFlight(t *testing.T) {
	f := classic()
	p := f.Run(0.1, 2e-5, 60000)
	i := int(p.End/p.Step) + 2
	for i < len(p.Specimen) && p.Specimen[i] == 0 {
		i++
	}
	near(t, "flight", float64(i)*p.Step-p.End, -2*p.EndSpeed/gravity, 1e-4, 2e-5)
}

// DC passes unchanged, the cut is 3 dB down.
func TestLowPass(t *testing.T) {
	for _, order := range []int{1, 2} {
		x := make([]float64, 200000)
		for i := range x {
			x[i] = 5 + math.Sin(2*math.Pi*100*float64(i)*1e-5)
		}
		lowPass(x, 1e-5, 100, order)
		sum, sq := 0.0, 0.0
		for _, v := range x[100000:] {
			sum += v / 100000
		}
		for _, v := range x[100000:] {
			sq += (v - sum) * (v - sum) / 100000
		}
		near(t, "mean", sum, 5, 1e-9, 0)
		near(t, "amplitude", math.Sqrt(2*sq), math.Sqrt(0.5), 1e-6, 0)
	}
}

// After the first arrest the steps are longer, and reach the last grid time all the same: the force does not differ from that of short steps by more
// than a corner can, 10 kN over 10 ms within 0.1 ms.
func TestLongerStepsAfterwards(t *testing.T) {
	f := classic()
	f.Specimen.EM, f.Specimen.Tau = 60e3, 0.03
	p, same := f.Run(0.1, 2e-5, 60000), f
	same.Rig = Rig{Stiffness: 1e12, NodeMass: 1e5, Damping: 0.5} // a node of 503 Hz that gives way by 15 nm, and is stepped finely
	q := same.Run(0.1, 2e-5, 60000)
	loaded := int(p.End/p.Step) + 2000
	for p.Specimen[loaded] < 5000 {
		loaded++
	}
	for n := loaded; n < loaded+10; n++ {
		if r := f.Run(0.1, 2e-5, n); r.Specimen[n-1] < 4500 {
			t.Errorf("no force at the end of %d: %g", n, r.Specimen[n-1])
		}
	}
	for i := range p.Specimen {
		if math.Abs(p.Specimen[i]-q.Specimen[i]) > 130 {
			t.Fatalf("at %g s: %g and %g", float64(i)*p.Step, p.Specimen[i], q.Specimen[i])
		}
	}
}
