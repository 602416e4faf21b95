package ode

import "math"

// Radau is the three-stage Radau IIA method of order 5: implicit, L-stable and stiffly accurate. Its
// error estimate is of order 3 and its dense output the collocation cubic.
//
// Source: Hairer and Wanner, Solving Ordinary Differential Equations II, 2nd ed. (1996), section
// IV.8; the Jacobian is taken by forward differences at every step, the linear systems are solved in
// real arithmetic.
type Radau struct {
	f          Func
	n          int
	jac        []float64 // n x n, row by row
	big, small []float64 // I - h A x J and its real-eigenvalue companion, factored
	pbig       []int
	psmall     []int
	z, r       []float64 // 3n
	f0, fs, ys []float64
	y0         []float64
}

// NewRadau makes a stepper for n variables.
func NewRadau(f Func, n int) *Radau {
	v := func(k int) []float64 { return make([]float64, k) }
	return &Radau{f: f, n: n, jac: v(n * n), big: v(9 * n * n), small: v(n * n), pbig: make([]int, 3*n), psmall: make([]int, n),
		z: v(3 * n), r: v(3 * n), f0: v(n), fs: v(3 * n), ys: v(n), y0: v(n)}
}

// EstimateOrder is 4: the estimate of order 3 shrinks with the fourth power of the step.
func (s *Radau) EstimateOrder() int { return 4 }

var (
	root6  = math.Sqrt(6)
	radauC = [3]float64{(4 - root6) / 10, (4 + root6) / 10, 1}
	radauA = [3][3]float64{
		{(88 - 7*root6) / 360, (296 - 169*root6) / 1800, (-2 + 3*root6) / 225},
		{(296 + 169*root6) / 1800, (88 + 7*root6) / 360, (-2 - 3*root6) / 225},
		{(16 - root6) / 36, (16 + root6) / 36, 1.0 / 9},
	}
	radauGamma = 30 / (6 + math.Cbrt(81) - math.Cbrt(9)) // real eigenvalue of the inverse of A
	radauE     = [3]float64{-(13 + 7*root6) / 3, (-13 + 7*root6) / 3, -1.0 / 3}
)

// Step implements Stepper.
func (s *Radau) Step(t float64, y []float64, h float64, y1, estimate []float64) bool {
	n := s.n
	copy(s.y0, y)
	s.f(t, s.y0, s.f0)
	s.differences(t, y)
	if !s.factor(h) || !s.newton(t, h) {
		return false
	}
	for i := range n {
		y1[i] = y[i] + s.z[2*n+i]
	}
	for i := range n {
		estimate[i] = s.f0[i] + (radauE[0]*s.z[i]+radauE[1]*s.z[n+i]+radauE[2]*s.z[2*n+i])/h
	}
	solveLU(s.small, s.psmall, estimate)
	// a second pass takes the stiff components out of the estimate
	for i := range n {
		s.ys[i] = y[i] + estimate[i]
	}
	s.f(t, s.ys, s.r[:n])
	for i := range n {
		estimate[i] = s.r[i] + (radauE[0]*s.z[i]+radauE[1]*s.z[n+i]+radauE[2]*s.z[2*n+i])/h
	}
	solveLU(s.small, s.psmall, estimate)
	return true
}

func (s *Radau) differences(t float64, y []float64) {
	n := s.n
	copy(s.ys, y)
	for j := range n {
		d := math.Sqrt(0x1p-52 * math.Max(1e-5, math.Abs(y[j])))
		s.ys[j] = y[j] + d
		d = s.ys[j] - y[j]
		s.f(t, s.ys, s.r[:n])
		for i := range n {
			s.jac[i*n+j] = (s.r[i] - s.f0[i]) / d
		}
		s.ys[j] = y[j]
	}
}

func (s *Radau) factor(h float64) bool {
	n := s.n
	m := 3 * n
	for a := range 3 {
		for b := range 3 {
			for i := range n {
				for j := range n {
					v := -h * radauA[a][b] * s.jac[i*n+j]
					if a == b && i == j {
						v++
					}
					s.big[(a*n+i)*m+b*n+j] = v
				}
			}
		}
	}
	for i := range n {
		for j := range n {
			s.small[i*n+j] = -s.jac[i*n+j]
		}
		s.small[i*n+i] += radauGamma / h
	}
	return factorLU(s.big, s.pbig) && factorLU(s.small, s.psmall)
}

// newton solves z = h A f(y + z).
func (s *Radau) newton(t, h float64) bool {
	n := s.n
	clear(s.z)
	last := math.Inf(1)
	for range 12 {
		for a := range 3 {
			for i := range n {
				s.ys[i] = s.y0[i] + s.z[a*n+i]
			}
			s.f(t+radauC[a]*h, s.ys, s.fs[a*n:(a+1)*n])
		}
		for a := range 3 {
			for i := range n {
				s.r[a*n+i] = h*(radauA[a][0]*s.fs[i]+radauA[a][1]*s.fs[n+i]+radauA[a][2]*s.fs[2*n+i]) - s.z[a*n+i]
			}
		}
		solveLU(s.big, s.pbig, s.r)
		move := 0.0
		for i, d := range s.r {
			s.z[i] += d
			move = math.Max(move, math.Abs(d)/(1e-12+math.Abs(s.y0[i%n])+math.Abs(s.z[i])))
		}
		switch {
		case math.IsNaN(move):
			return false
		case move < 1e-13:
			return true
		case move >= last/2 && move < 1e-9:
			return true // the differences of the Jacobian allow no more
		case move > 2*last:
			return false
		}
		last = move
	}
	return last < 1e-8
}

// Dense implements Stepper: the cubic through the start and the three stages.
func (s *Radau) Dense(theta float64, y []float64) {
	n := s.n
	c1, c2 := radauC[0], radauC[1]
	l1 := theta * (theta - c2) * (theta - 1) / (c1 * (c1 - c2) * (c1 - 1))
	l2 := theta * (theta - c1) * (theta - 1) / (c2 * (c2 - c1) * (c2 - 1))
	l3 := theta * (theta - c1) * (theta - c2) / ((1 - c1) * (1 - c2))
	for i := range n {
		y[i] = s.y0[i] + l1*s.z[i] + l2*s.z[n+i] + l3*s.z[2*n+i]
	}
}
