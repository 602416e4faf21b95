// Package simdev is a simulated rig: it drops a mass on a modelled specimen and digitises what the load cell
// would show.
package simdev

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"

	"github.com/hardcatch/hardcatch/internal/arrest"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// Cell is the load cell with its amplifier and converter.
type Cell struct {
	Capacity    quantity.Force     // at which the output is Sensitivity
	Sensitivity quantity.Ratio     // output at capacity, 0.002 for 2 mV/V
	Curve       quantity.Ratio     // departure from a straight line at capacity, as a share of Sensitivity
	Range       quantity.Force     // the converter clips beyond this force, both signs; 0 = Capacity
	Bits        int                // of the converter over the whole range; 0 = 24
	Noise       quantity.Force     // standard deviation of a sample
	Hum         quantity.Force     // amplitude of mains hum
	HumAt       quantity.Frequency // 0 = 50 Hz
	Offset      quantity.Force     // reading of the unloaded cell
	Drift       quantity.Force     // change of the offset per second
}

// Drop is one drop to take.
type Drop struct {
	Case   arrest.Case
	Rate   quantity.Frequency
	Before quantity.Duration // quiet time before the release
	Pluck  quantity.Force    // bump that the release gives the specimen, 0 = none
	Seed   uint64
}

// Record is what the converter wrote, with the truth beside it.
type Record struct {
	Rate   quantity.Frequency
	Counts []int32
	// PerCount is the output in mV/V of one count, as a ratio.
	PerCount float64
	Cell     Cell
	Truth    *arrest.Result
	Clipped  int // samples at the end of the range
	TrueTaut quantity.Duration
}

// Take simulates one drop. The same drop and seed give the same counts.
func (c Cell) Take(ctx context.Context, d Drop) (*Record, error) {
	if c.Capacity <= 0 || c.Sensitivity <= 0 || d.Rate <= 0 || d.Before < 0 {
		return nil, fmt.Errorf("simulated rig: capacity, sensitivity and rate must be positive and the quiet time not negative")
	}
	g := d.Case.Gravity.SI()
	if g == 0 {
		g = quantity.StandardGravity
	}
	falling := math.Sqrt(2 * d.Case.Fall.SI() / g)
	taut := d.Before.SI() + falling
	run := d.Case
	res, err := arrest.Run(ctx, &run, arrest.Options{Sample: &arrest.Sampling{Rate: d.Rate, Before: quantity.Duration(taut)}})
	if err != nil {
		return nil, fmt.Errorf("simulated rig: %w", err)
	}
	r := &Record{Rate: d.Rate, Counts: make([]int32, len(res.Samples.Cell)), Cell: c, Truth: res, TrueTaut: quantity.Duration(taut)}
	bits := c.Bits
	if bits == 0 {
		bits = 24
	}
	top := float64(int64(1)<<(bits-1) - 1)
	full := c.Range
	if full == 0 {
		full = c.Capacity
	}
	r.PerCount = c.Output(full) / top
	rng := rand.New(rand.NewPCG(d.Seed, 0x9e3779b97f4a7c15))
	hum := 2 * math.Pi * orElse(c.HumAt.SI(), 50)
	phase := 2 * math.Pi * rng.Float64()
	dt := 1 / d.Rate.SI()
	for i, f := range res.Samples.Cell {
		t := float64(i) * dt
		v := f.SI() + c.Offset.SI() + c.Drift.SI()*t + c.Hum.SI()*math.Sin(hum*t+phase) + c.Noise.SI()*rng.NormFloat64()
		if since := t - d.Before.SI(); d.Pluck > 0 && since > 0 && since < 0.02 {
			v += d.Pluck.SI() * math.Sin(math.Pi*since/0.02)
		}
		n := math.Round(c.Output(quantity.Force(v)) / r.PerCount)
		if n > top || n < -top-1 {
			n = math.Max(-top-1, math.Min(top, n))
			r.Clipped++
		}
		r.Counts[i] = int32(n)
	}
	return r, nil
}

// Output is what the cell shows under a force, as a ratio (0.002 is 2 mV/V), slightly curved.
func (c Cell) Output(f quantity.Force) float64 {
	x := f.SI() / c.Capacity.SI()
	return c.Sensitivity.SI() * x * (1 - c.Curve.SI()*(x-1))
}

// ForceAt is the force that a logger with a straight-line scale from zero to capacity writes for sample i.
func (r *Record) ForceAt(i int) quantity.Force {
	return quantity.Force(float64(r.Counts[i]) * r.PerCount / r.Cell.Sensitivity.SI() * r.Cell.Capacity.SI())
}

func orElse(v, d float64) float64 {
	if v == 0 {
		return d
	}
	return v
}
