package reduce

import (
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// WholeReduction is a whole record as its reduction sees it, for a person to look at. Times are on the record's
// clock.
type WholeReduction struct {
	Reduction *Reduction
	Rate      quantity.Frequency
	Start     quantity.Duration // of sample 0
	Force     []float64         // N, calibrated, zeroed, before the filter
	Filtered  []float64         // N; the same slice as Force when no filter was applied
	Taut      quantity.Duration
	Peak      quantity.Duration
	End       quantity.Duration // of the first arrest
	EndKind   string            // "slack", "break" or "end of record"
	First     int               // sample of the first of the values below
	Speed     []float64         // m/s downward, from taut to the end of the arrest
	Moved     []float64         // m, elongation with rig and anchor, as many

	taut, peak, end float64 // s from sample 0
}

// ReduceWhole reduces a trace again and returns all of it.
func ReduceWhole(t *drop.Trace, s Settings) (*WholeReduction, error) {
	w, err := run(t, s, false)
	if err != nil {
		return nil, err
	}
	out := &WholeReduction{
		Reduction: w.reduction(), Rate: t.Rate, Start: w.trace.Start, Force: w.wholeN, Filtered: w.lowN, Taut: w.clock(w.ev.taut), Peak: w.clock(w.peak.time),
		End: w.clock(w.ev.end), EndKind: w.ev.endKind, First: w.ev.first,
		taut: w.ev.taut, peak: w.peak.time, end: w.ev.end,
	}
	if !w.filter {
		out.Filtered = out.Force
	}
	n := max(w.ev.endAt-w.ev.first+1, 0)
	out.Moved, out.Speed = make([]float64, 0, n), make([]float64, 0, n)
	w.walk(w.wholeN, func(_ int, x, v float64) {
		out.Moved, out.Speed = append(out.Moved, x), append(out.Speed, v)
	})
	return out, nil
}
