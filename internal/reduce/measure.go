package reduce

import (
	"math"

	"github.com/hardcatch/hardcatch/internal/num/uncert"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// measure fills the measures of the first arrest with their budgets.
func (w *work) measure() {
	m, o := w.motion, w.out
	o.ImpactSpeed = quantity.Speed(m.impactV)
	o.ArrestEnd, o.ArrestDuration = w.ev.endKind, quantity.Duration(w.ev.end-w.ev.taut)
	o.Impulse, o.EnergyAbsorbed, o.MaxElongation = quantity.Impulse(m.impulse), quantity.Energy(m.absorbed), quantity.Length(m.xMax)
	if !o.PeakHidden {
		rate := quantity.ForceRate(0.8 * w.peak.value / math.Max(w.ev.rise, w.dt))
		o.RiseRate = &rate
		w.stiffness()
	}
	names := []measured{
		{"impulse", "N s", m.impulse, func(m motion) float64 { return m.impulse }},
		{"energy absorbed", "J", m.absorbed, func(m motion) float64 { return m.absorbed }},
		{"largest elongation", "m", m.xMax, func(m motion) float64 { return m.xMax }},
		{"impact speed", "m/s", m.impactV, func(m motion) float64 { return m.impactV }},
	}
	if w.ev.endKind == "slack" && m.bottomed {
		ret := quantity.Energy(m.returned)
		reb := quantity.Speed(-m.vEnd)
		o.EnergyReturned, o.ReboundSpeed = &ret, &reb
		if m.absorbed > 0.001*w.set.Mass.SI()*w.set.Gravity.SI()*m.xMax && m.xMax > 1e-4 {
			loss := quantity.Ratio((m.absorbed - m.returned) / m.absorbed)
			o.LossFactor = &loss
			names = append(names, measured{"loss factor", "", loss.SI(), func(m motion) float64 { return (m.absorbed - m.returned) / m.absorbed }})
		}
		names = append(names,
			measured{"energy returned", "J", m.returned, func(m motion) float64 { return m.returned }},
			measured{"rebound speed", "m/s", -m.vEnd, func(m motion) float64 { return -m.vEnd }})
	}
	if w.ev.endKind == "end of record" {
		o.warn("the record ends at %.3f s, before the force has returned to zero: duration, impulse and energy reach to the end of the record only", float64(w.clock(w.ev.end)))
	}
	w.addMeasure(nil, "arrest duration", "s", o.ArrestDuration.SI(), []uncert.Component{
		{Label: "moment of taut", Kind: "B", Shape: "rectangular", U: w.ev.tautU, DoF: math.Inf(1), Sensitivity: 1},
		{Label: "moment of the end", Kind: "B", Shape: "rectangular", U: math.Max(w.ev.endU, w.dt/math.Sqrt(12)), DoF: math.Inf(1), Sensitivity: 1},
	})
	vs := w.variations(w.inputsNow())
	for _, n := range names {
		w.addMeasure(n.of, n.name, n.unit, n.value, n.components(vs))
	}
	o.step("motion", map[string]any{"rule": "trapezoidal, unfiltered force", "impact_speed_mps": m.impactV, "speed_method": w.set.SpeedMethod, "bottomed": m.bottomed})
}

type measured struct {
	name, unit string
	value      float64
	of         func(motion) float64
}

// gainU is the relative standard uncertainty of the force scale at the peak.
func (w *work) gainU() (u, dof float64) {
	if w.cal != nil {
		cu, cd := w.cal.U(quantity.Force(w.peak.value))
		rel := cu.SI() / w.peak.value
		ref := w.set.Calibration.ReferenceU.SI()
		if total := math.Hypot(rel, ref); total > 0 {
			// Welch-Satterthwaite for the fit's share; the reference is taken as well known.
			return total, cd * math.Pow(total/math.Max(rel, 1e-300), 4)
		}
		return 0, math.Inf(1)
	}
	return w.set.GainU.SI(), math.Inf(1)
}

// variation is the motion with one input raised and lowered by its standard uncertainty.
type variation struct {
	label, kind, shape string
	u, dof             float64
	lo, hi             motion
}

// variations runs the motion twice for each uncertain input; all measures share the runs.
func (w *work) variations(in inputs) []variation {
	gain, gainDoF := w.gainU()
	inf := math.Inf(1)
	var out []variation
	vary := func(label, kind, shape string, u, dof float64, set func(*inputs, float64)) {
		if !(u > 0) {
			return
		}
		lo, hi := in, in
		set(&lo, -u)
		set(&hi, u)
		out = append(out, variation{label, kind, shape, u, dof, w.runMotion(lo), w.runMotion(hi)})
	}
	vary("force scale", "B", "normal", gain, gainDoF, func(i *inputs, d float64) { i.gain += d })
	vary("zero", "A", "t", w.zeroU, w.zeroDoF, func(i *inputs, d float64) { i.zero += d })
	vary("mass", "B", "normal", w.set.MassU.SI(), inf, func(i *inputs, d float64) { i.mass += d })
	vary("fall height", "B", "normal", math.Min(w.set.FallU.SI(), in.fall), inf, func(i *inputs, d float64) { i.fall += d })
	vary("moment of the end", "B", "rectangular", w.ev.endU, inf, func(i *inputs, d float64) { i.end += d })
	vary("moment of taut", "B", "rectangular", w.ev.tautU, inf, func(i *inputs, d float64) { i.taut = max(0, i.taut+d) })
	return out
}

// components takes half the difference of a measure under both signs of each input as that input's
// contribution (JCGM 100:2008, 5.1.3, note 2).
func (n measured) components(vs []variation) []uncert.Component {
	var parts []uncert.Component
	for _, v := range vs {
		c := uncert.Component{Label: v.label, Kind: v.kind, Shape: v.shape, U: v.u, DoF: v.dof, Sensitivity: (n.of(v.hi) - n.of(v.lo)) / (2 * v.u)}
		if c.Sensitivity != 0 {
			parts = append(parts, c)
		}
	}
	return parts
}

// addMeasure enters a measure with its budget; one whose uncertainty cannot be told is left out, with a warning.
func (w *work) addMeasure(of func(motion) float64, name, unit string, value float64, parts []uncert.Component) {
	c, err := uncert.Combine(w.set.Coverage, parts...)
	if err != nil {
		w.out.warn("the measure %q is left out: its uncertainty cannot be told (%v)", name, err)
		return
	}
	m := Measure{Name: name, Unit: unit, Value: value, U: c.U, DoF: DoF(c.DoF), Budget: rows(parts)}
	w.bound(&m, of)
	w.out.Measures = append(w.out.Measures, m)
}

// stiffness fills the secant stiffness (peak force over the elongation at the peak) and the tangent stiffness
// (least squares of force on elongation between 50 % and 90 % of the peak on the way up).
func (w *work) stiffness() {
	var x, n, sx, sf, sxx, sxf float64
	w.walk(w.forceN, func(i int, at, _ float64) {
		if float64(i)*w.dt > w.peak.time {
			return
		}
		x = at
		if s := w.lowN[i]; s >= 0.5*w.peak.value && s <= 0.9*w.peak.value {
			n++
			sx += x
			sf += s
			sxx += x * x
			sxf += x * s
		}
	})
	if x > 0 {
		k := quantity.Stiffness(w.peak.value / x)
		w.out.SecantStiffness = &k
	}
	if d := n*sxx - sx*sx; n >= 3 && d > 0 {
		k := quantity.Stiffness((n*sxf - sx*sf) / d)
		w.out.TangentStiff = &k
	}
}

// sharpU is an eighth of the fall from the largest sample to its neighbours: what a parabola through them may miss of a top that is
// sharper, as friction makes it (bench/truth at 200 Hz and 1 kHz).
func (w *work) sharpU() float64 {
	i := int(math.Round(w.peak.time / w.dt))
	if i < 1 || i+1 >= len(w.lowN) {
		return 0
	}
	return math.Max(0, w.lowN[i]-(w.lowN[i-1]+w.lowN[i+1])/2) / 8
}

// topTerms are what makes the top of a peak read wrong.
func (w *work) topTerms() []uncert.Component {
	sampling, filter, rig := w.biases()
	p, inf := w.peak, math.Inf(1)
	return []uncert.Component{
		uncert.Component{Label: "filter, as on a half-sine", Kind: "B", Shape: "rectangular", U: uncert.RectangularUncertainty(filter), Sensitivity: 1, DoF: inf},
		// The wider filters show a part of the error only: their difference is taken as a standard uncertainty.
		uncert.Component{Label: "filter, against three and six times its frequency", Kind: "B", Shape: "normal", U: math.Abs(p.opened), Sensitivity: 1, DoF: inf},
		// Anywhere from nothing to the worst under-read; interpolation leaves less.
		uncert.Component{Label: "sampling", Kind: "B", Shape: "rectangular", U: uncert.RectangularUncertainty(sampling / 2), Sensitivity: 1, DoF: inf},
		uncert.Component{Label: "rig: dynamic error", Kind: "B", Shape: "rectangular", U: uncert.RectangularUncertainty(rig), Sensitivity: 1, DoF: inf},
		uncert.Component{Label: "rig: ringing", Kind: "B", Shape: "arcsine", U: uncert.ArcsineUncertainty(p.ring), Sensitivity: 1, DoF: inf},
	}
}

// budget combines the components of the peak's uncertainty.
func (w *work) budget() {
	p := w.peak
	inf := math.Inf(1)
	gain := 1.0
	if w.filter && !p.oneSided {
		gain = w.q.NoiseGain()
	}
	var parts []uncert.Component
	w.out.ScaleKnown = w.cal != nil || w.set.GainU > 0
	switch {
	case w.cal != nil:
		u, dof := w.cal.U(quantity.Force(p.value))
		parts = append(parts, uncert.Component{Label: "calibration curve and scatter", Kind: "A", Shape: "t", U: u.SI(), Sensitivity: 1, DoF: dof})
		if ref := w.set.Calibration.ReferenceU.SI(); ref > 0 {
			parts = append(parts, uncert.Component{Label: "reference force of the calibration", Kind: "B", Shape: "normal", U: ref * p.value, Sensitivity: 1, DoF: inf})
		} else {
			w.out.warn("certificate %s states no uncertainty of its reference forces: the budget holds only the scatter about the curve", w.cal.Data.Certificate)
		}
		if quantity.Force(p.value) > w.cal.ForceMax || quantity.Force(p.value) < w.cal.ForceMin {
			w.out.warn("the peak %s lies outside the calibrated range %s to %s; extend the calibration", quantity.Force(p.value), w.cal.ForceMin, w.cal.ForceMax)
		}
	case w.set.GainU > 0:
		parts = append(parts, uncert.Component{Label: "force scale as stated", Kind: "B", Shape: "normal", U: w.set.GainU.SI() * p.value, Sensitivity: 1, DoF: inf})
	default:
		w.out.warn("no calibration is given: the budget of the peak leaves the force scale out; give the certificate's readings, or the relative uncertainty")
	}
	if c := w.set.Capacity; c > 0 && quantity.Force(p.raw) > c {
		w.out.warn("the peak %s is above the load cell's capacity %s; inspect and recalibrate the load cell", quantity.Force(p.raw), c)
	}
	parts = append(parts,
		uncert.Component{Label: "zero", Kind: "A", Shape: "t", U: w.zeroU, Sensitivity: 1, DoF: w.zeroDoF},
		uncert.Component{Label: "resolution", Kind: "B", Shape: "rectangular", U: w.stepN / math.Sqrt(12), Sensitivity: 1, DoF: inf})
	if p.oneSided {
		parts = append(parts, uncert.Component{Label: "fit before the break (noise, ringing)", Kind: "A", Shape: "t", U: p.fitU, Sensitivity: 1, DoF: p.fitDoF})
	} else {
		white := w.noiseN
		if w.hasQuiet {
			white = w.whiteN
		}
		parts = append(parts,
			uncert.Component{Label: "noise after the filter", Kind: "A", Shape: "t", U: white, Sensitivity: gain, DoF: math.Max(float64(w.quietN-2), 1)},
			uncert.Component{Label: "hum and wander, as in the quiet stretch", Kind: "A", Shape: "arcsine", U: w.slowN, Sensitivity: 1, DoF: inf},
			uncert.Component{Label: "sampling, at a top sharper than a parabola", Kind: "B", Shape: "normal", U: w.sharpU(), Sensitivity: 1, DoF: inf})
	}
	if !w.out.PeakHidden { // what shifts the top says nothing of a force beside it
		parts = append(parts, w.topTerms()...)
	}
	parts = append(parts, w.placeByHand()...)
	c, err := uncert.Combine(w.set.Coverage, parts...)
	if a := w.out.Alone; err == nil && a != nil && a.PeakU.SI() > c.U {
		parts = append(parts, uncert.Component{Label: "a place set by hand takes nothing off the record's own uncertainty", Kind: "B", Shape: "normal", U: math.Sqrt(a.PeakU.SI()*a.PeakU.SI() - c.U*c.U), Sensitivity: 1, DoF: inf})
		c, err = uncert.Combine(w.set.Coverage, parts...)
	}
	if err != nil {
		w.out.warn("peak: %v", err)
		return
	}
	o := w.out
	o.PeakBudget, o.PeakU, o.PeakExpanded, o.PeakK, o.PeakDoF = rows(parts), quantity.Force(c.U), quantity.Force(c.Expanded), c.K, DoF(c.DoF)
	o.step("uncertainty", map[string]any{"rule": "quadrature, Welch-Satterthwaite, Student t at degrees of freedom rounded down", "coverage": c.Coverage})
}
