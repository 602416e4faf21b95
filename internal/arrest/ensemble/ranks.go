package ensemble

import (
	"math"
	"slices"
)

// ranks finds the order statistics of the peaks at the given places (0 = the smallest), without
// sorting them all: the peaks are counted into bins of equal width, and only the bins that hold a
// place asked for are sorted. That is two passes where a sort takes twenty, and the answer is the one
// of a sort, to the bit. Peaks are finite.
func ranks(out []Outcome, places []int) map[int]float64 {
	found := make(map[int]float64, len(places))
	lo, hi := math.Inf(1), math.Inf(-1)
	for i := range out {
		lo, hi = min(lo, out[i].Peak), max(hi, out[i].Peak)
	}
	bins := min(1<<14, len(out)/8+1)
	scale := float64(bins) / (hi - lo)
	if !(scale > 0) || math.IsInf(scale, 1) {
		bins, scale = 1, 0 // all alike, or as good as that
	}
	bin := func(v float64) int { return min(int((v-lo)*scale), bins-1) } // never falls as v rises
	below := make([]int, bins+1)                                         // below[b] peaks lie in bins before b
	for i := range out {
		below[bin(out[i].Peak)+1]++
	}
	for b := range bins {
		below[b+1] += below[b]
	}
	asked := make([][]float64, bins)
	for _, k := range places {
		b, _ := slices.BinarySearch(below, k+1)
		if asked[b-1] == nil {
			asked[b-1] = make([]float64, 0, below[b]-below[b-1])
		}
	}
	for i := range out {
		if b := bin(out[i].Peak); asked[b] != nil {
			asked[b] = append(asked[b], out[i].Peak)
		}
	}
	for b := range asked {
		slices.Sort(asked[b])
	}
	for _, k := range places {
		b, _ := slices.BinarySearch(below, k+1)
		found[k] = asked[b-1][k-below[b-1]]
	}
	return found
}
