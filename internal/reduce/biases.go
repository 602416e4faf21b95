package reduce

import (
	"fmt"
	"math"

	"github.com/hardcatch/hardcatch/internal/num/dsp"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// biases are what makes the peak read wrong. Shown minus true, N.
type biases struct {
	sampling, filter, rig float64
	opened                float64    // change of the peak through filters of higher frequency
	terms                 []BiasTerm // as printed
}

// findBiases lists what makes the peak read wrong, one term each.
func (w *topped) findBiases() biases {
	p := w.peak
	var out biases
	worst, mean := dsp.HalfSineSamplingLoss(w.dt, p.pulse)
	sampling := -worst * p.value
	if p.oneSided() {
		// A force that rises until it breaks off is under-read by up to a sample's rise.
		sampling = -p.slope
		worst, mean = p.slope/p.value, p.slope/p.value/2
	}
	text := fmt.Sprintf("at %s a half-sine as sharp as this peak (%s) is under-read by at most %.2g %% and by %.2g %% on average before interpolation", w.trace.Rate.Text(3), quantity.Duration(p.pulse).Text(3), 100*worst, 100*mean)
	out.sampling, out.terms = sampling, append(out.terms, biasTerm("sampling", &sampling, text))
	filter := 0.0
	switch {
	case p.oneSided():
		shown := p.filtered - p.value
		out.terms = append(out.terms, biasTerm("filter", &filter, fmt.Sprintf("the peak is read from unfiltered samples before the break; %s would show %s, %.1f %% of it", w.set.Filter, quantity.Force(p.filtered), 100*(1+shown/p.value))))
	case w.filter:
		ratio := dsp.HalfSineFilterRatio(w.q, p.pulse, 1/w.dt)
		filter = (ratio - 1) * p.value
		out.opened = w.filterDifference()
		out.terms = append(out.terms, biasTerm("filter", &filter, fmt.Sprintf("%s shows %.2f %% of the peak of a half-sine of %s", w.set.Filter, 100*ratio, quantity.Duration(p.pulse).Text(3))))
		if ratio < 0.98 {
			w.warn("the filter %s takes %.1f %% off a peak as sharp as this one (%s); reduce again with a higher class", w.set.Filter, 100*(1-ratio), quantity.Duration(p.pulse).Text(3))
		}
	default:
		out.terms = append(out.terms, biasTerm("filter", &filter, "no filter is applied"))
	}
	out.filter = filter
	rig, term := w.rigBias()
	out.rig, out.terms = rig, append(out.terms, term)
	return out
}

// filterDifference is the larger change of the peak when the filter is opened to three and to six times its
// frequency. Pulses that are no half-sines (friction makes a cusp) show their filter error in it.
func (w *topped) filterDifference() (opened float64) {
	tried := false
	var y []float64
	for _, times := range []quantity.Frequency{3, 6} {
		q, err := Filter{Cutoff: times * w.set.Filter.Cut3dB()}.biquad(w.trace.Rate)
		if err != nil {
			continue
		}
		tried = true
		pad := q.Settle()
		from, to := max(0, w.ev.first-pad), min(len(w.forceN), w.ev.endAt+pad)
		if cap(y) < to-from {
			y = make([]float64, to-from)
		}
		y = y[:to-from]
		q.FiltFilt(y, w.forceN[from:to], 0)
		top := dsp.InterpolatePeak(y[w.ev.first-from : max(w.ev.endAt+1-from, w.ev.first-from+1)]).Value
		if w.peak.byHand {
			top = between(y, w.peak.time/w.dt-float64(from))
		}
		if d := top - w.peak.value; math.Abs(d) > math.Abs(opened) {
			opened = d
		}
	}
	if !tried {
		w.warn("the error of the filter could not be tested with a higher one at this sample rate")
	}
	return opened
}

// rigBias is the dynamic error of the rig.
func (w *topped) rigBias() (float64, BiasTerm) {
	p := w.peak
	f := w.set.RigFrequency.SI()
	if f <= 0 {
		term := biasTerm("rig frequency", nil, "the natural frequency of the load cell with its node is not stated, so that its share of the peak cannot be told; strike the empty hook and read the ringing")
		w.warn("the rig's natural frequency is not stated: the budget of the peak holds the ringing seen, not the dynamic error of the rig")
		return 0, term
	}
	r := 1 / (2 * p.pulse * f)
	if r > 0.7 {
		term := biasTerm("rig frequency", nil, fmt.Sprintf("the rig's natural frequency %s is too low for a pulse of %s: the record shows the rig, not the specimen", quantity.Frequency(f).Text(3), quantity.Duration(p.pulse).Text(3)))
		w.warn("the rig rings at %s, too slowly for a pulse of %s: the peak is not the specimen's", quantity.Frequency(f).Text(3), quantity.Duration(p.pulse).Text(3))
		return 0.5 * p.value, term
	}
	bias := (1/(1-r*r) - 1) * p.value
	return bias, biasTerm("rig frequency", &bias, fmt.Sprintf("a node that rings at %s shows a half-sine of %s %.2g %% too high; ringing of %s is seen on the raw record about the peak", quantity.Frequency(f).Text(3), quantity.Duration(p.pulse).Text(3), 100*bias/p.value, quantity.Force(p.ringing).Text(2)))
}

func biasTerm(source string, v *float64, text string) BiasTerm {
	t := BiasTerm{Source: source, Text: text}
	if v != nil {
		f := quantity.Force(*v)
		t.Bias = &f
	}
	return t
}
