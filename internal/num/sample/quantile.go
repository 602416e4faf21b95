// Package sample describes a set of values by themselves, without a distribution.
package sample

import "math"

// Quantile is the quantile p, 0 to 1, of sorted values, straight between the two nearest: with h = p (n-1) it is x[i] + (h-i)(x[i+1]-x[i]), i the
// whole part of h, counted from 0. NaN of no values. Number 7 of Hyndman and Fan, Sample quantiles in statistical packages, The American Statistician
// 50 (1996) 361-365 (recalled).
func Quantile(sorted []float64, p float64) float64 {
	if len(sorted) == 0 {
		return math.NaN()
	}
	h := p * float64(len(sorted)-1)
	i := int(h)
	if i+1 >= len(sorted) {
		return sorted[len(sorted)-1]
	}
	return sorted[i] + (h-float64(i))*(sorted[i+1]-sorted[i])
}
