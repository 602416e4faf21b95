package reduce

import (
	"fmt"
	"math"

	"github.com/hardcatch/hardcatch/internal/num/dsp"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// tail is the force at the end of the record.
type tail struct {
	mean, u float64
	dof     float64
	swing   float64 // half the difference of largest and smallest filtered value
	empty   bool    // nothing hangs: the force is back at zero for good
	rest    bool    // the mass hangs at rest
	why     string  // when neither
}

// findTail measures the last stretch of the record: a tenth of it, from 0.1 s to 0.5 s. The mean is taken
// over whole swings of the mass, so that a slow bounce does not bias it. m is the motion in the first arrest.
func (w *topped) findTail(m motion) tail {
	n := len(w.forceN)
	want := math.Min(0.5, math.Max(0.1, 0.1*float64(n)*w.dt))
	size := int(want / w.dt)
	from := n - size
	lastEnd, lastFlight := w.ev.end, 0.0
	if k := len(w.ev.later); k > 0 {
		lastEnd = float64(w.ev.later[k-1].to) * w.dt
		lastFlight = w.ev.later[k-1].flight.SI()
	} else if w.ev.endKind == "slack" {
		lastFlight = math.Max(0, -2*m.vEnd/w.set.Gravity.SI())
	}
	var t tail
	weight := w.set.Mass.SI() * w.set.Gravity.SI()
	if size < 8 || from <= w.ev.endAt && w.ev.endKind != "end of record" || w.ev.endKind == "end of record" && float64(from)*w.dt < w.peak.time+2*(w.peak.time-w.ev.taut) {
		t.why = "the record ends too soon after the arrest"
		return t
	}
	seen := w.seenN[from:]
	lo, hi, sum := seen[0], seen[0], 0.0
	for _, v := range seen {
		lo, hi, sum = math.Min(lo, v), math.Max(hi, v), sum+v
	}
	mean := sum / float64(size)
	t.swing = (hi - lo) / 2
	a, b, cycles := wholeSwings(seen, mean)
	level := dsp.MeasureLevel(w.forceN[from+a : from+b])
	t.mean = level.Mean
	// A partial swing left over biases the mean by at most swing/(pi cycles).
	t.u = math.Hypot(w.zeroU, math.Hypot(level.SD/math.Sqrt(float64(level.N)), t.swing/(math.Pi*math.Max(cycles, 1))/math.Sqrt(3)*boolTo(cycles > 0)))
	if cycles == 0 {
		t.u = math.Hypot(t.u, math.Max(level.MeanU, t.swing/math.Sqrt(3)*boolTo(t.swing > 0.02*weight)))
	}
	if w.hasQuiet {
		// The zero may have drifted since the quiet stretch, at the rate seen there and its error.
		drift := math.Hypot(w.quiet.Slope, w.quiet.SlopeU) * float64(from+size/2-w.quietN/2)
		t.u = math.Hypot(t.u, drift)
	}
	t.dof = w.zeroDoF
	inFlight := float64(from)*w.dt < lastEnd+1.3*lastFlight
	switch {
	case math.Abs(t.mean) < 0.15*weight && t.swing < 0.25*weight:
		if inFlight && w.ev.endKind != "break" {
			t.why = "the record ends while the mass may still be in flight"
			return t
		}
		t.empty = true
	case lo > 0.1*weight && t.swing < 0.4*weight:
		t.rest = true
	default:
		t.why = fmt.Sprintf("the mass is not at rest at the end of the record (the force swings by ±%s)", quantity.Force(t.swing).Text(2))
	}
	w.step("tail", map[string]any{"from_s": float64(w.clock(float64(from+a) * w.dt)), "mean_N": t.mean, "swing_N": t.swing, "swings": cycles, "rest": t.rest})
	return t
}

// wholeSwings cuts x to whole periods between its first and last upward crossings of the mean; all of it
// with 0 cycles when there are fewer than two.
func wholeSwings(x []float64, mean float64) (from, to int, cycles float64) {
	first, last, count := -1, -1, 0
	for i := 1; i < len(x); i++ {
		if x[i-1] < mean && x[i] >= mean {
			if first < 0 {
				first = i
			}
			last = i
			count++
		}
	}
	if count < 2 {
		return 0, len(x), 0
	}
	return first, last, float64(count - 1)
}

func boolTo(b bool) float64 {
	if b {
		return 1
	}
	return 0
}
