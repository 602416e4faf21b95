package csvtrace

import (
	"fmt"
	"math"
	"sort"
	"strings"

	"github.com/hardcatch/hardcatch/internal/drop"
)

// resample chooses an even base for uneven times and says how uneven they are. The new step is the median
// step; where a tenth of the steps is half of it or less, as when a logger samples faster during an event, the
// longest of that tenth, so that the dense stretch keeps its detail.
func (r *reader) resample(at []int32, u []float64, rows []int32) (*settled, error) {
	steps := make([]float64, len(u)-1)
	for i := range steps {
		steps[i] = u[i+1] - u[i]
	}
	ordered := append([]float64(nil), steps...)
	sort.Float64s(ordered)
	median, tenth := ordered[len(ordered)/2], ordered[len(ordered)/10]
	step, why := median, "the median step"
	if tenth <= 0.5*median*(1+1e-9) {
		step, why = tenth, "the shortest step but for a tenth of them"
	}
	span := u[len(u)-1] - u[0]
	most := float64(min(int64(max(mostSwell*len(u), fewSamples)), int64(r.limit), r.roomOf(len(u))))
	if span/step > most {
		if w := widest(u); u[w]-u[w-1] > span/2 {
			return nil, fmt.Errorf("%s:%d: a gap from %s to %s is longer than the rest of the record; cut the record there", r.f.name, r.lineOf(int(rows[w])), r.show(u[w-1]), r.show(u[w]))
		}
		step, why = span/most, fmt.Sprintf("which gives %.0f samples; detail in steps shorter than that is lost", most)
	}
	step = roundStep(step)
	n := int(span/step*(1+1e-12)) + 1
	if n < fewest {
		return nil, fmt.Errorf("%s:%d: only %d samples are left on an even base; check the time column", r.f.name, r.first+1, n)
	}
	r.sayUneven(u, steps, median, step, why)
	nominal := r.longGaps(u, steps, rows, median, step)
	s := &settled{samples: n, at: at, start: r.time0().seconds(u[0]), rate: r.roundRate(step, 1e-9*step)}
	s.uneven = make([]float64, len(u))
	for i, v := range u {
		s.uneven[i] = (v - u[0]) / step
	}
	if nominal {
		r.compareRate(s.rate)
	}
	return s, nil
}

// roundStep takes the step to three digits, so that the base can be named.
func roundStep(step float64) float64 { return digitsOf(step, 3) }

func (r *reader) sayUneven(u, steps []float64, median, step float64, why string) {
	_, largest, rms := leastSquares(u)
	tol := math.Max(1.01*r.base.resolution(), 2*evenShare*median)
	off := 0
	longest := 0.0
	for _, d := range steps {
		if math.Abs(d-median) > tol {
			off++
		}
		longest = math.Max(longest, d)
	}
	var b strings.Builder
	fmt.Fprintf(&b, "the times are uneven: they lie up to %s (rms %s) from an even base, and %.2g %% of the steps differ from the median step of %s by more than %s, the longest is %s; ",
		r.span(largest), r.span(rms), 100*float64(off)/float64(len(steps)), r.span(median), r.span(tol), r.span(longest))
	fmt.Fprintf(&b, "the values were interpolated by straight lines to steps of %s, %s", r.span(step), why)
	r.f.once(drop.Warning, "uneven-times", r.first+1, b.String(), "export the logger's own even samples if it has them; a peak between two readings is cut off")
}

// longGaps says where an otherwise nearly even record has gaps too long to bridge. It reports whether the
// record is nearly even.
func (r *reader) longGaps(u, steps []float64, rows []int32, median, step float64) bool {
	near := 0
	for _, d := range steps {
		if math.Abs(d-median) <= 0.25*median {
			near++
		}
	}
	if near*10 < len(steps)*8 {
		return false
	}
	for i, d := range steps {
		if d < (longestBridge+1.5)*median {
			if d > 1.75*median {
				r.bridged = append(r.bridged, [2]int{int((u[i]-u[0])/step) + 1, int(math.Ceil((u[i+1] - u[0]) / step))})
			}
			continue
		}
		r.gaps = append(r.gaps, [2]float64{(u[i] - u[0]) / step, (u[i+1] - u[0]) / step})
		from, to := int((u[i]-u[0])/step)+1, int((u[i+1]-u[0])/step)
		r.f.stretch(drop.Fault, "long-gap", "", from, max(from, to), func() int { return r.lineOf(int(rows[i+1])) }, func() string {
			return fmt.Sprintf("%.0f samples are missing between %s and %s", d/median-1, r.show(u[i]), r.show(u[i+1]))
		}, "they are NaN here; cut the record at the gap, or leave the drop out if the arrest lies in it")
	}
	return true
}
