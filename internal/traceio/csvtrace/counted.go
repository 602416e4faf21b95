package csvtrace

import (
	"fmt"
	"math"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// manyAlike is from how many rows with one time on the rate is counted: a line through so coarse times leans by the rows before
// their first change and after their last.
const manyAlike = 5

// fewChanges is up to how many changes of the time that lean matters.
const fewChanges = 50

// counted is the base of times of which many rows share each, such as whole seconds. The rate is the number of rows between the
// first and the last change of the time over what the time changed by; each change is known to one row. nil when the times are not so.
func (r *reader) counted() (*settled, error) {
	t := r.base.times
	if r.old || r.cols[r.timeAt].role == roleIndex || len(t) == 0 {
		return nil, nil
	}
	q := r.base.resolution()
	var changes []int // rows
	for i, v := range t {
		switch d := v - t[max(i-1, 0)]; {
		case math.IsNaN(v) || d < 0:
			return nil, nil
		case d == 0:
		case math.Abs(d-q) > 1e-6*q: // more digits than it seems, or a gap
			return nil, nil
		default:
			changes = append(changes, i)
		}
	}
	if n := len(changes); n < 2 || n > fewChanges || len(t) < manyAlike*(n+1) {
		return nil, nil // with fewer changes there is no rate, which is said elsewhere
	}
	wayOut := "export them with more digits, or without the time column and state the rate, for example --rate \"1 kHz\""
	from, to := changes[0], changes[len(changes)-1]
	least, most := math.MaxInt, max(from, len(t)-to)-1 // what is cut off at the ends may be one more
	for i, row := range changes[1:] {
		least, most = min(least, row-changes[i]), max(most, row-changes[i])
	}
	if most-least > max(2, least/50) {
		return nil, fmt.Errorf("%s:%d: from %d to %d samples stand in one step of %s, so that they are uneven, and where in it they stand cannot be told; %s", r.f.name, r.first+1, least, most, r.span(q), wayOut)
	}
	step := (t[to] - t[from]) / float64(to-from)
	rate := r.time0().perSecond(1 / step)
	u := rate / float64(to-from)
	r.f.once(drop.Warning, "coarse-times", r.first+1, fmt.Sprintf("the times are printed in steps of %s with %.4g samples in each; the rate was counted: %s ± %s", r.span(q), q/step, hz(rate), quantity.Frequency(u).Text(2)),
		"let the logger print more digits, or state the rate if it is known")
	r.compareRate(rate)
	return &settled{samples: r.rows, start: r.time0().seconds(t[from] - step*float64(from)), rate: rate}, nil
}
