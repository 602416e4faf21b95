package dsp

import "math"

// Flat is a stretch x[From:To] of equal samples at an extreme, cut off by the end of a range.
type Flat struct {
	From, To int
	High     bool // at the largest value, else at the smallest
}

// Extremes are the smallest and the largest value of x, and where each stands first; NaN is passed over.
type Extremes struct {
	Lo, Hi     float64 // +Inf and -Inf when there is no number
	LoAt, HiAt int
}

// FindExtremes looks for them in one pass.
func FindExtremes(x []float64) Extremes {
	e := Extremes{Lo: math.Inf(1), Hi: math.Inf(-1)}
	for i, v := range x {
		if v > e.Hi {
			e.Hi, e.HiAt = v, i
		}
		if v < e.Lo {
			e.Lo, e.LoAt = v, i
		}
	}
	return e
}

// FlatTops finds runs of at least four equal samples at the largest or smallest value of x that a range has cut
// off. A smooth top digitised in steps of q also stays equal for a while, but then the neighbours one
// more run length to each side lie only a few q lower; a cut-off top falls away by more than 20 q and 2 %
// of the span. NaN is passed over. e are the extremes of x.
func FlatTops(x []float64, e Extremes) []Flat {
	lo, hi := e.Lo, e.Hi
	if !(hi > lo) {
		return nil
	}
	step := -1.0
	var out []Flat
	for i := 0; i < len(x); {
		v := x[i]
		if v != hi && v != lo {
			i++
			continue
		}
		j := i
		for j < len(x) && x[j] == v {
			j++
		}
		if n := j - i; n >= 4 && n < len(x)/2 {
			if step < 0 {
				step = SmallestStep(x)
			}
			fall := math.Max(math.Abs(v-x[max(0, i-n)]), math.Abs(v-x[min(len(x)-1, j+n-1)]))
			if fall > 20*step && fall > 0.02*(hi-lo) {
				out = append(out, Flat{i, j, v == hi})
			}
		}
		i = j
	}
	return out
}

// SmallestStep is the smallest difference between neighbours that is not zero, over up to 20000 samples from
// the start; 0 when all are equal. Differences below 1e-9 of the largest value are rounding.
func SmallestStep(x []float64) float64 {
	n := min(len(x), 20000)
	floor := 0.0
	for _, v := range x[:n] {
		floor = math.Max(floor, math.Abs(v))
	}
	floor *= 1e-9
	best := math.Inf(1)
	for i := 1; i < n; i++ {
		if d := math.Abs(x[i] - x[i-1]); d > floor && d < best {
			best = d
		}
	}
	if math.IsInf(best, 1) {
		return 0
	}
	return best
}

// Glitch is a short excursion x[From:To] that starts and ends with a jump, with smooth samples around.
type Glitch struct {
	From, To int
	Size     float64 // of the jump into it
}

// Glitches finds excursions of one to five samples: a jump by more than limit, a return to within 30 % of it
// of the level before, and no step above a quarter of limit among the three samples before and after.
// Ringing has large steps all around and is left alone. limit must be positive.
func Glitches(x []float64, limit float64) []Glitch {
	var out []Glitch
	for i := 3; i < len(x)-1; i++ {
		jump := math.Abs(x[i] - x[i-1])
		if !(jump > limit) || !calm(x[i-3:i], limit/4) {
			continue
		}
		for j := i + 1; j <= i+5 && j < len(x); j++ {
			if math.Abs(x[j]-x[i-1]) < 0.3*jump {
				if calm(x[j:min(j+3, len(x))], limit/4) {
					out = append(out, Glitch{i, j, jump})
					i = j
				}
				break
			}
		}
	}
	return out
}

func calm(x []float64, step float64) bool {
	for i := 1; i < len(x); i++ {
		if math.Abs(x[i]-x[i-1]) > step {
			return false
		}
	}
	return true
}
