package ode

import "math"

// factorLU replaces a (n x n, row by row) by its factors with row pivoting; it reports false when a
// is singular.
func factorLU(a []float64, pivot []int) bool {
	n := len(pivot)
	for k := range n {
		p, best := k, math.Abs(a[k*n+k])
		for i := k + 1; i < n; i++ {
			if v := math.Abs(a[i*n+k]); v > best {
				p, best = i, v
			}
		}
		pivot[k] = p
		if !(best > 0) || math.IsInf(best, 1) {
			return false
		}
		if p != k {
			for j := range n {
				a[k*n+j], a[p*n+j] = a[p*n+j], a[k*n+j]
			}
		}
		inv := 1 / a[k*n+k]
		row := a[k*n+k+1 : k*n+n]
		for i := k + 1; i < n; i++ {
			f := a[i*n+k]
			if f == 0 {
				continue
			}
			f *= inv
			a[i*n+k] = f
			other := a[i*n+k+1 : i*n+n]
			for j, v := range row {
				other[j] -= f * v
			}
		}
	}
	return true
}

// solveLU replaces b by the solution of the factored system.
func solveLU(a []float64, pivot []int, b []float64) {
	n := len(pivot)
	for k, p := range pivot {
		b[k], b[p] = b[p], b[k]
	}
	for i := 1; i < n; i++ {
		s := b[i]
		for j, v := range a[i*n : i*n+i] {
			s -= v * b[j]
		}
		b[i] = s
	}
	for i := n - 1; i >= 0; i-- {
		s := b[i]
		for j := i + 1; j < n; j++ {
			s -= a[i*n+j] * b[j]
		}
		b[i] = s / a[i*n+i]
	}
}
