package reduce

import (
	"github.com/hardcatch/hardcatch/internal/num/dsp"
)

// filtered are the force through filters.
type filtered struct {
	lowN   []float64 // through the chosen filter; the force itself when there is none
	seenN  []float64 // through the detection filter of class 60, or the chosen one if that is lower
	q      dsp.Biquad
	filter bool
}

// lowPass puts the force through the chosen filter and the one by which events are looked for.
func (w *given) lowPass(x []float64) filtered {
	n := len(x)
	out := filtered{lowN: x}
	if !w.set.Filter.None() {
		q, err := w.set.Filter.biquad(w.trace.Rate)
		if err != nil {
			// A lower class is not chosen behind the user's back.
			w.warn("the filter %s was not applied: %v", w.set.Filter, err)
			w.step("filter", map[string]any{"applied": "none", "asked": w.set.Filter.String(), "why": err.Error()})
		} else {
			out.q, out.filter = q, true
			switch c := w.set.Filter.Class; c {
			case 0, 60, 180, 600, 1000:
			default:
				w.warn("channel class %g is none of the standard's 60, 180, 600 and 1000", c)
			}
			out.lowN = make([]float64, n)
			pad := min(q.Settle(), n-1)
			q.FiltFilt(out.lowN, x, pad)
			w.step("filter", map[string]any{"filter": w.set.Filter.String(), "a0": q.A0, "b1": q.B1, "b2": q.B2, "passes": "forward, backward", "padding": pad})
		}
	} else {
		w.step("filter", map[string]any{"applied": "none"})
	}
	out.seenN = out.lowN
	if cut := w.set.Filter.Cut3dB().SI(); !out.filter || cut > 110 {
		if q, err := dsp.ChannelClass(60, w.trace.Rate.SI(), dsp.SAE); err == nil {
			out.seenN = make([]float64, n)
			q.FiltFilt(out.seenN, x, min(q.Settle(), n-1))
		}
	}
	return out
}
