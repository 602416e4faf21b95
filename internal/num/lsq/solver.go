package lsq

import (
	"errors"
	"math"
)

// Solver fits one problem from any number of starts. After it is made, a fit allocates only its result.
//
// The method is that of Levenberg and Marquardt with a trust region: the step is the least-squares step of the linearised residuals within
// ||D p|| <= radius, D the largest norm so far of every column of J; its multiplier is found by the iteration of Hebden and Moré (Moré, The
// Levenberg-Marquardt algorithm: implementation and theory, Lecture Notes in Mathematics 630, 1978, sections 5 and 6; recalled). Columns of
// parameters that stand on a bound and would leave it take no part in a step; a step over a bound ends on it.
type Solver struct {
	p        *Problem
	rows     int
	lo, hi   []float64
	u, uNew  []float64 // parameters as fitted
	x        []float64 // as written
	r, rNew  []float64
	rUp, rDn []float64
	jac      []float64 // rows x n
	raw      []float64 // m x n, of a given Jacobian
	work     []float64 // rows x n, for the factorisation
	rhs      []float64
	free     []int
	tri      []float64 // n x n upper triangle of J
	qtr      []float64
	stack    []float64 // 2n x n
	stackRHS []float64
	d        []float64
	step     []float64
	full     []float64
	solved   []float64
}

// ErrNoStart means that the residuals have no value at the start.
var ErrNoStart = errors.New("the model has no value at the start; begin elsewhere")

// NewSolver makes room for a problem.
func NewSolver(p *Problem) *Solver {
	p.check(make([]float64, p.N))
	n, rows := p.N, p.M
	for _, q := range p.Prior {
		if q.SD > 0 {
			rows++
		}
	}
	s := &Solver{p: p, rows: rows}
	for _, v := range []*[]float64{&s.lo, &s.hi, &s.u, &s.uNew, &s.x, &s.d, &s.step, &s.full, &s.solved, &s.qtr} {
		*v = make([]float64, n)
	}
	for _, v := range []*[]float64{&s.r, &s.rNew, &s.rUp, &s.rDn, &s.rhs} {
		*v = make([]float64, rows)
	}
	s.jac, s.work, s.tri = make([]float64, rows*n), make([]float64, rows*n), make([]float64, n*n)
	s.stack, s.stackRHS = make([]float64, 2*n*n), make([]float64, 2*n)
	s.free = make([]int, 0, n)
	if p.Jacobian != nil {
		s.raw = make([]float64, p.M*n)
	}
	return s
}

// evaluate writes the residuals at u, priors behind them, and tells their sum of squares, +Inf where there is none.
func (s *Solver) evaluate(u, r []float64) float64 {
	p := s.p
	for j, v := range u {
		s.x[j] = p.outer(j, v)
	}
	p.Residuals(s.x, r[:p.M])
	k := p.M
	for j, q := range p.Prior {
		if q.SD > 0 {
			r[k] = (u[j] - q.Mean) / q.SD
			k++
		}
	}
	sum := 0.0
	for _, v := range r {
		sum += v * v
	}
	if math.IsNaN(sum) {
		return math.Inf(1)
	}
	return sum
}

// differentiate writes J at s.u. Differences do not go over a bound.
func (s *Solver) differentiate() {
	p, n := s.p, s.p.N
	if p.Jacobian != nil {
		for j, v := range s.u {
			s.x[j] = p.outer(j, v)
		}
		p.Jacobian(s.x, s.raw)
		for j := range n {
			f := 1.0
			if p.log(j) {
				f = s.x[j]
			}
			for i := range p.M {
				s.jac[i*n+j] = f * s.raw[i*n+j]
			}
		}
	} else {
		for j := range n {
			s.difference(j)
		}
	}
	k := p.M
	for j, q := range p.Prior {
		if q.SD > 0 {
			for c := range n {
				s.jac[k*n+c] = 0
			}
			s.jac[k*n+j] = 1 / q.SD
			k++
		}
	}
}

// difference writes column j.
func (s *Solver) difference(j int) {
	p, n := s.p, s.p.N
	h := p.Step
	if h == 0 {
		h = math.Cbrt(0x1p-52)
	}
	u := s.u[j]
	if !p.log(j) {
		h *= max(math.Abs(u), 1e-8)
	}
	up, down := min(u+h, s.hi[j]), max(u-h, s.lo[j])
	copy(s.uNew, s.u)
	s.uNew[j] = up
	a := s.evaluate(s.uNew, s.rUp)
	s.uNew[j] = down
	b := s.evaluate(s.uNew, s.rDn)
	if math.IsInf(a, 1) {
		copy(s.rUp, s.r)
		up = u
	}
	if math.IsInf(b, 1) {
		copy(s.rDn, s.r)
		down = u
	}
	inv := 0.0
	if up > down {
		inv = 1 / (up - down)
	}
	for i := range p.M {
		s.jac[i*n+j] = (s.rUp[i] - s.rDn[i]) * inv
	}
}

// Solve fits from a start, which is moved within the bounds.
func (s *Solver) Solve(start []float64) (*Fit, error) {
	p, n := s.p, s.p.N
	p.check(start)
	for j := range n {
		s.lo[j], s.hi[j] = p.bounds(j)
		s.u[j] = min(max(p.inner(j, start[j]), s.lo[j]), s.hi[j])
		s.d[j] = 0
	}
	rss := s.evaluate(s.u, s.r)
	if math.IsInf(rss, 1) {
		return nil, ErrNoStart
	}
	steps, converged := s.descend(&rss)
	return s.fit(rss, steps, converged), nil
}

// descend takes steps until none helps, and tells how many it took.
func (s *Solver) descend(rss *float64) (steps int, converged bool) {
	p, n := s.p, s.p.N
	most := p.MostSteps
	if most == 0 {
		most = 2000
	}
	small := p.Tolerance
	if small == 0 {
		small = 1e-15
	}
	radius := -1.0
	for steps < most {
		s.differentiate()
		s.factor()
		if *rss == 0 || len(s.free) == 0 || s.cosine() < 1e-13 {
			return steps, true
		}
		for _, j := range s.free {
			norm := 0.0
			for i := range s.rows {
				norm = math.Hypot(norm, s.jac[i*n+j])
			}
			if s.d[j] = max(s.d[j], norm); s.d[j] == 0 {
				s.d[j] = 1
			}
		}
		if radius < 0 {
			radius = s.scaled(s.u)
			if radius == 0 {
				radius = 1
			}
		}
		for {
			steps++
			s.trust(radius)
			size, predicted := s.clip()
			sum := s.evaluate(s.uNew, s.rNew)
			gain := *rss - sum
			ratio := -1.0
			if predicted > 0 {
				ratio = gain / predicted
			}
			switch {
			case !(ratio >= 0.25):
				radius = 0.25 * min(radius, 10*size)
			case ratio > 0.75:
				radius = max(radius, 2*size)
			}
			if ratio > 1e-4 && sum < *rss {
				s.u, s.uNew, s.r, s.rNew = s.uNew, s.u, s.rNew, s.r
				before := *rss
				*rss = sum
				if gain <= small*before && predicted <= small*before || s.tiny(size, small) {
					return steps, true
				}
				break
			}
			if math.Abs(gain) <= small*(*rss) && predicted <= small*(*rss) || s.tiny(radius, small) {
				return steps, true
			}
			if steps >= most {
				return steps, false
			}
		}
	}
	return steps, false
}

// scaled is ||D u|| over all parameters.
func (s *Solver) scaled(u []float64) float64 {
	sum := 0.0
	for j, v := range u {
		sum = math.Hypot(sum, s.d[j]*v)
	}
	return sum
}

func (s *Solver) tiny(size, small float64) bool { return size <= small*(s.scaled(s.u)+small) }

// clip moves the step within the bounds into s.uNew and tells its scaled size and by how much the linear model lowers the sum of squares.
func (s *Solver) clip() (size, predicted float64) {
	n := s.p.N
	copy(s.uNew, s.u)
	for k, j := range s.free {
		v := min(max(s.u[j]+s.step[k], s.lo[j]), s.hi[j])
		s.step[k] = v - s.u[j]
		s.uNew[j] = v
		size = math.Hypot(size, s.d[j]*s.step[k])
	}
	for i := range s.rows {
		change := 0.0
		for k, j := range s.free {
			change += s.jac[i*n+j] * s.step[k]
		}
		predicted -= change * (2*s.r[i] + change)
	}
	return size, predicted
}

// cosine is the largest |cos| between the residuals and a free column.
func (s *Solver) cosine() float64 {
	n, worst := s.p.N, 0.0
	rr := 0.0
	for _, v := range s.r {
		rr += v * v
	}
	for _, j := range s.free {
		dot, cc := 0.0, 0.0
		for i, v := range s.r {
			c := s.jac[i*n+j]
			dot += c * v
			cc += c * c
		}
		if cc > 0 && rr > 0 {
			worst = max(worst, math.Abs(dot)/math.Sqrt(cc*rr))
		}
	}
	return worst
}

// fit is the result at s.u.
func (s *Solver) fit(rss float64, steps int, converged bool) *Fit {
	p, n := s.p, s.p.N
	f := &Fit{X: make([]float64, n), RSS: rss, Priors: s.rows - p.M, Cov: make([]float64, n*n), AtBound: make([]bool, n), Converged: converged, Steps: steps}
	for i := range p.M {
		f.DataRSS += s.r[i] * s.r[i]
	}
	open := 0
	for j := range n {
		f.X[j] = p.outer(j, s.u[j])
		held := s.lo[j] == s.hi[j]
		f.AtBound[j] = !held && (s.u[j] <= s.lo[j] || s.u[j] >= s.hi[j])
		if !held {
			open++
		}
	}
	f.DoF = s.rows - open
	s.differentiate()
	s.factor()
	f.GradCosine = s.cosine()
	s.covariance(f.Cov)
	return f
}
