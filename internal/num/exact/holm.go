package exact

import (
	"fmt"
	"math"
	"sort"
)

// Holm adjusts the p-values of a family of tests so that the chance of any false claim among them stays
// within the level, whatever their dependence:
//
//	adjusted(i) = max over j <= i of min(1, (m - j + 1) p(j)), p(1) <= ... <= p(m)
//
// in the order of the input, which is not modified. A value that is no probability is an error. Source:
// Holm, Scand. J. Stat. 6 (1979) 65-70.
func Holm(p []float64) ([]float64, error) {
	order := make([]int, len(p))
	for i, v := range p {
		if !(v >= 0 && v <= 1) {
			return nil, fmt.Errorf("p-value %d of %d is %g; leave out tests that gave none", i+1, len(p), v)
		}
		order[i] = i
	}
	sort.SliceStable(order, func(a, b int) bool { return p[order[a]] < p[order[b]] })
	adjusted := make([]float64, len(p))
	highest := 0.0
	for rank, i := range order {
		highest = math.Max(highest, math.Min(1, float64(len(p)-rank)*p[i]))
		adjusted[i] = highest
	}
	return adjusted, nil
}
