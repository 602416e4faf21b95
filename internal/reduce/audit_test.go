package reduce

import (
	"math"
	"strings"
	"testing"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/num/dsp"
	"github.com/hardcatch/hardcatch/internal/num/lsq"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// above and below are the numbers next to x: just outside and just inside a limit at x.
func above(x float64) float64 { return math.Nextafter(x, math.Inf(1)) }
func below(x float64) float64 { return math.Nextafter(x, math.Inf(-1)) }

// bare is a reduction under way of which nothing but the settings is known: 80 kg at g = 10 m/s2, weight 800 N, 1 kHz.
func bare() *told {
	given := &given{set: Settings{Mass: 80, Gravity: 10, Fall: 0.2, Coverage: 0.95}, dt: 1e-3, trace: &drop.Trace{Name: "bare", Rate: 1000}, notes: &notes{}}
	return &told{moved: &moved{topped: &topped{sight: &sight{timed: &timed{signal: &signal{given: given}}}}}}
}

// written is what is written of it, without the audit.
func (w *told) written() *Reduction { return (&judged{told: w}).reduction() }

func ptr[T any](v T) *T { return &v }

// Up to 2 u is agreement, up to 3 u doubt, beyond it contradiction; what is no number contradicts.
func TestCompareLimits(t *testing.T) {
	for _, c := range []struct {
		found, u float64
		want     Verdict
	}{
		{0, 1, Agrees}, {2, 1, Agrees}, {-2, 1, Agrees}, {above(2), 1, Doubtful}, {below(-2), 1, Doubtful}, {3, 1, Doubtful}, {-3, 1, Doubtful},
		{above(3), 1, Disagrees}, {below(-3), 1, Disagrees}, {0, 0, Agrees}, {1e-300, 0, Disagrees}, {math.NaN(), 1, Disagrees}, {0, math.NaN(), Disagrees},
	} {
		if got := compare("x", "N", 0, c.found, c.u); got.Verdict != c.want || *got.Expected != 0 || *got.U != c.u && c.u == c.u || got.Unit != "N" || got.Name != "x" {
			t.Errorf("%v ± %v: %+v, want %s", c.found, c.u, got, c.want)
		}
	}
	if got := compare("x", "N", 5, 8, 1); got.Verdict != Doubtful || *got.Found != 8 || *got.Expected != 5 {
		t.Errorf("8 against 5: %+v", got)
	}
}

func TestWorstVerdict(t *testing.T) {
	of := func(vs ...Verdict) Verdict {
		var cs []Check
		for _, v := range vs {
			cs = append(cs, Check{Verdict: v})
		}
		return worstOf(cs)
	}
	for _, c := range []struct{ got, want Verdict }{
		{of(), Agrees}, {of(NotPossible), Agrees}, {of(NotPossible, Agrees, Doubtful, Agrees), Doubtful}, {of(Disagrees, Doubtful), Disagrees}, {of(Doubtful, Disagrees), Disagrees},
	} {
		if c.got != c.want {
			t.Errorf("%s, want %s", c.got, c.want)
		}
	}
}

// Weight 800 N. u is the quadrature of the tail's own, of the gain and of mass_u times g: with 0, 0.01 * 800 = 8 and 0.6 * 10 = 6
// it is 10.
func TestAuditTailLimits(t *testing.T) {
	at := func(mean, own float64) Check {
		w := bare()
		w.set.GainU, w.set.MassU = 0.01, 0.6
		w.tail = tail{rest: true, mean: mean, u: own}
		return w.auditTail()
	}
	for _, c := range []struct {
		mean float64
		want Verdict
	}{{800, Agrees}, {820, Agrees}, {780, Agrees}, {820.001, Doubtful}, {779.999, Doubtful}, {829.999, Doubtful}, {830.001, Disagrees}, {769.999, Disagrees}} {
		got := at(c.mean, 0)
		if got.Verdict != c.want {
			t.Errorf("%g: %s, want %s", c.mean, got.Verdict, c.want)
		}
		near(t, "u", *got.U, 10, 1e-15, 0)
	}
	// 200 * 10/800 = 2.5 %.
	if got := at(800, 0); !strings.Contains(got.Meaning, "wrong by more than 2.5 % would show") {
		t.Error(got.Meaning)
	}
	// 840/800 = 1.05; the record fits 84 kg; 40 N.
	if got := at(840, 0); !strings.Contains(got.Meaning, "reads 1.05 times m g") || !strings.Contains(got.Meaning, "fits 84.0 kg") || !strings.Contains(got.Meaning, "moved by 40 N") {
		t.Error(got.Meaning)
	}
	// Twice u = 0.1 * 800 is where it begins to tell nothing: u = 40 is sqrt(40^2 - 10^2) of the tail's own.
	own := math.Sqrt(1500)
	if got := at(800, own*(1-1e-9)); got.Verdict != Agrees {
		t.Errorf("u just below 40 N: %+v", got)
	}
	if got := at(800, own*(1+1e-9)); got.Verdict != NotPossible || got.Found != nil || !strings.Contains(got.Meaning, "moved by 80 N") {
		t.Errorf("u just above 40 N: %+v", got)
	}
	// With a certificate: curve 6 N at any force (no covariance, residual sd 3 at a slope of 0.5), reference 0.01 * 800 = 8, mass 0.
	w := bare()
	w.tail = tail{rest: true, mean: 800}
	w.cal = &Calibration{Fit: &lsq.Polynomial{C: []float64{0, 0.5}, Cov: make([]float64, 4), ResidualSD: 3, DoF: 7}}
	w.set.Calibration.ReferenceU, w.set.GainU = 0.01, 0.5
	near(t, "u with a certificate", *w.auditTail().U, 10, 1e-15, 0)
	for _, c := range []struct {
		tail tail
		want string
	}{{tail{empty: true, why: "x"}, "nothing hangs at the end"}, {tail{why: "too short"}, "too short"}} {
		w.tail = c.tail
		if got := w.auditTail(); got.Verdict != NotPossible || !strings.Contains(got.Meaning, c.want) || got.U != nil {
			t.Errorf("%+v", got)
		}
	}
}

// Above a restitution of 1 there is no lead; below that of a damping of 0.49, exp(-0.5621 * 2.118) = 0.304, none larger.
func TestLeadOutsideItsRange(t *testing.T) {
	at := func(r float64) float64 { share, _ := lead(r); return share }
	if at(-1) != at(0.30) || at(2) != at(1) || !(at(0.31) < at(0.30)) || !(at(0.99) > at(1)) {
		t.Errorf("%v %v %v, %v %v", at(-1), at(0.3), at(0.31), at(2), at(1))
	}
}

// The top of a parabola 1000 - (i - 40.25)^2 on 1 kHz is at 40.25 ms, between the samples.
func TestRestMark(t *testing.T) {
	w := bare()
	w.seenN = make([]float64, 101)
	for i := range w.seenN {
		w.seenN[i] = 1000 - (float64(i)-40.25)*(float64(i)-40.25)
	}
	w.ev.first, w.ev.endAt, w.ev.taut, w.ev.peakAt = 10, 80, 0.01, 40
	w.peak = peakResult{time: 0.04025, value: 1000}
	check := func(what string, mark, u float64) {
		t.Helper()
		gotMark, gotU := w.restMark()
		near(t, what+": mark", gotMark, mark, 0, 1e-12)
		near(t, what+": u", gotU, u, 1e-9, 1e-12)
	}
	third := 1 / math.Sqrt(3)
	check("raw peak beside it", 0.04025, 0.00025*third)
	w.ev.peakAt = 60 // 19.75 ms off, but at most a tenth of the 30.25 ms from taut
	check("raw peak far off", 0.04025, 0.003025*third)
	w.ev.peakAt, w.peak.timeU = 40, 0.002
	check("flat top", 0.04025, math.Hypot(0.002, 0.00025*third))
	w.peak.timeU, w.peak.time = 0, 0.03825
	check("read 2 ms off", 0.04025, math.Hypot(0.002, 0.00025)*third)
	w.peak.time = 0.04025
	w.set.RigFrequency, w.peak.ringing = 100, 10 // 1 % of the peak: not yet
	check("ringing of 1 %", 0.04025, 0.00025*third)
	w.peak.ringing = above(10)
	check("ringing above 1 %", 0.04025, math.Hypot(0.0025, 0.00025)*third) // a quarter of 10 ms
	w.set.RigFrequency = 0
	check("no rig frequency", 0.04025, 0.00025*third)
	w.peak.byHand, w.peak.time = true, 0.05
	check("by hand", 0.05, 0.004*third) // raw 10 ms off, a tenth of 40 ms counts
}

// From rest (h = 0) under a constant 1600 N = 2 m g, taut at 0.1 s, the peak at 0.2 s: impulse 160 N s, less the first
// half sample of 0.8 N s in which the force rises from zero, against 80 * 10 * 0.1 = 80 N s.
func impulseWork() *told {
	w := bare()
	w.set.Fall = 0
	w.forceN = make([]float64, 301)
	for i := 101; i <= 300; i++ {
		w.forceN[i] = 1600
	}
	w.seenN = append([]float64(nil), w.forceN...)
	w.seenN[200] = 1600.0001
	w.ev = events{taut: 0.1, first: 100, endAt: 300, end: 0.3, endKind: "slack", peakAt: 200}
	w.peak = peakResult{time: 0.2, value: 1600}
	w.wholeN = w.forceN
	return w
}

func TestAuditImpulse(t *testing.T) {
	w := impulseWork()
	w.set.GainU = 0.05 // 0.05 * 159.2 = 7.96 alone
	c := w.auditImpulse()
	if c.Verdict != Disagrees {
		t.Fatalf("%+v", c)
	}
	near(t, "expected", *c.Expected, 80, 1e-9, 0)
	near(t, "found", *c.Found, 159.2, 1e-9, 0)
	near(t, "gain", *c.U, 7.96, 1e-6, 0)
	// v = (159.2 - 80)/80/(1 - share) = 0.99/(1 - 0.2054) = 1.25 m/s, h = v^2/20 = 77.9 mm (no flight, no rebound: a restitution of 0.5).
	if !strings.Contains(c.Meaning, "1.25 m/s (a free fall of 77.9 mm), not 0 m/s: the height was more") {
		t.Error(c.Meaning)
	}
	// The other terms, one at a time.
	for _, term := range []struct {
		what string
		set  func(*told)
		u    float64
	}{
		{"mass", func(w *told) { w.set.MassU = 4 }, 4 * 10 * 0.1},
		{"zero", func(w *told) { w.zeroU = 30 }, 30 * 0.1},
		{"taut", func(w *told) { w.ev.tautU = 0.2 }, 1600 * 0.2 * 0.02},
		{"moment of rest", func(w *told) { w.peak.timeU = 0.005 }, (1600 - 800) * 0.005},
		{"fall height, which is 0", func(w *told) { w.set.FallU = 0.1 }, 0},
	} {
		w := impulseWork()
		term.set(w)
		near(t, term.what, *w.auditImpulse().U, term.u, 1e-6, 1e-5)
	}
	// It tells nothing from twice u = a quarter of the 80 N s on: u = 10 by the zero is 100 N.
	w = impulseWork()
	w.zeroU = 99.99
	if c := w.auditImpulse(); c.Verdict == NotPossible {
		t.Errorf("%+v", c)
	}
	w.zeroU = 100.01
	if c := w.auditImpulse(); c.Verdict != NotPossible {
		t.Errorf("%+v", c)
	}
	w.unseen = []unseen{{top: true}}
	if c := w.auditImpulse(); !strings.Contains(c.Meaning, "top of the arrest was not measured") {
		t.Errorf("%+v", c)
	}
	for bottomed, want := range map[bool]string{false: "still falling", true: "parted near the lowest point"} {
		w = impulseWork()
		w.ev.endKind, w.motion.bottomed = "break", bottomed
		if c := w.auditImpulse(); c.Verdict != NotPossible || !strings.Contains(c.Meaning, want) {
			t.Errorf("%+v", c)
		}
	}
}

// With 0.2 m of fall at g = 10 the impact is at 2 m/s, 160 N s. The share that the mass still has at the peak follows from the
// restitution (TestLeadOfAViscousSpecimen): from the flight when it came taut again, else from the end of the arrest.
func TestAuditImpulseWithAFall(t *testing.T) {
	for _, c := range []struct {
		what        string
		set         func(*told)
		restitution float64
	}{
		{"flight of 0.24 s", func(w *told) { w.ev.later = []arrest{{flight: 0.24}} }, 0.24 * 10 / 2 / 2},
		{"1.5 m/s upward at slack", func(w *told) { w.motion.vEnd = -1.5 }, 0.75},
		{"neither is known", func(w *told) { w.ev.endKind, w.motion.vEnd = "end of record", -1.5 }, 0.5},
	} {
		w := impulseWork()
		w.set.Fall, w.motion.impactV = 0.2, 2
		w.ev.endAt = 300
		c.set(w)
		share, half := lead(c.restitution)
		got := w.auditImpulse()
		near(t, c.what+": expected", *got.Expected, 160*(1-share)+80, 1e-9, 0)
		near(t, c.what+": u", *got.U, 160*half/math.Sqrt(3), 1e-5, 0)
	}
	// fall_u 0.01 m: m g/v0 u_h = 80 * 10/2 * 0.01 = 4; not more than the fall itself. mass_u 2 kg: 2 (2 + 10 * 0.1) = 6.
	w := impulseWork()
	w.set.Fall, w.motion.impactV, w.motion.vEnd = 0.2, 2, -2
	base := *w.auditImpulse().U
	w.set.FallU = 0.01
	near(t, "fall", *w.auditImpulse().U, math.Hypot(base, 4), 1e-9, 0)
	w.set.FallU, w.set.MassU = 0, 2
	near(t, "mass", *w.auditImpulse().U, math.Hypot(base, 6), 1e-9, 0)
	w.set.Fall, w.set.FallU, w.set.MassU, w.motion.impactV = 0.0002, 1, 0, 2
	near(t, "fall no more uncertain than it is high", *w.auditImpulse().U, math.Hypot(base, 400*0.0002), 1e-9, 0)
	// A record that fits a lower speed: 159.2 - 80 = 79.2 N s of 80 * 2.
	w = impulseWork()
	w.set.Fall, w.motion.impactV, w.motion.vEnd = 0.2, 2, -2
	if c := w.auditImpulse(); c.Verdict != Disagrees || !strings.Contains(c.Meaning, "the release stuck") || !strings.Contains(c.Meaning, "impact speed of 0.99") || !strings.Contains(c.Meaning, "not 2.00 m/s") {
		t.Errorf("%+v", c)
	}
	// Agreement: the expected 240 N s is found when the force is 2412 N or so.
	for i := 101; i <= 300; i++ {
		w.forceN[i] = 240 / 0.0995
	}
	w.set.GainU = 0.05 // u = 12: a speed wrong by 2 * 12/160 = 15 %
	if c := w.auditImpulse(); c.Verdict != Agrees || !strings.Contains(c.Meaning, "wrong by more than 15 % would show") && !strings.Contains(c.Meaning, "wrong by more than 16 % would show") {
		t.Errorf("%+v", c)
	}
}

// A rebound of 2 m/s at g = 10 flies 0.4 s. u is the quadrature of 2 u_v/g, of the set over sqrt 3 and the speed, and of two samples.
func TestAuditFlightLimits(t *testing.T) {
	at := func(found, speedU, set, rebound float64) Check {
		w := bare()
		w.dt = 0.003 // two samples: 6 ms
		w.ev.endKind = "slack"
		w.motion = motion{vEnd: -rebound, xEnd: set, impactV: 3}
		w.ev.later = []arrest{{flight: quantity.Duration(found)}}
		w.measures.list = []Measure{{Name: "other", U: 9}, {Name: "rebound speed", U: speedU}}
		return w.auditFlight()
	}
	c := at(0.4, 0.04, 0, 2) // 8 ms and 6 ms
	near(t, "u", *c.U, 0.01, 1e-12, 0)
	near(t, "expected", *c.Expected, 0.4, 1e-15, 0)
	if !strings.Contains(c.Meaning, "wrong by more than 0.10 m/s") { // 0.01 * 10
		t.Error(c.Meaning)
	}
	for found, want := range map[float64]Verdict{0.42: Agrees, 0.42001: Doubtful, 0.37999: Doubtful, 0.42999: Doubtful, 0.43001: Disagrees, 0.36999: Disagrees} {
		if got := at(found, 0.04, 0, 2); got.Verdict != want && found != 0.42 {
			t.Errorf("%g: %s, want %s", found, got.Verdict, want)
		}
	}
	// 0.5 s means 2.5 m/s; the impact was at 3 - (2.5 - 2) = 2.5 m/s.
	if c := at(0.5, 0.04, 0, 2); !strings.Contains(c.Meaning, "rebound of 2.50 m/s, the impulse one of 2.00 m/s: the impact speed was 2.50 m/s less its error, not 3.00 m/s") {
		t.Error(c.Meaning)
	}
	near(t, "set of 20 mm at 2 m/s", *at(0.4, 0, 0.02, 2).U, math.Hypot(0.01/math.Sqrt(3), 0.006), 1e-12, 0)
	near(t, "no set above taut", *at(0.4, 0, -0.02, 2).U, 0.006, 1e-12, 0)
	near(t, "a weak rebound counts as 0.2 m/s", *at(0.4, 0, 0.02, 0.1).U, math.Hypot(0.1/math.Sqrt(3), 0.006), 1e-12, 0)
	// Nothing can be told from twice u = half of the longer flight on: u = 0.1 of 0.4.
	speedU := math.Sqrt(0.1*0.1-0.006*0.006) * 5
	if c := at(0.4, speedU*(1-1e-9), 0, 2); c.Verdict == NotPossible {
		t.Errorf("%+v", c)
	}
	if c := at(0.4, speedU*(1+1e-9), 0, 2); c.Verdict != NotPossible || !strings.Contains(c.Meaning, "a flight of 400 ms was found, and it could be off by 200 ms") {
		t.Errorf("%+v", c)
	}
	if c := at(0.5, speedU*(1+1e-9), 0, 2); c.Verdict == NotPossible { // half of 0.5 is more
		t.Errorf("%+v", c)
	}
	w := bare()
	w.ev.endKind = "slack"
	if c := w.auditFlight(); c.Verdict != NotPossible {
		t.Errorf("%+v", c)
	}
	w.ev.endKind, w.ev.later = "break", []arrest{{flight: 0.4}}
	if c := w.auditFlight(); c.Verdict != NotPossible || !strings.Contains(c.Meaning, "did not come taut again") {
		t.Errorf("%+v", c)
	}
	w.ev.endKind, w.unseen = "slack", []unseen{{top: true}}
	if c := w.auditFlight(); c.Verdict != NotPossible || !strings.Contains(c.Meaning, "top of the arrest was not measured") {
		t.Errorf("%+v", c)
	}
}

// stepX = v (dt + u_taut) = 2 (1 ms + 1 ms) = 4 mm; stepE = 1000 N of it = 4 J; u = hypot(u_back, 0.3 * 4).
func TestAuditEnergyLimits(t *testing.T) {
	at := func(set func(*told)) Check {
		w := bare()
		w.ev = events{endKind: "slack", tautU: 0.001}
		w.motion = motion{impactV: 2, bottomed: true, absorbed: 200, returned: 100, xMax: 0.3}
		w.peak.value = 1000
		w.measures.list = []Measure{{Name: "other", U: 99}, {Name: "energy returned", U: 1.6}}
		set(w)
		return w.auditEnergy()
	}
	near(t, "u", *at(func(*told) {}).U, 2, 1e-12, 0)
	for _, c := range []struct {
		what string
		set  func(*told)
		want Verdict
		say  string
	}{
		{"gives less back", func(*told) {}, Agrees, "took 200 J and gave 100 J back"},
		{"back 2 u more than taken", func(w *told) { w.motion.returned = 203.9999 }, Agrees, ""},
		{"above 2 u", func(w *told) { w.motion.returned = 204.0001 }, Doubtful, "given back more than it took"},
		{"below 3 u", func(w *told) { w.motion.returned = 205.9999 }, Doubtful, ""},
		{"above 3 u", func(w *told) { w.motion.returned = 206.0001 }, Disagrees, "given back more than it took"},
		// On the way: in units of stepE = 4 J, or of 1 % of what was taken where that is more.
		{"on the way 8 J", func(w *told) { w.motion.minLoss = -7.9999 }, Agrees, ""},
		{"on the way above 8 J", func(w *told) { w.motion.minLoss = -8.0001 }, Doubtful, "on the way the specimen would have given back"},
		{"on the way above 12 J", func(w *told) { w.motion.minLoss = -12.0001 }, Disagrees, ""},
		{"on the way, 1 % of 800 J", func(w *told) { w.motion.absorbed, w.motion.minLoss = 800, -15.9999 }, Agrees, ""},
		{"on the way, above 2 % of 800 J", func(w *told) { w.motion.absorbed, w.motion.minLoss = 800, -16.0001 }, Doubtful, ""},
		// Slack above taut: in units of 0.02 * 0.3 + 0.004 = 10 mm.
		{"slack 20 mm above", func(w *told) { w.motion.xEnd = -0.0199999 }, Agrees, ""},
		{"slack above 20 mm above", func(w *told) { w.motion.xEnd = -0.0200001 }, Doubtful, "gone slack 20 mm above where it came taut"},
		{"slack above 30 mm above", func(w *told) { w.motion.xEnd = -0.0300001 }, Disagrees, ""},
		{"slack below taut", func(w *told) { w.motion.xEnd = 0.2 }, Agrees, ""},
	} {
		got := at(c.set)
		if got.Verdict != c.want || !strings.Contains(got.Meaning, c.say) {
			t.Errorf("%s: %s (%s), want %s", c.what, got.Verdict, got.Meaning, c.want)
		}
	}
	// Never at rest: 5 % of m g (h + x) = 80 * 10 * (0.2 + 0.3) = 400 J.
	got := at(func(w *told) { w.motion = motion{xEnd: 0.3, absorbed: 250, vEnd: 1.5} })
	if got.Verdict != Disagrees || !strings.Contains(got.Meaning, "still fall at 1.50 m/s") {
		t.Errorf("%+v", got)
	}
	near(t, "taken", *got.Expected, 400, 1e-12, 0)
	near(t, "found", *got.Found, 250, 0, 0)
	near(t, "u", *got.U, 20, 1e-12, 0)
	if got := at(func(w *told) { w.ev.endKind = "break" }); got.Verdict != NotPossible {
		t.Errorf("%+v", got)
	}
}

// The trend over 100 quiet samples, in units of its own error 1 N and of the peak 1000 N: 0.2 % = 2 N, 1 % = 10 N.
func TestAuditQuietLimits(t *testing.T) {
	at := func(set func(*told)) Check {
		w := bare()
		w.hasQuiet, w.quietN = true, 100
		w.quiet = dsp.Level{N: 100, SlopeU: 0.01, SD: 1}
		w.peak.value, w.noiseN = 1000, 1
		w.ev = events{first: 110, endAt: 200}
		set(w)
		return w.auditQuiet()
	}
	trend := func(n, u float64) func(*told) {
		return func(w *told) { w.quiet.Slope, w.quiet.SlopeU = n/100, u/100 }
	}
	for _, c := range []struct {
		what string
		set  func(*told)
		want Verdict
		say  string
	}{
		{"nothing", func(*told) {}, Agrees, "no trend, no load, no clipping in 100 ms of quiet; noise 1.0 N"},
		{"trend within 3 u", trend(9.99, 3.34), Agrees, ""},
		{"trend of 0.2 %", trend(1.9999, 0.5), Agrees, ""},
		{"trend above 0.2 %", trend(2.0001, 0.5), Doubtful, "the zero moves by 2.0 N within the quiet stretch"},
		{"falling above 0.2 %", trend(-2.0001, 0.5), Doubtful, "the zero moves by -2.0 N"},
		{"trend above 0.2 %, within 3 u", trend(2.0001, 0.667), Agrees, ""},
		{"trend above 0.2 %, above 3 u", trend(2.0001, 0.6666), Doubtful, ""},
		{"trend of 1 %", trend(9.9999, 1), Doubtful, ""},
		{"trend above 1 %", trend(10.0001, 1), Disagrees, "let the amplifier warm up"},
		{"falling above 1 %", trend(-10.0001, 1), Disagrees, ""},
		{"trend above 1 %, within 3 u", trend(10.0001, 3.34), Agrees, ""},
		{"trend above 1 %, within 3 steps over sqrt 12", func(w *told) { trend(10.0001, 1)(w); w.stepN = 3.34 * math.Sqrt(12) }, Agrees, ""},
		{"preload of 5 %", func(w *told) { w.quiet.Mean = -50 }, Agrees, ""},
		{"preload above 5 %", func(w *told) { w.quiet.Mean = -50.001 }, Doubtful, "showed -50.0 N before the drop"},
		{"spike of 2 %", func(w *told) { w.quiet.Largest = 20 }, Agrees, ""},
		{"spike above 2 %", func(w *told) { w.quiet.Largest = 20.001 }, Doubtful, "a spike of 20 N"},
		{"spike of 12 sd", func(w *told) { w.quiet.SD, w.quiet.Largest = 2, 24 }, Agrees, ""},
		{"spike above 12 sd", func(w *told) { w.quiet.SD, w.quiet.Largest = 2, 24.001 }, Doubtful, ""},
		{"cut off at the top", func(w *told) { w.clip = []dsp.Flat{{From: 150, To: 158, High: true}} }, Disagrees, "8 samples are cut off at the top of the range from 0.1500 s"},
		{"cut off at the bottom before the quiet ends", func(w *told) { w.clip = []dsp.Flat{{From: 99, To: 105}} }, Doubtful, "6 samples are cut off at the bottom of the range from 0.0990 s"},
		{"at the bottom between quiet and rise", func(w *told) { w.clip = []dsp.Flat{{From: 100, To: 104}, {From: 109, To: 113}} }, Agrees, ""},
		{"at the bottom from the rise on", func(w *told) { w.clip = []dsp.Flat{{From: 110, To: 114}} }, Doubtful, ""},
		{"spike before the arrest", func(w *told) { w.glitch = []dsp.Glitch{{From: 109, To: 110, Size: 77}} }, Doubtful, "a spike or dropout of 77.0 N at 0.1090 s was bridged"},
		{"spike at its first sample", func(w *told) { w.glitch = []dsp.Glitch{{From: 110, To: 111}} }, Disagrees, ""},
		{"spike at its last sample", func(w *told) { w.glitch = []dsp.Glitch{{From: 200, To: 201}} }, Disagrees, ""},
		{"spike after it", func(w *told) { w.glitch = []dsp.Glitch{{From: 201, To: 202}} }, Doubtful, ""},
		{"fault of the reader", func(w *told) { w.trace.Findings = []drop.Finding{{Grade: drop.Fault, Fact: "a gap"}} }, Disagrees, "a gap"},
		{"warning of the reader", func(w *told) { w.trace.Findings = []drop.Finding{{Grade: drop.Warning, Fact: "a gap"}} }, Agrees, ""},
		{"clipping that only the reader saw", func(w *told) { w.trace.Findings = []drop.Finding{{Kind: clippedKind, Grade: drop.Fault, Fact: "flat"}} }, Disagrees, "flat"},
		{"uneven times", func(w *told) { w.trace.Resampled = true }, Doubtful, "uneven"},
		{"a doubt does not soften what disagrees", func(w *told) { trend(50, 1)(w); w.trace.Resampled = true }, Disagrees, "; the sample times"},
		{"what disagrees outweighs a doubt", func(w *told) {
			w.quiet.Mean = 90
			w.trace.Findings = []drop.Finding{{Grade: drop.Fault, Fact: "a gap"}}
		}, Disagrees, "; a gap"},
	} {
		got := at(c.set)
		if got.Verdict != c.want || !strings.Contains(got.Meaning, c.say) {
			t.Errorf("%s: %s (%s), want %s", c.what, got.Verdict, got.Meaning, c.want)
		}
	}
	// Clipping that both saw is said once.
	got := at(func(w *told) {
		w.clip = []dsp.Flat{{From: 150, To: 158, High: true}}
		w.trace.Findings = []drop.Finding{{Kind: clippedKind, Grade: drop.Fault, Fact: "flat"}}
	})
	if strings.Contains(got.Meaning, "flat") {
		t.Error(got.Meaning)
	}
	got = at(trend(4, 2))
	near(t, "trend", *got.Found, 4, 1e-12, 0)
	near(t, "its error", *got.U, 2, 1e-12, 0)
	got = at(func(w *told) { w.stepN = 30 })
	near(t, "a step's error", *got.U, 30/math.Sqrt(12), 1e-12, 0)
	w := bare()
	w.quietN = 3
	if got := w.auditQuiet(); got.Verdict != Disagrees || got.U != nil || !strings.Contains(got.Meaning, "3 samples before the rise") {
		t.Errorf("%+v", got)
	}
}

// The known biases add up by size: 2 % is doubt, 5 % contradiction, of 1000 N.
func TestAuditPeakLimits(t *testing.T) {
	at := func(a, b float64) Check {
		w := bare()
		w.peak.value, w.uncertainty.u = 1000, 25
		w.uncertainty.bias = []BiasTerm{{Source: "sampling", Bias: ptr(quantity.Force(a))}, {Source: "filter", Bias: ptr(quantity.Force(b))}, {Source: "rig frequency"}}
		return w.auditPeak()
	}
	for _, c := range []struct {
		a, b float64
		want Verdict
	}{{0, 0, Agrees}, {-15, 5, Agrees}, {-15, 5.001, Doubtful}, {-20, 30, Doubtful}, {-20, 30.001, Disagrees}} {
		if got := at(c.a, c.b); got.Verdict != c.want || strings.Contains(got.Meaning, "sample faster") != (c.want != Agrees) {
			t.Errorf("%g %g: %+v, want %s", c.a, c.b, got, c.want)
		}
	}
	got := at(-15, 5)
	near(t, "share", *got.Found, 0.02, 1e-15, 0)
	near(t, "u", *got.U, 0.025, 1e-15, 0)
	if !strings.Contains(got.Meaning, "sampling -1.5 %; filter +0.5 %; rig frequency not known; ") {
		t.Error(got.Meaning)
	}
}
