package figure

import "sort"

// spread moves places apart so that neighbours stand at least their half widths plus gap from each other
// within lo..hi, each as near to where it wants to be as its cluster allows. When there is no room for all
// they are set evenly and overlap.
func spread(want, half []float64, gap, lo, hi float64) []float64 {
	n := len(want)
	order := make([]int, n)
	room := 0.0
	for i := range order {
		order[i] = i
		room += 2 * half[i]
	}
	out := make([]float64, n)
	if n == 0 {
		return out
	}
	room += gap * float64(n-1)
	sort.SliceStable(order, func(a, b int) bool { return want[order[a]] < want[order[b]] })
	squeeze := 1.0
	if room > hi-lo {
		squeeze = (hi - lo) / room
	}
	// Pool adjacent violators: off[k] is the least distance of place k from the first.
	off := make([]float64, n)
	for k := 1; k < n; k++ {
		off[k] = off[k-1] + squeeze*(half[order[k-1]]+half[order[k]]+gap)
	}
	type block struct {
		sum float64
		n   int
		end int
	}
	var blocks []block
	for k := range n {
		b := block{want[order[k]] - off[k], 1, k + 1}
		for len(blocks) > 0 {
			p := blocks[len(blocks)-1]
			if p.sum/float64(p.n) <= b.sum/float64(b.n) {
				break
			}
			b = block{p.sum + b.sum, p.n + b.n, b.end}
			blocks = blocks[:len(blocks)-1]
		}
		blocks = append(blocks, b)
	}
	least := lo + squeeze*half[order[0]]
	most := hi - squeeze*half[order[n-1]] - off[n-1]
	k := 0
	for _, b := range blocks {
		at := min(max(b.sum/float64(b.n), least), max(most, least))
		for ; k < b.end; k++ {
			out[order[k]] = at + off[k]
		}
	}
	return out
}
