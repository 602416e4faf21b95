package csvtrace

import (
	"fmt"
	"math"

	"github.com/hardcatch/hardcatch/internal/drop"
)

const (
	// flatRun is the smallest number of equal samples that is taken for a flat top.
	flatRun = 3
	// flatSteps is how many digitising steps a cut-off top falls within one length of the run to either side. A
	// smooth top that stays within one step for n samples falls about 9 - 1 = 8 steps there, as it falls with
	// the square of the distance.
	flatSteps = 20
)

// sayClipping looks for flat stretches at the extreme of a channel that is farther from its first values: the
// top of an amplifier or logger that could not follow. The other extreme is where the channel rests.
func (r *reader) sayClipping(c *drop.Channel, s *settled) {
	x := c.Values
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, v := range x {
		if v < lo {
			lo = v
		}
		if v > hi {
			hi = v
		}
	}
	if !(hi > lo) {
		return
	}
	rest := restOf(x)
	step := smallestStep(x, hi-lo)
	for _, v := range []float64{lo, hi} {
		if math.Abs(v-rest) < 0.2*(hi-lo) {
			continue
		}
		for i := 0; i < len(x); {
			if x[i] != v {
				i++
				continue
			}
			j := i
			for j < len(x) && x[j] == v {
				j++
			}
			if j-i >= flatRun && i > 0 && j < len(x) && cutOff(x, i, j, step, hi-lo) {
				r.clipped(c, s, i, j, v == hi)
			}
			i = j
		}
	}
}

// cutOff tells that the flat stretch i..j falls away on both sides as no smooth top does.
func cutOff(x []float64, i, j int, step, swing float64) bool {
	n := j - i
	a, b := math.Abs(x[i]-x[max(0, i-n)]), math.Abs(x[i]-x[min(len(x)-1, j+n-1)])
	least := math.Max(flatSteps*step, 0.02*swing)
	return math.Min(a, b) > step && math.Max(a, b) > least
}

func (r *reader) clipped(c *drop.Channel, s *settled, i, j int, high bool) {
	which := "smallest"
	if high {
		which = "largest"
	}
	v := c.Values[i] / c.Factor
	r.f.stretch(drop.Fault, "clipped", c.Name, i, j, func() int { return r.lineOf(r.rowOf(s, i)) }, func() string {
		return fmt.Sprintf("channel %s stays at its %s value (%.6g %s) for %d samples and is cut off flat", c.Name, which, v, c.Unit, j-i)
	}, "the true peak lies beyond it; take it as a bound only, and set a larger range for the next drop")
}

// rowOf is the row of a sample.
func (r *reader) rowOf(s *settled, at int) int {
	if s.at == nil {
		return at
	}
	for row := range s.at {
		if s.at[row] >= 0 && s.sampleOf(row) >= at {
			return row
		}
	}
	return r.rows - 1
}

// restOf is the median of up to the first nine numbers.
func restOf(x []float64) float64 {
	var first []float64
	for _, v := range x {
		if len(first) == 9 {
			break
		}
		if !math.IsNaN(v) {
			first = append(first, v)
		}
	}
	for i := range first {
		for j := i; j > 0 && first[j] < first[j-1]; j-- {
			first[j], first[j-1] = first[j-1], first[j]
		}
	}
	return first[len(first)/2]
}

// smallestStep is the smallest difference of neighbours that is no rounding error, from up to 20000 samples.
func smallestStep(x []float64, swing float64) float64 {
	best := math.Inf(1)
	for i := 1; i < min(len(x), 20000); i++ {
		if d := math.Abs(x[i] - x[i-1]); d > 1e-9*swing && d < best {
			best = d
		}
	}
	if math.IsInf(best, 1) {
		return 0
	}
	return best
}
