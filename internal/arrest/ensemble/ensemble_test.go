package ensemble

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/hardcatch/hardcatch/internal/arrest"
)

func linear() arrest.Case {
	return arrest.Case{Mass: 80, Fall: 0.6, Until: 0.1, Chain: []arrest.Element{{Kind: arrest.KindTextile, Name: "sling", Textile: &arrest.Textile{Length: 0.6, E1: 161e3}}}}
}

func run(t *testing.T, p *Plan, n int) []Outcome {
	t.Helper()
	w, err := NewWorker(p)
	if err != nil {
		t.Fatal(err)
	}
	out := make([]Outcome, n)
	for part := 0; part*PartSize < n; part++ {
		if err := w.Part(part, out[part*PartSize:min((part+1)*PartSize, n)]); err != nil {
			t.Fatal(err)
		}
	}
	return out
}

// The peak of a linear textile rises with the stiffness (Wexler 1950: F = W + sqrt(W^2 + 2 W h k)), so that each
// percentile of the peak is the formula at the same percentile of a lognormal stiffness.
func TestPercentilesOfALinearTextile(t *testing.T) {
	p := &Plan{Case: linear(), Spreads: []Spread{{"sling.E1", LogNormal, 0.1 * 161e3, math.Inf(-1), math.Inf(1)}}, Seed: 3}
	drops := run(t, p, 20000)
	sigma := math.Sqrt(math.Log1p(0.01))
	for i, z := range []float64{-1.6448536269514722, 0, 1.6448536269514722} {
		e1 := 161e3 * math.Exp(-sigma*sigma/2+sigma*z)
		w := 80 * 9.80665
		want := w + math.Sqrt(w*w+2*w*0.6*e1/0.6)
		got := Percentiles(drops, []float64{0.05, 0.5, 0.95}[i])[0]
		if want < got.Lo-2 || want > got.Hi+2 || got.Hi-got.Lo > 0.02*want {
			t.Errorf("z %g: %.1f (%.1f to %.1f), closed form %.1f", z, got.Value, got.Lo, got.Hi, want)
		}
	}
}

// A strength spread normally about the peak itself breaks half of the drops.
func TestBreakProbability(t *testing.T) {
	c := linear()
	c.Chain[0].Textile.Strength = 16697.885
	p := &Plan{Case: c, Spreads: []Spread{{"sling.strength", Normal, 1000, math.Inf(-1), math.Inf(1)}}, Seed: 4}
	all, by, err := Breaks(run(t, p, 4096), 1)
	if err != nil || all.Lo > 0.5 || all.Hi < 0.5 || by[0] != all.K {
		t.Errorf("%+v %v %v", all, by, err)
	}
}

func TestTruncationAndCorrelation(t *testing.T) {
	p := &Plan{Case: linear(), Spreads: []Spread{{"sling.E1", Normal, 20e3, 150e3, 170e3}, {"fall", Uniform, 0.05, math.Inf(-1), math.Inf(1)}}, Correlations: []Correlation{{[2]string{"fall", "sling.E1"}, 0.8}}, Seed: 5}
	s, err := p.sampler()
	if err != nil {
		t.Fatal(err)
	}
	rng := rand.New(rand.NewPCG(1, 1))
	c := p.Case.Copy()
	n := 20000
	var sx, sy, sxx, syy, sxy float64
	for range n {
		s.apply(&c, []float64{rng.Float64(), rng.Float64()}, make([]float64, 2))
		x, y := c.Chain[0].Textile.E1.SI(), c.Fall.SI()
		if x < 150e3 || x > 170e3 || y < 0.55 || y > 0.65 {
			t.Fatalf("outside its limits: %v %v", x, y)
		}
		sx, sy, sxx, syy, sxy = sx+x, sy+y, sxx+x*x, syy+y*y, sxy+x*y
	}
	k := float64(n)
	r := (sxy - sx*sy/k) / math.Sqrt((sxx-sx*sx/k)*(syy-sy*sy/k))
	// Both are near uniform: Pearson's r of uniforms with normal-score correlation rho is 6/pi asin(rho/2) = 0.786.
	if math.Abs(r-6/math.Pi*math.Asin(0.4)) > 0.015 {
		t.Errorf("correlation %v", r)
	}
	if c := linear(); c.Chain[0].Textile.E1 != 161e3 {
		t.Error("the plan's case was altered")
	}
}

func TestRefusals(t *testing.T) {
	inf := math.Inf(1)
	for _, s := range [][]Spread{
		{{"nonsense", Normal, 1, -inf, inf}}, {{"fall", Normal, 0, -inf, inf}}, {{"fall", "square", 1, -inf, inf}},
		{{"fall", Normal, 0.01, 5, inf}}, {{"fall", Normal, 0.01, -inf, inf}, {"fall", Normal, 0.01, -inf, inf}}, {{"sling.E2", LogNormal, 1, -inf, inf}},
	} {
		if _, err := NewWorker(&Plan{Case: linear(), Spreads: s}); err == nil {
			t.Errorf("%+v was accepted", s)
		}
	}
	ok := []Spread{{"fall", Uniform, 0.01, -inf, inf}, {"mass", Uniform, 1, -inf, inf}, {"sling.E1", Uniform, 1e3, -inf, inf}}
	if _, err := NewWorker(&Plan{Case: linear(), Spreads: ok, Correlations: []Correlation{{[2]string{"fall", "mass"}, 0.9}, {[2]string{"mass", "sling.E1"}, 0.9}, {[2]string{"fall", "sling.E1"}, -0.9}}}); err == nil {
		t.Error("contradicting correlations were accepted")
	}
}

// Sobol indices of f = 3 x + y with independent standard uniforms centred: variances 9/12 and 1/12, so that
// S = T = 0.9 and 0.1.
func TestSobolByHand(t *testing.T) {
	rng := rand.New(rand.NewPCG(9, 9))
	f := func(x, y float64) Outcome { return Outcome{Peak: 100 + 3*x + y} }
	rows := make([][]Outcome, 20000)
	for i := range rows {
		a, b := [2]float64{rng.Float64(), rng.Float64()}, [2]float64{rng.Float64(), rng.Float64()}
		rows[i] = []Outcome{f(a[0], a[1]), f(b[0], b[1]), f(b[0], a[1]), f(a[0], b[1])}
	}
	for i, want := range []float64{0.9, 0.1} {
		s := Sobol(rows)[i]
		if math.Abs(s.First-want) > 4*s.FirstSE || math.Abs(s.Total-want) > 4*s.TotalSE || s.FirstSE > 0.02 {
			t.Errorf("input %d: %+v, want %g", i, s, want)
		}
	}
	if Sobol([][]Outcome{{{Peak: 1}, {Peak: 1}, {Peak: 1}}, {{Peak: 1}, {Peak: 1}, {Peak: 1}}}) != nil {
		t.Error("a constant has no indices")
	}
}

func TestPartsDoNotDependOnTheWorker(t *testing.T) {
	p := &Plan{Case: linear(), Spreads: []Spread{{"fall", Normal, 0.02, math.Inf(-1), math.Inf(1)}}, Seed: 8}
	a := run(t, p, 3*PartSize)
	w, err := NewWorker(p)
	if err != nil {
		t.Fatal(err)
	}
	b := make([]Outcome, PartSize)
	if err := w.Part(2, b); err != nil {
		t.Fatal(err)
	}
	for i := range b {
		if b[i] != a[2*PartSize+i] {
			t.Fatalf("drop %d: %+v and %+v", i, b[i], a[2*PartSize+i])
		}
	}
	p2 := *p
	p2.Seed++
	if run(t, &p2, 10)[0] == a[0] {
		t.Error("another seed gives the same drop")
	}
}

// sling is a fall on the full set of elements, which runs in lanes; invented values.
func sling() arrest.Case {
	return arrest.Case{Mass: 100, Fall: 0.9, Until: 1.5, Chain: []arrest.Element{
		{Kind: arrest.KindRig, Rig: &arrest.Rig{Stiffness: 2e6, DampingRatio: 0.03, NodeMass: 0.5}},
		{Kind: arrest.KindTextile, Textile: &arrest.Textile{Length: 0.9, E1: 120e3, E2: 400e3, Maxwell: []arrest.Branch{{E: 15e3, Tau: 0.05}}, Friction: 0.06, Set: 0.05, Strength: 18e3}},
		{Kind: arrest.KindKnot, Knot: &arrest.Knot{F0: 500, FL: 8500, Slip: 0.045}},
	}}
}

// Drops on the full set are the same to the last bit whichever worker runs their part, whatever it ran before,
// and however many of the part are asked for.
func TestFullPartsDoNotDependOnTheWorker(t *testing.T) {
	p := &Plan{Case: sling(), Spreads: []Spread{{"fall", Normal, 0.1, 0.3, math.Inf(1)}, {"textile.E1", LogNormal, 12e3, 0, math.Inf(1)}, {"textile.strength", Normal, 1e3, 5e3, math.Inf(1)}}, Seed: 9}
	a := run(t, p, 3*PartSize)
	w, err := NewWorker(p)
	if err != nil {
		t.Fatal(err)
	}
	broke := 0
	for _, part := range []struct{ part, drops int }{{2, 5}, {1, 100}, {2, PartSize}, {0, 1}, {0, PartSize}} {
		b := make([]Outcome, part.drops)
		if err := w.Part(part.part, b); err != nil {
			t.Fatal(err)
		}
		for i := range b {
			if b[i] != a[part.part*PartSize+i] {
				t.Fatalf("part %d, drop %d: %+v and %+v", part.part, i, b[i], a[part.part*PartSize+i])
			}
			if b[i].Broke >= 0 {
				broke++
			}
		}
	}
	if broke == 0 {
		t.Error("no drop broke: the strengths should lie about the peaks")
	}
}

func BenchmarkPart(b *testing.B) {
	c := linear()
	c.Chain[0].Textile.Maxwell = []arrest.Branch{{E: 60e3, Tau: 0.03}}
	w, err := NewWorker(&Plan{Case: c, Spreads: []Spread{{"fall", Normal, 0.02, math.Inf(-1), math.Inf(1)}, {"sling.E1", LogNormal, 16e3, math.Inf(-1), math.Inf(1)}}})
	if err != nil {
		b.Fatal(err)
	}
	out := make([]Outcome, PartSize)
	b.ReportAllocs()
	for b.Loop() {
		if err := w.Part(1, out); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(b.N)*PartSize/b.Elapsed().Seconds(), "drops/s")
}
