package exact

import (
	"math"
	"slices"
)

// tally says in how many ways each sum arises; sums ascend.
type tally struct{ sum, ways []float64 }

// merged is the ways of a together with those of b moved by shift. Sums no further apart than tol are
// one and the same: they differ by rounding only.
func merged(a, b tally, shift, tol float64) tally {
	n := len(a.sum) + len(b.sum)
	t := tally{sum: make([]float64, 0, n), ways: make([]float64, 0, n)}
	for i, j := 0, 0; i < len(a.sum) || j < len(b.sum); {
		var s, w float64
		if j == len(b.sum) || i < len(a.sum) && a.sum[i] <= b.sum[j]+shift {
			s, w = a.sum[i], a.ways[i]
			i++
		} else {
			s, w = b.sum[j]+shift, b.ways[j]
			j++
		}
		if last := len(t.sum) - 1; last >= 0 && s-t.sum[last] <= tol {
			t.ways[last] += w
		} else {
			t.sum, t.ways = append(t.sum, s), append(t.ways, w)
		}
	}
	return t
}

// choices extends the sums of start by every choice of least to most of the scores; element j of the
// result has those with j chosen. It gives up (false) when it would hold more than room sums at once, and before that where it foresees
// it: when as many as a 32nd of room are held, the last score made them 1.8 times as many, and at least 16 are still to come.
func choices(start tally, scores []float64, least, most int, tol float64, room int) ([]tally, bool) {
	by := make([]tally, most+1)
	by[0] = start
	before := len(start.sum)
	for i, s := range scores {
		left := len(scores) - i - 1
		for j := min(i+1, most); j >= 1 && j+left >= least; j-- {
			by[j] = merged(by[j], by[j-1], s, tol)
		}
		if drop := least - left - 1; drop >= 0 && drop <= most {
			by[drop] = tally{}
		}
		held := 0
		for _, t := range by {
			held += len(t.sum)
		}
		if held > room || held > room/32 && left >= 16 && float64(held) >= 1.8*float64(before) {
			return nil, false
		}
		before = held
	}
	return by, true
}

// ofTwoValues is the sums of nA of the scores of a stratum that has two different ones, as counts of breaks have: C(m, j) C(n-m, nA-j) ways to
// take j of the m larger. ok is false when there are more, or the ways overflow.
func ofTwoValues(d stratum) (t tally, ok bool) {
	low, high := slices.Min(d.dev), slices.Max(d.dev)
	m := 0
	for _, v := range d.dev {
		switch v {
		case high:
			m++
		case low:
		default:
			return tally{}, false
		}
	}
	n := len(d.dev)
	if low == high || math.IsInf(binomial(n, d.nA), 1) {
		return tally{}, false
	}
	for j := max(0, d.nA-(n-m)); j <= min(m, d.nA); j++ {
		t.sum = append(t.sum, float64(j)*high+float64(d.nA-j)*low)
		t.ways = append(t.ways, binomial(m, j)*binomial(n-m, d.nA-j))
	}
	return t, true
}

// convolved is the ways of every sum of one entry of a and one of b.
func convolved(a, b tally, tol float64) tally {
	var t tally
	for i, s := range b.sum {
		moved := tally{sum: a.sum, ways: make([]float64, len(a.ways))}
		for k, w := range a.ways {
			moved.ways[k] = w * b.ways[i]
		}
		t = merged(t, moved, s, tol)
	}
	return t
}

// mirrored has every sum with its sign changed.
func (t tally) mirrored() tally {
	n := len(t.sum)
	m := tally{sum: make([]float64, n), ways: make([]float64, n)}
	for i := range t.sum {
		m.sum[n-1-i], m.ways[n-1-i] = -t.sum[i], t.ways[i]
	}
	return m
}

// halves are two tallies of which every pair of entries is one possible sum.
type halves struct{ left, right tally }

// atLeast counts the ways in which left and right together reach the bound, without forming the sums.
func (h halves) atLeast(bound float64) float64 {
	total, reached := 0.0, 0.0
	j := len(h.right.sum)
	for i, s := range h.left.sum {
		for j > 0 && s+h.right.sum[j-1] >= bound {
			j--
			reached += h.right.ways[j]
		}
		total += h.left.ways[i] * reached
	}
	return total
}

func (h halves) atMost(bound float64) float64 {
	return halves{h.left.mirrored(), h.right.mirrored()}.atLeast(-bound)
}
