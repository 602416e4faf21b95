package selfcal

import (
	"math"
	"math/rand/v2"

	"github.com/hardcatch/hardcatch/internal/num/dsp"
	"github.com/hardcatch/hardcatch/internal/reduce"
)

// residuals are what a record shows beside its arrest: noise and hum as in the quiet stretch before it, and what rings about the first arrest.
type residuals struct {
	quiet []float64 // N, about zero
	noise float64   // N, where there is no quiet stretch
	ring  []float64 // N, from the sample first on: the force less itself through the detection filter, less the same of the model's
	first int
	q     dsp.Biquad
	split bool // the rate allows the detection filter
}

// leastQuiet is how many samples a quiet stretch has to have; ringClear is kept clear of a collapse, which a filter smears, s.
const (
	leastQuiet = 64
	ringClear  = 6e-3
)

// residualsOf takes them from a record; modelN is the force of the model at the same samples.
func residualsOf(w *reduce.WholeReduction, modelN []float64) residuals {
	dt := 1 / w.Rate.SI()
	out := residuals{noise: w.Reduction.NoiseSD.SI(), first: w.First}
	if n := w.First - max(w.First/20, int(2e-3/dt)+2); n >= leastQuiet {
		out.quiet = w.Force[:n]
	}
	q, err := dsp.ChannelClass(60, w.Rate.SI(), dsp.SAE)
	if err != nil {
		return out
	}
	out.q, out.split = q, true
	end := w.First + len(w.Moved)
	if w.EndKind == "break" {
		end -= int(ringClear / dt)
	}
	if end <= w.First {
		return out
	}
	beside := func(x []float64) []float64 {
		pad := q.Settle()
		from, to := max(0, w.First-pad), min(len(x), w.First+len(w.Moved)+pad)
		y := make([]float64, to-from)
		q.FiltFilt(y, x[from:to], 0)
		d := make([]float64, end-w.First)
		for i := range d {
			d[i] = x[w.First+i] - y[w.First+i-from]
		}
		return d
	}
	out.ring = beside(w.Force)
	for i, m := range beside(modelN) {
		out.ring[i] -= m
	}
	return out
}

// drawn is a course of residuals over n samples: the quiet stretch from somewhere on, there and back, turned over or not; in the arrest the fast
// part of it gives way to what rings there.
func (r residuals) drawn(n int, rng *rand.Rand) []float64 {
	x := make([]float64, n)
	if len(r.quiet) == 0 {
		for i := range x {
			x[i] = r.noise * rng.NormFloat64()
		}
	} else {
		k := len(r.quiet)
		sign := float64(1 - 2*rng.IntN(2))
		at := rng.IntN(2 * k)
		for i := range x {
			j := (at + i) % (2 * k)
			if j >= k {
				j = 2*k - 1 - j
			}
			x[i] = sign * r.quiet[j]
		}
	}
	if len(r.ring) == 0 {
		return x
	}
	slow := make([]float64, n)
	r.q.FiltFilt(slow, x, min(r.q.Settle(), n-1))
	sign := float64(1 - 2*rng.IntN(2))
	for i, v := range r.ring {
		if j := r.first + i; j < n && !math.IsNaN(v) {
			x[j] = slow[j] + sign*v
		}
	}
	return x
}
