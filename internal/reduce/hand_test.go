package reduce

import (
	"math"
	"strings"
	"testing"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// burst adds a half-sine of electrical noise.
func burst(f func(float64) float64, from, long, high float64) func(float64) float64 {
	return func(t float64) float64 {
		v := f(t)
		if at := (t - from) / long; at > 0 && at < 1 {
			v += high * math.Sin(math.Pi*at)
		}
		return v
	}
}

func seconds(t float64) *quantity.Duration {
	d := quantity.Duration(t)
	return &d
}

// A burst on the way down is higher than the true peak. Set by hand at its true place, half the contact time after
// taut, the peak is F = W + sqrt(W^2 + 2 W h k) = 16697.885 N (Wexler, Am. Alpine J. 1950).
func TestPeakByHandBesideABurst(t *testing.T) {
	tr := traceOf(10000, 0.4, 1.5, burst(wexler.force, 0.85*wexler.contact(), 4e-3, 30000))
	alone, err := Reduce(tr, wexlerSettings())
	if err != nil || alone.Peak.SI() < 1.1*wexler.peak() {
		t.Fatalf("the burst fools nobody: %v %v", alone.Peak, err)
	}
	s := wexlerSettings()
	top := 0.4 + wexler.contact()/2
	s.Hand = &EventsByHand{Peak: seconds(top)}
	r, err := Reduce(tr, s)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "peak", r.Peak.SI(), wexler.peak(), 3e-3, 0)
	near(t, "time", r.PeakTime.SI(), top, 0, 1e-9)
	near(t, "time to peak", r.TimeToPeak.SI(), wexler.contact()/2, 1e-2, 0)
	if r.Alone == nil || r.Alone.Peak != alone.Peak || r.Alone.PeakTime != alone.PeakTime || r.Alone.PeakU != alone.PeakU {
		t.Errorf("alone: %+v, want %v at %v", r.Alone, alone.Peak, alone.PeakTime)
	}
	if r.PeakU < alone.PeakU*(1-1e-9) {
		t.Errorf("a person takes uncertainty away: %v, alone %v", r.PeakU, alone.PeakU)
	}
	said := strings.Join(r.Warnings, "\n")
	if !strings.Contains(said, "the place of the peak was set by hand at 0.42797 s") || !strings.Contains(said, "the record alone gives "+alone.Peak.String()) {
		t.Error(said)
	}
	if !strings.Contains(r.PeakMethod, "set by hand") {
		t.Error(r.PeakMethod)
	}
}

// On a record without trouble a peak set at its own place says the same with a larger uncertainty, and one set 1 ms off
// reads the force there: F(t) = W (1 - cos wt) + k v0/w sin wt.
func TestPeakByHandOnACleanRecord(t *testing.T) {
	tr := traceOf(10000, 0.4, 1.5, wexler.force)
	alone, err := Reduce(tr, wexlerSettings())
	if err != nil {
		t.Fatal(err)
	}
	for _, off := range []float64{0, 1e-3, -5e-3} {
		s := wexlerSettings()
		at := 0.4 + wexler.contact()/2 + off
		s.Hand = &EventsByHand{Peak: seconds(at)}
		r, err := Reduce(tr, s)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "force there", r.Peak.SI(), wexler.force(at-0.4), 2e-3, 0)
		near(t, "taut", r.Taut.SI(), alone.Taut.SI(), 0, 1e-5)
		near(t, "end", r.ArrestDuration.SI(), alone.ArrestDuration.SI(), 0, 1e-5)
		if !(r.PeakU > alone.PeakU) || r.Outcome != alone.Outcome {
			t.Errorf("%+v: u %v, alone %v; %s", off, r.PeakU, alone.PeakU, r.Outcome)
		}
	}
}

// A pulse of the release before the drop might be an arrest: the record is refused; the peak set by hand finds the true one with its
// taut, and what was before is no arrest.
func TestPeakByHandAfterTheRelease(t *testing.T) {
	tr := traceOf(10000, 0.4, 1.5, burst(wexler.force, -0.15, 12e-3, 14000))
	if _, err := Reduce(tr, wexlerSettings()); err == nil || !strings.Contains(err.Error(), "a rebound cannot be harder than the first arrest") {
		t.Fatalf("the release fools nobody: %v", err)
	}
	s := wexlerSettings()
	s.Hand = &EventsByHand{Peak: seconds(0.4 + wexler.contact()/2)}
	r, err := Reduce(tr, s)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "peak", r.Peak.SI(), wexler.peak(), 3e-3, 0)
	near(t, "taut", r.Taut.SI(), 0.4, 0, 5e-4)
	if !strings.Contains(strings.Join(r.Warnings, "\n"), "rises 1 time(s) before the arrest in which the peak was set by hand") {
		t.Error(r.Warnings)
	}
	again, err := Reduce(tr, s)
	if err != nil || again.Peak != r.Peak || again.PeakU != r.PeakU {
		t.Errorf("repeated: %v ± %v, before %v ± %v (%v)", again.Peak, again.PeakU, r.Peak, r.PeakU, err)
	}
}

// Before a break the raw samples are read: on a straight rise of 400 kN/s that parts at 40 ms the force 5 ms before is
// 14 kN, and no filter rounds it.
func TestPeakByHandBeforeABreak(t *testing.T) {
	tr := traceOf(10000, 0.4, 1.5, func(t float64) float64 {
		if t < 0 || t > 0.04 {
			return 0
		}
		return 4e5 * t
	})
	s := wexlerSettings()
	s.Hand = &EventsByHand{Peak: seconds(0.435)}
	r, err := Reduce(tr, s)
	if err != nil || r.ArrestEnd != "break" {
		t.Fatal(err, r)
	}
	near(t, "force", r.Peak.SI(), 14000, 1e-9, 0)
	if r.Alone == nil || math.Abs(r.Alone.Peak.SI()-16000) > 100 {
		t.Errorf("%+v", r.Alone)
	}
}

func TestPeakByHandRefuses(t *testing.T) {
	tr := traceOf(10000, 0.4, 1.5, wexler.force)
	for _, c := range []struct {
		hand EventsByHand
		want string
	}{
		{EventsByHand{Peak: seconds(-0.1)}, "begins at 0.00000 s and ends at 1.49990 s"},
		{EventsByHand{Peak: seconds(2)}, "set it between them"},
		{EventsByHand{Peak: seconds(0.2)}, "set it on the arrest"},
		{EventsByHand{Peak: seconds(math.NaN())}, "set it between them"},
		{EventsByHand{Peak: seconds(0.43), Taut: seconds(0.44)}, "taut is set by hand at 0.44000 s"},
		{EventsByHand{Peak: seconds(0.43), Slack: seconds(0.42)}, "the peak is at 0.43000 s"},
	} {
		s := wexlerSettings()
		s.Hand = &c.hand
		if _, err := Reduce(tr, s); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%v, want %q", err, c.want)
		}
	}
	if a, b := (&EventsByHand{Peak: seconds(1)}), (&EventsByHand{Peak: seconds(2)}); a.None() || a.Same(b) || !a.Same(&EventsByHand{Peak: seconds(1)}) {
		t.Error("a peak set by hand is not told from another")
	}
}

func TestBetween(t *testing.T) {
	x := []float64{1, 3, 7}
	for pos, want := range map[float64]float64{0: 1, 0.5: 2, 1.25: 4, 2: 7, 2.5: 7} {
		near(t, "between", between(x, pos), want, 0, 1e-12)
	}
	if _, err := Reduce(&drop.Trace{Name: "x", Rate: 1000}, wexlerSettings()); err == nil {
		t.Error("nothing was reduced")
	}
}
