package arrest

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"github.com/hardcatch/hardcatch/internal/num/ode"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// What comes of a drop depends neither on its lane nor on the drops beside it or before it: to the last bit, in
// batches of any size and order, of chains that lanes carry and of others.
func TestLanesDoNotDependOnEachOther(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var single, many Engine
		cases := make([]Case, rapid.IntRange(1, 30).Draw(t, "drops"))
		alone := make([]Summary, len(cases))
		for i := range cases {
			switch cases[i] = drawFull(t); rapid.IntRange(0, 9).Draw(t, "element") {
			case 0: // lanes do not carry it
				b := startingBody()
				cases[i].Chain = append(cases[i].Chain, Element{Kind: KindBody, Body: &b})
			case 1, 2: // the lanes of the short way
				cases[i] = randomRace(rand.New(rand.NewPCG(13, rapid.Uint64Range(0, 1e6).Draw(t, "race"))))
			}
			if err := single.Batch(cases[i:i+1], alone[i:i+1]); err != nil {
				cases[i] = sling()
				if err := single.Batch(cases[i:i+1], alone[i:i+1]); err != nil {
					t.Fatal(err)
				}
			}
		}
		place := rapid.Permutation(places(len(cases))).Draw(t, "order")
		mixed, out := make([]Case, len(cases)), make([]Summary, len(cases))
		for i, p := range place {
			mixed[i] = cases[p]
		}
		if err := many.Batch(mixed, out); err != nil {
			t.Fatal(err)
		}
		for i, p := range place {
			if out[i] != alone[p] {
				t.Fatalf("drop %d at place %d:\n%+v alone\n%+v", p, i, alone[p], out[i])
			}
		}
	})
}

func places(n int) []int {
	list := make([]int, n)
	for i := range list {
		list[i] = i
	}
	return list
}

// Within every step the forces, positions and unknowns stay inside the bounds that the kernel gives, rates keep
// their sign at the points of a scan, and what the kernel says was met was met.
func TestBoundsOfLanesHold(t *testing.T) {
	if !lockstepWorks {
		return // there are no lanes
	}
	var e Engine
	rapid.Check(t, func(t *rapid.T) {
		c := []Case{drawFull(t)}
		if e.fast.fits(&c[0]) {
			return
		}
		o := &octet{rows: new(octetRows), logEps: ode.RoughLog2(e.generalTolerance())}
		w := &octetRun{e: &e, cases: c, indices: []int{0}, out: make([]Summary, 1)}
		for i := range o.drops {
			o.rest(i)
		}
		o.refill(w, 0)
		for n := 0; o.active != 0 && n < 200; n++ {
			expandOctet(&o.rows.x[0], o.about())
			inBounds(t, o)
			o.step(w)
		}
	})
}

// inBounds compares the bounds of lane 0 with the series at many points.
func inBounds(t *rapid.T, o *octet) {
	r, m := o.rows, &o.drops[0].m
	var f, cell, x, u, s, tel series
	fetch(&r.cf, 0, &f)
	fetch(&r.cx, 0, &x)
	fetch(&r.cu, 0, &u)
	fetch(&r.cs, 0, &s)
	fetch(&r.ctel, 0, &tel)
	for k := range r.cxc {
		cell[k] = m.kr*r.cxc[k][0] + m.cr*r.cvc[k][0]
	}
	const n, points = octetOrder, 64
	h := r.h[0]
	room := 1e-12 * r.fScale[0]
	mostF, mostCell := math.Inf(-1), math.Inf(-1)
	for i := range points + 1 {
		tau := h * float64(i) / points
		v, c := ode.Value(f[:], n, tau), ode.Value(cell[:], n, tau)
		mostF, mostCell = max(mostF, v), max(mostCell, c)
		strain := ode.Value(u[:], n, tau)
		for what, margin := range map[string][2]float64{
			"force from above": {r.forceTop[0] - v, room},
			"force from below": {v - r.forceLow[0], room},
			"load cell":        {r.cellTop[0] - c, room},
			"position":         {r.upX[0] - ode.Value(x[:], n, tau) - r.mX[0], 1e-12},
			"strain":           {r.upU[0] - strain - r.mU[0], 1e-12},
			"slip or lock":     {min(ode.Value(s[:], n, tau)-r.loS[0], r.upS[0]-ode.Value(s[:], n, tau)) - r.mS[0], 1e-12},
			"friction":         {r.offW[0] + r.muW[0]*ode.Value(tel[:], n, tau) - r.kfW[0]*math.Abs(strain-r.slider[0]) - min(r.mUpper[0], r.mLower[0]), room},
			"gap":              {r.gap[0] - ode.Value(x[:], n, tau) + r.scale[0]*strain - r.mGap[0], 1e-12},
		} {
			if margin[0] < -margin[1] && m.phase == taut {
				t.Fatalf("%s: %g below its bound at %g of a step of %g", what, -margin[0], tau, h)
			}
		}
		// Rates are looked at by points, as keepsOn does.
		scanned := i%(points/parts) == 0
		if scanned && r.mTurn[0] > 0 && r.sgnU[0] != 0 && r.sgnU[0]*ode.Slope(u[:], n, tau) < 0 || scanned && r.mOff[0] > 0 && r.sgnS[0] != 0 && ode.Slope(s[:], n, tau) < 0 {
			t.Fatalf("a rate turns at %g of a step of %g", tau, h)
		}
	}
	if r.forceSeen[0] > mostF+room || r.cellSeen[0] > mostCell+room {
		t.Fatalf("met %g and %g, largest %g and %g", r.forceSeen[0], r.cellSeen[0], mostF, mostCell)
	}
}

// Where the ledger of a drop in lanes stays open, the solver takes it alone, and Run says where it opened.
func TestOpenLedgerInLanes(t *testing.T) {
	c, out := []Case{sling(), sling()}, make([]Summary, 2)
	want := run(t, &c[0], Options{})
	e := Engine{limit: 1e-11}
	if err := e.Batch(c, out); err != nil {
		t.Fatal(err)
	}
	if out[1].Steps != want.Steps || out[1].PeakForce != want.PeakForce {
		t.Errorf("%+v, want that of Run in %d steps", out[1], want.Steps)
	}
	e.limit = 1e-18
	if err := e.Batch(c, out); err == nil || !strings.Contains(err.Error(), "case 1: ensemble: the energy balance opened") {
		t.Errorf("%v", err)
	}
}

// The first case in the order of the batch that cannot be run is the one that is named.
func TestFirstErrorOfABatch(t *testing.T) {
	var e Engine
	cases, out := make([]Case, 40), make([]Summary, 40)
	for i := range cases {
		if cases[i] = sling(); i == 17 || i == 31 {
			cases[i].Mass = -1
		}
	}
	if err := e.Batch(cases, out); err == nil || !strings.HasPrefix(err.Error(), "case 18: mass") {
		t.Errorf("%v", err)
	}
	cases[17].Mass, cases[31].Mass = quantity.Mass(80), quantity.Mass(80)
	if err := e.Batch(cases, out); err != nil {
		t.Error(err)
	}
}

// A textile with friction and set on a rigid anchor, found at random: where its strain turns round, the steps of an
// ensemble's drop become too small, and those of Run do not. The drop is taken by Run then.
func TestDropThatFailsIsTakenAgain(t *testing.T) {
	c := []Case{{Mass: 61.147849204042714, Fall: 1.4373834928023062, Until: 0.1, Chain: []Element{textile(0.5083032383219314, 10000.00000000024, 2999999.9999999995, 0)}}}
	c[0].Chain[0].Textile.Friction, c[0].Chain[0].Textile.Set = 0.011232401252703644, 0.03969461544036402
	want := run(t, &c[0], Options{})
	var e Engine
	out := make([]Summary, 1)
	if err := e.Batch(c, out); err != nil {
		t.Fatal(err)
	}
	within(t, "peak", out[0].PeakForce.SI(), want.PeakForce.SI(), 1e-6, 0)
}

// A mass that has come to rest hangs on: where rounding alone makes friction stick and slide in turn, the run comes
// to its end all the same. Found at random.
func TestMassAtRestHangsOn(t *testing.T) {
	c := []Case{{Mass: 40.00000000869737, Fall: 0.05, Until: 1.9999999999999998, Floor: 0.050000000000419376,
		Chain: []Element{textile(0.3, 10000, 10000, 100000, Branch{E: 50000, Tau: 0.011412200636986818})}}}
	c[0].Chain[0].Textile.Friction, c[0].Chain[0].Textile.Set = 0.010000064872902182, 0.01
	var e Engine
	var alone Summary
	if err := e.Drop(&c[0], &alone); err != nil {
		t.Fatal(err)
	}
	out := make([]Summary, 1)
	if err := e.Batch(c, out); err != nil {
		t.Fatal(err)
	}
	// Its samples go on to the end, 50 a second from 0 s to 2 s.
	x := run(t, &c[0], Options{Sample: &Sampling{Rate: 50}}).Samples.Position
	if len(x) != 101 {
		t.Fatalf("%d samples, want 101", len(x))
	}
	within(t, "last sample", x[100].SI(), 0.01151818222370919, 1e-9, 0)
	for _, s := range []Summary{alone, out[0]} {
		within(t, "end", s.End.T.SI(), 1.9999999999999998, 1e-15, 0)
		within(t, "speed", s.End.Velocity.SI(), 0, 0, 1e-12)
		within(t, "place", s.End.Position.SI(), 0.01151818222370919, 1e-9, 0)
	}
}
