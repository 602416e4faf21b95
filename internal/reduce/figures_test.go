package reduce

import (
	"math"
	"slices"
	"testing"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/num/dsp"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// whole is a record of 1000 samples at 1 kHz that count themselves, taut at 0.3 s, with three samples of motion from 300 on and its peak at 0.3015 s.
func whole(kind string) *WholeReduction {
	w := &WholeReduction{Rate: 1000, EndKind: kind, First: 300, Moved: []float64{0.1, 0.2, 0.3}, taut: 0.2999, peak: 0.3015, end: 0.3021}
	for i := range 1000 {
		w.Force, w.Filtered = append(w.Force, float64(i)), append(w.Filtered, -float64(i))
	}
	return w
}

// From 50 ms before taut to 100 ms after the end, of the filtered record; after a break 4 ms at the most, of the record itself.
func TestCurvesOfAReduction(t *testing.T) {
	c := whole("slack").Curves(0.05, 0.1)
	if c.Force[0] != -249 || c.Force[len(c.Force)-1] != -402 {
		t.Errorf("from %g to %g", c.Force[0], c.Force[len(c.Force)-1])
	}
	near(t, "start", c.Start.SI(), 0.249-0.2999, 1e-9, 0)
	near(t, "end", c.End.SI(), 0.0022, 1e-9, 0)
	if !slices.Equal(c.LoopForce, []float64{0, -300, -301, -302}) || !slices.Equal(c.Elongation, []float64{0, 0.1, 0.2, 0.3}) || c.PeakAt != 0.2 {
		t.Errorf("%v %v %v", c.LoopForce, c.Elongation, c.PeakAt)
	}
	c = whole("break").Curves(0.05, 0.1)
	if c.Force[0] != 249 || c.Force[len(c.Force)-1] != 306 || c.LoopForce[1] != 300 {
		t.Errorf("from %g to %g", c.Force[0], c.Force[len(c.Force)-1])
	}
	if c := whole("break").Curves(0.05, 0.002); c.Force[len(c.Force)-1] != 304 {
		t.Errorf("to %g", c.Force[len(c.Force)-1])
	}
	c = whole("end of record").Curves(1, 9)
	if len(c.Force) != 1000 || !math.IsNaN(c.End.SI()) || c.Start != -0.2999 {
		t.Errorf("%d %v %v", len(c.Force), c.End, c.Start)
	}
	w := whole("slack")
	w.peak = 0.302 // the sample at the peak belongs to it
	if c := w.Curves(0.05, 0.1); c.PeakAt != 0.3 {
		t.Errorf("%v", c.PeakAt)
	}
}

// One sample at 1 kHz of a quiet record, beside a slow hump of so many N s. A quarter of the momentum of 80 kg at 2 m/s, 160 N s, are 40 N s.
func TestSpikeOrArrest(t *testing.T) {
	one := func(high, hump, up float64) int {
		x := make([]float64, 1000)
		for i := range x {
			x[i] = 7
		}
		x[100] += up * high
		for i := 300; i < 500; i++ {
			x[i] += up * hump * math.Pi / 2 / 0.2 * math.Sin(math.Pi*(float64(i-300)+0.5)/200)
		}
		w := bare()
		return len(w.spikes(x, dsp.FindExtremes(x)))
	}
	for _, up := range []float64{1, -1} {
		// One sample of 40 kN takes 40 N s: below it a spike, above it an arrest.
		if one(39.9e3, 0, up) != 1 || one(40.1e3, 0, up) != 0 {
			t.Errorf("a quarter of the momentum, %g: %d %d", up, one(39.9e3, 0, up), one(40.1e3, 0, up))
		}
		// Beside 0.6 of the momentum, 96 N s above a tenth of the largest force (less 2 % of a half-sine), it is a spike whatever it takes.
		if one(50e3, 95, up) != 0 || one(50e3, 99, up) != 1 {
			t.Errorf("six tenths elsewhere, %g: %d %d", up, one(50e3, 95, up), one(50e3, 99, up))
		}
	}
}

// Three samples of 10 N and, after a passage through zero, five: 0.05 N s are the most, less what was taken for a spike.
func TestMomentumElsewhere(t *testing.T) {
	x := make([]float64, 100)
	for i := 20; i < 23; i++ {
		x[i] = 10
	}
	for i := 50; i < 55; i++ {
		x[i] = 10
	}
	for i := 70; i < 90; i++ {
		x[i] = 0.99 // below a tenth of the largest
	}
	w := bare()
	near(t, "the longer", w.momentumElsewhere(x, nil, 0, 1), 0.05, 1e-12, 0)
	near(t, "without it", w.momentumElsewhere(x, []dsp.Glitch{{From: 50, To: 55}}, 0, 1), 0.03, 1e-12, 0)
	near(t, "without a part of it", w.momentumElsewhere(x, []dsp.Glitch{{From: 20, To: 23}, {From: 51, To: 52}}, 0, 1), 0.03, 1e-12, 0)
	for i := range x {
		x[i] = 5 - x[i]
	}
	near(t, "downward from 5 N", w.momentumElsewhere(x, nil, 5, -1), 0.05, 1e-12, 0)
}

// A unit that cannot be read has no scale, not even beside a calibration; one reading that fits no line leaves a force as it is.
func TestScaleWithoutACalibration(t *testing.T) {
	bad := drop.CalibrationData{Input: "mV/V", Readings: []drop.Reading{{Applied: 0, Shown: 0}}}
	if _, _, ok := Scale(bad, "mV/V"); ok {
		t.Error("one reading is no calibration")
	}
	force, number, ok := Scale(bad, "kN")
	if !ok || force(2) != 2000 || number(3000) != 3 {
		t.Error("a force needs none")
	}
	if _, _, ok := Scale(drop.CalibrationData{}, "counts"); ok {
		t.Error("counts without a calibration are no force")
	}
	if _, _, ok := Scale(drop.CalibrationData{}, "1"); ok {
		t.Error("a bare number is no force")
	}
	if _, _, ok := Scale(drop.CalibrationData{}, ""); ok {
		t.Error("nothing is no force")
	}
}

// Missing where the force goes back: by more than half of the peak of 1000 N from the sample before to the one after, behind the peak.
func TestEndUnseen(t *testing.T) {
	at := func(is drop.Evidence, from, to int, left, right float64) bool {
		w := bare()
		w.wholeN = make([]float64, 300)
		w.ev.peakAt, w.peak.value = 150, 1000
		w.wholeN[max(from-1, 0)], w.wholeN[min(to, 299)] = left, right
		w.unseen = []unseen{{Stretch: drop.Stretch{From: from, To: to, Is: is}}}
		return w.endUnseen()
	}
	for _, c := range []struct {
		what        string
		is          drop.Evidence
		from, to    int
		left, right float64
		want        bool
	}{
		{"lost on the way down", drop.Lost, 160, 170, 901, 400, true},
		{"by half", drop.Lost, 160, 170, 900, 400, false},
		{"out of range", drop.OutOfRange, 160, 170, 901, 400, true},
		{"bridged", drop.Bridged, 160, 170, 901, 400, false},
		{"saturated", drop.Saturated, 160, 170, 901, 400, false},
		{"over the peak", drop.Lost, 140, 151, 901, 400, true},
		{"up to the peak", drop.Lost, 140, 150, 901, 400, false},
		{"on the way up", drop.Lost, 160, 170, 400, 901, false},
		{"to the end of the record", drop.Lost, 160, 300, 901, 0, true},
		{"from its beginning", drop.Lost, 0, 151, 901, 400, true},
	} {
		if got := at(c.is, c.from, c.to, c.left, c.right); got != c.want {
			t.Errorf("%s: %v", c.what, got)
		}
	}
}

// A later arrest that stays at 5 % of its peak for 100 samples and then rises in ten has loaded in nine, 10 % to the top: a fall from 90 % to 10 % in
// eight is no collapse, one in a single sample is.
func TestCollapseAfterASlowStart(t *testing.T) {
	for fall, want := range map[int]int{10: 0, 1: 2} {
		w := bare()
		w.wholeN = make([]float64, 600)
		for i := 200; i < 300; i++ {
			w.wholeN[i] = 50
		}
		for i := range 10 {
			w.wholeN[300+i] = 100 * float64(i+1)
		}
		for i := range fall {
			w.wholeN[310+i] = 1000 * (1 - float64(i+1)/float64(fall))
		}
		w.ev = events{end: 0.1, endKind: "slack", later: []arrest{{from: 200, to: 330}}}
		w.tail.empty = true
		if got := w.lateCollapse(); got != want {
			t.Errorf("a fall in %d: %d", fall, got)
		}
	}
}

// The motion has a value for each sample of the arrest: 0.6 m of fall, 3.43 m/s at the first of them, of which the next 0.1 ms take next to nothing.
func TestMotionOfAWholeRecord(t *testing.T) {
	w, err := ReduceWhole(traceOf(10000, 0.4, 1.5, wexler.force), wexlerSettings())
	if err != nil {
		t.Fatal(err)
	}
	if n := int(wexler.contact() * 1e4); len(w.Moved) != len(w.Speed) || len(w.Moved) < n || len(w.Moved) > n+3 {
		t.Errorf("%d and %d values over %d samples", len(w.Moved), len(w.Speed), n)
	}
	near(t, "first speed", w.Speed[0], wexler.v0(), 1e-3, 0)
	near(t, "second way", w.Moved[1]-w.Moved[0], wexler.v0()*1e-4, 1e-2, 0)
}

// A fall that is uncertain by 0.02 of 0.2 m makes the speed uncertain by half as much; by more than itself no fall is.
func TestSpeedKnownFromTheFall(t *testing.T) {
	w := bare()
	for u, want := range map[float64]float64{0.02: 0.05, 1: 0.5, 0: 1e-3} {
		w.set.FallU = quantity.Length(u)
		_, known := w.known()
		near(t, "speed", known[uSpeed], want, 1e-12, 0)
	}
}
