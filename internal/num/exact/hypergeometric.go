package exact

import "math"

// hypergeometric is the number of events in group A, given the sizes of both groups and the events in all.
type hypergeometric struct {
	m, n, k int // sizes of A and B, events
	lo, hi  int // possible events in A
}

func newHypergeometric(m, n, k int) hypergeometric {
	return hypergeometric{m: m, n: n, k: k, lo: max(0, k-n), hi: min(k, m)}
}

// step is the probability of x+1 events over that of x, at an odds ratio of 1.
func (h hypergeometric) step(x int) float64 {
	return float64(h.m-x) * float64(h.k-x) / (float64(x+1) * float64(h.n-h.k+x+1))
}

// probabilities are those of lo ... hi events at the logarithm of the odds ratio given. They grow out of
// the likeliest count, so that no large logarithm is subtracted from another.
func (h hypergeometric) probabilities(logOdds float64) []float64 {
	p := make([]float64, h.hi-h.lo+1)
	// step falls with x: the mode is the first x whose step is not above 1.
	a, b := h.lo, h.hi
	for a < b {
		mid := (a + b) / 2
		if math.Log(h.step(mid))+logOdds > 0 {
			a = mid + 1
		} else {
			b = mid
		}
	}
	mode := a
	odds := math.Exp(logOdds)
	p[mode-h.lo] = 1
	sum := 1.0
	for x := mode; x < h.hi; x++ {
		p[x+1-h.lo] = p[x-h.lo] * h.step(x) * odds
		sum += p[x+1-h.lo]
	}
	for x := mode; x > h.lo; x-- {
		p[x-1-h.lo] = p[x-h.lo] / (h.step(x-1) * odds)
		sum += p[x-1-h.lo]
	}
	for i := range p {
		p[i] /= sum
	}
	return p
}

// likeliest is the odds ratio under which x events in A are expected.
func (h hypergeometric) likeliest(x int) float64 {
	switch x {
	case h.lo:
		return 0
	case h.hi:
		return math.Inf(1)
	}
	return math.Exp(rising(func(logOdds float64) float64 {
		mean := 0.0
		for i, p := range h.probabilities(logOdds) {
			mean += p * float64(h.lo+i-x)
		}
		return mean
	}))
}

// interval holds the odds ratios under which neither tail from x on is below the probability given.
func (h hypergeometric) interval(x int, tail float64) (lo, hi float64) {
	lo, hi = 0, math.Inf(1)
	if x > h.lo {
		lo = math.Exp(rising(func(logOdds float64) float64 {
			return sumOf(h.probabilities(logOdds)[x-h.lo:]) - tail
		}))
	}
	if x < h.hi {
		hi = math.Exp(rising(func(logOdds float64) float64 {
			return tail - sumOf(h.probabilities(logOdds)[:x-h.lo+1])
		}))
	}
	return lo, hi
}

// rising is the root of a function that rises through 0, sought outwards from 0. A root beyond e^700 is
// given as that.
func rising(f func(float64) float64) float64 {
	lo, hi := -1.0, 1.0
	for f(lo) > 0 && lo > -700 {
		lo, hi = lo*2, lo
	}
	for f(hi) < 0 && hi < 700 {
		lo, hi = hi, hi*2
	}
	return root(f, lo, hi)
}
