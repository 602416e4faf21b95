package lsq

import "math"

// triangular brings the m x k matrix a (row by row) to upper triangular form by reflections (Golub and Van Loan, Matrix Computations, algorithm
// 5.2.1; recalled) and applies them to b.
func triangular(a []float64, m, k int, b []float64) {
	for c := 0; c < k && c < m; c++ {
		norm := 0.0
		for i := c; i < m; i++ {
			norm = math.Hypot(norm, a[i*k+c])
		}
		if norm == 0 {
			continue
		}
		if a[c*k+c] > 0 {
			norm = -norm
		}
		head := a[c*k+c] - norm // of the reflection's vector, whose other places stay in the column
		scale := -1 / (norm * head)
		for d := c + 1; d < k; d++ {
			dot := head * a[c*k+d]
			for i := c + 1; i < m; i++ {
				dot += a[i*k+c] * a[i*k+d]
			}
			dot *= scale
			a[c*k+d] -= dot * head
			for i := c + 1; i < m; i++ {
				a[i*k+d] -= dot * a[i*k+c]
			}
		}
		dot := head * b[c]
		for i := c + 1; i < m; i++ {
			dot += a[i*k+c] * b[i]
		}
		dot *= scale
		b[c] -= dot * head
		for i := c + 1; i < m; i++ {
			b[i] -= dot * a[i*k+c]
			a[i*k+c] = 0
		}
		a[c*k+c] = norm
	}
}

// factor finds the columns that are free to move and brings them to triangular form.
func (s *Solver) factor() {
	n := s.p.N
	s.free = s.free[:0]
	for j := range n {
		if s.lo[j] == s.hi[j] {
			continue
		}
		slope := 0.0 // half that of the sum of squares
		for i, v := range s.r {
			slope += s.jac[i*n+j] * v
		}
		if s.u[j] <= s.lo[j] && slope >= 0 || s.u[j] >= s.hi[j] && slope <= 0 {
			continue
		}
		s.free = append(s.free, j)
	}
	k := len(s.free)
	w := s.work[:s.rows*k]
	for i := range s.rows {
		for c, j := range s.free {
			w[i*k+c] = s.jac[i*n+j]
		}
		s.rhs[i] = -s.r[i]
	}
	triangular(w, s.rows, k, s.rhs)
	for i := range k {
		for c := range k {
			s.tri[i*k+c] = 0
			if i <= c && i < s.rows {
				s.tri[i*k+c] = w[i*k+c]
			}
		}
		s.qtr[i] = 0
		if i < s.rows {
			s.qtr[i] = s.rhs[i]
		}
	}
}

// back solves the upper triangle t x = b; it reports false where t is singular.
func back(t []float64, k int, b, x []float64) bool {
	most := 0.0
	for i := range k {
		most = max(most, math.Abs(t[i*k+i]))
	}
	for i := k - 1; i >= 0; i-- {
		if math.Abs(t[i*k+i]) <= 1e-16*most {
			return false
		}
		v := b[i]
		for c := i + 1; c < k; c++ {
			v -= t[i*k+c] * x[c]
		}
		x[i] = v / t[i*k+i]
	}
	return true
}

// damped writes the step with multiplier l into s.step, and its scaled size; s.stack then holds its triangle.
func (s *Solver) damped(l float64) float64 {
	k := len(s.free)
	a, b := s.stack[:2*k*k], s.stackRHS[:2*k]
	root := math.Sqrt(l)
	for i := range k {
		copy(a[i*k:(i+1)*k], s.tri[i*k:(i+1)*k])
		b[i], b[k+i] = s.qtr[i], 0
		for c := range k {
			a[(k+i)*k+c] = 0
		}
		a[(k+i)*k+i] = root * s.d[s.free[i]]
	}
	triangular(a, 2*k, k, b)
	if !back(a, k, b, s.step) {
		return math.Inf(1)
	}
	return s.stepSize()
}

func (s *Solver) stepSize() float64 {
	size := 0.0
	for i, j := range s.free {
		size = math.Hypot(size, s.d[j]*s.step[i])
	}
	return size
}

// trust writes the step within the radius into s.step.
func (s *Solver) trust(radius float64) {
	k := len(s.free)
	if back(s.tri[:k*k], k, s.qtr, s.step) && s.stepSize() <= 1.1*radius {
		return
	}
	// An upper bound of the multiplier: ||D^-1 J'r||/radius.
	top := 0.0
	for c := range k {
		v := 0.0
		for i := 0; i <= c; i++ {
			v += s.tri[i*k+c] * s.qtr[i]
		}
		top = math.Hypot(top, v/s.d[s.free[c]])
	}
	lo, hi := 0.0, top/radius
	l := 1e-3 * hi
	for range 20 {
		if l <= lo || l >= hi {
			l = max(1e-3*hi, math.Sqrt(lo*hi))
		}
		size := s.damped(l)
		off := size - radius
		if math.Abs(off) <= 0.1*radius {
			return
		}
		if off > 0 {
			lo = l
		} else {
			hi = l
		}
		// Newton's step for 1/size = 1/radius: d(size)/dl = -||T^-T D^2 p||^2/size.
		for c := range k {
			v := s.d[s.free[c]]
			v *= v * s.step[c]
			for i := range c {
				v -= s.stack[i*k+c] * s.solved[i]
			}
			s.solved[c] = v / s.stack[c*k+c]
		}
		slope := 0.0
		for _, v := range s.solved[:k] {
			slope += v * v
		}
		if !(slope > 0) || math.IsInf(size, 1) {
			l = max(10*l, 1e-300)
			continue
		}
		l += off / radius * size * size / slope
	}
}

// covariance writes (J'J)^-1 over the free parameters.
func (s *Solver) covariance(cov []float64) {
	n, k := s.p.N, len(s.free)
	inv := make([]float64, k*k) // columns of the inverse triangle
	e, x := make([]float64, k), make([]float64, k)
	for c := range k {
		for i := range e {
			e[i] = 0
		}
		e[c] = 1
		if !back(s.tri[:k*k], k, e, x) {
			for _, a := range s.free {
				for _, b := range s.free {
					cov[a*n+b] = math.NaN()
				}
			}
			return
		}
		for i := range x {
			inv[i*k+c] = x[i]
		}
	}
	for a := range k {
		for b := range k {
			sum := 0.0
			for c := max(a, b); c < k; c++ {
				sum += inv[a*k+c] * inv[b*k+c]
			}
			cov[s.free[a]*n+s.free[b]] = sum
		}
	}
}
