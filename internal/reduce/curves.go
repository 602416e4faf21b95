package reduce

import (
	"math"

	"hardcatch/internal/drop"
	"hardcatch/internal/quantity"
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

// Draw reduces a trace again and returns its curves from before to after the arrest, seconds beyond taut and end.
func Draw(t *drop.Trace, s Settings, before, after float64) (*Curves, error) {
	w, err := run(t, s)
	if err != nil {
		return nil, err
	}
	c := &Curves{Reduction: w.out, Rate: t.Rate, End: quantity.Duration(w.ev.end - w.ev.taut)}
	if w.ev.endKind == "end of record" {
		c.End = quantity.Duration(math.NaN())
	}
	show := w.lowN
	if w.ev.endKind == "break" {
		// The ringing after a break says nothing of the specimen.
		show, after = w.forceN, min(after, 0.004)
	}
	from := max(0, int((w.ev.taut-before)/w.dt))
	to := min(len(show), int((w.ev.end+after)/w.dt)+1)
	c.Force = append([]float64(nil), show[from:to]...)
	c.Start = quantity.Duration(float64(from)*w.dt - w.ev.taut)
	c.LoopForce, c.Elongation = []float64{0}, []float64{0}
	w.walk(func(i int, x, _ float64) {
		c.LoopForce, c.Elongation = append(c.LoopForce, show[i]), append(c.Elongation, x)
		if float64(i)*w.dt <= w.peak.time {
			c.PeakAt = quantity.Length(x)
		}
	})
	return c, nil
}
