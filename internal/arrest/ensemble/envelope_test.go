package ensemble

import (
	"context"
	"math"
	"testing"

	"github.com/hardcatch/hardcatch/internal/arrest"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// tearing is a lanyard with a tearing absorber, of the starting values, and what varies.
func tearing(travel quantity.Length) *Plan {
	a, r := arrest.StartingAbsorber(), arrest.StartingRig()
	a.Travel = travel
	t, _ := arrest.StartingSet("polyester-webbing")
	t.Length = 0.9
	c := arrest.Case{Mass: 100, Fall: 1.8, Chain: []arrest.Element{{Kind: arrest.KindRig, Rig: &r}, {Kind: arrest.KindTextile, Name: "lanyard", Textile: &t}, {Kind: arrest.KindAbsorber, Absorber: &a}}}
	inf := math.Inf(1)
	return &Plan{Case: c, Seed: 7, Spreads: []Spread{{"fall", Uniform, 0.1, -inf, inf}, {"absorber.force", Normal, 300, -inf, inf}}}
}

// The envelope holds the force in the chain: on the crests where the absorber is not torn out, the largest force of the tearing
// is F_a (1 + r), and never below what is computed tear by tear.
func TestEnvelopeBoundsTheChain(t *testing.T) {
	for _, c := range []struct {
		travel quantity.Length
		high   float64 // the most that it may be above
	}{{1.5, 1e-3}, {0.35, 0.25}} {
		p := tearing(c.travel)
		e, err := CheckEnvelope(context.Background(), p)
		if err != nil {
			t.Fatal(err)
		}
		if e.Drops != envelopeDrops || e.ChainLow < -1e-3 || e.ChainHigh.SI() > c.high {
			t.Errorf("travel %v: %+v", c.travel, e)
		}
		w, err := NewWorker(p)
		if err != nil {
			t.Fatal(err)
		}
		out := make([]Outcome, 64)
		if err := w.Part(0, out); err != nil {
			t.Fatal(err)
		}
		for i, o := range out {
			a := w.Drawn(i).Chain[2].Absorber
			if a.Ripple != 0.1 || a.Force < 3000 || a.Force > 6000 {
				t.Fatalf("the case was left changed: %+v", a)
			}
			if crest := a.Force.SI() * 1.1; c.travel == 1.5 && math.Abs(o.Chain/crest-1) > 1e-6 || o.Chain < crest*(1-1e-6) {
				t.Errorf("drop %d: %g N, the crests are %g N", i, o.Chain, crest)
			}
		}
	}
	plain := tearing(1)
	plain.Case.Chain[2].Absorber.Ripple = 0
	if e, err := CheckEnvelope(context.Background(), plain); e != nil || err != nil {
		t.Errorf("without a ripple: %+v, %v", e, err)
	}
}

// A knot or an age that would strengthen is drawn again, and the share of that is told: Phi(-2) for a mean two
// standard deviations below 1.
func TestSharesAreDrawnUpToTheWhole(t *testing.T) {
	p := tearing(1)
	inf := math.Inf(1)
	p.Case.Chain[1].Textile.Degradation = 0.8
	p.Spreads = []Spread{{"lanyard.degradation", Normal, 0.1, -inf, inf}}
	if cut := p.Cut(p.Spreads[0]); math.Abs(cut-0.022750) > 1e-5 {
		t.Errorf("%g are cut off", cut)
	}
	w, err := NewWorker(p)
	if err != nil {
		t.Fatal(err)
	}
	w.Draw(0, PartSize)
	for i := range PartSize {
		if d := w.Drawn(i).Chain[1].Textile.Degradation; !(d > 0 && d <= 1) {
			t.Fatalf("drawn %v", d)
		}
	}
	p.Spreads[0].Max = 0.9
	if cut := p.Cut(p.Spreads[0]); cut > 1e-12 {
		t.Errorf("%g are cut off although the case says where", cut)
	}
	if p.Cut(Spread{"fall", Normal, 5, -inf, inf}) != 0 {
		t.Error("a fall is no share")
	}
	// A share that is left out is the whole.
	p.Case.Chain[1].Textile.Degradation = 0
	if par, err := Find(&p.Case, "lanyard.degradation"); err != nil || par.Get(&p.Case) != 1 {
		t.Errorf("%v", err)
	}
}

// BenchmarkTearing is a part of an ensemble with a rippled absorber: 10,000 drops a second or better.
func BenchmarkTearing(b *testing.B) {
	w, err := NewWorker(tearing(1))
	if err != nil {
		b.Fatal(err)
	}
	out := make([]Outcome, PartSize)
	for b.Loop() {
		if err := w.Part(0, out); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(b.N)*PartSize/b.Elapsed().Seconds(), "drops/s")
}
