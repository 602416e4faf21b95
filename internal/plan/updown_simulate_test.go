package plan

import (
	"math"
	"math/rand/v2"
	"reflect"
	"strings"
	"testing"
)

func character(t testing.TB, d UpDownDesign, runs int) *UpDownCharacter {
	t.Helper()
	out := make([]UpDownRun, runs)
	for k := range out {
		var err error
		if out[k], err = d.Run(rand.NewPCG(1, uint64(k))); err != nil {
			t.Fatal(err)
		}
	}
	c, err := d.SumUp(out)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// With many drops and a step of one standard deviation the estimates are all but unbiased, the spread of the estimate of
// Dixon and Mood is near its standard error (6 s + d)/(7 sqrt N) = sd/sqrt(n/2) (Dixon and Massey, recalled), the profile
// interval holds what it claims, and half the specimens break.
func TestLargeSeriesBehaveAsTheory(t *testing.T) {
	d := UpDownDesign{Start: 10, Step: 0.3, N: 200, Mean: 10, SD: 0.3, Quantile: 0.25, Confidence: 0.95}
	c := character(t, d, 1000)
	se := 0.3 / math.Sqrt(100)
	agree(t, "sd of the classic estimate", *c.Classic.SD, se, 0.12)
	agree(t, "sd by likelihood", *c.Half.SD, se, 0.12)
	for what, v := range map[string]float64{"classic": *c.Classic.Bias, "likelihood": *c.Half.Bias} {
		if math.Abs(v) > 4*se/math.Sqrt(1000) {
			t.Errorf("bias of %s: %g", what, v)
		}
	}
	agree(t, "spread", *c.SpreadMean, 0.3, 0.05)
	for what, v := range map[string]UpDownCoverage{"half": c.HalfIn, "quarter": c.LowIn} {
		if *v.Covered < 0.925 || *v.Covered > 0.97 || v.Intervals != 1000 {
			t.Errorf("coverage of the %s: %+v", what, v)
		}
	}
	agree(t, "broken", c.Broken, 100, 0.01)
	if c.Separated != 0 || c.OneOutcome != 0 || c.Floored != 0 || len(c.Warnings()) != 0 {
		t.Errorf("%+v %v", c, c.Warnings())
	}
}

// Three drops far below the tolerance all hold; nothing is estimated, and that is said as shares of 0 and 1.
func TestSeriesThatTellNothing(t *testing.T) {
	d := UpDownDesign{Start: 1, Step: 0.1, N: 3, Mean: 5, SD: 0.01, Quantile: 0.05, Confidence: 0.95}
	c := character(t, d, 100)
	if c.OneOutcome < 1-1e-9 || c.Classic.Told != 0 || c.Classic.Bias != nil || c.Broken != 0 || c.HalfIn.Intervals != 0 {
		t.Errorf("%+v", c)
	}
	if w := strings.Join(c.Warnings(), "\n"); !strings.Contains(w, "standard deviations from the supposed mean") || !strings.Contains(w, "too wide") {
		t.Error(w)
	}
	d.Start, d.Mean, d.SD, d.Step = 0.2, 0.1, 0.1, 0.2
	if c = character(t, d, 100); c.Floored == 0 || !strings.Contains(strings.Join(c.Warnings(), "\n"), "would have left no height") {
		t.Errorf("%+v", c)
	}
}

// Few drops make the spread look small, so that a low quantile comes out too high: the unsafe side is said.
func TestUnsafeBiasIsSaid(t *testing.T) {
	c := character(t, UpDownDesign{Start: 1, Step: 0.2, N: 20, Mean: 1.4, SD: 0.3, Quantile: 0.05, Confidence: 0.95}, 1000)
	w := strings.Join(c.Warnings(), "\n")
	if !(*c.Low.Bias > 0.03) || !strings.Contains(w, "the unsafe side") || !strings.Contains(w, "take it as too narrow") {
		t.Errorf("%+v\n%s", c.Low, w)
	}
}

func TestSameStreamSameRun(t *testing.T) {
	d := UpDownDesign{Start: 1, Step: 0.2, N: 20, Mean: 1.4, SD: 0.3, Quantile: 0.05, Confidence: 0.95}
	a, b := character(t, d, 100), character(t, d, 100)
	if !reflect.DeepEqual(a, b) {
		t.Error("the same streams gave different results")
	}
}

func TestDesignRefusals(t *testing.T) {
	good := UpDownDesign{Start: 1, Step: 0.2, N: 20, Mean: 1.4, SD: 0.3, Quantile: 0.05, Confidence: 0.95}
	if err := good.Check(); err != nil {
		t.Error(err)
	}
	for want, change := range map[string]func(*UpDownDesign){
		"start of": func(d *UpDownDesign) { d.Start = 0 }, "step of": func(d *UpDownDesign) { d.Step = -1 },
		"sd of": func(d *UpDownDesign) { d.SD = 0 }, "mean of": func(d *UpDownDesign) { d.Mean = 1e6 },
		"1 drops": func(d *UpDownDesign) { d.N = 1 }, "quantile 5": func(d *UpDownDesign) { d.Quantile = 5 }, "confidence 95": func(d *UpDownDesign) { d.Confidence = 95 },
	} {
		d := good
		change(&d)
		if err := d.Check(); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%v, want %q", err, want)
		}
	}
	if _, err := good.SumUp(nil); err == nil {
		t.Error("no run was summed up")
	}
}

func BenchmarkUpDownRun(b *testing.B) {
	d := UpDownDesign{Start: 1, Step: 0.2, N: 20, Mean: 1.4, SD: 0.3, Quantile: 0.05, Confidence: 0.95}
	src := rand.NewPCG(0, 0)
	b.ReportAllocs()
	k := uint64(0)
	for b.Loop() {
		k++
		src.Seed(1, k)
		if _, err := d.Run(src); err != nil {
			b.Fatal(err)
		}
	}
}
