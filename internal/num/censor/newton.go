package censor

import "math"

const (
	newtonSteps = 300
	// settled is the Newton decrement, per observation, at which one more full step ends a search:
	// convergence is quadratic there, so that step leaves about its square.
	settled = 1e-14
	// recessionFrom is the step from which a search asks whether it runs off to infinity.
	recessionFrom = 8
	// edgeTheta is where theta counts as 0, in units of the scatter of the values.
	edgeTheta = 1e-9
)

// plane is the linear constraint a.phi = d.
type plane struct {
	a []float64
	d float64
}

// solver seeks the highest point of a likelihood, with its workspace.
type solver struct {
	q                  *likelihood
	phi, trial         []float64
	g, g2, h, h2       []float64
	factor, step, u, v []float64
	multiplier, logLik float64
	recession          bool // the last search ran off along step
	flat               bool // it settled where the likelihood does not curve
	edge               bool // it ended at theta = 0: sigma without end
	calibrated         bool // profiles from this fit have their depth adjusted
	weighable          bool // the values seen allow that
}

func newSolver(q *likelihood) *solver {
	m := q.dim()
	pool := make([]float64, 7*m+3*m*m)
	cut := func(n int) []float64 {
		c := pool[:n:n]
		pool = pool[n:]
		return c
	}
	return &solver{q: q, phi: cut(m), trial: cut(m), g: cut(m), g2: cut(m), step: cut(m), u: cut(m), v: cut(m),
		h: cut(m * m), h2: cut(m * m), factor: cut(m * m)}
}

func dot(a, b []float64) float64 {
	s := 0.0
	for i, v := range a {
		s += v * b[i]
	}
	return s
}

// cholesky factors the leading n x n block of h (rows of m) with ridge added to the diagonal.
func cholesky(l, h []float64, n, m int, ridge float64) bool {
	for i := range n {
		for j := 0; j <= i; j++ {
			s := h[i*m+j]
			if i == j {
				s += ridge
			}
			for k := range j {
				s -= l[i*m+k] * l[j*m+k]
			}
			if i != j {
				l[i*m+j] = s / l[j*m+j]
				continue
			}
			if !(s > 1e-13*(h[i*m+i]+ridge)) || math.IsInf(s, 0) {
				return false
			}
			l[i*m+i] = math.Sqrt(s)
		}
	}
	return true
}

// choleskySolve puts the solution of L L' x = b into x; they may be the same.
func choleskySolve(x, l, b []float64, n, m int) {
	for i := range n {
		s := b[i]
		for k := range i {
			s -= l[i*m+k] * x[k]
		}
		x[i] = s / l[i*m+i]
	}
	for i := n - 1; i >= 0; i-- {
		s := x[i]
		for k := i + 1; k < n; k++ {
			s -= l[k*m+i] * x[k]
		}
		x[i] = s / l[i*m+i]
	}
}

// factorise factors the curvature, with as little ridge as that needs. It reports whether none was.
func (s *solver) factorise() (ridgeless bool) {
	n, m := s.q.free(), s.q.dim()
	if cholesky(s.factor, s.h, n, m, 0) {
		return true
	}
	top := 0.0
	for i := range n {
		top = max(top, s.h[i*m+i])
	}
	if !(top > 0) || math.IsInf(top, 0) {
		top = 1
	}
	for ridge := 1e-12 * top; !cholesky(s.factor, s.h, n, m, ridge); ridge *= 100 {
		if ridge > 1e12*top || math.IsNaN(ridge) {
			return false
		}
	}
	return false
}

// direction sets the Newton step, which also closes what is missing to the plane, and returns the
// decrement.
func (s *solver) direction(on *plane) float64 {
	n, m := s.q.free(), s.q.dim()
	clear(s.step)
	choleskySolve(s.step, s.factor, s.g, n, m)
	s.multiplier = 0
	if on != nil {
		choleskySolve(s.v, s.factor, on.a, n, m)
		s.multiplier = (dot(on.a[:n], s.step[:n]) - (on.d - dot(on.a, s.phi))) / dot(on.a[:n], s.v[:n])
		for i := range n {
			s.step[i] -= s.multiplier * s.v[i]
		}
	}
	return dot(s.g[:n], s.step[:n])
}

// maximise climbs from phi, which must lie on the plane when one is given. It leaves the highest point
// in phi, its height in logLik, the curvature in h and the multiplier of the plane in multiplier.
func (s *solver) maximise(on *plane) error {
	q := s.q
	n, m := q.free(), q.dim()
	s.recession, s.flat, s.edge = false, false, false
	ll := q.value(s.phi, s.g, s.h)
	if math.IsInf(ll, -1) {
		return failf(ErrNotConverged, "the likelihood vanishes where the search begins; the values lie too far apart for numbers of this precision")
	}
	stalled := 0
	for k := range newtonSteps {
		ridgeless := s.factorise()
		gain := s.direction(on)
		if !q.fixed && s.phi[m-1] < edgeTheta && s.step[m-1] < 0 {
			// On from here along the edge.
			if gain = s.gainAtEdge(on); gain <= settled*q.wholeN {
				s.logLik, s.edge = ll, true
				return nil
			}
			copy(s.step, s.u[:m-1])
			s.step[m-1] = 0
		}
		if gain <= settled*q.wholeN || stalled > 2 {
			if on != nil {
				for i := range n {
					s.phi[i] += s.step[i]
				}
				s.logLik = ll + gain/2
				return nil
			}
			s.logLik = ll
			s.flat = !ridgeless
			return s.polish(ll)
		}
		if on == nil && k >= recessionFrom && s.recedes(s.step) {
			s.recession = true
			return failf(ErrNotIdentified, "the likelihood rises without end")
		}
		alpha := 1.0
		if !q.fixed {
			if fall := -s.step[m-1] / s.phi[m-1]; fall > 0.8 {
				alpha = 0.8 / fall
			}
		}
		for {
			copy(s.trial, s.phi)
			for i := range n {
				s.trial[i] += alpha * s.step[i]
			}
			t := q.value(s.trial, s.g2, s.h2)
			noise := 1e-14 * (math.Abs(ll) + q.wholeN)
			if t >= ll+1e-4*alpha*gain-noise && !math.IsInf(t, -1) {
				if t <= ll && gain <= 1e-9*q.wholeN {
					// Rounding hides what is left to gain.
					stalled++
				}
				ll = t
				break
			}
			if alpha /= 2; alpha < 1e-14 {
				return failf(ErrNotConverged, "the search for the highest likelihood stopped short after %d steps", k)
			}
		}
		s.phi, s.trial = s.trial, s.phi
		s.g, s.g2 = s.g2, s.g
		s.h, s.h2 = s.h2, s.h
	}
	return failf(ErrNotConverged, "the search for the highest likelihood did not settle in %d steps", newtonSteps)
}

// gainAtEdge is the decrement with theta kept.
func (s *solver) gainAtEdge(on *plane) float64 {
	n, m := s.q.p, s.q.dim()
	choleskySolve(s.u, s.factor, s.g, n, m)
	s.multiplier = 0
	if on != nil {
		choleskySolve(s.v, s.factor, on.a, n, m)
		if av := dot(on.a[:n], s.v[:n]); av > 0 {
			s.multiplier = dot(on.a[:n], s.u[:n]) / av
			for i := range n {
				s.u[i] -= s.multiplier * s.v[i]
			}
		}
	}
	return dot(s.g[:n], s.u[:n])
}

// polish takes the last step and refreshes the curvature there.
func (s *solver) polish(ll float64) error {
	copy(s.trial, s.phi)
	for i := range s.q.free() {
		s.trial[i] += s.step[i]
	}
	t := s.q.value(s.trial, s.g2, s.h2)
	if t < ll-1e-9*(1+math.Abs(ll)) {
		return nil
	}
	s.phi, s.trial = s.trial, s.phi
	s.g, s.g2 = s.g2, s.g
	s.h, s.h2 = s.h2, s.h
	s.logLik = t
	s.factorise()
	return nil
}

// recedes tells whether the likelihood never falls along d, so that it has no highest point: each exact
// value keeps its z, right-censored values lose, left-censored ones gain, and intervals open on both
// sides.
func (s *solver) recedes(d []float64) bool {
	q, p := s.q, s.q.p
	dTheta := d[p]
	if q.fixed {
		dTheta = 0
	}
	top := 0.0
	for pass := range 2 {
		tol := max(1e-6*top, 1e-11*math.Abs(dTheta))
		for i, kind := range q.kind {
			eta := dot(q.x[i*p:i*p+p], d)
			if pass == 0 {
				if kind != LeftCensored {
					top = max(top, math.Abs(dTheta*q.lo[i]-eta))
				}
				if kind != RightCensored {
					top = max(top, math.Abs(dTheta*q.hi[i]-eta))
				}
				continue
			}
			lo, hi := dTheta*q.lo[i]-eta, dTheta*q.hi[i]-eta
			switch kind {
			case Observed:
				if math.Abs(lo) > tol {
					return false
				}
			case RightCensored:
				if lo > tol {
					return false
				}
			case LeftCensored:
				if hi < -tol {
					return false
				}
			default:
				if lo > tol || hi < -tol {
					return false
				}
			}
		}
	}
	return max(top, math.Abs(dTheta)) > 0 && dTheta >= -1e-6*top
}
