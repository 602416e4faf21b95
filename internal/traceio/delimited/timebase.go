package delimited

import (
	"fmt"
	"math"
	"sort"
)

type clockKind int

const (
	clockNone clockKind = iota // no time column
	clockNumber
	clockTime // hh:mm:ss
)

// timebase decides sample by sample whether the times lie on one straight line within the digits they are
// printed with, so that a regular time column need not be kept. It holds the range of slopes that every
// sample so far allows; when the range is empty it keeps all times.
type timebase struct {
	kind       clockKind
	resolution float64 // s, of the printed times
	tol        float64 // s, allowed distance from the line
	first      float64
	last       float64
	lo, hi     float64   // slopes allowed, s per sample
	times      []float64 // nil while regular
	roll       float64   // added for clocks that pass midnight
}

// start learns resolution and tolerance from the head's rows.
func (b *timebase) start(s *scan, sample [][]float64, decimals int) error {
	if s.timeAt < 0 {
		return nil
	}
	c := &s.cols[s.timeAt]
	b.kind = clockNumber
	if c.role == roleClock {
		b.kind = clockTime
	}
	if c.role == roleIndex {
		rate, err := s.rate()
		if err != nil {
			return err
		}
		c.scale = 1 / rate
	}
	b.resolution = math.Pow(10, -float64(decimals)) * c.scale
	b.lo, b.hi = 0, math.Inf(1)
	var t []float64
	for _, row := range sample {
		if v := row[s.timeAt] * c.scale; !math.IsNaN(v) {
			t = append(t, v)
		}
	}
	step, dev := line(t)
	scale := 0.0
	for _, v := range t {
		scale = math.Max(scale, math.Abs(v))
	}
	if dev > 1.01*b.resolution {
		// The head itself is not regular: allow what printing explains and let the samples decide.
		dev = b.resolution / 2
	}
	b.tol = math.Max(math.Max(2.5*dev, 0.1*b.resolution), 4e-16*scale)
	if step > 0 && b.resolution < step {
		b.tol = math.Min(b.tol, 0.4*step)
	}
	return nil
}

// line is the least-squares slope of t over its index and the largest distance from that line.
func line(t []float64) (slope, dev float64) {
	n := len(t)
	if n < 2 {
		return 0, 0
	}
	mid, mean := float64(n-1)/2, 0.0
	for _, v := range t {
		mean += v / float64(n)
	}
	var sxy, sxx float64
	for i, v := range t {
		u := float64(i) - mid
		sxy += u * (v - mean)
		sxx += u * u
	}
	slope = sxy / sxx
	for i, v := range t {
		dev = math.Max(dev, math.Abs(v-mean-slope*(float64(i)-mid)))
	}
	return slope, dev
}

// see takes the time of sample s.rows.
func (b *timebase) see(s *scan, t float64) {
	i := float64(s.rows)
	if b.kind == clockTime {
		if s.rows > 0 && t+b.roll < b.last-43200 {
			b.roll += 86400
		}
		t += b.roll
	}
	if b.times != nil {
		b.times = append(b.times, t)
		b.last = t
		return
	}
	if s.rows == 0 {
		b.first, b.last = t, t
		return
	}
	d := t - b.first
	lo, hi := b.lo, b.hi
	if v := (d - 2*b.tol) / i; v > lo {
		lo = v
	}
	if v := (d + 2*b.tol) / i; v < hi {
		hi = v
	}
	if lo <= hi && hi > 0 {
		b.lo, b.hi, b.last = lo, hi, t
		return
	}
	b.times = make([]float64, s.rows, 2*s.rows+1024)
	step := b.step()
	for j := range b.times {
		b.times[j] = b.first + float64(j)*step
	}
	b.times = append(b.times, t)
	b.last = t
}

// step is the roundest step among the slopes allowed.
func (b *timebase) step() float64 {
	if b.lo <= 0 || math.IsInf(b.hi, 1) {
		if b.lo > 0 {
			return b.lo
		}
		if math.IsInf(b.hi, 1) {
			return 0
		}
		return b.hi / 2
	}
	rate := roundest(1/b.hi, 1/b.lo)
	return 1 / rate
}

// roundest is a number from lo to hi with the fewest digits, nearest to the middle.
func roundest(lo, hi float64) float64 {
	mid := lo + (hi-lo)/2
	if !(hi > lo) || !(lo > 0) {
		return mid
	}
	for digits := 0; digits < 17; digits++ {
		scale := math.Pow(10, float64(digits)-math.Floor(math.Log10(mid)))
		if v := math.Round(mid*scale) / scale; v >= lo && v <= hi {
			return v
		}
	}
	return mid
}

// rate is the sample rate said with the options, else in the preamble.
func (s *scan) rate() (float64, error) {
	if r := s.opts.Rate.SI(); r > 0 {
		return r, nil
	}
	if s.layout.rateHz > 0 {
		return s.layout.rateHz, nil
	}
	return 0, fmt.Errorf("%s:%d: the record has no time column and names no sample rate; give it with --rate \"10 kHz\"", s.name, s.layout.line)
}

// median of a copy of x; 0 of nothing.
func median(x []float64) float64 {
	if len(x) == 0 {
		return 0
	}
	y := append([]float64(nil), x...)
	sort.Float64s(y)
	return y[len(y)/2]
}
