package identify

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
)

// truth of the drawn campaigns.
var drawnBody = body{e1: 85e3, e2: 330e3, em: 12e3, tau: 0.06, mu: 0.12, kf: 400e3, set: 0.05, kr: 1.4e6, mc: 0.5, zeta: 0.03, mass: 100}

// drawn is a campaign of webbing at the lengths given and two fall factors, n drops each, with specimens that differ by 4 %.
func drawn(seed uint64, n int, lengths ...float64) Input {
	rng := rand.New(rand.NewPCG(seed, 1))
	in := Input{Rig: Rig{0, 0.5, 0.03}, Seed: seed}
	for _, l := range lengths {
		for _, factor := range []float64{0.5, 1} {
			for range n {
				b := specimenOf(drawnBody, rng)
				b.length, b.fall = l, l*factor
				asked := b.fall
				b.fall += 0.004 * rng.NormFloat64()
				id := fmt.Sprintf("d%02d", len(in.Records)+1)
				in.Records = append(in.Records, b.drawRecord(rng, 5000, Record{Drop: id, Specimen: id, Cell: fmt.Sprintf("%g m, factor %g", l, factor), Textile: "webbing", Set: "polyester-webbing", Fall: asked}))
			}
		}
	}
	return in
}

func specimenOf(b body, rng *rand.Rand) body {
	s := math.Exp(0.04 * rng.NormFloat64())
	b.e1, b.e2, b.em, b.kf = b.e1*s, b.e2*s, b.em*s, b.kf*s
	return b
}

func fitted(t *testing.T, in Input) *Model {
	t.Helper()
	m, err := Fit(context.Background(), in)
	if err != nil {
		t.Fatal(err)
	}
	return m
}

func (o *Model) parameter(t *testing.T, name, element string) Parameter {
	t.Helper()
	i := slices.IndexFunc(o.Parameters, func(p Parameter) bool { return p.Name == name && p.Element == element })
	if i < 0 {
		t.Fatalf("no %s of %s", name, element)
	}
	return o.Parameters[i]
}

// Twelve records of an integrator of its own at two lengths: every parameter comes back within twice its interval's half width, none from the prior, and
// rig and textile are told apart.
func TestRecoveryFromAnIndependentIntegrator(t *testing.T) {
	m := fitted(t, drawn(3, 3, 0.4, 1.6))
	for _, c := range []struct {
		name, element string
		want, within  float64
	}{
		{"E1", "webbing", 85e3, 0.1}, {"E2", "webbing", 330e3, 0.15}, {"Maxwell branch", "webbing", 12e3, 0.5}, {"relaxation time", "webbing", 0.06, 0.8},
		{"friction", "webbing", 0.12, 0.15}, {"stiffness", "rig", 1.4e6, 0.12},
	} {
		p := m.parameter(t, c.name, c.element)
		if p.Lo == nil || p.Hi == nil || p.From != FromRecords {
			t.Errorf("%s: %+v", c.name, p)
			continue
		}
		half := (*p.Hi - *p.Lo) / 2
		if math.Abs(p.Value-c.want) > 2*half || half > c.within*c.want {
			t.Errorf("%s is %g, %g to %g; want %g", c.name, p.Value, *p.Lo, *p.Hi, c.want)
		}
	}
	if p := m.parameter(t, "E1", "webbing"); !p.Replaced {
		t.Errorf("a starting value of 120 kN stands beside %g to %g", *p.Lo, *p.Hi)
	}
	if s := m.Spread.Textile; s < 0.02 || s > 0.09 {
		t.Errorf("specimens were drawn with 4 %%, found %g", s)
	}
	if d := m.Diagnostics; d.RhatMax > 1.05 || d.EssMin < 100 || d.Drops != 12 || d.Falls != 4 || d.Cells != 4 || d.Covered < 3 {
		t.Errorf("%+v", d)
	}
	for _, c := range m.CannotTell {
		t.Errorf("left open: %s", c.What)
	}
}

// From one length a softer rig under a stiffer textile shows the same force: it is refused, with the drop at another length that would part them.
func TestOneLengthDoesNotTellRigFromTextile(t *testing.T) {
	m := fitted(t, drawn(4, 3, 0.8))
	if len(m.CannotTell) == 0 || !strings.Contains(m.CannotTell[0].What.String(), "rig's stiffness") {
		t.Fatalf("%+v", m.CannotTell)
	}
	if s := m.CannotTell[0].Drop.String(); !strings.Contains(s, "2.40 m long") && !strings.Contains(s, "250 mm long") {
		t.Errorf("the drop that would part them: %s", s)
	}
}

// Two lengths part them by hand (C4): 1/k_a - 1/k_b = (L_a - L_b)/EA, on a linear textile without losses. Of records that differ by no noise the
// model finds EA and the rig to a hundredth.
func TestTwoLengthsPartTextileAndRig(t *testing.T) {
	rng := rand.New(rand.NewPCG(9, 9))
	b := body{e1: 161e3, tau: 1, kr: 1e6, mc: 0.2, zeta: 0.05, mass: 80}
	var in Input
	in.Rig, in.Seed, in.Quick = Rig{0, 0.2, 0.05}, 1, true
	stiffness := map[float64]float64{}
	for _, l := range []float64{0.5, 2} {
		b.length, b.fall = l, l/2
		r := b.drawRecord(rng, 10000, Record{Drop: fmt.Sprint(l), Specimen: fmt.Sprint(l), Cell: fmt.Sprint(l), Textile: "linear", Set: "steel-wire", Fall: l / 2})
		in.Records = append(in.Records, r)
		// By hand: the duration of half a swing about the weight gives k as a whole.
		lo, hi := 1e3, 1e7
		for range 60 {
			k := math.Sqrt(lo * hi)
			om := math.Sqrt(k / b.mass)
			if 2*(math.Pi-math.Atan(math.Sqrt(2*g0*b.fall)*om/g0))/om > r.End-0.05 {
				lo = k
			} else {
				hi = k
			}
		}
		stiffness[l] = lo
	}
	ea := 1.5 / (1/stiffness[2] - 1/stiffness[0.5])
	if math.Abs(ea/161e3-1) > 0.03 {
		t.Fatalf("by hand EA is %g", ea)
	}
	m := fitted(t, in)
	if p := m.parameter(t, "E1", "linear"); math.Abs(p.Value/161e3-1) > 0.02 {
		t.Errorf("EA is %g", p.Value)
	}
	if p := m.parameter(t, "stiffness", "rig"); math.Abs(p.Value/1e6-1) > 0.05 {
		t.Errorf("the rig is %g", p.Value)
	}
}

// A drop that broke says the same up to its break; what was not measured says nothing, whatever stands there.
func TestBreaksAndLostSamples(t *testing.T) {
	rng := rand.New(rand.NewPCG(2, 2))
	b := drawnBody
	b.length, b.fall, b.strength = 0.8, 0.8, 9e3
	r := b.drawRecord(rng, 5000, Record{Drop: "a", Specimen: "a", Textile: "webbing", Set: "polyester-webbing", Fall: 0.8})
	if !r.Broke {
		t.Fatal("it held")
	}
	d := designsOf([]Record{r})[0]
	d.span = 0.08
	o := observe(d, &r, 0)
	last := int((r.End - r.Taut) / d.span * blocks)
	if len(o.use) == 0 || len(o.use) > last {
		t.Fatalf("blocks %v, the break is in %d", o.use, last)
	}
	// The model looks alike up to there: parameters of the truth leave less than a hundredth.
	m := newModel([]Record{r}, rigOf{1.4e6, 0.5, 0.03, true})
	x := make([]float64, len(m.params))
	for j, p := range m.params {
		x[j] = map[part]float64{partE1: 85e3, partE2: 330e3, partBranch: 12e3, partTau: 0.06, partFriction: 0.12, partRig: 1.4e6}[p.part]
	}
	rest := make([]float64, m.groups[0].n)
	if !m.left(0, x, rest) {
		t.Fatal("no model")
	}
	for k, v := range rest {
		if math.Abs(v) > 0.03*r.Peak {
			t.Errorf("block %d is off by %g N of %g", k, v, r.Peak)
		}
	}
	r.Lost = make([]bool, len(r.Force))
	from := int((r.Taut + 0.012) * r.Rate)
	for i := from; i < from+10; i++ {
		r.Lost[i], r.Force[i] = true, 1e6
	}
	p := observe(d, &r, 0)
	if len(p.use) >= len(o.use) || slices.Contains(p.use, int(0.013/(d.span/blocks))) {
		t.Errorf("with lost samples blocks %v, without %v", p.use, o.use)
	}
}

// A mean over blocks of a ramp x = 2 i: straight pieces are integrated exactly.
func TestBlockMeans(t *testing.T) {
	x := make([]float64, 40)
	for i := range x {
		x[i] = 2 * float64(i)
	}
	out := make([]float64, blocks)
	if n := blockMeans(x, 10, 0.5, 2.8, out); n != blocks {
		t.Errorf("%d blocks", n)
	}
	for k, v := range out { // block k from 0.5 + 2 k to 2.5 + 2 k samples: mean 2 (1.5 + 2 k)
		if math.Abs(v-(3+4*float64(k))) > 1e-9 {
			t.Errorf("block %d is %g", k, v)
		}
	}
	if n := blockMeans(x, 10, 20, 2.8, out); n != 9 {
		t.Errorf("%d blocks within the record", n)
	}
}

// Of f = 3 e + 5 e^3 the terms come back, and none below zero is given where the data bend the other way.
func TestNonNegative(t *testing.T) {
	var e, up, down []float64
	for i := 1; i < 30; i++ {
		x := float64(i) / 100
		e, up, down = append(e, x), append(up, 3*x+5*x*x*x), append(down, 3*x-2*x*x)
	}
	if c := nonNegative(e, up); math.Abs(c[0]-3) > 1e-6 || math.Abs(c[1]) > 1e-4 || math.Abs(c[2]-5) > 1e-3 {
		t.Error(c)
	}
	if c := nonNegative(e, down); c[0] <= 0 || c[1] != 0 || c[2] != 0 {
		t.Error(c)
	}
}

// Chains of independent normal draws agree and count in full; chains that stand apart, or creep, do not.
func TestRanked(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 1))
	var alike, apart, creeping [][]float64
	for c := range 4 {
		var a, b, d []float64
		x := 0.0
		for range 250 {
			v := rng.NormFloat64()
			x = 0.95*x + v
			a, b, d = append(a, v), append(b, v+float64(c)), append(d, x)
		}
		alike, apart, creeping = append(alike, a), append(apart, b), append(creeping, d)
	}
	if r, e := ranked(alike); r > 1.02 || e < 700 || e > 1400 {
		t.Error(r, e)
	}
	if r, e := ranked(apart); r < 1.3 || e > 30 {
		t.Error(r, e)
	}
	if _, e := ranked(creeping); e > 120 { // an autoregression of 0.95 is worth 1000 (1 - 0.95)/(1 + 0.95) = 26
		t.Error(e)
	}
}

func TestNothingToFit(t *testing.T) {
	if _, err := Fit(context.Background(), Input{}); err == nil {
		t.Error("no records were fitted")
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := Fit(ctx, drawn(3, 1, 0.4)); err == nil {
		t.Error("a cancelled fit came to its end")
	}
}
