package reduce

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/hardcatch/hardcatch/internal/quantity"
)

// The spring of TestWexlerRecord parts at 14 kN, a node and a sample rate apart from what an amplifier makes of it: what would have been seen after the
// break, and what the amplifier shows, are known in closed form. Noise of 3 N.
func TestWhatABreakHides(t *testing.T) {
	const rate, taut, strength = 5000.0, 0.3, 14000.0
	parts := 0.0
	for wexler.force(parts) < strength {
		parts += 1e-6
	}
	record := func(chain func(i int, force float64) float64) *Reduction {
		tr := traceOf(rate, taut, 3, func(at float64) float64 {
			if at > parts {
				return math.Max(0, strength*(1-(at-parts)/1e-3))
			}
			return wexler.force(at)
		})
		r := rand.New(rand.NewPCG(5, 5))
		for i, v := range tr.Channels[0].Values {
			tr.Channels[0].Values[i] = chain(i, v) + 3*r.NormFloat64()
		}
		red, err := Reduce(tr, wexlerSettings())
		if err != nil {
			t.Fatal(err)
		}
		if red.ArrestEnd != "break" {
			t.Fatalf("it ends by %s", red.ArrestEnd)
		}
		return red
	}
	if r := record(func(_ int, v float64) float64 { return v }); r.PeakBound != Value || math.Abs(r.Peak.SI()-strength) > 2*r.PeakExpanded.SI() {
		t.Errorf("a good record: %v ± %v (%s: %s)", r.Peak, r.PeakExpanded, r.PeakBound, r.PeakReason)
	}
	last := 0.0
	for what, chain := range map[string]func(i int, v float64) float64{
		"a soft knee that ends at 13 kN": func(_ int, v float64) float64 {
			if v < 12000 {
				return v
			}
			return 12000 + 1000*math.Tanh((v-12000)/1000)
		},
		"a soft knee that ends at 8 kN": func(_ int, v float64) float64 {
			if v < 7000 {
				return v
			}
			return 7000 + 1000*math.Tanh((v-7000)/1000)
		},
		"cut off at 12 kN": func(_ int, v float64) float64 { return math.Min(v, 12000) },
		"no more than 400 kN a second": func(i int, v float64) float64 {
			if i == 0 {
				last = 0
			}
			last += math.Max(-80, math.Min(80, v-last))
			return last
		},
	} {
		t.Run(what, func(t *testing.T) {
			r := record(chain)
			if r.PeakBound != AtLeast || !r.LowerBound || !strings.Contains(r.PeakReason, "saturated") {
				t.Errorf("%v ± %v is known as %q: %s", r.Peak, r.PeakExpanded, r.PeakBound, r.PeakReason)
			}
			if r.Peak.SI() > strength {
				t.Errorf("at least %v, was %g", r.Peak, strength)
			}
			for _, m := range r.Measures {
				if m.Bound == Value && (m.Name == "impulse" || m.Name == "energy absorbed" || m.Name == "largest elongation") {
					t.Errorf("%s is a value: %s", m.Name, m.Text())
				}
			}
		})
	}
}

// A peak before a break within 15 % of the load cell's capacity is doubted in words; one below is not.
func TestABreakNearTheCapacity(t *testing.T) {
	for capacity, warned := range map[float64]bool{1000/0.85 - 1: true, 1000/0.85 + 1: false, 0: false} {
		w := budgetWork()
		w.ev.endKind = "break"
		w.set.Capacity = quantity.Force(capacity)
		w.sayNearCapacity()
		if got := strings.Contains(strings.Join(w.Warnings, "\n"), "of the load cell's capacity"); got != warned {
			t.Errorf("%g N: %v", capacity, w.Warnings)
		}
	}
}

// Two rises of four points each: y = 2 x, and y = 1 + x/2; their slope, and what they come to at 10.
func TestLineThrough(t *testing.T) {
	x := []float64{1, 2, 3, 4}
	for _, c := range []struct {
		y         []float64
		slope, at float64
	}{{[]float64{2, 4, 6, 8}, 2, 20}, {[]float64{1.5, 2, 2.5, 3}, 0.5, 6}} {
		l := lineThrough(x, c.y)
		near(t, "slope", l.slope, c.slope, 1e-12, 0)
		near(t, "at 10", l.at(10), c.at, 1e-12, 0)
		near(t, "spread", l.spread, 5, 1e-12, 0) // 2.25 + 0.25 + 0.25 + 2.25
	}
}
