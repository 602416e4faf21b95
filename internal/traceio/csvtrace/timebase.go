package csvtrace

import (
	"math"
	"sort"
)

// learnRows are the rows whose times are kept before it is decided whether they are even.
const learnRows = 1 << 16

// timeBase decides block by block whether the times lie on one straight line within the digits they are
// printed with, so that even times need not be kept. It holds the range of slopes that all rows so far
// allow; when the range is empty it restores the earlier times from the line and keeps all from then on.
// Times are in the unit of their column.
type timeBase struct {
	clock     bool
	sci       bool
	low, high int // powers of ten of the last digit, smallest and largest

	n     int
	times []float64 // nil while even
	kept  bool      // not even: all times are kept
	even  bool

	line    line // while even: of the first learnRows
	slopes  [2]float64
	sumE    float64 // of distances from line
	sumXE   float64 // of row times distance
	strict  bool    // all steps are equal within the last digit
	spread  float64 // of the steps of the first learnRows about their median
	odd     int     // of these steps, those that are not the median
	last    float64 // time of the last row, for the clock
	added   float64 // days added by midnights
	nights  []int   // first rows after midnights
	started bool
}

func (b *timeBase) init(p *plan) {
	b.clock = p.timeAt >= 0 && p.cols[p.timeAt].role == roleClock
	b.sci = p.sci
	b.low, b.high = math.MaxInt, math.MinInt
}

// resolution is the worth of the last digit of the times: the coarsest when they are written with
// exponents, as their digits are counted from the first.
func (b *timeBase) resolution() float64 {
	exp := b.low
	if b.sci {
		exp = b.high
	}
	if exp == math.MaxInt || exp == math.MinInt {
		return 1
	}
	return math.Pow(10, float64(exp))
}

// add takes the times of the next rows; NaN where one could not be read. It changes t.
func (b *timeBase) add(t []float64) {
	if b.clock {
		b.midnights(t)
	}
	if b.even && b.follow(t) {
		b.n += len(t)
		return
	}
	if b.even {
		b.restore()
	}
	b.times = append(b.times, t...)
	b.n += len(t)
	if !b.kept && b.n >= learnRows {
		b.decide()
	}
}

// midnights adds a day when a clock without date passes midnight.
func (b *timeBase) midnights(t []float64) {
	for i, v := range t {
		if math.IsNaN(v) {
			continue
		}
		if b.started && v+b.added < b.last-secondsPerDay/2 {
			b.added += secondsPerDay
			b.nights = append(b.nights, b.n+i)
		}
		t[i] = v + b.added
		b.last, b.started = t[i], true
	}
}

func (b *timeBase) decide() {
	f := fitLine(b.times, b.resolution())
	if !f.even || f.jitter {
		b.kept = true
		return
	}
	b.even, b.line, b.strict, b.spread, b.odd = true, f.line, f.strict, f.spread, f.odd
	b.slopes = [2]float64{0, math.Inf(1)}
	t := b.times
	b.times, b.n = nil, 0
	if !b.follow(t) {
		b.even, b.kept, b.times = false, true, t
	}
	b.n = len(t)
}

// tolerance is how far a time may lie from the line.
func (b *timeBase) tolerance() float64 {
	q := math.Max(b.resolution(), 1e-6*b.line.step)
	if b.strict {
		return 0.49 * q
	}
	return 0.75 * q
}

// follow tells whether t continues the line. When it does not, nothing is changed.
func (b *timeBase) follow(t []float64) bool {
	tol, lo, hi := b.tolerance(), b.slopes[0], b.slopes[1]
	origin, step := b.line.start, b.line.step
	var sumE, sumXE float64
	x := float64(b.n)
	for _, v := range t {
		d := v - origin
		if d-tol > lo*x {
			lo = (d - tol) / x
		}
		if d+tol < hi*x {
			hi = (d + tol) / x
		}
		e := d - step*x
		sumE += e
		sumXE += x * e
		x++
	}
	if !(lo <= hi) || math.IsNaN(sumE) || math.IsInf(lo, 0) {
		return false
	}
	b.slopes = [2]float64{lo, hi}
	b.sumE += sumE
	b.sumXE += sumXE
	return true
}

// restore fills in the times that were not kept, from the line through them.
func (b *timeBase) restore() {
	l := b.fitted()
	b.times = make([]float64, b.n, b.n+b.n/4+blockRows)
	for i := range b.times {
		b.times[i] = l.at(i)
		if b.strict {
			// Steps of whole digits are restored as they were printed.
			b.times[i] = b.line.at(i)
		}
	}
	b.even, b.kept = false, true
}

// fitted is the least-squares line through all times so far.
func (b *timeBase) fitted() line {
	n := float64(b.n)
	mid := (n - 1) / 2
	slope := (b.sumXE - mid*b.sumE) / (n * (n*n - 1) / 12)
	return line{start: b.line.start + b.sumE/n - slope*mid, step: b.line.step + slope, n: b.n}
}

// line is time = start + step row.
type line struct {
	start, step float64
	n           int
}

func (l line) at(i int) float64 { return l.start + l.step*float64(i) }

// fitted is how well times lie on a line.
type fit struct {
	line
	even    bool
	strict  bool    // all steps are equal within the last digit
	coarse  bool    // the last digit is too coarse for the step
	jitter  bool    // even only within half a percent of a step
	largest float64 // distance from the line
	rms     float64
	median  float64 // of the rising steps
	spread  float64 // largest distance of a step from the median step
	odd     int     // steps that are not the median step
}

// evenShare of a step is how far times may lie from an even base without being resampled.
const evenShare = 0.005

// fitLine decides whether t lies on a line within the resolution q of its digits.
func fitLine(t []float64, q float64) fit {
	f := fit{median: medianStep(t)}
	if len(t) < 3 || !(f.median > 0) {
		return f
	}
	for _, v := range t {
		if math.IsNaN(v) {
			return f
		}
	}
	f.line, f.largest, f.rms = leastSquares(t)
	if !(f.step > 0) {
		return f
	}
	qe := math.Max(q, 1e-6*f.median)
	var least, most int
	least, most, f.odd, f.spread = oddSteps(t, f.median, 0.49*qe)
	if f.largest > 0.75*qe && f.largest <= 2*qe {
		// Least squares may lie a whole digit off where the digit changes only near one end.
		if l, largest := narrowest(t, f.line, qe); largest <= 0.51*qe && l.step > 0 {
			f.line, f.largest = l, largest
		}
	}
	switch {
	case f.odd == 0 && f.largest <= 0.49*qe:
		f.even, f.strict = true, true
		f.start = t[0]
	case f.largest <= 0.75*qe:
		// A lost or doubled row shifts the rest by a whole step. Where a step is one or two of the last digit, that
		// looks like rounding, but the odd steps of rounding come at regular distances.
		f.even = f.odd == 0 || f.odd*10 >= len(t) || f.median > 3*qe || f.odd >= 3 && most-least <= 2
	case f.largest <= evenShare*f.median:
		f.even, f.jitter = true, f.largest > 1e-5*f.median
	}
	f.coarse = f.even && !f.strict && q > f.step/3
	return f
}

// oddSteps counts the steps that are not within tol of the median step, and the least and largest number of
// rows between two of them; spread is the largest distance of a step from the median.
func oddSteps(t []float64, median, tol float64) (least, most, odd int, spread float64) {
	before := -1
	least = math.MaxInt
	for i := 1; i < len(t); i++ {
		d := math.Abs(t[i] - t[i-1] - median)
		spread = math.Max(spread, d)
		if d <= tol {
			continue
		}
		odd++
		if before > 0 {
			least, most = min(least, i-before), max(most, i-before)
		}
		before = i
	}
	return least, most, odd, spread
}

// leastSquares is the line through t, and the largest and root-mean-square distance from it.
func leastSquares(t []float64) (l line, largest, rms float64) {
	n := float64(len(t))
	mid := (n - 1) / 2
	slope := (t[len(t)-1] - t[0]) / (n - 1) // distances from this line are small, so that their sums are accurate
	var sumE, sumXE float64
	for i, v := range t {
		x := float64(i) - mid
		e := v - t[0] - slope*float64(i)
		sumE += e
		sumXE += x * e
	}
	more := sumXE / (n * (n*n - 1) / 12)
	l = line{start: t[0] + sumE/n - more*mid, step: slope + more, n: len(t)}
	var ss float64
	for i, v := range t {
		e := v - l.at(i)
		largest = math.Max(largest, math.Abs(e))
		ss += e * e
	}
	return l, largest, math.Sqrt(ss / n)
}

// narrowest is the line with the smallest largest distance from t, its slope within 4 q/n of l's. The width of
// the band around t is convex in the slope, and falls toward the row where it is touched last.
func narrowest(t []float64, l line, q float64) (line, float64) {
	lo, hi := l.step-4*q/float64(len(t)), l.step+4*q/float64(len(t))
	best, width := l, math.Inf(1)
	for range 24 {
		slope := lo + (hi-lo)/2
		top, bottom, atTop, atBottom := math.Inf(-1), math.Inf(1), 0, 0
		for i, v := range t {
			e := v - slope*float64(i)
			if e > top {
				top, atTop = e, i
			}
			if e < bottom {
				bottom, atBottom = e, i
			}
		}
		if w := top - bottom; w < width {
			width = w
			best.step, best.start = slope, bottom+w/2
		}
		if atTop > atBottom {
			lo = slope
		} else {
			hi = slope
		}
	}
	return best, width / 2
}

// meanStep is the mean step of the times that were read and the time from the first of them to the last.
func (b *timeBase) meanStep() (step, span float64) {
	from, to := 0, len(b.times)-1
	for from < to && math.IsNaN(b.times[from]) {
		from++
	}
	for from < to && math.IsNaN(b.times[to]) {
		to--
	}
	span = b.times[to] - b.times[from]
	return span / float64(max(to-from, 1)), span
}

// medianStep is the median of the rising steps, from at most 2^16 of them spread over t; 0 when none rises.
func medianStep(t []float64) float64 {
	stride := max(1, len(t)>>16)
	var steps []float64
	for i := 1; i < len(t); i += stride {
		if s := t[i] - t[i-1]; s > 0 {
			steps = append(steps, s)
		}
	}
	if len(steps) == 0 {
		return 0
	}
	sort.Float64s(steps)
	return steps[len(steps)/2]
}
