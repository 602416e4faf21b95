package selfcal

import (
	"fmt"
	"math"

	"github.com/hardcatch/hardcatch/internal/reduce"
)

// model is a specimen that stops the mass much as the record's did:
//
//	F = k1 x + k2 x^2 + k3 x^3 + c v    or    ... + c x v
//
// while that is above zero and x > 0, x the elongation and v the speed downward; it parts at a force when the record's did.
type model struct {
	k        [3]float64 // N/m, N/m2, N/m3
	c        float64    // N s/m, or N s/m2 with byWay
	byWay    bool       // the damper's force grows with the elongation
	strength float64    // N, 0 = it holds
	collapse float64    // s, in which the force falls to zero when it parts
}

func (m model) force(x, v float64) float64 {
	if x <= 0 {
		return 0
	}
	return math.Max(0, m.law(x, v))
}

// law is the force that may be below zero.
func (m model) law(x, v float64) float64 {
	c := m.c
	if m.byWay {
		c *= x
	}
	return x*(m.k[0]+x*(m.k[1]+x*m.k[2])) + c*v
}

// truths are the measures of a computed arrest.
type truths struct {
	peak, impulse, energy, elongation, duration, rebound float64
	ended                                                bool // it went slack, or parted
}

// finest is the longest step of the integration, s.
const finest = 2e-5

// fall computes the force at n samples that are dt apart, of which the specimen comes taut at the time taut, and the truths of the first
// arrest; by Runge and Kutta's fourth order in steps of at most finest.
func (m model) fall(mass, height, gravity float64, n int, dt, taut float64) (forceN []float64, t truths) {
	forceN = make([]float64, n)
	parts := int(math.Ceil(dt / finest))
	x, v := 0.0, math.Sqrt(2*gravity*height)
	broke, at := -1.0, taut
	bottomed := false
	force := func(s, x, v float64) float64 {
		if broke >= 0 {
			return m.strength * math.Max(0, 1-(s-broke)/m.collapse)
		}
		return m.force(x, v)
	}
	step := func(h float64) {
		f0 := force(at, x, v)
		a := func(s, x, v float64) float64 { return gravity - force(s, x, v)/mass }
		k1 := a(at, x, v)
		k2 := a(at+h/2, x+h/2*v, v+h/2*k1)
		k3 := a(at+h/2, x+h/2*v+h*h/4*k1, v+h/2*k2)
		k4 := a(at+h, x+h*v+h*h/2*k2, v+h*k3)
		nx, nv := x+h*v+h*h/6*(k1+k2+k3), v+h/6*(k1+2*k2+2*k3+k4)
		if !t.ended {
			f := m.law(nx, nv)
			if !bottomed && v > 0 && nv <= 0 {
				bottomed = true
				t.elongation = x + v/(v-nv)*h*v/2
			}
			share, parts := 1.0, m.strength > 0 && f >= m.strength // of the step that belongs to the arrest
			if parts {
				share, f = math.Max(0, (m.strength-f0)/(f-f0)), m.strength
			} else if f <= 0 && nv < 0 {
				share, f, t.ended = f0/(f0-f), 0, true
			}
			t.peak = math.Max(t.peak, f)
			if t.ended = t.ended || parts; t.ended {
				// The momentum tells the impulse, and the energies the work.
				end, ev, ex := at+share*h, v+share*(nv-v), x+share*(nx-x)
				t.impulse = mass * (math.Sqrt(2*gravity*height) + gravity*(end-taut) - ev)
				t.duration, t.rebound = end-taut, -ev
				t.energy = mass * gravity * (height + t.elongation)
				if !bottomed {
					t.elongation, t.energy = ex, mass*(gravity*(height+ex)-ev*ev/2)
				}
				if parts {
					broke = end
				}
			}
		}
		x, v, at = nx, nv, at+h
	}
	for i := range forceN {
		to := float64(i) * dt
		if to <= taut {
			continue
		}
		h := (to - at) / float64(parts)
		for range parts {
			step(h)
		}
		forceN[i] = force(at, x, v)
	}
	return forceN, t
}

// fit is the model whose arrest is most like that of a record, and how it is worded.
func fit(w *reduce.WholeReduction) (model, string, error) {
	r, dt := w.Reduction, 1/w.Rate.SI()
	mass, height, gravity := r.Settings.Mass.SI(), r.Settings.Fall.SI(), r.Settings.Gravity.SI()
	top := 0.0
	for _, f := range w.Force[w.First : w.First+len(w.Moved)] {
		top = math.Max(top, f)
	}
	v0, xMax := math.Sqrt(2*gravity*height), r.MaxElongation.SI()
	if !(v0 > 0) || !(xMax > 0) || len(w.Moved) < 12 {
		return model{}, "", fmt.Errorf("no arrest like this one can be computed: it has no fall, or too few samples; a measured coverage needs both")
	}
	var parted model
	if w.EndKind == "break" {
		parted.strength = r.Peak.SI()
		n := 0
		for i := w.First + len(w.Moved); i < len(w.Force) && w.Force[i] > 0.1*top; i++ {
			n++
		}
		parted.collapse = math.Max(float64(n), 0.5) * dt / 0.9
	}
	best, bestOff := model{}, math.Inf(1)
	for terms := 3; terms >= 1; terms-- {
		for _, byWay := range []bool{true, false} {
			m, ok := leastSquares(w, terms, byWay, top, xMax, v0)
			if !ok {
				continue
			}
			m.strength, m.collapse = parted.strength, parted.collapse
			_, t := m.fall(mass, height, gravity, int(4*r.ArrestDuration.SI()/dt)+8, dt, dt/2)
			if !t.ended {
				continue
			}
			off := math.Abs(t.peak/top-1) + math.Abs(t.duration/r.ArrestDuration.SI()-1) + math.Abs(t.elongation/xMax-1)
			if off < bestOff {
				best, bestOff = m, off
			}
		}
		if bestOff < 0.1 {
			break
		}
	}
	if !(bestOff < 0.45) {
		return model{}, "", fmt.Errorf("no arrest like this one can be computed: the simple specimens that were tried do not give its peak, length and duration; bench/coverage shows how often intervals of common kinds hold the truth")
	}
	damper := "c v"
	if best.byWay {
		damper = "c x v"
	}
	return best, "F = k1 x + k2 x^2 + k3 x^3 + " + damper, nil
}

// leastSquares fits k1 .. k_terms and c, none of the damping below zero, to force, way and speed of the first arrest.
func leastSquares(w *reduce.WholeReduction, terms int, byWay bool, top, xMax, v0 float64) (model, bool) {
	n := terms + 1
	a := make([][]float64, n)
	for i := range a {
		a[i] = make([]float64, n+1)
	}
	row := make([]float64, n)
	for i, x := range w.Moved {
		f, s, u := w.Force[w.First+i]/top, x/xMax, w.Speed[i]/v0
		if f < 0.02 || s <= 0 {
			continue
		}
		p := s
		for k := range terms {
			row[k] = p
			p *= s
		}
		row[terms] = u
		if byWay {
			row[terms] = s * u
		}
		for j := range n {
			for k := range n {
				a[j][k] += row[j] * row[k]
			}
			a[j][n] += row[j] * f
		}
	}
	z, ok := solve(a)
	if !ok {
		return model{}, false
	}
	m := model{byWay: byWay, c: math.Max(0, z[terms]) * top / v0}
	if byWay {
		m.c /= xMax
	}
	scale := top
	for k := range terms {
		scale /= xMax
		m.k[k] = z[k] * scale
	}
	return m, true
}

// solve is Gauss's way with the largest pivot; the last column is the right side.
func solve(a [][]float64) ([]float64, bool) {
	n := len(a)
	for j := range n {
		p := j
		for i := j; i < n; i++ {
			if math.Abs(a[i][j]) > math.Abs(a[p][j]) {
				p = i
			}
		}
		a[j], a[p] = a[p], a[j]
		if !(math.Abs(a[j][j]) > 1e-12) {
			return nil, false
		}
		for i := range n {
			if i == j {
				continue
			}
			f := a[i][j] / a[j][j]
			for k := j; k <= n; k++ {
				a[i][k] -= f * a[j][k]
			}
		}
	}
	z := make([]float64, n)
	for j := range z {
		z[j] = a[j][n] / a[j][j]
	}
	return z, true
}
