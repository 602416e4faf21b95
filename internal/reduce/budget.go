package reduce

import (
	"math"

	"github.com/hardcatch/hardcatch/internal/num/uncert"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// sharpU is an eighth of the fall from the largest sample to its neighbours: what a parabola through them may miss of a top that is
// sharper, as friction makes it (bench/truth at 200 Hz and 1 kHz).
func (w *topped) sharpU() float64 {
	i := int(math.Round(w.peak.time / w.dt))
	if i < 1 || i+1 >= len(w.lowN) {
		return 0
	}
	return math.Max(0, w.lowN[i]-(w.lowN[i-1]+w.lowN[i+1])/2) / 8
}

// topTerms are what makes the top of a peak read wrong.
func (w *topped) topTerms(b biases) []uncert.Component {
	inf := math.Inf(1)
	return []uncert.Component{
		uncert.Component{Label: "filter, as on a half-sine", Kind: "B", Shape: "rectangular", U: uncert.RectangularUncertainty(b.filter), Sensitivity: 1, DoF: inf},
		// The wider filters show a part of the error only: their difference is taken as a standard uncertainty.
		uncert.Component{Label: "filter, against three and six times its frequency", Kind: "B", Shape: "normal", U: math.Abs(b.opened), Sensitivity: 1, DoF: inf},
		// Anywhere from nothing to the worst under-read; interpolation leaves less.
		uncert.Component{Label: "sampling", Kind: "B", Shape: "rectangular", U: uncert.RectangularUncertainty(b.sampling / 2), Sensitivity: 1, DoF: inf},
		uncert.Component{Label: "rig: dynamic error", Kind: "B", Shape: "rectangular", U: uncert.RectangularUncertainty(b.rig), Sensitivity: 1, DoF: inf},
		uncert.Component{Label: "rig: ringing", Kind: "B", Shape: "arcsine", U: uncert.ArcsineUncertainty(w.peak.ring), Sensitivity: 1, DoF: inf},
	}
}

// budgeted is the uncertainty of the peak.
type budgeted struct {
	parts    []BudgetRow
	u        quantity.Force // standard
	expanded quantity.Force
	k        float64
	dof      DoF
	bias     []BiasTerm // empty where the record does not show the peak
}

// scaleKnown tells that something is known of the force scale.
func (w *signal) scaleKnown() bool { return w.cal != nil || w.set.GainU > 0 }

// budget combines the components of the peak's uncertainty. alone is what the record gives without a peak set by hand, nil where nobody set it.
func (w *moved) budget(alone *RecordAlone) (out budgeted) {
	p := w.peak
	inf := math.Inf(1)
	gain := 1.0
	if w.filter && !p.oneSided() {
		gain = w.q.NoiseGain()
	}
	var parts []uncert.Component
	switch {
	case w.cal != nil:
		u, dof := w.cal.U(quantity.Force(p.value))
		parts = append(parts, uncert.Component{Label: "calibration curve and scatter", Kind: "A", Shape: "t", U: u.SI(), Sensitivity: 1, DoF: dof})
		if ref := w.set.Calibration.ReferenceU.SI(); ref > 0 {
			parts = append(parts, uncert.Component{Label: "reference force of the calibration", Kind: "B", Shape: "normal", U: ref * p.value, Sensitivity: 1, DoF: inf})
		} else {
			w.warn("certificate %s states no uncertainty of its reference forces: the budget holds only the scatter about the curve", w.cal.Data.Certificate)
		}
		if quantity.Force(p.value) > w.cal.ForceMax || quantity.Force(p.value) < w.cal.ForceMin {
			w.warn("the peak %s lies outside the calibrated range %s to %s; extend the calibration", quantity.Force(p.value), w.cal.ForceMin, w.cal.ForceMax)
		}
	case w.set.GainU > 0:
		parts = append(parts, uncert.Component{Label: "force scale as stated", Kind: "B", Shape: "normal", U: w.set.GainU.SI() * p.value, Sensitivity: 1, DoF: inf})
	default:
		w.warn("no calibration is given: the budget of the peak leaves the force scale out; give the certificate's readings, or the relative uncertainty")
	}
	if c := w.set.Capacity; c > 0 && quantity.Force(p.raw) > c {
		w.warn("the peak %s is above the load cell's capacity %s; inspect and recalibrate the load cell", quantity.Force(p.raw), c)
	}
	parts = append(parts,
		uncert.Component{Label: "zero", Kind: "A", Shape: "t", U: w.zeroU, Sensitivity: 1, DoF: w.zeroDoF},
		uncert.Component{Label: "resolution", Kind: "B", Shape: "rectangular", U: w.stepN / math.Sqrt(12), Sensitivity: 1, DoF: inf})
	if p.oneSided() {
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
	if !w.bound.hidden() { // what shifts the top says nothing of a force beside it
		b := w.findBiases()
		out.bias = b.terms
		parts = append(parts, w.topTerms(b)...)
	}
	parts = append(parts, w.placeByHand()...)
	c, err := uncert.Combine(w.set.Coverage, parts...)
	if a := alone; err == nil && a != nil && a.PeakU.SI() > c.U {
		parts = append(parts, uncert.Component{Label: "a place set by hand takes nothing off the record's own uncertainty", Kind: "B", Shape: "normal", U: math.Sqrt(a.PeakU.SI()*a.PeakU.SI() - c.U*c.U), Sensitivity: 1, DoF: inf})
		c, err = uncert.Combine(w.set.Coverage, parts...)
	}
	if err != nil {
		w.warn("peak: %v", err)
		return out
	}
	out.parts, out.u, out.expanded, out.k, out.dof = rows(parts), quantity.Force(c.U), quantity.Force(c.Expanded), c.K, DoF(c.DoF)
	w.step("uncertainty", map[string]any{"rule": "quadrature, Welch-Satterthwaite, Student t at degrees of freedom rounded down", "coverage": c.Coverage})
	return out
}
