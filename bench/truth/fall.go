package truth

import "math"

// Fall is one drop to be computed.
type Fall struct {
	Specimen Specimen
	Rig      Rig
	Mass     float64 // kg
	Height   float64 // m, of free fall before the specimen is taut
	Gravity  float64 // m/s^2
}

// Path is what a fall did: forces on an even grid of times, and the measures of the first arrest.
type Path struct {
	Step     float64   // s
	Specimen []float64 // N, from time 0
	Cell     []float64 // N

	Taut, End    float64 // s
	Broke        bool
	Peak         float64 // N, at the load cell
	PeakTime     float64 // s
	PeakSpecimen float64 // N
	Impulse      float64 // N s
	Energy       float64 // J
	Elongation   float64 // m
	EndSpeed     float64 // m/s downward, at the end of the arrest

	last state // at the end of the arrest
}

// The states of a fall. Integrals run from taut.
const (
	way        = iota // of the mass, down from where the specimen is taut, m
	speed             // down, m/s
	branch            // force of the Maxwell branch, N
	grip              // force of the friction branch, N
	node              // way of the node, m
	nodeSpeed         // m/s
	length            // elongation of the specimen, m; less than way - node while slack
	impulse           // integral of the force over time
	work              // integral of the force over the way of the mass
	dissipated        // in dashpots, J
	states
)

type state [states]float64

type mode int

const (
	falling mode = iota // the specimen is slack
	loaded
	collapsing
	parted
)

// mover is a fall under way.
type mover struct {
	Fall
	mode   mode
	at     float64 // s
	y      state
	broken float64 // s, when the collapse began
	damper float64
}

// force is that of the specimen.
func (m *mover) force(md mode, t float64, y *state) float64 {
	p := &m.Specimen
	switch md {
	case loaded:
		s := y[way] - y[node]
		e, _ := p.elastic(s)
		return e + y[branch] + p.within(y[grip], e) + p.Dashpot*(y[speed]-y[nodeSpeed])
	case collapsing:
		return p.Strength * math.Max(0, 1-(t-m.broken)/p.Collapse)
	}
	return 0
}

func (m *mover) cell(y *state) float64 {
	if m.Rig.NodeMass == 0 {
		return m.force(m.mode, m.at, y)
	}
	return m.Rig.Stiffness*y[node] + m.damper*y[nodeSpeed]
}

// slope is the time derivative of the states.
func (m *mover) slope(md mode, t float64, y *state) (d state) {
	p := &m.Specimen
	f := m.force(md, t, y)
	d[way], d[speed] = y[speed], m.Gravity-f/m.Mass
	if m.Rig.NodeMass > 0 {
		d[node] = y[nodeSpeed]
		d[nodeSpeed] = (f - m.Rig.Stiffness*y[node] - m.damper*y[nodeSpeed]) / m.Rig.NodeMass
		d[dissipated] = m.damper * y[nodeSpeed] * y[nodeSpeed]
	}
	switch md {
	case loaded:
		d[length] = y[speed] - y[nodeSpeed]
	case falling:
		d[length] = m.recovery(y)
	}
	if p.EM > 0 {
		d[branch] = p.EM/p.Length*d[length] - y[branch]/p.Tau
		d[dissipated] += y[branch] * y[branch] * p.Length / (p.EM * p.Tau)
	}
	d[grip] = p.EF / p.Length * d[length]
	d[dissipated] += p.Dashpot * d[length] * d[length]
	d[impulse], d[work] = f, f*y[speed]
	return d
}

// recovery is how fast a slack specimen shortens so that its force stays zero.
func (m *mover) recovery(y *state) float64 {
	p := &m.Specimen
	e, k := p.elastic(y[length])
	switch {
	case p.Dashpot > 0:
		return -(e + y[branch]) / p.Dashpot
	case p.EM > 0:
		return y[branch] / p.Tau / (k + p.EM/p.Length)
	}
	return 0
}

// step is one of the classical Runge-Kutta rule.
func (m *mover) step(h float64) state {
	md, t := m.mode, m.at
	along := func(d *state, h float64) (y state) {
		for i := range y {
			y[i] = m.y[i] + h*d[i]
		}
		return y
	}
	k1 := m.slope(md, t, &m.y)
	y2 := along(&k1, h/2)
	k2 := m.slope(md, t+h/2, &y2)
	y3 := along(&k2, h/2)
	k3 := m.slope(md, t+h/2, &y3)
	y4 := along(&k3, h)
	k4 := m.slope(md, t+h, &y4)
	y := m.y
	for i := range y {
		y[i] += h / 6 * (k1[i] + 2*k2[i] + 2*k3[i] + k4[i])
	}
	e, _ := m.Specimen.elastic(y[length])
	y[grip] = m.Specimen.within(y[grip], e)
	return y
}

// crossing is the part of a step of h after which g turns positive, by bisection.
func (m *mover) crossing(h float64, g func(t float64, y *state) float64) (part float64, y state) {
	lo, hi := 0.0, h
	for range 60 {
		mid := (lo + hi) / 2
		if y = m.step(mid); g(m.at+mid, &y) > 0 {
			hi = mid
		} else {
			lo = mid
		}
	}
	return hi, m.step(hi)
}

// ending says when the mode ends: when a value turns positive, and what comes after.
func (m *mover) ending() (past func(t float64, y *state) float64, next mode) {
	switch m.mode {
	case falling:
		return func(_ float64, y *state) float64 { return y[way] - y[node] - y[length] }, loaded
	case loaded:
		return func(t float64, y *state) float64 { return -m.force(loaded, t, y) }, falling
	case collapsing:
		return func(t float64, _ *state) float64 { return t - m.broken - m.Specimen.Collapse }, parted
	}
	return func(float64, *state) float64 { return -1 }, parted
}

// Run computes a fall on a grid of n times step apart; the specimen comes taut at taut, which lies between grid times.
func (f Fall) Run(taut, step float64, n int) *Path {
	m := &mover{Fall: f, mode: loaded, at: taut, damper: f.Rig.damper()}
	m.y[speed] = math.Sqrt(2 * f.Gravity * f.Height)
	p := &Path{Step: step, Specimen: make([]float64, n), Cell: make([]float64, n), Taut: taut, End: math.NaN(), Elongation: math.NaN()}
	first := int(math.Floor(taut/step)) + 1
	top := crest{}
	top.see(m)
	for i, stride := first, 1; i < n; i += stride {
		m.advance(float64(i)*step, p, &top)
		p.Specimen[i], p.Cell[i] = m.force(m.mode, m.at, &m.y), m.cell(&m.y)
		straight(p.Specimen, i-stride, i)
		straight(p.Cell, i-stride, i)
		if stride == 1 && f.Rig.NodeMass == 0 && m.at > p.End+0.01 {
			stride = max(1, int(coarse/step))
		}
		if i < n-1 {
			stride = min(stride, n-1-i)
		}
	}
	p.Peak, p.PeakTime, p.PeakSpecimen = top.cell.best(), top.cell.bestAt(), top.specimen.best()
	return p
}

// coarse is the step after the first arrest on a rigid rig, s. Between steps the force is a straight line, which at 10 kN and 60 rad/s is off by less
// than 10 kN (60 coarse)^2/8 = 0.05 N. No true value rests on it.
const coarse = 1e-4

// straight fills x between two places.
func straight(x []float64, from, to int) {
	for i := from + 1; i < to; i++ {
		x[i] = x[from] + (x[to]-x[from])*float64(i-from)/float64(to-from)
	}
}

// advance goes on to a time, through whatever events come before.
func (m *mover) advance(to float64, p *Path, top *crest) {
	arrest := func() bool { return math.IsNaN(p.End) }
	for events := 0; m.at < to; events++ {
		h := to - m.at
		past, next := m.ending()
		y := m.step(h)
		if math.IsNaN(p.Elongation) && arrest() && y[speed] <= 0 {
			part, low := m.crossing(h, func(_ float64, y *state) float64 { return -y[speed] })
			p.Elongation, p.Energy = low[way], low[work]
			top.point(m.at+part, m.force(m.mode, m.at+part, &low), m.cellAt(m.at+part, &low))
		}
		breaks := false
		if s := m.Specimen.Strength; s > 0 && m.mode == loaded && m.force(loaded, to, &y) > s {
			breaks = true
			past, next = func(t float64, y *state) float64 { return m.force(loaded, t, y) - s }, collapsing
		}
		if events > 20 || past(to, &y) <= 0 {
			m.at, m.y = to, y
			if arrest() || m.mode == collapsing { // the node may still go on a little
				top.see(m)
			}
			return
		}
		part, y := m.crossing(h, past)
		m.at, m.y = m.at+part, y
		if arrest() && m.mode == loaded {
			if breaks {
				top.point(m.at, m.Specimen.Strength, m.cellAt(m.at, &m.y))
				if math.IsNaN(p.Elongation) {
					p.Elongation, p.Energy = y[way], y[work]
				}
			}
			p.End, p.Broke, p.Impulse, p.EndSpeed, p.last = m.at, breaks, y[impulse], y[speed], y
		}
		if breaks {
			m.broken = m.at
			top.corner()
		}
		if m.mode = next; m.mode == falling {
			m.y[length], m.y[grip] = m.y[way]-m.y[node], 0
		}
	}
}

func (m *mover) cellAt(t float64, y *state) float64 {
	if m.Rig.NodeMass == 0 {
		return m.force(m.mode, t, y)
	}
	return m.cell(y)
}

// crest finds the largest force of the specimen and at the load cell.
type crest struct{ cell, specimen summit }

func (c *crest) see(m *mover) {
	c.point(m.at, m.force(m.mode, m.at, &m.y), m.cell(&m.y))
}

func (c *crest) point(t, specimen, cell float64) {
	c.specimen.see(t, specimen)
	c.cell.see(t, cell)
}

// corner says that the force has a corner here, over which no parabola goes.
func (c *crest) corner() { c.cell.n, c.specimen.n = 1, 1 }

// summit is the largest of values that come in order of time. Steps are so short that the largest value of a smooth force is passed by less
// than 1e-6 of it (a step of 20 us at the top of a half-sine of 5 ms: 1 - cos(pi 10/5000) = 2e-5 at worst, taken off by the parabola
// through the three values about it).
type summit struct {
	t, f  [3]float64
	n     int
	top   float64
	topAt float64
}

func (s *summit) see(t, f float64) {
	s.t[0], s.t[1], s.t[2] = s.t[1], s.t[2], t
	s.f[0], s.f[1], s.f[2] = s.f[1], s.f[2], f
	if s.n++; f > s.top {
		s.top, s.topAt = f, t
	}
	if s.n < 3 || // fewer since the last corner
		!(s.f[1] > s.f[0] && s.f[1] > s.f[2]) {
		return
	}
	// Newton's form of the parabola, valid for uneven steps.
	d1 := (s.f[1] - s.f[0]) / (s.t[1] - s.t[0])
	d2 := (s.f[2] - s.f[1]) / (s.t[2] - s.t[1])
	c := (d2 - d1) / (s.t[2] - s.t[0])
	at := (s.t[0]+s.t[1])/2 - d1/(2*c)
	if v := s.f[0] + d1*(at-s.t[0]) + c*(at-s.t[0])*(at-s.t[1]); v > s.top {
		s.top, s.topAt = v, at
	}
}

func (s *summit) best() float64   { return s.top }
func (s *summit) bestAt() float64 { return s.topAt }
