package reduce

import (
	"math"
	"strings"
	"testing"

	"github.com/hardcatch/hardcatch/internal/num/dsp"
	"github.com/hardcatch/hardcatch/internal/num/lsq"
	"github.com/hardcatch/hardcatch/internal/num/uncert"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// budgetWork has a peak of 1000 N of which every error is known.
func budgetWork() *told {
	w := bare()
	w.forceN = make([]float64, 400)
	w.ev = events{first: 150, endAt: 250}
	w.set.RigFrequency, w.set.GainU = 100, 0.004
	w.peak = peakResult{value: 1000, raw: 1010, filtered: 990, pulse: 0.05, ring: 7, fitU: 9, fitDoF: 11, slope: 2}
	w.zeroU, w.zeroDoF, w.stepN, w.noiseN, w.slowN, w.quietN = 2, 14, 6, 5, 3.5, 100
	return w
}

func row(t *testing.T, r *Reduction, label string) BudgetRow {
	t.Helper()
	for _, b := range r.PeakBudget {
		if b.Label == label {
			return b
		}
	}
	t.Errorf("there is no row %q", label)
	return BudgetRow{}
}

// Each term of the peak's budget by its rule, and their quadrature.
func TestPeakBudget(t *testing.T) {
	w := budgetWork()
	w.uncertainty = w.budget(w.alone)
	sampling := 1000 * (1 - math.Cos(math.Pi*1e-3/0.1))
	r := 1 / (2 * 0.05 * 100.0)
	rig := 1000 * (1/(1-r*r) - 1)
	sum := 0.0
	for label, want := range map[string]float64{
		"force scale as stated": 4, "hum and wander, as in the quiet stretch": 3.5, "sampling, at a top sharper than a parabola": 0,
		"zero": 2, "resolution": 6 / math.Sqrt(12), "noise after the filter": 5, "filter, as on a half-sine": 0,
		"filter, against three and six times its frequency": 0, "sampling": sampling / 2 / math.Sqrt(3), "rig: dynamic error": rig / math.Sqrt(3), "rig: ringing": 7 / math.Sqrt2,
	} {
		got := row(t, w.written(), label)
		near(t, label, got.Contribution, want, 1e-9, 1e-12)
		sum += want * want
	}
	if len(w.uncertainty.parts) != 11 {
		t.Errorf("%d rows", len(w.uncertainty.parts))
	}
	near(t, "u", w.uncertainty.u.SI(), math.Sqrt(sum), 1e-12, 0)
	// Welch-Satterthwaite: u^4/(2^4/14 + 5^4/98).
	near(t, "dof", float64(w.uncertainty.dof), sum*sum/(16.0/14+625.0/98), 1e-9, 0)
	near(t, "k", w.uncertainty.k, uncert.CoverageFactor(0.95, float64(w.uncertainty.dof)), 1e-12, 0)
	near(t, "expanded", w.uncertainty.expanded.SI(), w.uncertainty.k*w.uncertainty.u.SI(), 1e-12, 0)
	if row(t, w.written(), "noise after the filter").DoF != 98 || !w.scaleKnown() {
		t.Errorf("%+v", w.uncertainty)
	}
	w = budgetWork()
	w.quietN = 2
	w.uncertainty = w.budget(w.alone)
	if row(t, w.written(), "noise after the filter").DoF != 1 {
		t.Error("at least one degree of freedom")
	}
	q, err := dsp.ChannelClass(60, 1000, dsp.SAE)
	if err != nil {
		t.Fatal(err)
	}
	w = budgetWork()
	w.filter, w.q, w.set.Filter = true, q, DefaultFilter
	w.uncertainty = w.budget(w.alone)
	near(t, "filter, opened, of a record that shows nothing", row(t, w.written(), "filter, against three and six times its frequency").Contribution, 1000, 1e-9, 0)
	near(t, "noise through the filter", row(t, w.written(), "noise after the filter").Contribution, 5*q.NoiseGain(), 1e-12, 0)
	near(t, "filter", row(t, w.written(), "filter, as on a half-sine").Contribution, 1000*(1-dsp.HalfSineFilterRatio(q, 0.05, 1000))/math.Sqrt(3), 1e-9, 0)
	w = budgetWork()
	w.peak.read = beforeBreak
	w.uncertainty = w.budget(w.alone)
	if b := row(t, w.written(), "fit before the break (noise, ringing)"); b.U != 9 || b.DoF != 11 {
		t.Errorf("%+v", b)
	}
	near(t, "sampling before a break", row(t, w.written(), "sampling").Contribution, 2.0/2/math.Sqrt(3), 1e-12, 0)
}

func TestForceScaleInTheBudget(t *testing.T) {
	w := budgetWork()
	w.set.GainU = 0
	w.uncertainty = w.budget(w.alone)
	if w.scaleKnown() || !strings.Contains(strings.Join(w.Warnings, ""), "leaves the force scale out") {
		t.Errorf("%v", w.Warnings)
	}
	certified := func(set func(*told)) *Reduction {
		w := budgetWork()
		w.cal = &Calibration{Fit: &lsq.Polynomial{C: []float64{0, 0.5}, Cov: []float64{9, 0, 0, 0}, ResidualSD: 4, DoF: 7}, ForceMin: 100, ForceMax: 1000}
		w.set.Calibration.ReferenceU = 0.002
		set(w)
		w.uncertainty = w.budget(w.alone)
		return w.written()
	}
	o := certified(func(*told) {})
	if b := row(t, o, "calibration curve and scatter"); math.Abs(b.U-10) > 1e-12 || b.DoF != 7 || !o.ScaleKnown { // hypot(3, 4)/0.5
		t.Errorf("%+v", b)
	}
	near(t, "reference", row(t, o, "reference force of the calibration").U, 2, 1e-12, 0)
	if len(o.Warnings) > 0 {
		t.Error(o.Warnings)
	}
	for what, c := range map[string]struct {
		set func(*told)
		say string
	}{
		"no reference":    {func(w *told) { w.set.Calibration.ReferenceU = 0 }, "states no uncertainty"},
		"above the range": {func(w *told) { w.cal.ForceMax = quantity.Force(below(1000)) }, "outside the calibrated range"},
		"below the range": {func(w *told) { w.cal.ForceMin, w.cal.ForceMax = quantity.Force(above(1000)), 2000 }, "outside the calibrated range"},
		"at its end":      {func(w *told) { w.cal.ForceMin = 1000 }, ""},
		"above capacity":  {func(w *told) { w.set.Capacity = quantity.Force(below(1010)) }, "above the load cell's capacity"},
		"at capacity":     {func(w *told) { w.set.Capacity = 1010 }, ""},
	} {
		said := strings.Join(certified(c.set).Warnings, "\n")
		if (c.say == "") != (said == "") || !strings.Contains(said, c.say) {
			t.Errorf("%s: %q", what, said)
		}
	}
	// For the motion both are one gain: hypot(10, 2) of 1000, with the fit's degrees of freedom: 7 (hypot(10, 2)/10)^4.
	w = budgetWork()
	w.cal = &Calibration{Fit: &lsq.Polynomial{C: []float64{0, 0.5}, Cov: []float64{9, 0, 0, 0}, ResidualSD: 4, DoF: 7}}
	w.set.Calibration.ReferenceU = 0.002
	u, dof := w.gainU()
	near(t, "gain", u, math.Hypot(10, 2)/1000, 1e-12, 0)
	near(t, "its degrees of freedom", dof, 7*1.04*1.04, 1e-9, 0)
	w.cal = nil
	if u, dof = w.gainU(); u != 0.004 || !math.IsInf(dof, 1) {
		t.Errorf("%g %g", u, dof)
	}
}

// Place by hand: the largest change within the reach over sqrt 3; and never less than the record's own uncertainty.
func TestBudgetByHand(t *testing.T) {
	w := budgetWork()
	w.peak.byHand, w.peak.placeN = true, 30
	w.uncertainty = w.budget(w.alone)
	near(t, "place", row(t, w.written(), "place of the peak, set by hand").Contribution, 30/math.Sqrt(3), 1e-12, 0)
	own := w.uncertainty.u.SI()
	for _, alone := range []float64{own * 0.99, own * 1.5} {
		w = budgetWork()
		w.peak.byHand, w.peak.placeN = true, 30
		w.alone = &RecordAlone{PeakU: quantity.Force(alone)}
		w.uncertainty = w.budget(w.alone)
		near(t, "u", w.uncertainty.u.SI(), math.Max(alone, own), 1e-12, 0)
	}
	for rate, want := range map[float64]int{1000: 2, 4000: 2, 8000: 4, 100000: 50} {
		w.dt = 1 / rate
		if got := w.handReach(); got != want {
			t.Errorf("%g Hz: reach %d, want %d", rate, got, want)
		}
	}
}

// A linear spring of 50 kN/m: at every sample F = 50 000 x, so that both stiffnesses are that; the tangent from 50 % to 90 % only.
func TestStiffness(t *testing.T) {
	w := bare()
	w.forceN = make([]float64, 200)
	x, v := 0.0, 2.0
	w.motion.impactV = 2
	w.ev = events{first: 1, endAt: 150}
	for i := 1; i < 200; i++ { // F_i that the trapezoidal walk answers with x_i = F_i/k
		h, f := 1e-3, w.forceN[i-1]
		next := 50000 * (x + h*v + h*h*(10-f/160)/2) / (1 + 50000*h*h/(4*80))
		nv := v + 10*h - h*(f+next)/160
		x += h * (v + nv) / 2
		v, w.forceN[i] = nv, next
	}
	w.lowN = append([]float64(nil), w.forceN...)
	top := dsp.ArgMax(w.forceN)
	w.peak = peakResult{value: w.forceN[top], time: (float64(top) + 0.25) * 1e-3}
	for i := range w.lowN { // what lies outside 50 % to 90 % of the peak does not count
		if f := w.lowN[i] / w.peak.value; f < 0.5 && i < top {
			w.lowN[i] *= 0.5
		} else if f > 0.9 {
			w.lowN[i] *= 1.2
		}
	}
	w.wholeN = w.forceN
	secant, tangent := w.stiffness()
	near(t, "secant", secant.SI(), 50000, 1e-9, 0)
	near(t, "tangent", tangent.SI(), 50000, 1e-9, 0)
}

// Half the difference under both signs of an input over its uncertainty is the sensitivity; what has none is no component.
func TestComponents(t *testing.T) {
	n := ofMotion{of: func(m motion) float64 { return m.impulse }}
	got := n.components([]variation{
		{label: "a", u: 0.5, dof: 3, lo: motion{impulse: 10}, hi: motion{impulse: 14}},
		{label: "b", u: 0.5, lo: motion{impulse: 10}, hi: motion{impulse: 10}},
	})
	if len(got) != 1 || got[0].Label != "a" || got[0].Sensitivity != 4 || got[0].Contribution() != 2 || got[0].DoF != 3 {
		t.Errorf("%+v", got)
	}
}
