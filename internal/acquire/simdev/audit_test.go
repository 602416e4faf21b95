package simdev

import (
	"context"
	"math"
	"strings"
	"testing"

	"github.com/hardcatch/hardcatch/internal/arrest"
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/quantity"
	"github.com/hardcatch/hardcatch/internal/reduce"
)

func settings(f reduce.Filter) reduce.Settings {
	return reduce.Settings{Mass: 100, MassU: 0.05, Fall: 0.9, FallU: 0.004, GainU: 0.001, Filter: f, RigFrequency: 318.31, RigDamping: 0.03}
}

func textile(t *testing.T, set string, alter func(*arrest.Textile)) arrest.Case {
	t.Helper()
	c := lanyard(t, nil)
	x, ok := arrest.StartingSet(set)
	if !ok {
		t.Fatal("no starting set " + set)
	}
	x.Length, x.BreakRamp = 0.9, 0.0006
	alter(&x)
	c.Chain[1].Textile = &x
	return c
}

// A specimen that parts early, while loading is fast or samples are few, is a break all the same: the mass
// falls on and nothing catches it.
func TestEarlyBreaks(t *testing.T) {
	for _, c := range []struct {
		set      string
		strength quantity.Force
		ramp     quantity.Duration
		rate     quantity.Frequency
		within   float64
	}{
		{"aramid-cord", 4000, 0.0006, 20000, 0.2}, {"aramid-cord", 8000, 0.0006, 1000, 0.3}, {"polyester-webbing", 4000, 0.0006, 1000, 0.3},
		{"polyester-webbing", 9000, 0.005, 10000, 0.1}, {"polyester-webbing", 9000, 0.010, 10000, 0.1},
	} {
		r, err := cell.Take(context.Background(), Drop{Case: textile(t, c.set, func(x *arrest.Textile) { x.Strength, x.BreakRamp = c.strength, c.ramp }), Rate: c.rate, Before: 0.4, Seed: 3})
		if err != nil {
			t.Fatal(err)
		}
		red, err := reduce.Reduce(trace(r), settings(reduce.DefaultFilter))
		if err != nil {
			t.Fatal(err)
		}
		if red.Outcome != reduce.Proposal(drop.Broke) || !red.LowerBound {
			t.Errorf("%+v: outcome %s, lower bound %v: %v", c, red.Outcome, red.LowerBound, red.Evidence)
		}
		if off := math.Abs(red.Peak.SI()/c.strength.SI() - 1); off > c.within {
			t.Errorf("%+v: peak %s", c, red.Peak)
		}
	}
}

// A short dropout near the peak, or a spike, is bridged and said; the mass that hangs at the end shows that the
// specimen held.
func TestGlitches(t *testing.T) {
	r, err := cell.Take(context.Background(), Drop{Case: lanyard(t, func(x *arrest.Textile) { x.Strength = 0 }), Rate: 10000, Before: 0.4, Seed: 5})
	if err != nil {
		t.Fatal(err)
	}
	clean, err := reduce.Reduce(trace(r), settings(reduce.DefaultFilter))
	if err != nil {
		t.Fatal(err)
	}
	at := int((clean.PeakTime.SI() - 0.004) * 10000)
	for name, alter := range map[string]func([]float64){
		"dropout":        func(x []float64) { clear(x[at : at+5]) },
		"spike":          func(x []float64) { x[at] = 30000 },
		"spike in quiet": func(x []float64) { x[2000] = 9000 },
	} {
		tr := trace(r)
		alter(tr.Channels[0].Values)
		red, err := reduce.Reduce(tr, settings(reduce.DefaultFilter))
		if err != nil {
			t.Fatal(err)
		}
		if red.Outcome != reduce.Proposal(drop.Held) || red.LowerBound || math.Abs(red.Peak.SI()-clean.Peak.SI()) > clean.PeakExpanded.SI() {
			t.Errorf("%s: %s, lower bound %v, peak %s instead of %s", name, red.Outcome, red.LowerBound, red.Peak, clean.Peak)
		}
		if quietVerdict(red) == reduce.Agrees || !strings.Contains(strings.Join(red.Warnings, " "), "spike or dropout") {
			t.Errorf("%s: %s %v", name, quietVerdict(red), red.Warnings)
		}
	}
}

func TestClippedIsALowerBound(t *testing.T) {
	narrow := cell
	narrow.Range = 9000
	r, err := narrow.Take(context.Background(), Drop{Case: lanyard(t, nil), Rate: 10000, Before: 0.4, Seed: 5})
	if err != nil {
		t.Fatal(err)
	}
	red, err := reduce.Reduce(trace(r), settings(reduce.DefaultFilter))
	if err != nil || !red.LowerBound || !red.Clipped {
		t.Errorf("%v %+v", err, red)
	}
}

// The stated interval must hold the truth about as often as it says: the largest chain force of a
// held drop, the chain force at parting for a break. Noise and the phase of the hum differ from drop
// to drop. 40 drops at 95 %: fewer than 33 inside have a probability below 1e-2.
func TestIntervalsHoldTheTruth(t *testing.T) {
	cfc600 := reduce.Filter{Class: 600, Factor: "sae"}
	for _, c := range []struct {
		name     string
		set      string
		strength quantity.Force
		rate     quantity.Frequency
		filter   reduce.Filter
	}{
		{"held, class 60", "polyester-webbing", 0, 5000, reduce.DefaultFilter},
		{"held, class 600", "polyester-webbing", 0, 20000, cfc600},
		{"held, stiff", "hmpe-blend-sling", 0, 10000, reduce.DefaultFilter},
		{"broke", "polyester-webbing", 12000, 10000, reduce.DefaultFilter},
		{"broke, slow sampling", "polyester-webbing", 12000, 2000, reduce.DefaultFilter},
	} {
		inside, audits := 0, 0
		for seed := range uint64(40) {
			r, err := cell.Take(context.Background(), Drop{Case: textile(t, c.set, func(x *arrest.Textile) { x.Strength = c.strength }), Rate: c.rate, Before: 0.4, Seed: seed})
			if err != nil {
				t.Fatal(err)
			}
			truth := r.Truth.PeakChain.SI()
			if r.Truth.Broke != nil {
				truth = r.Truth.Broke.Force.SI()
			}
			red, err := reduce.Reduce(trace(r), settings(c.filter))
			if err != nil {
				t.Fatal(err)
			}
			if math.Abs(red.Peak.SI()-truth) <= red.PeakExpanded.SI() {
				inside++
			}
			if red.AuditVerdict == reduce.Disagrees {
				audits++
			}
			if seed == 0 {
				t.Logf("%s: peak %s, truth %.0f", c.name, quantity.WithU(red.Peak, red.PeakExpanded), truth)
			}
		}
		t.Logf("%s: %d of 40 inside, %d audits disagree", c.name, inside, audits)
		if inside < 33 || audits > 2 {
			t.Errorf("%s: the truth lies in %d of 40 intervals, %d audits disagree", c.name, inside, audits)
		}
	}
}

// quietVerdict is what the check of the quiet stretch and the samples says.
func quietVerdict(r *reduce.Reduction) reduce.Verdict {
	for _, c := range r.Audit {
		if c.Name == reduce.CheckQuiet {
			return c.Verdict
		}
	}
	return ""
}
