// Package sums has one expression of each kind that is mutated.
package sums

import "math"

const limit = 10

type force float64

func over(x int) bool { return x > limit }

func both(a, b bool) bool {
	if a && !b {
		return true
	}
	return false
}

func line(x force) force { return 2*x + 3 }

func back(x, y float64) float64 { return -(x - y) / y }

func together(x, y float64) float64 { return math.Hypot(x, y) }

func list(n int) []int {
	out := make([]int, 0, 7)
	for i := 0; i < n; i++ {
		out = append(out, i)
	}
	return out
}

func total(x []float64) float64 {
	sum := 0.0
	for _, v := range x {
		sum += math.Max(v, 0)
	}
	return sum
}

func untested(x int) int { return x % 5 }
