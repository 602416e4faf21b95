package arrest

import (
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"

	"github.com/hardcatch/hardcatch/internal/quantity"
)

func sling() Case {
	c := *full()
	c.Chain = c.Chain[:3]
	c.Chain[1].Textile.Strength = 0
	return c
}

// BenchmarkFullEnsemble is BenchmarkFull as an ensemble runs it. Its relerr is that of the peak against Run.
func BenchmarkFullEnsemble(b *testing.B) {
	var e Engine
	cases, out := make([]Case, 256), make([]Summary, 256)
	for i := range cases {
		cases[i] = sling()
		cases[i].Fall *= 1 + 0.1*quantity.Length(math.Sin(float64(i)))
	}
	if err := e.Batch(cases, out); err != nil {
		b.Fatal(err)
	}
	worst, steps := 0.0, 0
	for i := range out {
		r, err := Run(b.Context(), &cases[i], Options{})
		if err != nil {
			b.Fatal(err)
		}
		worst = max(worst, math.Abs(out[i].PeakForce.SI()/r.PeakForce.SI()-1))
		steps += out[i].Steps
	}
	timeBatch(b, &e, cases, out, worst, steps)
}

// drawFull draws a case that lanes carry: any rig without a damper of its own, a textile, perhaps a knot or
// an absorber without ripple, a strength, a floor.
func drawFull(t *rapid.T) Case {
	chance := func(name string, of int) bool { return rapid.IntRange(1, of).Draw(t, name) == 1 }
	span := func(name string, lo, hi float64) float64 {
		return lo * math.Exp(rapid.Float64Range(0, 1).Draw(t, name)*math.Log(hi/lo))
	}
	c := Case{Mass: quantity.Mass(span("mass", 40, 150)), Fall: quantity.Length(span("fall", 0.05, 3)), Until: quantity.Duration(span("until", 0.1, 2)), Drops: 3}
	second := rapid.IntRange(0, 5).Draw(t, "second link")
	switch rig := rapid.IntRange(0, 9).Draw(t, "rig"); {
	case rig == 0:
	case rig == 1 && second == 0:
		c.Chain = append(c.Chain, spring(span("stiffness", 3e5, 1e7)))
	default:
		c.Chain = append(c.Chain, Element{Kind: KindRig, Rig: &Rig{Stiffness: quantity.Stiffness(span("stiffness", 3e5, 1e7)),
			NodeMass: quantity.Mass(span("node", 0.2, 5)), DampingRatio: quantity.Ratio(span("zeta", 0.005, 1.5))}})
	}
	e := textile(span("length", 0.3, 4), span("E1", 1e4, 3e5), 0, 0)
	x := e.Textile
	if !chance("no E2", 3) {
		x.E2 = quantity.Force(span("E2", 1e4, 3e6))
	}
	if chance("E3", 3) {
		x.E3 = quantity.Force(span("E3", 1e5, 3e6))
	}
	if !chance("no branch", 4) {
		x.Maxwell = []Branch{{E: quantity.Force(span("EM", 1e3, 5e4)), Tau: quantity.Duration(span("tau", 1e-2, 0.5))}}
	}
	if !chance("no friction", 4) {
		x.Friction = quantity.Ratio(span("mu", 0.01, 0.3))
	}
	if !chance("no set", 4) {
		x.Set = quantity.Ratio(span("set", 0.01, 0.2))
	}
	if chance("breaks", 3) {
		x.Strength = quantity.Force(span("strength", 5e3, 3e4))
		if chance("ramp", 2) {
			x.BreakRamp = quantity.Duration(span("ramp time", 1e-4, 1e-3))
		}
	}
	c.Chain = append(c.Chain, e)
	switch second {
	case 0, 1:
	case 5:
		a := StartingAbsorber()
		a.Ripple, a.Force, a.Travel = 0, quantity.Force(span("absorber", 2e3, 8e3)), quantity.Length(span("travel", 0.1, 1))
		c.Chain = append(c.Chain, Element{Kind: KindAbsorber, Absorber: &a})
	default:
		k := Knot{F0: quantity.Force(span("F0", 100, 1500)), FL: quantity.Force(span("FL", 3e3, 1e4)), Slip: quantity.Length(span("slip", 0.01, 0.06)),
			Power: quantity.Ratio(rapid.IntRange(0, 2).Draw(t, "power")), Efficiency: quantity.Ratio(span("efficiency", 0.4, 1))}
		c.Chain = append(c.Chain, Element{Kind: KindKnot, Knot: &k})
	}
	if chance("floor", 6) {
		c.Floor = quantity.Length(span("floor", 0.05, 2))
	}
	return c
}

// What lanes make of a drop is what the solver alone makes of it: peaks, times, outcome, state at the end, and
// every event. Where a rate grazes zero, rounding decides whether the solver sees it turn: of some ten thousand
// drops one then differs by more, within what a drop promises or not much more.
func TestLanesAgreeWithOneByOne(t *testing.T) {
	var many, one Engine
	drops, grazes := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		c := drawFull(t)
		if one.fast.fits(&c) {
			return
		}
		drops++
		out := make([]Summary, 1)
		var want Summary
		errLanes, errAlone := many.Batch([]Case{c}, out), one.general(&c, &want)
		if errLanes != nil || errAlone != nil {
			if errLanes == nil || errAlone == nil || errLanes.Error() != "case 1: "+errAlone.Error() {
				t.Fatalf("in lanes: %v, alone: %v", errLanes, errAlone)
			}
			return
		}
		if flat(&c) {
			out[0].PeakTime, out[0].Second.T = want.PeakTime, want.Second.T // anywhere on the plateau
		}
		unlike := summaryUnlike(&out[0], &want, 1)
		if lockstepWorks && unlike == "" {
			unlike = eventsUnlike(flat(&c), many.octet.drops[0].m.track.events, one.m.track.events)
		}
		if unlike != "" {
			grazes++
			if more := summaryUnlike(&out[0], &want, 1e5); more != "" {
				t.Fatal(more)
			}
			t.Log(unlike)
		}
	})
	if grazes > 1+drops/100 {
		t.Errorf("%d of %d drops differ", grazes, drops)
	}
}

func near(got, want, rel, abs float64) bool { return math.Abs(got-want) <= rel*math.Abs(want)+abs }

// summaryUnlike tells what differs by more than rounding, times loose.
func summaryUnlike(got, want *Summary, loose float64) string {
	if got.Outcome != want.Outcome || got.Broke != want.Broke || got.Arrests != want.Arrests {
		return fmt.Sprintf("in lanes %+v\nalone    %+v", *got, *want)
	}
	// Every bounce makes a difference of rounding grow.
	late := 1e-9 * math.Pow(2, float64(min(want.Arrests, 20)))
	for i, p := range [][4]float64{
		{got.PeakForce.SI(), want.PeakForce.SI(), 1e-9, 1e-6}, {got.PeakChain.SI(), want.PeakChain.SI(), 1e-9, 1e-6},
		{got.Second.Force.SI(), want.Second.Force.SI(), 1e-9, 1e-6}, {got.Lowest.SI(), want.Lowest.SI(), 1e-9, 1e-9},
		{got.PeakTime.SI(), want.PeakTime.SI(), 1e-9, 1e-7}, {got.Second.T.SI(), want.Second.T.SI(), 1e-9, 1e-7},
		{got.BrokeTime.SI(), want.BrokeTime.SI(), 1e-9, 1e-9},
		{got.End.Position.SI(), want.End.Position.SI(), 1e-9, late}, {got.End.Velocity.SI(), want.End.Velocity.SI(), 1e-9, 10 * late},
	} {
		if !near(p[0], p[1], p[2]*loose, p[3]*loose) {
			return fmt.Sprintf("value %d is %.12g in lanes, %.12g alone:\n%+v\n%+v", i, p[0], p[1], *got, *want)
		}
	}
	return ""
}

func eventsUnlike(flat bool, got, want []Event) string {
	got, want = significant(got), significant(want)
	same := len(got) == len(want)
	tol := 1e-7
	for i := 0; same && i < len(got); i++ {
		if got[i].Kind == EventTaut {
			tol *= 2
		}
		same = got[i].Kind == want[i].Kind && got[i].Element == want[i].Element && (flat && got[i].Kind == EventPeak || near(got[i].T.SI(), want[i].T.SI(), 1e-9, tol))
	}
	if same {
		return ""
	}
	return fmt.Sprintf("events in lanes %v\nalone           %v", got, want)
}

// significant leaves out the events that say where the mass was lowest, which lanes do not note, and slips
// that end and begin again, or begin and end, at once: where all rates of a chain vanish together, rounding
// decides whether there is such a pair.
func significant(events []Event) []Event {
	var list []Event
	for _, e := range events {
		if e.Kind == EventLowest {
			continue
		}
		slip := e.Kind == EventSlipOn || e.Kind == EventSlipOff
		if n := len(list) - 1; n >= 0 && slip && (list[n].Kind == EventSlipOn || list[n].Kind == EventSlipOff) && (e.T-list[n].T).SI() < 1e-7 {
			list = list[:n]
			continue
		}
		list = append(list, e)
	}
	return list
}
