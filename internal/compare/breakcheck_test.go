package compare

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/num/censor"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// Of 4 drops that break with 0.1 % each two or more do with 6 x 1e-6 x 0.999^2 + 4 x 1e-9 x 0.999 + 1e-12 = 5.992005e-6; with probabilities of 0.5 and 0.1, equally
// plausible, with (11/16 + 0.0523)/2 = 0.3699.
func TestCountPByHand(t *testing.T) {
	for _, c := range []struct {
		broke, n int
		p        []float64
		want     float64
	}{
		{2, 4, []float64{0.001}, 2 * 5.992005e-6}, {2, 4, []float64{0.999}, 2 * 5.992005e-6},
		{2, 4, []float64{0.5, 0.1}, 2 * 0.3699}, {2, 4, []float64{0.1, 0.5}, 2 * 0.3699},
		{4, 4, []float64{0.5}, 2. / 16}, {0, 4, []float64{0.5}, 2. / 16}, {2, 4, []float64{0.5}, 1},
		{0, 4, []float64{0}, 1}, {1, 4, []float64{0}, 0}, {4, 4, []float64{1}, 1}, {3, 4, []float64{1}, 0},
		{0, 0, []float64{0.5}, 1}, {1, 4, nil, 1},
	} {
		if got := CountP(c.broke, c.n, c.p); math.Abs(got-c.want) > 1e-4*c.want+1e-12 {
			t.Errorf("%d of %d at %v: %g, want %g", c.broke, c.n, c.p, got, c.want)
		}
	}
}

// What the fits say and what the count says are printed together only where both can be true; else the interval holds both. Exact interval of 2 of 4 at 95 %: 6.76 % to
// 93.24 % (Clopper and Pearson, from memory; the tests of the package censor derive such).
func TestCountsThatFitsDoNotExplain(t *testing.T) {
	c := Cell{N: 4, Broke: 2, BreakLo: ptr(0.0676), BreakHi: ptr(0.9324)}
	x := CellInterference{Cell: "polyester", Broke: 2, N: 4, Interference: &Interference{Probability: 0.0003, Lo: 0.0001, Hi: 0.01, draws: []float64{0.0001, 0.0003, 0.01}}}
	x.hold(c, 0.95)
	if !x.Contradicted || x.Lo != 0.0001 || x.Hi != 0.9324 || x.Probability != 0.0003 || !(x.CountP < 0.001) {
		t.Errorf("%+v %+v", x, x.Interference)
	}
	if got := x.Statement.String(); strings.Contains(got, "0.1 %") || !strings.Contains(got, "polyester: 2 of 4 broke, which the fits of arrest force and strength do not explain") || !strings.Contains(got, "between 0 % and 93.3 %") && !strings.Contains(got, "between 0 % and 94 %") {
		t.Error(got)
	}
	y := CellInterference{Cell: "polyester", Broke: 2, N: 4, Interference: &Interference{Probability: 0.3, Lo: 0.1, Hi: 0.6, draws: []float64{0.1, 0.3, 0.6}}}
	y.hold(c, 0.95)
	if y.Contradicted || y.Lo != 0.1 || y.Hi != 0.6 || !strings.Contains(y.Statement.String(), "by both fits 30 % of such drops break") {
		t.Errorf("%+v", y)
	}
}

func ptr(v float64) *float64 { return &v }

// A cell of whose four specimens two parted at 6 kN while the kind's others hold 20 kN is said to contradict the fits, in the sentence and for a program.
func TestInterferencesAreHeldAgainstCounts(t *testing.T) {
	var in []Entry
	add := func(fall, peak float64, o drop.Outcome) {
		e := entry(fmt.Sprint(len(in)), "sewn", o, peak)
		e.Drop.Specimen.ID, e.Drop.Fall = fmt.Sprint(len(in)), quantity.Length(fall)
		in = append(in, e)
	}
	for i := range 14 {
		add(2, 20000+60*float64(i), drop.Broke)
	}
	for i := range 2 {
		add(0.5, 6000+20*float64(i), drop.Held)
		add(0.5, 5990+20*float64(i), drop.Broke)
	}
	for i := range 4 {
		add(1, 9000+20*float64(i), drop.Held)
	}
	cells, err := Cells(in, 0.95)
	if err != nil {
		t.Fatal(err)
	}
	kinds, err := SpecimenKinds(in, StrengthOptions{Confidence: 0.95})
	if err != nil {
		t.Fatal(err)
	}
	all, err := Interferences(cells, kinds, 0.95, 1)
	if err != nil {
		t.Fatal(err)
	}
	found := false
	for _, x := range all {
		t.Log(x.Statement)
		if x.Interference != nil && x.Contradicted {
			found = true
			if x.Broke != 2 || x.N != 4 || x.Hi < 0.9 {
				t.Errorf("%+v", x)
			}
		}
	}
	if !found {
		t.Error("no contradiction was seen")
	}
}

// Where the models are true the check seldom speaks: 200 campaigns of two falls with four specimens each.
func TestCountCheckSeldomSpeaksInVain(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	cellsSeen, alarms := 0, 0
	runs := 200
	if testing.Short() {
		runs = 80
	}
	for run := range runs {
		var in []Entry
		for i := range 12 {
			fall := 0.5 + 0.5*float64(i%3)
			s := 15000 * math.Pow(rng.ExpFloat64(), 1/12.)
			a := 12000 * math.Sqrt(fall) * math.Exp(0.06*rng.NormFloat64())
			e := entry(fmt.Sprint(i), "sewn", drop.Held, a)
			if a > s {
				e = entry(fmt.Sprint(i), "sewn", drop.Broke, s)
			}
			e.Drop.Specimen.ID, e.Drop.Fall = fmt.Sprint(i), quantity.Length(fall)
			in = append(in, e)
		}
		cells, err := Cells(in, 0.95)
		if err != nil {
			t.Fatal(err)
		}
		kinds, err := SpecimenKinds(in, StrengthOptions{Family: censor.Weibull, Confidence: 0.95})
		if err != nil {
			t.Fatal(err)
		}
		all, err := Interferences(cells, kinds, 0.95, uint64(run))
		if err != nil {
			t.Fatal(err)
		}
		for _, x := range all {
			if x.Interference != nil {
				cellsSeen++
				if x.Contradicted {
					alarms++
				}
			}
		}
	}
	t.Logf("%d alarms in %d cells", alarms, cellsSeen)
	if cellsSeen < runs || float64(alarms) > 0.05*float64(cellsSeen) {
		t.Errorf("%d alarms in %d cells", alarms, cellsSeen)
	}
}
