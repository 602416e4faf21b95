package uncert

import (
	"fmt"
	"math"
	"sort"
)

// Source is a stream of random numbers, seeded by the caller.
type Source interface {
	Float64() float64     // uniform on [0, 1)
	NormFloat64() float64 // standard normal
}

// Sampled is the outcome of a Monte Carlo propagation.
type Sampled struct {
	N              int
	Mean, SD       float64
	Lo, Hi         float64 // probabilistically symmetric coverage interval
	ShortLo, Short float64 // shortest coverage interval: low end and length
	Coverage       float64
}

// MonteCarlo evaluates model n times and summarises its values. model draws its inputs from the source
// it was built with. n is at least 100. Source: JCGM 101:2008, 7.
func MonteCarlo(n int, coverage float64, source Source, model func(Source) float64) (Sampled, error) {
	if n < 100 || !(coverage > 0 && coverage < 1) {
		return Sampled{}, fmt.Errorf("monte carlo: %d draws at coverage %g; at least 100 draws and a coverage between 0 and 1", n, coverage)
	}
	y := make([]float64, n)
	mean := 0.0
	for i := range y {
		y[i] = model(source)
		if math.IsNaN(y[i]) || math.IsInf(y[i], 0) {
			return Sampled{}, fmt.Errorf("monte carlo: draw %d gave %g; the model fails inside the spread of its inputs", i, y[i])
		}
		mean += (y[i] - mean) / float64(i+1)
	}
	ss := 0.0
	for _, v := range y {
		ss += (v - mean) * (v - mean)
	}
	sort.Float64s(y)
	inside := int(math.Ceil(coverage * float64(n)))
	inside = min(inside, n-1)
	lo := (n - inside) / 2
	s := Sampled{N: n, Mean: mean, SD: math.Sqrt(ss / float64(n-1)), Lo: y[lo], Hi: y[lo+inside], Coverage: coverage, Short: math.Inf(1)}
	for i := 0; i+inside < n; i++ {
		if w := y[i+inside] - y[i]; w < s.Short {
			s.ShortLo, s.Short = y[i], w
		}
	}
	return s, nil
}
