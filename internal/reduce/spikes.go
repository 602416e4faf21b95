package reduce

import (
	"math"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/num/dsp"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// Shares of the momentum of the falling mass: what takes more than the first is no spike unless something else in the record
// takes more than the second (common practice, no source).
const (
	arrestShare = 0.25
	elseShare   = 0.6
)

// spikes finds spikes and short dropouts. A spike is larger than 20 times the noise and 4 % of the span of the record, begins and ends
// with a jump, and is what no mass could do: an excursion that takes a good part of the momentum of the falling mass, where
// nothing else in the record does, is an arrest sampled too slowly.
func (w *given) spikes(x []float64, e dsp.Extremes) []dsp.Glitch {
	found := dsp.Glitches(x, math.Max(20*roughNoise(x), 0.04*(e.Hi-e.Lo)))
	if len(found) == 0 {
		return nil
	}
	momentum := w.set.Mass.SI() * math.Max(math.Sqrt(2*w.set.Gravity.SI()*w.set.Fall.SI()), 1)
	base := startLevel(x)
	up := 1.0
	if base-e.Lo > e.Hi-base {
		up = -1
	}
	taken := make([]float64, len(found))
	slow := false
	for i, g := range found {
		for _, v := range x[g.From:g.To] {
			taken[i] += up * (v - x[g.From-1]) * w.dt
		}
		slow = slow || taken[i] > arrestShare*momentum
	}
	if slow && w.momentumElsewhere(x, found, base, up) < elseShare*momentum {
		kept := found[:0]
		for i, g := range found {
			if taken[i] <= arrestShare*momentum {
				kept = append(kept, g)
			}
		}
		found = kept
	}
	return found
}

// bridgeSpikes replaces spikes in x by straight lines, and says so.
func (w *given) bridgeSpikes(x []float64, mask drop.Mask, found []dsp.Glitch) drop.Mask {
	for _, g := range found {
		bridge(x, g.From-1, g.To, x[g.From-1])
		mask = mask.With(drop.Stretch{From: g.From, To: g.To, Is: drop.Bridged, Why: "a spike or dropout"})
		w.warn("a spike or dropout of %s over %d sample(s) at %.4f s was bridged by a straight line; look at cable and plug", quantity.Force(g.Size).Text(3), g.To-g.From, float64(w.clock(float64(g.From)*w.dt)))
	}
	w.step("spikes", map[string]any{"bridged": len(found)})
	return mask
}

// momentumElsewhere is the largest impulse about the base line that one stretch of the record takes between its passages through
// a tenth of the largest force, the excursions left out.
func (w *given) momentumElsewhere(x []float64, spikes []dsp.Glitch, base, up float64) (most float64) {
	level := 0.0
	for range 2 { // the level first, then the impulse above it
		sum, k := 0.0, 0
		most = 0
		largest := 0.0
		for i, v := range x {
			for k < len(spikes) && i >= spikes[k].To {
				k++
			}
			d := up * (v - base)
			if k < len(spikes) && i >= spikes[k].From {
				d = 0
			}
			largest = math.Max(largest, d)
			if d <= level {
				sum = 0
				continue
			}
			sum += d * w.dt
			most = math.Max(most, sum)
		}
		level = 0.1 * largest
	}
	return most
}
