package contour

import (
	"fmt"
	"math"
)

// Refine parts each cell of nx by ny evenly numbered values into k by k, so that (nx-1)k+1 by (ny-1)k+1 values come out; those
// given stay. Between them runs along each row, then along each column, a cubic through the values with slopes by
// fourth-order differences, held back where they would make the curve leave the range of its neighbours (the filter of Hyman,
// SIAM J. Sci. Stat. Comput. 4 (1983) 645; recalled): monotone data give a monotone curve, also at a kink. With smooth data
// the error falls as the fourth power of the spacing. It needs at least 2 by 2 values.
func Refine(v []float64, nx, ny, k int) []float64 {
	if nx < 2 || ny < 2 || len(v) != nx*ny || k < 1 {
		panic(fmt.Sprintf("contour: %d values for %d by %d, %d parts", len(v), nx, ny, k))
	}
	mx, my := (nx-1)*k+1, (ny-1)*k+1
	rows := make([]float64, mx*ny)
	for j := range ny {
		refine(rows[j*mx:(j+1)*mx], v[j*nx:(j+1)*nx], k)
	}
	out := make([]float64, mx*my)
	from, to := make([]float64, ny), make([]float64, my)
	for i := range mx {
		for j := range ny {
			from[j] = rows[j*mx+i]
		}
		refine(to, from, k)
		for j, x := range to {
			out[j*mx+i] = x
		}
	}
	return out
}

func refine(out, v []float64, k int) {
	n := len(v)
	m := slopes(v)
	for i := range n - 1 {
		d := v[i+1] - v[i]
		for s := range k {
			t := float64(s) / float64(k)
			// Hermite's cubic in the form that leaves the straight line exact.
			out[i*k+s] = v[i] + t*d + t*(1-t)*((1-t)*(m[i]-d)-t*(m[i+1]-d))
		}
	}
	out[(n-1)*k] = v[n-1]
}

// slopes are the derivatives at the values, by differences of fourth order where there is room, else of as many as there are.
func slopes(v []float64) []float64 {
	n := len(v)
	m := make([]float64, n)
	if n == 2 {
		m[0], m[1] = v[1]-v[0], v[1]-v[0]
		return m
	}
	for i := range v {
		switch {
		case i >= 2 && i < n-2:
			m[i] = (v[i-2] - 8*v[i-1] + 8*v[i+1] - v[i+2]) / 12
		case i == 0 && n > 3:
			m[i] = (-11*v[0] + 18*v[1] - 9*v[2] + 2*v[3]) / 6
		case i == n-1 && n > 3:
			m[i] = (11*v[n-1] - 18*v[n-2] + 9*v[n-3] - 2*v[n-4]) / 6
		case i == 1 && n > 3:
			m[i] = (-2*v[0] - 3*v[1] + 6*v[2] - v[3]) / 6
		case i == n-2 && n > 3:
			m[i] = (2*v[n-1] + 3*v[n-2] - 6*v[n-3] + v[n-4]) / 6
		case i == 0:
			m[i] = (-3*v[0] + 4*v[1] - v[2]) / 2
		case i == n-1:
			m[i] = (3*v[n-1] - 4*v[n-2] + v[n-3]) / 2
		default:
			m[i] = (v[i+1] - v[i-1]) / 2
		}
	}
	for i := range v {
		m[i] = held(m[i], v, i)
	}
	return m
}

// held is the slope at value i, with the sign of the stretches beside it and at most three times the flatter of them; none at
// a hill or in a dip.
func held(m float64, v []float64, i int) float64 {
	left, right := math.NaN(), math.NaN()
	if i > 0 {
		left = v[i] - v[i-1]
	}
	if i < len(v)-1 {
		right = v[i+1] - v[i]
	}
	if i == 0 {
		left = right
	}
	if i == len(v)-1 {
		right = left
	}
	if left*right <= 0 {
		return 0
	}
	most := 3 * math.Min(math.Abs(left), math.Abs(right))
	if m*left <= 0 {
		return 0
	}
	return math.Copysign(math.Min(math.Abs(m), most), left)
}
