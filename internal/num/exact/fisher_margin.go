package exact

// FisherOfMargin gives the two-sided values of Fisher's test, as Fisher does, for all tables at once that have m and n
// specimens in the groups and k events together: p[i] belongs to lo + i events in the first group. With m, n or k
// below 0, or k above m + n, there is no such table and p is nil.
func FisherOfMargin(m, n, k int) (lo int, p []float64) {
	if m < 0 || n < 0 || k < 0 || k > m+n {
		return 0, nil
	}
	h := newHypergeometric(m, n, k)
	density := h.probabilities(0)
	p = make([]float64, len(density))
	for i, d := range density {
		p[i] = noLikelier(density, d)
	}
	return h.lo, p
}
