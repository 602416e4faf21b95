package reduce

import (
	"math"

	"github.com/hardcatch/hardcatch/internal/quantity"
)

// Curves are what figures show of a reduction: force over time about the first arrest, and force over elongation
// from taut to the end of the arrest.
type Curves struct {
	Reduction *Reduction
	Rate      quantity.Frequency
	Start     quantity.Duration // of sample 0, after taut
	Force     []float64         // N, calibrated and zeroed; filtered for held drops, unfiltered for broken ones
	End       quantity.Duration // of the arrest, after taut; NaN when the record does not show it

	LoopForce  []float64 // N
	Elongation []float64 // m, as many
	PeakAt     quantity.Length
}

// Curves are what figures show of the record, from before to after the arrest: seconds beyond taut and end.
func (w *WholeReduction) Curves(before, after float64) *Curves {
	dt, taut, end := 1/w.Rate.SI(), w.taut, w.end
	c := &Curves{Reduction: w.Reduction, Rate: w.Rate, End: quantity.Duration(end - taut)}
	if w.EndKind == "end of record" {
		c.End = quantity.Duration(math.NaN())
	}
	show := w.Filtered
	if w.EndKind == "break" {
		// The ringing after a break says nothing of the specimen.
		show, after = w.Force, min(after, 0.004)
	}
	from := max(0, int((taut-before)/dt))
	to := min(len(show), int((end+after)/dt)+1)
	c.Force = append([]float64(nil), show[from:to]...)
	c.Start = quantity.Duration(float64(from)*dt - taut)
	c.LoopForce = append([]float64{0}, show[w.First:w.First+len(w.Moved)]...)
	c.Elongation = append([]float64{0}, w.Moved...)
	for i, x := range w.Moved {
		if float64(w.First+i)*dt <= w.peak {
			c.PeakAt = quantity.Length(x)
		}
	}
	return c
}
