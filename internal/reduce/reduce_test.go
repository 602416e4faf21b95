package reduce

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"reflect"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/num/dsp"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

const g = 9.80665

// spring is a rigid mass on a massless linear spring under a rigid anchor: x = xs (1 - cos wt) + v0/w sin wt while
// taut, free flight between. Closed form: Wexler, Am. Alpine J. 1950, F = W + sqrt(W^2 + 2 W h k).
type spring struct{ m, h, k float64 }

func (s spring) contact() float64 {
	w := math.Sqrt(s.k / s.m)
	v0 := math.Sqrt(2 * g * s.h)
	return 2 * (math.Pi - math.Atan(v0*w/g)) / w
}

func (s spring) v0() float64 { return math.Sqrt(2 * g * s.h) }

func (s spring) peak() float64 { return s.m*g + math.Sqrt(s.m*g*s.m*g+2*s.m*g*s.h*s.k) }

func (s spring) force(t float64) float64 {
	w := math.Sqrt(s.k / s.m)
	v0 := math.Sqrt(2 * g * s.h)
	period := s.contact() + 2*v0/g
	if t < 0 {
		return 0
	}
	t = math.Mod(t, period)
	if t > s.contact() {
		return 0
	}
	return math.Max(0, s.m*g*(1-math.Cos(w*t))+s.k*v0/w*math.Sin(w*t))
}

func traceOf(rate, taut, end float64, f func(t float64) float64) *drop.Trace {
	n := int(end * rate)
	v := make([]float64, n)
	for i := range v {
		v[i] = f(float64(i)/rate - taut)
	}
	return &drop.Trace{Name: "made.csv", Rate: quantity.Frequency(rate), Channels: []drop.Channel{{Name: "force", Unit: "N", Dim: quantity.DimForce, Factor: 1, Values: v}}}
}

func near(t testing.TB, what string, got, want, rel, floor float64) {
	t.Helper()
	if !(math.Abs(got-want) <= rel*math.Abs(want)+floor) {
		t.Errorf("%s: got %.9g, want %.9g (%.3g relative)", what, got, want, (got-want)/want)
	}
}

var wexler = spring{m: 80, h: 0.6, k: 161e3 / 0.6}

func wexlerSettings() Settings {
	return Settings{Mass: 80, Fall: 0.6, Filter: DefaultFilter, GainU: 0.005, MassU: 0.05, FallU: 0.005, RigFrequency: 400}
}

func findCheck(r *Reduction, name string) Check {
	for _, c := range r.Audit {
		if c.Name == name {
			return c
		}
	}
	return Check{}
}

// F = 16697.885 N at 27.97396 ms, contact twice that, rebound at v0 = 3.430449 m/s, no loss.
func TestWexlerRecord(t *testing.T) {
	r, err := Reduce(traceOf(10000, 0.4, 1.5, wexler.force), wexlerSettings())
	if err != nil {
		t.Fatal(err)
	}
	near(t, "closed form", wexler.peak(), 16697.885, 1e-7, 0)
	near(t, "raw peak", r.PeakRaw.SI(), 16697.885, 2e-5, 0)
	near(t, "peak", r.Peak.SI(), 16697.885, 1e-3, 0)
	near(t, "time to peak", r.TimeToPeak.SI(), 0.02797396, 0, 1.5e-4)
	near(t, "taut", r.Taut.SI(), 0.4, 0, 5e-5)
	near(t, "duration", r.ArrestDuration.SI(), 2*0.02797396, 0, 1e-4)
	near(t, "rebound", r.ReboundSpeed.SI(), 3.430449, 2e-3, 0)
	near(t, "impulse", r.Impulse.SI(), 80*(2*3.430449+g*2*0.02797396), 1e-3, 0)
	near(t, "elongation", r.MaxElongation.SI(), 16697.885/wexler.k, 2e-3, 0)
	near(t, "energy", r.EnergyAbsorbed.SI(), 80*g*(0.6+16697.885/wexler.k), 1e-3, 0)
	near(t, "loss", r.LossFactor.SI(), 0, 0, 5e-3)
	near(t, "secant stiffness", r.SecantStiffness.SI(), wexler.k, 2e-3, 0)
	near(t, "tangent stiffness", r.TangentStiff.SI(), wexler.k, 5e-3, 0)
	near(t, "impact speed", r.ImpactSpeed.SI(), 3.430449, 1e-6, 0)
	if r.Outcome != Proposal(drop.Held) || len(r.LaterArrests) != 1 || r.Tail != nil {
		t.Errorf("outcome %s, %d later arrests, tail %v", r.Outcome, len(r.LaterArrests), r.Tail)
	}
	if math.Abs(r.Peak.SI()-16697.885) > r.PeakExpanded.SI() {
		t.Errorf("the interval %s does not hold the true peak", quantity.WithU(r.Peak, r.PeakExpanded))
	}
	for _, c := range r.Audit {
		if c.Verdict == Disagrees || c.Verdict == Doubtful {
			t.Errorf("%s: %s (%s)", c.Name, c.Verdict, c.Meaning)
		}
	}
	if c := findCheck(r, CheckTail); c.Verdict != NotPossible || c.Found != nil {
		t.Errorf("a mass that bounces for ever has no tail: %+v", c)
	}
}

func TestWrongInputsAreFound(t *testing.T) {
	tr := traceOf(10000, 0.4, 1.5, wexler.force)
	for _, c := range []struct {
		what  string
		alter func(*Settings)
		fails string
	}{
		{"a fall height of 0.9 m instead of 0.6 m", func(s *Settings) { s.Fall = 0.9 }, CheckFlight},
		{"a fall height of 0.4 m instead of 0.6 m", func(s *Settings) { s.Fall = 0.4 }, CheckEnergy},
		{"a mass of 100 kg instead of 80 kg", func(s *Settings) { s.Mass = 100 }, CheckFlight},
		{"a mass of 65 kg instead of 80 kg", func(s *Settings) { s.Mass = 65 }, CheckEnergy},
	} {
		s := wexlerSettings()
		c.alter(&s)
		r, err := Reduce(tr, s)
		if err != nil {
			t.Fatal(err)
		}
		if got := findCheck(r, c.fails); got.Verdict != Disagrees || r.AuditVerdict != Disagrees {
			t.Errorf("%s: %s says %s (%s)", c.what, c.fails, got.Verdict, got.Meaning)
		}
	}
}

// A break at 9 kN on the way up: v^2 = v0^2 + 2 g x - k x^2/m just then, and no tail.
func TestBrokenRecord(t *testing.T) {
	const breakAt = 9000.0
	broken := false
	f := func(t float64) float64 {
		if t < 0 {
			broken = false
		}
		v := wexler.force(t)
		broken = broken || v >= breakAt
		if broken {
			return 0
		}
		return v
	}
	r, err := Reduce(traceOf(10000, 0.4, 1.5, f), wexlerSettings())
	if err != nil {
		t.Fatal(err)
	}
	near(t, "peak", r.Peak.SI(), breakAt, 0.01, 0)
	if r.Outcome != Proposal(drop.Broke) || !r.LowerBound || r.ArrestEnd != "break" {
		t.Errorf("outcome %s, lower bound %v, end %s: %v", r.Outcome, r.LowerBound, r.ArrestEnd, r.Evidence)
	}
	x := breakAt / wexler.k
	near(t, "elongation at the break", r.MaxElongation.SI(), x, 0.015, 0)
	near(t, "energy to the break", r.EnergyAbsorbed.SI(), breakAt*x/2, 0.03, 0)
	if r.PeakFiltered >= r.Peak || r.ReboundSpeed != nil || r.LossFactor != nil {
		t.Errorf("filtered %s, rebound %v, loss %v", r.PeakFiltered, r.ReboundSpeed, r.LossFactor)
	}
	for _, name := range []string{CheckTail, CheckImpulse, CheckFlight} {
		if c := findCheck(r, name); c.Verdict != NotPossible {
			t.Errorf("%s: %s", name, c.Verdict)
		}
	}
}

// Shifting a record by whole samples shifts the times and nothing else.
func TestShiftInTime(t *testing.T) {
	a, err := Reduce(traceOf(5000, 0.3, 1.5, wexler.force), wexlerSettings())
	if err != nil {
		t.Fatal(err)
	}
	b, err := Reduce(traceOf(5000, 0.5, 1.7, wexler.force), wexlerSettings())
	if err != nil {
		t.Fatal(err)
	}
	near(t, "peak", b.Peak.SI(), a.Peak.SI(), 1e-9, 0)
	near(t, "peak time", b.PeakTime.SI()-a.PeakTime.SI(), 0.2, 1e-9, 0)
	near(t, "taut", b.Taut.SI()-a.Taut.SI(), 0.2, 1e-6, 0)
	near(t, "impulse", b.Impulse.SI(), a.Impulse.SI(), 1e-6, 0)
}

// Scaling force and mass together scales peak and impulse, and leaves motion, times and verdicts; an
// offset of the load cell changes only the zero.
func TestScaleAndOffset(t *testing.T) {
	base, err := Reduce(traceOf(5000, 0.3, 1.5, wexler.force), wexlerSettings())
	if err != nil {
		t.Fatal(err)
	}
	rapid.Check(t, func(rt *rapid.T) {
		scale := rapid.Float64Range(0.2, 5).Draw(rt, "scale")
		offset := rapid.Float64Range(-500, 500).Draw(rt, "offset")
		s := wexlerSettings()
		s.Mass = quantity.Mass(80 * scale)
		s.MassU = quantity.Mass(0.05 * scale)
		tr := traceOf(5000, 0.3, 1.5, func(t float64) float64 { return scale*wexler.force(t) + offset })
		r, err := Reduce(tr, s)
		if err != nil {
			rt.Fatal(err)
		}
		for _, c := range [][2]float64{
			{r.Peak.SI(), scale * base.Peak.SI()}, {r.Impulse.SI(), scale * base.Impulse.SI()},
			{r.MaxElongation.SI(), base.MaxElongation.SI()}, {r.ReboundSpeed.SI(), base.ReboundSpeed.SI()},
			{r.EnergyAbsorbed.SI(), scale * base.EnergyAbsorbed.SI()}, {r.ArrestDuration.SI(), base.ArrestDuration.SI()},
		} {
			if math.Abs(c[0]-c[1]) > 1e-6*math.Abs(c[1]) {
				rt.Fatalf("scale %g offset %g: got %.9g, want %.9g", scale, offset, c[0], c[1])
			}
		}
		if math.Abs(r.Zero.SI()-offset) > 1e-6 {
			rt.Fatalf("zero %v, want %v", r.Zero, offset)
		}
	})
}

// From 10 kHz to 1 kHz a pulse of 56 ms keeps its peak within the sampling loss of a half-sine,
// 1 - cos(pi dt/(2T)) = 0.04 %, and its impulse within 0.2 %.
func TestResampleTo1kHz(t *testing.T) {
	tr := traceOf(10000, 0.4, 1.5, wexler.force)
	s := wexlerSettings()
	a, err := Reduce(tr, s)
	if err != nil {
		t.Fatal(err)
	}
	slow := *tr
	slow.Rate = 1000
	slow.Channels = []drop.Channel{tr.Channels[0]}
	slow.Channels[0].Values = dsp.Decimate(tr.Channels[0].Values, 10)
	b, err := Reduce(&slow, s)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "peak", b.Peak.SI(), a.Peak.SI(), 5e-4, 0)
	near(t, "impulse", b.Impulse.SI(), a.Impulse.SI(), 2e-3, 0)
	// The low-pass before thinning out smears the moment of taut by about 1/(2 pi 400 Hz) = 0.4 ms, in
	// which the mass falls 1.4 mm.
	near(t, "elongation", b.MaxElongation.SI(), a.MaxElongation.SI(), 0, 0.4e-3*3.43*1.2)
	if !(b.PeakU > a.PeakU*0.9) {
		t.Errorf("the slower record claims less uncertainty: %s against %s", b.PeakU, a.PeakU)
	}
}

// With noise the interval must hold the true peak about as often as it says.
func TestCoverageWithNoise(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 11))
	inside, n := 0, 60
	for range n {
		gain := 1 + 0.005*rng.NormFloat64()
		tr := traceOf(5000, 0.3, 1.3, func(t float64) float64 { return gain*wexler.force(t) + 25*rng.NormFloat64() + 40 })
		r, err := Reduce(tr, wexlerSettings())
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(r.Peak.SI()-wexler.peak()) <= r.PeakExpanded.SI() {
			inside++
		}
		if r.AuditVerdict == Disagrees {
			t.Errorf("a sound record fails its audit: %+v", r.Audit)
		}
	}
	// 95 % of 60 is 57; fewer than 51 has a probability below 1e-3.
	if inside < 51 {
		t.Errorf("the true peak lies inside %d of %d intervals", inside, n)
	}
}

func TestTroubledRecords(t *testing.T) {
	base := func() *drop.Trace { return traceOf(5000, 0.3, 1.5, wexler.force) }
	contains := func(r *Reduction, part string) bool {
		return strings.Contains(strings.Join(r.Warnings, "\n"), part)
	}
	t.Run("clipped", func(t *testing.T) {
		tr := base()
		for i, v := range tr.Channels[0].Values {
			tr.Channels[0].Values[i] = math.Min(v, 12000)
		}
		r, err := Reduce(tr, wexlerSettings())
		if err != nil || !contains(r, "the record is cut off from 0.31") || findCheck(r, CheckQuiet).Verdict != Disagrees {
			t.Errorf("%v %+v", err, r.Warnings)
		}
		if r.PeakBound != Between || !r.PeakHidden || !r.LowerBound || !r.Clipped || r.Mask.Saturated < 100 {
			t.Errorf("%s %v %+v", r.PeakBound, r.PeakHidden, r.Mask)
		}
		near(t, "at least", r.Peak.SI(), 12000, 1e-3, 0)
		if lo, hi := r.PeakInterval[0].SI(), r.PeakInterval[1].SI(); lo > wexler.peak() || hi < wexler.peak() || hi-lo > 0.1*wexler.peak() {
			t.Errorf("rebuilt as %g to %g, was %g", lo, hi, wexler.peak())
		}
	})
	t.Run("coarse digits are no clipping", func(t *testing.T) {
		tr := base()
		for i, v := range tr.Channels[0].Values {
			tr.Channels[0].Values[i] = math.Round(v/50) * 50
		}
		r, err := Reduce(tr, wexlerSettings())
		if err != nil || contains(r, "cut off") {
			t.Errorf("%v %+v", err, r.Warnings)
		}
	})
	t.Run("not numbers", func(t *testing.T) {
		tr := base()
		tr.Channels[0].Values[1510] = math.NaN()
		r, err := Reduce(tr, wexlerSettings())
		if err != nil || !contains(r, "1 samples of channel force are not numbers") {
			t.Errorf("%v %+v", err, r.Warnings)
		}
		near(t, "peak", r.Peak.SI(), wexler.peak(), 2e-3, 0)
		for i := range tr.Channels[0].Values {
			tr.Channels[0].Values[i] = math.NaN()
		}
		if _, err := Reduce(tr, wexlerSettings()); err == nil {
			t.Error("a record without a number was reduced")
		}
	})
	t.Run("no quiet stretch", func(t *testing.T) {
		r, err := Reduce(traceOf(5000, 0.001, 1.2, wexler.force), wexlerSettings())
		if err != nil || !contains(r, "no quiet stretch") || findCheck(r, CheckQuiet).Verdict != Disagrees {
			t.Errorf("%v %+v", err, r)
		}
	})
	t.Run("negative", func(t *testing.T) {
		tr := traceOf(5000, 0.3, 1.5, func(t float64) float64 { return -wexler.force(t) })
		r, err := Reduce(tr, wexlerSettings())
		if err != nil || !contains(r, "polarity") {
			t.Fatalf("%v %+v", err, r)
		}
		near(t, "peak", r.Peak.SI(), wexler.peak(), 2e-3, 0)
	})
	t.Run("cut before slack", func(t *testing.T) {
		r, err := Reduce(traceOf(5000, 0.3, 0.335, wexler.force), wexlerSettings())
		if err != nil || r.ArrestEnd != "end of record" || r.Tail != nil || r.Outcome != Undecided {
			t.Errorf("%v %+v", err, r)
		}
	})
	t.Run("nothing happened", func(t *testing.T) {
		rng := rand.New(rand.NewPCG(1, 1))
		if r, err := Reduce(traceOf(5000, 9, 1, func(float64) float64 { return rng.NormFloat64() }), wexlerSettings()); err == nil || !strings.Contains(err.Error(), "no arrest") {
			t.Errorf("%v %+v", err, r)
		}
		if _, err := Reduce(traceOf(5000, 9, 1, func(float64) float64 { return 0 }), wexlerSettings()); err == nil {
			t.Error("a record of zeros was reduced")
		}
	})
	t.Run("too short", func(t *testing.T) {
		for _, n := range []float64{0, 1, 7} {
			if _, err := Reduce(traceOf(1, 0, n, wexler.force), wexlerSettings()); err == nil {
				t.Errorf("%g samples were reduced", n)
			}
		}
	})
	t.Run("rate too low for the filter", func(t *testing.T) {
		s := wexlerSettings()
		s.Filter = Filter{Class: 1000, Factor: "sae"}
		r, err := Reduce(base(), s)
		if err != nil || !contains(r, "was not applied") {
			t.Errorf("%v %+v", err, r)
		}
	})
}

func TestCalibrationTurnsCountsIntoForce(t *testing.T) {
	tr := traceOf(5000, 0.3, 1.5, func(t float64) float64 { return math.Round(1000 + 40*wexler.force(t)) })
	tr.Channels[0].Dim, tr.Channels[0].Kind, tr.Channels[0].Unit = quantity.DimRatio, "counts", "counts"
	s := wexlerSettings()
	s.Calibration = drop.CalibrationData{Certificate: "X1", Input: "counts", Date: "2026-01-05", Expires: "2027-01-05", ReferenceU: 0.001}
	for i := range 11 {
		f := float64(i) * 2000
		s.Calibration.Readings = append(s.Calibration.Readings, drop.Reading{Applied: quantity.Force(f), Shown: 1000 + 40*f + float64(3*(i%3-1))})
	}
	s.Taken = "2026-06-01"
	r, err := Reduce(tr, s)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "peak", r.Peak.SI(), wexler.peak(), 1e-3, 0)
	if r.PeakBudget[0].Label != "calibration curve and scatter" || r.PeakBudget[0].DoF != 9 {
		t.Errorf("%+v", r.PeakBudget[0])
	}
	s.Taken = "2027-02-01"
	r, err = Reduce(tr, s)
	if err != nil || !strings.Contains(strings.Join(r.Warnings, "\n"), "expired on 2027-01-05, 27 days before the drop") {
		t.Errorf("%v %v", err, r.Warnings)
	}
	s.Calibration.Readings = s.Calibration.Readings[:8]
	r, err = Reduce(tr, s)
	if err != nil || !strings.Contains(strings.Join(r.Warnings, "\n"), "outside the calibrated range 0 N to 14.00 kN") {
		t.Errorf("%v %v", err, r.Warnings)
	}
	s.Calibration.Readings = nil
	if _, err := Reduce(tr, s); err == nil || !strings.Contains(err.Error(), "no channel is a force") {
		t.Errorf("counts without a calibration: %v", err)
	}
}

func TestSameBits(t *testing.T) {
	tr := traceOf(5000, 0.3, 1.5, wexler.force)
	before := append([]float64(nil), tr.Channels[0].Values...)
	a, err := Reduce(tr, wexlerSettings())
	if err != nil {
		t.Fatal(err)
	}
	if !reflect.DeepEqual(before, tr.Channels[0].Values) {
		t.Fatal("the trace was altered")
	}
	ja, err := json.Marshal(a)
	if err != nil {
		t.Fatal(err)
	}
	var set Settings
	js, _ := json.Marshal(a.Settings)
	if err := json.Unmarshal(js, &set); err != nil {
		t.Fatal(err)
	}
	b, err := Reduce(tr, set)
	if err != nil {
		t.Fatal(err)
	}
	jb, _ := json.Marshal(b)
	if string(ja) != string(jb) {
		t.Errorf("a repeat with the recorded settings differs:\n%s\n%s", ja, jb)
	}
}

func TestParseFilter(t *testing.T) {
	for text, want := range map[string]Filter{
		"cfc60": {Class: 60, Factor: "sae"}, "CFC 180-iso": {Class: 180, Factor: "iso"}, "none": {}, "250 Hz": {Cutoff: 250}, "1 kHz": {Cutoff: 1000},
	} {
		got, err := ParseFilter(text)
		if err != nil || got != want {
			t.Errorf("%q: %+v %v", text, got, err)
		}
	}
	for _, bad := range []string{"", "cfc", "cfc-60", "5 mm", "cfcNaN", "-3 Hz"} {
		if f, err := ParseFilter(bad); err == nil {
			t.Errorf("%q became %v", bad, f)
		}
	}
	near(t, "3 dB of class 60", Filter{Class: 60, Factor: "sae"}.Cut3dB().SI(), 100, 1e-3, 0)
}

// The restitution of a Kelvin-Voigt element without gravity at zeta 0.1 is 0.7440794; its peak force is
// 0.8801443 v0 sqrt(k m). The speed at the peak follows from F = k x + c v there with dF/dt = 0, that
// is k v + c a = 0 and a = -F/m: v = c F/(k m) = 2 zeta F/sqrt(k m) (both calculated outside this package).
func TestLeadOfAViscousSpecimen(t *testing.T) {
	share, half := lead(0.7440794)
	near(t, "speed at the peak", share+half, 2*0.1*0.8801443, 1e-5, 0)
	share, half = lead(1)
	near(t, "no loss, no lead", share+half, 0, 0, 1e-3)
}

func BenchmarkReduce1e6(b *testing.B) {
	tr := traceOf(1e6/1.5, 0.3, 1.5, wexler.force)
	rng := rand.New(rand.NewPCG(3, 4))
	for i := range tr.Channels[0].Values {
		tr.Channels[0].Values[i] += 10 * rng.NormFloat64()
	}
	s := wexlerSettings()
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Reduce(tr, s); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkReadAndFilter1e6 is one read pass plus the forward-backward biquad alone, on the same record.
func BenchmarkReadAndFilter1e6(b *testing.B) {
	tr := traceOf(1e6/1.5, 0.3, 1.5, wexler.force)
	q, err := dsp.ChannelClass(60, tr.Rate.SI(), dsp.SAE)
	if err != nil {
		b.Fatal(err)
	}
	x := tr.Channels[0].Values
	y := make([]float64, len(x))
	sum := 0.0
	for b.Loop() {
		for _, v := range x {
			sum += v
		}
		q.FiltFilt(y, x, q.Settle())
	}
	if math.IsNaN(sum) {
		b.Fatal("sum")
	}
}
