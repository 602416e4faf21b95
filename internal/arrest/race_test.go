package arrest

import (
	"math"
	"testing"

	"github.com/hardcatch/hardcatch/internal/quantity"
)

type raceDrop struct {
	c    Case
	want [5]float64 // peak, its time, second peak, its time, position at the end
}

// raceDrops: forty-digit Taylor reference, recomputed elsewhere.
func raceDrops() []raceDrop {
	drop := func(e1, e3, em, tau float64) Case {
		return Case{Mass: 80, Fall: 1.2, Until: 1.5, Chain: []Element{spring(2e6), textile(1, e1, 0, e3, Branch{E: quantity.Force(em), Tau: quantity.Duration(tau)})}}
	}
	return []raceDrop{
		{drop(32e3, 800e3, 40e3, 0.08), [5]float64{13261.1475181, 50.3645917602e-3, 9896.90044487, 937.451707045e-3, -0.204227614967}},
		{drop(205e3, 8200e3, 70e3, 0.02), [5]float64{22821.3576014, 27.7170179081e-3, 19711.1076824, 957.879775732e-3, -0.629637442839}},
	}
}

func (d *raceDrop) error(s *Summary) float64 {
	worst := 0.0
	for i, v := range []float64{s.PeakForce.SI(), s.PeakTime.SI(), s.Second.Force.SI(), s.Second.T.SI()} {
		worst = max(worst, math.Abs(v/d.want[i]-1))
	}
	return worst
}

func TestRaceByTheShortWay(t *testing.T) {
	var e Engine
	for _, d := range raceDrops() {
		var s Summary
		if err := e.Drop(&d.c, &s); err != nil {
			t.Fatal(err)
		}
		if r := d.error(&s); !(r < 1e-6) {
			t.Errorf("relative error %.3g: %+v", r, s)
		}
		within(t, "position at the end", s.End.Position.SI(), d.want[4], 2e-6, 0)
	}
}

func BenchmarkRace(b *testing.B) {
	var e Engine
	drops := raceDrops()
	var s Summary
	worst, steps := 0.0, 0
	for i := range drops {
		if err := e.Drop(&drops[i].c, &s); err != nil {
			b.Fatal(err)
		}
		worst = max(worst, drops[i].error(&s))
		steps += s.Steps
	}
	b.ReportAllocs()
	n := 0
	for b.Loop() {
		for i := range drops {
			if err := e.Drop(&drops[i].c, &s); err != nil {
				b.Fatal(err)
			}
		}
		n += len(drops)
	}
	b.ReportMetric(float64(n)/b.Elapsed().Seconds(), "drops/s")
	b.ReportMetric(worst, "relerr")
	b.ReportMetric(float64(steps)/float64(len(drops)), "steps")
}

func BenchmarkRaceEnsemble(b *testing.B) {
	var e Engine
	drops := raceDrops()
	cases, out := make([]Case, 1024), make([]Summary, 1024)
	for i := range cases {
		cases[i] = drops[i%len(drops)].c
	}
	if err := e.Batch(cases, out); err != nil {
		b.Fatal(err)
	}
	worst, steps := 0.0, 0
	for i := range out {
		worst = max(worst, drops[i%len(drops)].error(&out[i]))
		steps += out[i].Steps
	}
	timeBatch(b, &e, cases, out, worst, steps)
}

// timeBatch runs a batch over and over, and reports its speed beside the largest relative error and the steps of all.
func timeBatch(b *testing.B, e *Engine, cases []Case, out []Summary, worst float64, steps int) {
	b.Helper()
	b.ReportAllocs()
	n := 0
	for b.Loop() {
		if err := e.Batch(cases, out); err != nil {
			b.Fatal(err)
		}
		n += len(cases)
	}
	b.ReportMetric(float64(n)/b.Elapsed().Seconds(), "drops/s")
	b.ReportMetric(worst, "relerr")
	b.ReportMetric(float64(steps)/float64(len(out)), "steps")
}
