package simdev

import (
	"bytes"
	"context"
	"math"
	"strings"
	"testing"

	"github.com/hardcatch/hardcatch/internal/arrest"
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/quantity"
	"github.com/hardcatch/hardcatch/internal/reduce"
)

var cell = Cell{Capacity: 50000, Sensitivity: 0.002, Bits: 24, Noise: 6, Hum: 4, Offset: 35, Drift: 1}

func lanyard(t *testing.T, alter func(*arrest.Textile)) arrest.Case {
	t.Helper()
	tx, ok := arrest.StartingSet("polyester-webbing")
	if !ok {
		t.Fatal("no starting set")
	}
	tx.Length, tx.BreakRamp, tx.Friction = 0.9, 0.0006, 0.25
	if alter != nil {
		alter(&tx)
	}
	return arrest.Case{Mass: 100, Fall: 0.9, Until: 4, Chain: []arrest.Element{
		{Kind: arrest.KindRig, Rig: &arrest.Rig{Stiffness: 2e6, NodeMass: 0.5, DampingRatio: 0.03}},
		{Kind: arrest.KindTextile, Name: "lanyard", Textile: &tx},
	}}
}

func take(t *testing.T, c arrest.Case) (*Record, *reduce.Reduction) {
	t.Helper()
	r, err := cell.Take(context.Background(), Drop{Case: c, Rate: 10000, Before: 0.4, Seed: 5})
	if err != nil {
		t.Fatal(err)
	}
	red, err := reduce.Reduce(trace(r), reduce.Settings{Mass: 100, MassU: 0.05, Fall: 0.9, FallU: 0.004, GainU: 0.002, Filter: reduce.DefaultFilter, RigFrequency: 318.31, RigDamping: 0.03})
	if err != nil {
		t.Fatal(err)
	}
	return r, red
}

func trace(r *Record) *drop.Trace {
	v := make([]float64, len(r.Counts))
	for i := range v {
		v[i] = r.ForceAt(i).SI()
	}
	return &drop.Trace{Name: "simulated", Rate: r.Rate, Channels: []drop.Channel{{Name: "force", Unit: "N", Dim: quantity.DimForce, Factor: 1, Values: v}}}
}

func report(t *testing.T, red *reduce.Reduction) {
	t.Helper()
	for _, c := range red.Audit {
		t.Logf("%s: %s: %s", c.Name, c.Verdict, c.Meaning)
	}
	t.Logf("%s %v peak %s filtered %s raw %s", red.Outcome, red.Evidence, quantity.WithU(red.Peak, red.PeakExpanded), red.PeakFiltered, red.PeakRaw)
}

// The reduction must find what the model put in: the peak within its interval, the outcome, and an audit
// that agrees.
func TestReductionFindsTheTruthOfAHeldDrop(t *testing.T) {
	r, red := take(t, lanyard(t, func(x *arrest.Textile) { x.Strength = 0 }))
	report(t, red)
	truth := r.Truth
	if math.Abs(red.Peak.SI()-truth.PeakForce.SI()) > red.PeakExpanded.SI() {
		t.Errorf("peak %s, truth %s", quantity.WithU(red.Peak, red.PeakExpanded), truth.PeakForce)
	}
	// The top is flat and the node rings on it: its moment is not as sharp as its height.
	if math.Abs(red.TimeToPeak.SI()-truth.Peaks[0].T.SI()) > 2e-3 || math.Abs(red.MaxElongation.SI()-truth.Lowest.SI()) > 1e-3 {
		t.Errorf("time to peak %s, truth %s; lowest %s, truth %s", red.TimeToPeak, truth.Peaks[0].T, red.MaxElongation, truth.Lowest)
	}
	if math.Abs(red.Taut.SI()-r.TrueTaut.SI()) > 2e-4 {
		t.Errorf("taut at %s, truth %s", red.Taut, r.TrueTaut)
	}
	if red.Outcome != reduce.Proposal(drop.Held) || red.Tail == nil {
		t.Fatalf("outcome %s, tail %v", red.Outcome, red.Tail)
	}
	// A mass that swings about its weight is not arrested anew: the model goes taut as often as it is counted.
	taut := 0
	for _, e := range r.Truth.Events {
		if e.Kind == arrest.EventTaut {
			taut++
		}
	}
	if n := len(red.LaterArrests) + 1; n > taut || n < taut-2 {
		t.Errorf("%d arrests are counted, the model came taut %d times", n, taut)
	}
	if math.Abs(red.Tail.SI()-980.665) > 8 {
		t.Errorf("tail %s", red.Tail)
	}
	for _, c := range red.Audit {
		if c.Verdict == reduce.Disagrees || c.Verdict == reduce.Doubtful || c.Verdict == reduce.NotPossible {
			t.Errorf("%s: %s (%s)", c.Name, c.Verdict, c.Meaning)
		}
	}
}

func TestReductionFindsABreak(t *testing.T) {
	r, red := take(t, lanyard(t, func(x *arrest.Textile) { x.Strength = 14000 }))
	report(t, red)
	if r.Truth.Broke == nil || red.Outcome != reduce.Proposal(drop.Broke) || !red.LowerBound {
		t.Fatalf("truth %+v, outcome %s", r.Truth.Broke, red.Outcome)
	}
	if math.Abs(red.Peak.SI()-r.Truth.Broke.Force.SI()) > red.PeakExpanded.SI() {
		t.Errorf("peak %s, broke at %s", quantity.WithU(red.Peak, red.PeakExpanded), r.Truth.Broke.Force)
	}
	if red.AuditVerdict != reduce.Agrees {
		t.Errorf("audit %s", red.AuditVerdict)
	}
}

func TestAuditFindsMishaps(t *testing.T) {
	short := lanyard(t, func(x *arrest.Textile) { x.Strength = 0 })
	short.Fall = 0.55
	light := lanyard(t, func(x *arrest.Textile) { x.Strength = 0 })
	light.Mass = 80
	for what, c := range map[string]arrest.Case{"stuck release": short, "80 kg for 100 kg": light} {
		_, red := take(t, c)
		report(t, red)
		if red.AuditVerdict != reduce.Disagrees {
			t.Errorf("%s: audit %s", what, red.AuditVerdict)
		}
	}
	narrow := cell
	narrow.Range = 9000
	r, err := narrow.Take(context.Background(), Drop{Case: lanyard(t, nil), Rate: 10000, Before: 0.4, Seed: 5})
	if err != nil || r.Clipped == 0 {
		t.Fatalf("%v, %d clipped", err, r.Clipped)
	}
	red, err := reduce.Reduce(trace(r), reduce.Settings{Mass: 100, Fall: 0.9, Filter: reduce.DefaultFilter})
	if err != nil || red.AuditVerdict != reduce.Disagrees || !strings.Contains(strings.Join(red.Warnings, " "), "cut off") {
		t.Errorf("%v %+v", err, red.Warnings)
	}
}

func TestSameSeedSameCounts(t *testing.T) {
	d := Drop{Case: lanyard(t, nil), Rate: 5000, Before: 0.2, Seed: 9}
	a, err := cell.Take(context.Background(), d)
	if err != nil {
		t.Fatal(err)
	}
	b, err := cell.Take(context.Background(), d)
	if err != nil {
		t.Fatal(err)
	}
	for k := range Dialect(Dialects) {
		if !bytes.Equal(a.Text(k, "x"), b.Text(k, "x")) {
			t.Errorf("dialect %d differs", k)
		}
	}
	d.Seed++
	c, err := cell.Take(context.Background(), d)
	if err != nil || bytes.Equal(a.Text(0, "x"), c.Text(0, "x")) {
		t.Errorf("another seed gives the same record (%v)", err)
	}
	if _, err := (Cell{}).Take(context.Background(), d); err == nil {
		t.Error("a cell without capacity took a drop")
	}
}

// Noise, hum and offset as asked: rms of the quiet stretch is sqrt(noise^2 + hum^2/2).
func TestQuietStretchIsAsAsked(t *testing.T) {
	r, err := cell.Take(context.Background(), Drop{Case: lanyard(t, nil), Rate: 5000, Before: 2, Seed: 1})
	if err != nil {
		t.Fatal(err)
	}
	n, sum, ss := 10000, 0.0, 0.0
	for i := range n {
		f := r.ForceAt(i).SI()
		sum += f
		ss += f * f
	}
	mean := sum / float64(n)
	rms := math.Sqrt(ss/float64(n) - mean*mean)
	if math.Abs(mean-36) > 0.5 || math.Abs(rms-math.Sqrt(36+8+1./3)) > 0.2 {
		t.Errorf("mean %g (35 and half of 2 s of drift wanted), rms %g", mean, rms)
	}
}
