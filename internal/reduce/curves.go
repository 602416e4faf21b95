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
	w.loop(c, show)
	return c, nil
}

// loop integrates the motion as the measures do, keeping the path.
func (w *work) loop(c *Curves, show []float64) {
	in := w.inputsNow()
	v, x, f, t := math.Sqrt(2*in.gravity*in.fall), 0.0, 0.0, in.taut
	c.LoopForce, c.Elongation = append(c.LoopForce, 0), append(c.Elongation, 0)
	for i := w.ev.first; i <= w.ev.endAt; i++ {
		at := float64(i) * w.dt
		h := at - t
		nv := v + in.gravity*h - h*(f+w.forceN[i])/(2*in.mass)
		x += h * (v + nv) / 2
		v, f, t = nv, w.forceN[i], at
		c.LoopForce, c.Elongation = append(c.LoopForce, show[i]), append(c.Elongation, x)
		if at <= w.peak.time {
			c.PeakAt = quantity.Length(x)
		}
	}
}
