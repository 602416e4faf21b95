package arrest

import (
	"fmt"
	"math"
	"slices"

	"github.com/hardcatch/hardcatch/internal/num/ode"
)

// fixedVars is the number of variables besides those of the Maxwell branches.
const fixedVars = 8

// variables walks the differential variables in their order in a state vector.
func (m *solver) variables(visit func(i int, s *series)) int {
	list := [fixedVars]*series{&m.x, &m.v, &m.xc, &m.vc, &m.x2, &m.v2, &m.damped, &m.tornW}
	for i, s := range list {
		visit(i, s)
	}
	n := fixedVars
	for i := range m.links {
		if len(m.links[i].branches) > 0 {
			visit(n, &m.links[i].lost)
			n++
		}
		for j := range m.links[i].branches {
			visit(n, &m.links[i].branches[j].z)
			n++
		}
	}
	if m.edge.on {
		visit(n, &m.rubbed)
		n++
	}
	return n
}

// stepwise integrates with a Runge-Kutta method: the series then hold the state and its first
// derivative at one point of the step at a time.
type stepwise struct {
	control *ode.Control
	y, y0   []float64
	point   []float64
	at      float64 // where in the step the series stand, NaN = nowhere
	h       float64
}

// useStepwise prepares the solver for the method.
func (m *solver) useStepwise(method Method) {
	m.method, m.pointwise = method, true
	s := &stepwise{}
	abs := make([]float64, 0, fixedVars)
	n := m.variables(func(i int, _ *series) { abs = append(abs, 0) })
	f := func(t float64, y, dydt []float64) {
		m.now = t
		m.place(y)
		m.variables(func(i int, v *series) {
			dydt[i] = v[1]
			if i >= fixedVars && m.phase >= parted {
				dydt[i] = 0
			}
		})
	}
	energy := m.mass * m.vScale * m.vScale
	m.variables(func(i int, _ *series) {
		switch {
		case i == 0 || i == 2 || i == 4:
			abs[i] = m.lengthScale * 1e-3
		case i == 1 || i == 3 || i == 5:
			abs[i] = m.vScale
		case i < fixedVars:
			abs[i] = energy
		default:
			abs[i] = m.fScale
		}
	})
	var stepper ode.Stepper
	rel := m.eps
	if method == Radau {
		stepper = ode.NewRadau(f, n)
		rel = max(rel, 1e-9)
	} else {
		stepper = ode.NewDopri(f, n)
		rel = max(rel, 1e-11)
	}
	for i := range abs {
		abs[i] *= rel
	}
	s.control = ode.NewControl(stepper, rel, abs, 1e-6)
	s.y, s.y0, s.point = make([]float64, n), make([]float64, n), make([]float64, n)
	m.rk = s
}

// place puts the solver at the state y and finds its first derivatives.
func (m *solver) place(y []float64) {
	m.variables(func(i int, v *series) { v[0] = y[i] })
	if m.phase == tearing {
		m.f[0] = m.strength * (m.tornAt - m.now) / m.ramp
	}
	m.project()
	m.expand(1)
	m.bookRates()
	if m.node == nodeMassive {
		for k := range 2 {
			m.cellSeries[k] = m.kr*m.xc[k] + m.cr*m.vc[k]
		}
	}
}

// load puts the series at tau after the start of the step.
func (m *solver) load(tau float64) {
	s := m.rk
	if tau == s.at {
		return
	}
	s.at = tau
	m.now = m.t + tau
	switch tau {
	case 0:
		m.place(s.y0)
	case s.h:
		m.place(s.y)
	default:
		s.control.Dense(tau/s.h, s.point)
		m.place(s.point)
	}
}

// stepPoints is step for the Runge-Kutta methods.
func (m *solver) stepPoints(end float64) (float64, error) {
	s := m.rk
	m.variables(func(i int, v *series) { s.y0[i] = v[0] })
	for i := range m.links {
		m.links[i].enter()
	}
	copy(s.y, s.y0)
	s.at = math.NaN()
	m.now = m.t
	most := end - m.t
	if m.phase == tearing { // past the end of the ramp the force would turn negative, which no element follows
		most = min(most, m.tornAt-m.t+1e-9*m.ramp+1e-15*m.t)
	}
	h := s.control.Advance(m.t, s.y, most)
	if h == 0 {
		return 0, fmt.Errorf("the step became too small at t = %.9g s (%s); a value of the case is extreme", m.t, m.phase)
	}
	s.h = h
	tau, hit := m.scan(h)
	if hit >= 0 && tau > 0 && tau < h {
		tau = m.polish(m.list[hit], tau)
	}
	m.observe(tau)
	m.probe.pass(m, tau, m.t+tau >= m.until)
	if !m.summaryOnly {
		m.readAside(tau)
	}
	m.load(tau)
	m.t += tau
	m.now = m.t
	for i := range m.links {
		if l := &m.links[i]; l.soft() {
			m.bookLink(l)
		}
	}
	if hit >= 0 {
		s.control.Restart(max(h/8, 1e-9))
	}
	return tau, m.after(tau, hit, end)
}

// readAside takes the samples of the reading, and leaves everything else as it was to the last bit.
func (m *solver) readAside(h float64) {
	was, at := *m, m.rk.at
	links, point := slices.Clone(m.links), slices.Clone(m.rk.point)
	for i := range links {
		links[i].branches = slices.Clone(links[i].branches)
	}
	m.felt.pass(m, h)
	was.felt = m.felt
	*m = was
	copy(m.links, links)
	m.rk.at = at
	copy(m.rk.point, point)
}

// polish repeats the step with its end at the event, so that the event has the accuracy of the
// method and not that of its dense output.
func (m *solver) polish(w watch, tau float64) float64 {
	s := m.rk
	y1, estimate := make([]float64, len(s.y)), make([]float64, len(s.y))
	guard := m.guard(w)
	last, lastMargin := 0.0, 0.0
	for i := range 6 {
		s.at = math.NaN()
		m.now = m.t
		if !s.control.Step(m.t, s.y0, tau, y1, estimate) {
			return tau
		}
		copy(s.y, y1)
		s.h = tau
		g := m.margin(&guard, tau)
		if g <= 0 && math.Abs(g) <= guard.tol {
			return tau
		}
		var next float64
		if i == 0 {
			d := tau * 1e-5
			slope := (g - m.margin(&guard, tau-d)) / d
			next = tau - g/slope
		} else {
			next = tau - g*(tau-last)/(g-lastMargin)
		}
		if !(next > 0) || math.Abs(next-tau) > tau/2 || math.Abs(next-tau) < 1e-16*m.t {
			return tau
		}
		last, lastMargin, tau = tau, g, next
	}
	return tau
}
