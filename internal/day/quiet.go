package day

import (
	"math"
	"slices"

	"github.com/hardcatch/hardcatch/internal/quantity"
)

// QuietWatch watches the force while nothing should load the cell, over the last second. A load that swings is seen by how far its middle goes, as its slope over a second may be none.
type QuietWatch struct {
	at, mid, half []float64 // s, N, N
}

const quietSpan = 1.01 // s: one second between the first view and the last, whatever the rounding

// Reset forgets what was watched.
func (q *QuietWatch) Reset() { q.at, q.mid, q.half = nil, nil, nil }

// Add watches one view.
func (q *QuietWatch) Add(v LiveView) {
	q.at = append(q.at, v.At.SI())
	q.mid = append(q.mid, (v.Min.SI()+v.Max.SI())/2)
	q.half = append(q.half, (v.Max.SI()-v.Min.SI())/2)
	cut := 0
	for cut < len(q.at) && v.At.SI()-q.at[cut] > quietSpan {
		cut++
	}
	q.at, q.mid, q.half = q.at[cut:], q.mid[cut:], q.half[cut:]
}

// Seen is what was watched: mean, mean half of the peak-to-peak, and the slope of a straight line by least squares. It is nil while
// there is too little.
func (q *QuietWatch) Seen() *Quiet {
	n := float64(len(q.at))
	if n < 3 {
		return nil
	}
	var t, m, h float64
	for i := range q.at {
		t, m, h = t+q.at[i]/n, m+q.mid[i]/n, h+q.half[i]/n
	}
	lo, hi := slices.Min(q.mid), slices.Max(q.mid)
	var tt, tm float64
	for i := range q.at {
		tt += (q.at[i] - t) * (q.at[i] - t)
		tm += (q.at[i] - t) * (q.mid[i] - m)
	}
	slope := 0.0
	if tt > 0 {
		slope = tm / tt
	}
	if math.IsNaN(m) || math.IsNaN(slope) {
		return nil
	}
	return &Quiet{For: quantity.Duration(q.at[len(q.at)-1] - q.at[0]), Mean: quantity.Force(m), Noise: quantity.Force(h), Drift: quantity.ForceRate(slope), Range: quantity.Force(hi - lo)}
}
