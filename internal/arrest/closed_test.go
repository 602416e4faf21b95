package arrest

import (
	"context"
	"math"
	"testing"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

const g = quantity.StandardGravity

func within(t *testing.T, what string, got, want, rel, abs float64) {
	t.Helper()
	if !(math.Abs(got-want) <= rel*math.Abs(want)+abs) {
		t.Errorf("%s: got %.12g, want %.12g (off by %.3g)", what, got, want, got-want)
	}
}

func run(t *testing.T, c *Case, o Options) *Result {
	t.Helper()
	r, err := Run(context.Background(), c, o)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func textile(length, e1, e2, e3 float64, b ...Branch) Element {
	return Element{Kind: KindTextile, Textile: &Textile{Length: quantity.Length(length), E1: quantity.Force(e1), E2: quantity.Force(e2), E3: quantity.Force(e3), Maxwell: b}}
}

func spring(k float64) Element {
	return Element{Kind: KindRig, Rig: &Rig{Stiffness: quantity.Stiffness(k)}}
}

func at(events []Event, kind EventKind, n int) float64 {
	for _, e := range events {
		if e.Kind == kind {
			if n == 0 {
				return e.T.SI()
			}
			n--
		}
	}
	return math.NaN()
}

// Wexler, The theory of belaying, American Alpine Journal 1950: F = W + sqrt(W^2 + 2 W h k); the
// motion after taut is harmonic about the static position.
func TestLinearTextileIsWexler(t *testing.T) {
	const m, h, l, ea = 80, 0.6, 0.6, 161e3
	k, w := ea/l, m*g
	om := math.Sqrt(k / m)
	v0 := math.Sqrt(2 * g * h)
	within(t, "C1 speed", v0, 3.430449, 1e-6, 0)
	c := &Case{Mass: m, Fall: h, Until: 0.8, Chain: []Element{textile(l, ea, 0, 0)}}
	r := run(t, c, Options{})
	within(t, "peak", r.PeakForce.SI(), w+math.Sqrt(w*w+2*w*h*k), 1e-10, 0)
	within(t, "peak (recomputed elsewhere)", r.PeakForce.SI(), 16697.885, 1e-7, 0)
	tp := (math.Pi - math.Atan(v0*om/g)) / om
	within(t, "time of peak", r.PeakTime.SI(), tp, 1e-10, 0)
	within(t, "time of peak (recomputed elsewhere)", r.PeakTime.SI(), 0.02797396, 1e-6, 0)
	within(t, "contact", at(r.Events, EventSlack, 0), 2*tp, 1e-10, 0)
	within(t, "re-taut after a flight of 2 v0/g", at(r.Events, EventTaut, 1), 2*tp+2*v0/g, 1e-10, 0)
	if r.Outcome != drop.Held {
		t.Errorf("outcome %s", r.Outcome)
	}

	c.Chain = []Element{spring(1e6), textile(l, ea, 0, 0)}
	r = run(t, c, Options{})
	ks := 1 / (1/k + 1e-6)
	within(t, "C3 peak", r.PeakForce.SI(), w+math.Sqrt(w*w+2*w*h*ks), 1e-10, 0)
	within(t, "C3 peak (recomputed elsewhere)", r.PeakForce.SI(), 14919.231, 1e-7, 0)

	c.Fall = 0
	r = run(t, c, Options{})
	within(t, "C5 suddenly applied load", r.PeakForce.SI(), 2*w, 1e-10, 0)
}

// Energy at the lowest point: L (E1 e^2/2 + E2 e^3/3 + E3 e^4/4) = W (h + L e).
func TestCubicTextilePeak(t *testing.T) {
	c := &Case{Mass: 80, Fall: 0.6, Until: 0.3, Chain: []Element{textile(0.6, 70e3, 0, 1180e3)}}
	r := run(t, c, Options{})
	e := 0.15
	for range 50 {
		u := 0.6*(70e3*e*e/2+1180e3*e*e*e*e/4) - 80*g*(0.6+0.6*e)
		e -= u / (0.6*(70e3*e+1180e3*e*e*e) - 80*g*0.6)
	}
	within(t, "strain", r.Elements[0].Elongation.SI()/0.6, e, 1e-10, 0)
	within(t, "strain (recomputed elsewhere)", e, 0.1474361, 1e-6, 0)
	within(t, "peak", r.PeakForce.SI(), 70e3*e+1180e3*e*e*e, 1e-10, 0)
	within(t, "peak (recomputed elsewhere)", r.PeakForce.SI(), 14102.276, 1e-7, 0)
}

// One Maxwell branch: between the two Wexler limits, and the value of a reference solver at rtol 1e-12.
func TestOneBranch(t *testing.T) {
	c := &Case{Mass: 80, Fall: 0.6, Until: 0.3, Chain: []Element{textile(0.6, 100e3, 0, 0, Branch{E: 60e3, Tau: 0.03})}}
	r := run(t, c, Options{})
	within(t, "peak", r.PeakForce.SI(), 14615.608, 1e-7, 0)
	within(t, "time", r.PeakTime.SI(), 27.173e-3, 2e-5, 0)
	within(t, "slack", at(r.Events, EventSlack, 0), 58.258e-3, 1e-5, 0)
}

// Forty-digit Taylor reference, recomputed elsewhere.
func TestRaceDrops(t *testing.T) {
	for _, c := range []struct {
		e1, e3, em, tau float64
		peaks, at       [2]float64
		slack           [2]float64
		again, end      float64
	}{
		{32e3, 800e3, 40e3, 0.08, [2]float64{13261.1475181, 9896.90044487}, [2]float64{50.3645917602e-3, 937.451707045e-3},
			[2]float64{100.631719562e-3, 991.152981913e-3}, 885.337395666e-3, -0.204227614967},
		{205e3, 8200e3, 70e3, 0.02, [2]float64{22821.3576014, 19711.1076824}, [2]float64{27.7170179081e-3, 957.879775732e-3},
			[2]float64{56.4496562514e-3, 987.235668830e-3}, 929.827562850e-3, -0.629637442839},
	} {
		r := run(t, &Case{Mass: 80, Fall: 1.2, Until: 1.5, Chain: []Element{spring(2e6), textile(1, c.e1, 0, c.e3, Branch{E: quantity.Force(c.em), Tau: quantity.Duration(c.tau)})}}, Options{})
		if len(r.Peaks) != 2 {
			t.Fatalf("%d peaks: %v", len(r.Peaks), r.Events)
		}
		for i := range 2 {
			within(t, "peak", r.Peaks[i].Force.SI(), c.peaks[i], 1e-10, 0)
			within(t, "time of peak", r.Peaks[i].T.SI(), c.at[i], 1e-10, 0)
			within(t, "slack", at(r.Events, EventSlack, i), c.slack[i], 1e-10, 0)
		}
		within(t, "taut again", at(r.Events, EventTaut, 1), c.again, 1e-10, 0)
		within(t, "position at the end", r.End.Position.SI(), c.end, 1e-10, 0)
		t.Logf("steps %d", r.Steps)
	}
}

// Coulomb limit of the friction branch: loading stiffness k (1 + mu), unloading k (1 - mu).
func TestFrictionLimit(t *testing.T) {
	e := textile(0.6, 161e3, 0, 0)
	e.Textile.Friction, e.Textile.FrictionStiffness = 0.2, 161e10
	r := run(t, &Case{Mass: 80, Fall: 0.6, Until: 0.1, Chain: []Element{e}}, Options{})
	w, k := 80*g, 161e3/0.6*1.2
	peak := w + math.Sqrt(w*w+2*w*0.6*k)
	within(t, "peak", r.PeakForce.SI(), peak, 1e-8, 0)
	within(t, "peak (recomputed elsewhere)", r.PeakForce.SI(), 18213.205, 1e-7, 0)
	// rebound: the energy L k(1-mu)/2 d^2 less the weight's work over d
	d := peak / k
	v := math.Sqrt(2 * (161e3/0.6*0.8*d*d/2 - w*d) / 80)
	within(t, "rebound (recomputed elsewhere)", v, 2.734141, 1e-6, 0)
	// end of run in flight: v_end = -v + g (t - slack)
	within(t, "rebound", -r.End.Velocity.SI()+g*(r.End.T.SI()-at(r.Events, EventSlack, 0)), v, 1e-7, 0) // K_f is 1e7 E1, not infinite
}

// Constant absorber force: s = W h/(F_a - W), t = v0/(F_a/m - g).
func TestAbsorberAlone(t *testing.T) {
	a := Element{Kind: KindAbsorber, Absorber: &Absorber{Force: 4500, Travel: 2}}
	r := run(t, &Case{Mass: 100, Fall: 4, Until: 1, Chain: []Element{a}}, Options{})
	w := 100 * g
	within(t, "slip", r.Elements[0].Slip.SI(), w*4/(4500-w), 1e-9, 0)
	within(t, "slip (recomputed elsewhere)", r.Elements[0].Slip.SI(), 1.114603, 1e-6, 0)
	within(t, "time", at(r.Events, EventSlipOff, 0), math.Sqrt(8*g)/(45-g), 1e-9, 0)
	within(t, "time (recomputed elsewhere)", at(r.Events, EventSlipOff, 0), 0.251678, 2e-6, 0)
	within(t, "peak", r.PeakForce.SI(), 4500, 1e-12, 0)
}

// Just after the break v^2 = v0^2 + 2 g x_b - 2 U(x_b)/m.
func TestBreakSpeed(t *testing.T) {
	e := textile(0.6, 70e3, 0, 1180e3)
	e.Textile.Strength = 9000
	r := run(t, &Case{Mass: 80, Fall: 0.6, Until: 0.3, Chain: []Element{e}}, Options{})
	if r.Outcome != drop.Broke || r.Broke == nil {
		t.Fatalf("outcome %s", r.Outcome)
	}
	e0 := 0.1
	for range 60 {
		e0 -= (70e3*e0 + 1180e3*e0*e0*e0 - 9000) / (70e3 + 3*1180e3*e0*e0)
	}
	x := 0.6 * e0
	v := math.Sqrt(2*g*(0.6+x) - 2*0.6*(70e3*e0*e0/2+1180e3*e0*e0*e0*e0/4)/80)
	within(t, "force", r.Broke.Force.SI(), 9000, 1e-12, 0)
	within(t, "speed after the break", r.End.Velocity.SI()-g*(0.3-r.Broke.T.SI()), v, 1e-9, 0)
}
