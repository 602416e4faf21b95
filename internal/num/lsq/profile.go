package lsq

import (
	"math"
	"slices"
)

// Best fits from every start and gives the fit with the least sum of squares, and how many of the starts led there, to a relative 1e-6 of it. Starts at
// which the model has no value are passed over; without any other the error is ErrNoStart.
func Best(p *Problem, starts [][]float64) (best *Fit, agree int, err error) {
	s := NewSolver(p)
	var all []float64
	for _, x := range starts {
		f, err := s.Solve(x)
		if err != nil {
			continue
		}
		all = append(all, f.RSS)
		if best == nil || f.RSS < best.RSS {
			best = f
		}
	}
	if best == nil {
		return nil, 0, ErrNoStart
	}
	for _, v := range all {
		if v <= best.RSS*(1+1e-6)+1e-300 {
			agree++
		}
	}
	return best, agree, nil
}

// Profiled is an interval by the profile of the sum of squares.
type Profiled struct {
	Lo, Hi         float64
	LoOpen, HiOpen bool // the sum of squares does not rise enough up to the bound, or to a hundred standard deviations: that end is no bound
}

// Profile finds the values of parameter j at which the sum of squares, least over all other parameters, is higher than the fit's by rise: 3.84 for 95 %
// where residuals were divided by their standard deviations; s^2 F(1, DoF) else. The ends are found to a thousandth of the interval. A fit that finds a
// lower sum of squares on its way replaces f, and the search begins anew.
func Profile(p *Problem, f *Fit, j int, rise float64) Profiled {
	for range 5 {
		out, lower := profile(p, f, j, rise)
		if lower == nil {
			return out
		}
		if g, err := NewSolver(p).Solve(lower.X); err == nil && g.RSS < f.RSS {
			lower = g
		}
		*f = *lower
	}
	out, _ := profile(p, f, j, rise)
	return out
}

// profiler walks along a parameter.
type profiler struct {
	solver *Solver
	held   *Problem // p with the parameter held
	f      *Fit
	j      int
	rise   float64
	x      []float64
	lower  *Fit // a better fit, once one is found
}

// above is how far the profile at a value of the fitted parameter stands above the fit, less the rise.
func (w *profiler) above(u float64) float64 {
	v := w.held.outer(w.j, u)
	w.held.Lower[w.j], w.held.Upper[w.j], w.x[w.j] = v, v, v
	g, err := w.solver.Solve(w.x)
	if err != nil {
		return math.Inf(1) // where the model has no value the interval has ended
	}
	if g.RSS < w.f.RSS-1e-6*w.rise {
		w.lower = g
	}
	copy(w.x, g.X)
	return g.RSS - w.f.RSS - w.rise
}

func profile(p *Problem, f *Fit, j int, rise float64) (out Profiled, lower *Fit) {
	q := *p
	q.Lower, q.Upper = make([]float64, p.N), make([]float64, p.N)
	for i := range p.N {
		lo, hi := p.bounds(i)
		q.Lower[i], q.Upper[i] = p.outer(i, lo), p.outer(i, hi)
	}
	w := profiler{solver: NewSolver(&q), held: &q, f: f, j: j, rise: rise}
	lo, hi := p.bounds(j)
	at := p.inner(j, f.X[j])
	for side, limit := range []float64{lo, hi} {
		w.x = slices.Clone(f.X)
		end, open := w.end(at, limit, float64(2*side-1))
		if w.lower != nil {
			return out, w.lower
		}
		if side == 0 {
			out.Lo, out.LoOpen = p.outer(j, end), open
		} else {
			out.Hi, out.HiOpen = p.outer(j, end), open
		}
	}
	return out, nil
}

// end walks from the fit towards the limit until the profile has risen enough.
func (w *profiler) end(at, limit, sign float64) (end float64, open bool) {
	n := len(w.f.X)
	first := math.Sqrt(w.f.Cov[w.j*n+w.j] * w.rise)
	if !(first > 0) || math.IsInf(first, 1) {
		first = max(0.01*math.Abs(at), 0.01)
	}
	near, nearV := at, -w.rise
	for step := first; ; step *= 1.6 {
		far := at + sign*step
		last := sign*(far-limit) >= 0
		if last {
			far = limit
		}
		v := w.above(far)
		switch {
		case w.lower != nil:
			return far, false
		case v > 0:
			return crossing(w.above, near, nearV, far, v, 1e-3*math.Abs(far-at)), false
		case last || step > 100*first:
			return far, true
		}
		near, nearV = far, v
	}
}

// crossing finds the root of f between a, where it is negative, and b by the method of Illinois, to within eps.
func crossing(f func(float64) float64, a, fa, b, fb, eps float64) float64 {
	if math.IsInf(fb, 1) {
		fb = -fa
	}
	for range 40 {
		c := b - fb*(b-a)/(fb-fa)
		if math.Abs(b-a) <= eps {
			return c
		}
		v := f(c)
		if math.IsInf(v, 1) {
			v = -fa
		}
		switch {
		case math.Abs(v) < 1e-9:
			return c
		case v > 0:
			b, fb, fa = c, v, fa/2
		default:
			a, fa, fb = c, v, fb/2
		}
	}
	return (a + b) / 2
}
