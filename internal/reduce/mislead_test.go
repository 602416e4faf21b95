package reduce

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// The linear spring of TestWexlerRecord: 16.70 kN after 28 ms of 56 ms, in records that do not show it. mend spoils the samples, which begin
// 0.3 s before taut at 5 kHz; the noise before it has a standard deviation of 3 N.
func TestNoPeakIsAValueThatTheRecordDoesNotShow(t *testing.T) {
	const rate, taut = 5000.0, 0.3
	at := func(t float64) int { return int((taut + t) * rate) }
	noise := func(x []float64, sd float64) {
		r := rand.New(rand.NewPCG(7, 7))
		for i := range x {
			x[i] += sd * r.NormFloat64()
		}
	}
	above := func(x []float64, level float64, put func(i int, v float64)) {
		for i, v := range x {
			if v > level {
				put(i, v)
			}
		}
	}
	for _, c := range []struct {
		what   string
		spoil  func(*drop.Trace, []float64)
		bounds []Bound
		is     string
	}{
		{"overload words above 11.5 kN", func(tr *drop.Trace, x []float64) {
			above(x, 11500, func(i int, _ float64) {
				x[i] = math.NaN()
				tr.Channels[0].Mask = tr.Channels[0].Mask.With(drop.Stretch{From: i, To: i + 1, Is: drop.OutOfRange, Why: "says OVER"})
			})
		}, []Bound{Between}, "out of range"},
		{"NaN above 11.5 kN", func(_ *drop.Trace, x []float64) { above(x, 11500, func(i int, _ float64) { x[i] = math.NaN() }) }, []Bound{Between}, "lost"},
		{"1e29 GN where there is no number", func(_ *drop.Trace, x []float64) { above(x, 11500, func(i int, _ float64) { x[i] = 9.9e37 }) }, []Bound{Between}, "out of range"},
		{"a gap of 20 ms over the top", func(_ *drop.Trace, x []float64) {
			for i := at(0.02); i < at(0.04); i++ {
				x[i] = math.NaN()
			}
		}, []Bound{Between}, "lost"},
		{"three bridged samples at the top", func(tr *drop.Trace, x []float64) {
			i := at(0.028)
			tr.Channels[0].Mask = drop.Mask{{From: i - 1, To: i + 2, Is: drop.Bridged}}
		}, []Bound{Between, Value}, "bridged"},
		{"cut off at 12 kN in equal samples", func(_ *drop.Trace, x []float64) { above(x, 12000, func(i int, _ float64) { x[i] = 12000 }) }, []Bound{Between}, "saturated"},
		{"an amplifier at its end at 10 kN, with noise after it", func(_ *drop.Trace, x []float64) {
			r := rand.New(rand.NewPCG(3, 3))
			above(x, 10000, func(i int, _ float64) { x[i] = 10000 + 3*r.NormFloat64() })
		}, []Bound{Between}, "saturated"},
		{"the same at 95 % of the peak", func(_ *drop.Trace, x []float64) {
			r := rand.New(rand.NewPCG(3, 3))
			above(x, 15860, func(i int, _ float64) { x[i] = 15860 + 3*r.NormFloat64() })
		}, []Bound{Between}, "saturated"},
		{"a soft knee that takes 2.7 %", func(_ *drop.Trace, x []float64) {
			above(x, 15000, func(i int, v float64) { x[i] = v - 0.027*16698*sq((v-15000)/1698) })
		}, []Bound{Between}, "saturated"},
		{"an amplifier that rises by no more than 500 kN a second", func(_ *drop.Trace, x []float64) {
			for i := 1; i < len(x); i++ {
				x[i] = x[i-1] + math.Min(math.Max(x[i]-x[i-1], -100), 100)
			}
		}, []Bound{AtLeast}, "saturated"},
	} {
		t.Run(c.what, func(t *testing.T) {
			tr := traceOf(rate, taut, 1.6, wexler.force)
			noise(tr.Channels[0].Values, 3)
			c.spoil(tr, tr.Channels[0].Values)
			r, err := Reduce(tr, wexlerSettings())
			if err != nil {
				t.Fatal(err)
			}
			peak := wexler.peak()
			if r.PeakBound != c.bounds[0] && r.PeakBound != c.bounds[len(c.bounds)-1] {
				t.Fatalf("%q: %v ± %v", r.PeakBound, r.Peak, r.PeakExpanded)
			}
			if r.PeakBound == Value {
				near(t, "peak", r.Peak.SI(), peak, 0, 2*r.PeakExpanded.SI())
				return
			}
			if !r.PeakHidden || !r.LowerBound || r.Mask.Whole() || !strings.Contains(r.PeakReason, c.is) {
				t.Errorf("%v %v %+v %s", r.PeakHidden, r.LowerBound, r.Mask, r.PeakReason)
			}
			if r.Peak.SI()-r.PeakExpanded.SI() > peak {
				t.Errorf("at least %v, was %g", r.Peak, peak)
			}
			if r.PeakBound == Between && (r.PeakInterval[0].SI() > peak || r.PeakInterval[1].SI() < peak) {
				t.Errorf("%v to %v, was %g", r.PeakInterval[0], r.PeakInterval[1], peak)
			}
			for _, m := range r.Measures {
				want := map[string]float64{"impulse": 80 * (2*wexler.v0() + 9.80665*wexler.contact()), "rebound speed": wexler.v0(), "impact speed": wexler.v0()}[m.Name]
				switch {
				case m.Name == "impact speed" && m.Bound != Value, m.Name == "impulse" && m.Bound == Value:
					t.Errorf("%s is known as %q", m.Name, m.Bound)
				case want != 0 && m.Bound == Between && (m.Interval[0] > want || m.Interval[1] < want):
					t.Errorf("%s %v, was %g", m.Name, *m.Interval, want)
				case m.Bound != Value && m.Reason == "":
					t.Errorf("%s is a bound without a reason", m.Name)
				}
			}
		})
	}
}

// A fast arrest at a low rate is no spike, and what lies between its samples is not known: a half-sine of 22 ms at 200 Hz and one of 7 ms at
// 600 Hz, of the momentum that 100 kg and 10 kg have after 0.9 m, at every phase of the samples.
func TestAFastArrestIsNoSpike(t *testing.T) {
	for _, c := range []struct{ mass, long, rate float64 }{{100, 22e-3, 200}, {10, 7e-3, 600}} {
		v0 := math.Sqrt(2 * 9.80665 * 0.9)
		peak := 1.7 * c.mass * v0 * math.Pi / (2 * c.long)
		for phase := range 10 {
			tr := traceOf(c.rate, 0.5+float64(phase)/10/c.rate, 2, func(t float64) float64 {
				if t > 0 && t < c.long {
					return peak * math.Sin(math.Pi*t/c.long)
				}
				return 0
			})
			set := Settings{Mass: quantity.Mass(c.mass), Fall: 0.9, Filter: DefaultFilter, GainU: 0.005}
			r, err := Reduce(tr, set)
			if err != nil {
				t.Fatal(err)
			}
			largest := 0.0
			for _, v := range tr.Channels[0].Values {
				largest = math.Max(largest, v)
			}
			if r.PeakBound != AtLeast || r.Peak.SI() < 0.9*largest || r.Peak.SI() > peak || !strings.Contains(r.PeakReason, "samples of the arrest lie above half of it") {
				t.Errorf("%g kg, phase %d: %v (%s), largest sample %g, was %g: %s", c.mass, phase, r.Peak, r.PeakBound, largest, peak, r.PeakReason)
			}
		}
	}
}

// A single sample that stands out of a quiet record is a spike: what it takes of the momentum is nothing to the arrest that follows.
func TestASpikeBesideAnArrestIsBridged(t *testing.T) {
	tr := traceOf(5000, 0.3, 1.5, wexler.force)
	tr.Channels[0].Values[700] = 14000
	r, err := Reduce(tr, wexlerSettings())
	if err != nil {
		t.Fatal(err)
	}
	if len(r.Unmeasured) != 1 || r.Unmeasured[0].Stretch != (drop.Stretch{From: 700, To: 701, Is: drop.Bridged, Why: "a spike or dropout"}) || r.PeakBound != Value {
		t.Errorf("%+v %q", r.Unmeasured, r.PeakBound)
	}
	near(t, "peak", r.Peak.SI(), wexler.peak(), 3e-3, 0)
}

// What is before or after the drop is not taken for it: the record is refused with the instants, and the part that is named is reduced.
func TestTheRightArrest(t *testing.T) {
	pull := func(t, from, long, high float64) float64 {
		if t < from || t > from+long {
			return 0
		}
		s := math.Sin(math.Pi * (t - from) / long)
		return high * s * s
	}
	once := func(t float64) float64 {
		if t > wexler.contact() {
			return 0
		}
		return wexler.force(t)
	}
	for _, c := range []struct {
		what  string
		force func(t float64) float64
		from  float64
		says  []string
	}{
		{"a pull of 6.4 kN before the drop", func(t float64) float64 { return wexler.force(t) + pull(t, -1.6, 0.6, 6400) }, 1.7, []string{"a rebound cannot be harder", "16.7", "--from 1.7"}},
		{"a harder pull than the drop", func(t float64) float64 { return wexler.force(t) + pull(t, -1.6, 0.9, 20000) }, 1.7, []string{"times the momentum that the mass has, as a pull does", "20.0"}},
		{"the same drop twice", func(t float64) float64 { return wexler.force(t) + once(t+1.5) }, 1.7, []string{"longer than any rebound", "two drops in one record"}},
	} {
		t.Run(c.what, func(t *testing.T) {
			tr := traceOf(5000, 2, 3.5, c.force)
			_, err := Reduce(tr, wexlerSettings())
			if err == nil {
				t.Fatal("an arrest was taken for the drop's")
			}
			for _, part := range c.says {
				if !strings.Contains(err.Error(), part) {
					t.Errorf("%q is missing in: %v", part, err)
				}
			}
			s := wexlerSettings()
			s.Hand = &EventsByHand{From: seconds(c.from)}
			r, err := Reduce(tr, s)
			if err != nil {
				t.Fatal(err)
			}
			near(t, "peak", r.Peak.SI(), wexler.peak(), 3e-3, 0)
			near(t, "taut", r.Taut.SI(), 2, 0, 1e-3)
			if r.PeakBound != Value || !strings.Contains(strings.Join(r.Warnings, "\n"), "only the part of the record from 1.7000 s") {
				t.Errorf("%q %v", r.PeakBound, r.Warnings)
			}
		})
	}
}
