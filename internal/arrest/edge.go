package arrest

import (
	"fmt"
	"math"
)

// validateEdge refuses what is not computed beside an edge.
func (c *Case) validateEdge() error {
	at := c.edgeAt()
	if at < 0 {
		return nil
	}
	before, after := false, false
	for i := range c.Chain {
		e, fault := &c.Chain[i], ""
		switch {
		case e.Edge != nil && i != at:
			fault = "a second edge is not computed; add its angle to the first"
		case e.Textile != nil && e.Textile.BreakRamp > 0:
			fault = "break_ramp: beside an edge a textile parts at once; leave break_ramp out"
		case e.Textile != nil && e.Textile.E1 == 0 && len(e.Textile.Maxwell) == 0:
			fault = "E1: beside an edge a textile needs one"
		case e.Absorber != nil && e.Absorber.Ripple > 0:
			fault = "ripple: beside an edge an absorber slips evenly; leave ripple out"
		case e.Knot != nil && e.Knot.Power != 0 && e.Knot.Power != 1 && e.Knot.Power != 2 && e.Knot.Power != 3:
			fault = "power: beside an edge it is 1, 2 or 3"
		}
		if fault != "" {
			return fmt.Errorf("chain: element %d (%s): %s", i+1, c.Label(i), fault)
		}
		before = before || e.Textile != nil && i < at
		after = after || e.Textile != nil && i > at
	}
	if !before || !after {
		return fmt.Errorf("chain: element %d (%s): angle: a textile is needed on either side of an edge; write the part from anchor to edge and the part from edge to mass", at+1, c.Label(at))
	}
	return nil
}

// edgeAt is the place of the first edge, -1 = none.
func (c *Case) edgeAt() int {
	for i := range c.Chain {
		if c.Chain[i].Edge != nil {
			return i
		}
	}
	return -1
}

// ShareOf is the largest force on element i over the largest force in the chain: less than 1 on the anchor's side of an edge.
func (c *Case) ShareOf(i int) float64 {
	if at := c.edgeAt(); i >= 0 && i < at {
		return 1 / c.Chain[at].Edge.Ratio()
	}
	return 1
}

// edgeMode is what the chain does at the edge.
type edgeMode uint8

const (
	runsOut  edgeMode = iota // towards the mass
	gripped                  // neither way
	runsBack                 // towards the anchor
)

// edgeState is the edge of a chain, on = there is one. The solver's f is then the force on the mass's side.
type edgeState struct {
	on     bool
	law    *Edge
	elem   int // place in the chain
	first  int // link on the mass's side
	ratio  float64
	mode   edgeMode
	passed float64 // held: length of the anchor's side, node and all
	far    series  // force on the anchor's side

	strength float64 // of the weakest on the anchor's side, and its place
	weakest  int

	groups  [2]edgeGroup
	n       int // of them
	farPeak float64
	load    float64 // largest, on the edge itself
}

// edgeGroup is a run of links with one force, up to the factor between the sides.
type edgeGroup struct {
	lo, hi, pivot int
	kp, den       float64
}

func (m *solver) compileEdge(e *Edge, i int) {
	m.edge = edgeState{on: true, law: e, elem: i, first: len(m.links), ratio: e.Ratio(), strength: m.strength, weakest: m.weakest}
	m.strength, m.weakest, m.ramp = inf, -1, 0
}

// gain is the force of the chain over that of link i.
func (m *solver) gain(i int) float64 {
	if i >= m.edge.first {
		return 1
	}
	switch m.edge.mode {
	case runsOut:
		return m.edge.ratio
	case runsBack:
		return 1 / m.edge.ratio
	}
	return 1
}

// forceOn is the force that link i carries.
func (m *solver) forceOn(i int) *series {
	if m.edge.on && i < m.edge.first {
		return &m.edge.far
	}
	return &m.f
}

// anchorForce is the force at the anchor's end of the chain.
func (m *solver) anchorForce() *series {
	if m.edge.on {
		return &m.edge.far
	}
	return &m.f
}

// prepareEdge is prepare for a taut chain over an edge.
func (m *solver) prepareEdge() {
	e := &m.edge
	e.groups[0], e.n = edgeGroup{lo: 0, hi: len(m.links)}, 1
	if e.mode == gripped {
		e.groups[0].hi = e.first
		e.groups[1], e.n = edgeGroup{lo: e.first, hi: len(m.links)}, 2
	}
	m.den = inf
	for q := range e.n {
		g := &e.groups[q]
		g.pivot, g.den = -1, 1
		for i := g.lo; i < g.hi; i++ {
			l := &m.links[i]
			if !l.soft() {
				continue
			}
			l.now = m.gain(i) * l.evaluate()
			if k := m.gain(i) * l.ku / l.scale; g.pivot < 0 || k < g.kp {
				g.pivot, g.kp = i, k
			}
		}
		for i := g.lo; i < g.hi; i++ {
			if l := &m.links[i]; i != g.pivot && l.soft() {
				l.weight = g.kp * l.scale / (m.gain(i) * l.ku)
				g.den += l.weight
			}
		}
		m.pivot, m.den = g.pivot, min(m.den, g.den)
	}
	m.share = 1 / m.den
}

// projectEdge is projectTaut over an edge.
func (m *solver) projectEdge() {
	e := &m.edge
	for range 50 {
		m.prepareEdge()
		move := 0.0
		for q := range e.n {
			g := &e.groups[q]
			gap := m.edgeGap(q)
			p := &m.links[g.pivot]
			num := g.kp*gap + p.now
			for i := g.lo; i < g.hi; i++ {
				if l := &m.links[i]; i != g.pivot && l.soft() {
					num += l.now * l.weight
				}
			}
			force, left := num/g.den, gap
			for i := g.lo; i < g.hi; i++ {
				if l := &m.links[i]; i != g.pivot && l.soft() {
					du := (force - l.now) / (m.gain(i) * l.ku)
					l.u[0] += du
					left -= du * l.scale
					move += math.Abs(du * l.scale)
				}
			}
			p.u[0] += left / p.scale
			move += math.Abs(left)
		}
		if move <= m.enough*(math.Abs(m.x[0])+math.Abs(m.xc[0])+math.Abs(m.offset))+1e-18 {
			break
		}
	}
	m.prepareEdge()
	m.f[0] = m.links[e.groups[e.n-1].pivot].now
	m.completeEdge(0, m.links[e.groups[0].pivot].now)
}

// edgeGap is by how much the group is shorter than its place.
func (m *solver) edgeGap(q int) float64 {
	g := &m.edge.groups[q]
	gap := m.x[0] + m.offset
	switch {
	case m.edge.mode != gripped:
		gap -= m.xc[0]
	case q == 0:
		gap = m.edge.passed - m.xc[0]
	default:
		gap -= m.edge.passed
	}
	for i := g.lo; i < g.hi; i++ {
		gap -= m.links[i].elongation()
	}
	return gap
}

// completeEdge notes the force on the anchor's side at order k, of which force is that of the first group.
func (m *solver) completeEdge(k int, force float64) {
	switch m.edge.mode {
	case runsOut:
		force /= m.edge.ratio
	case runsBack:
		force *= m.edge.ratio
	}
	m.edge.far[k] = force
}

// constrainEdge is constrain for a taut chain over an edge.
func (m *solver) constrainEdge(k int) {
	e := &m.edge
	for q := range e.n {
		g := &e.groups[q]
		p := &m.links[g.pivot]
		left := m.x[k] - m.xc[k]
		if e.mode == gripped {
			left = m.x[k]
			if q == 0 {
				left = -m.xc[k]
			}
		}
		force := m.gain(g.pivot)*p.remainder(k) + g.kp*left
		for i := g.lo; i < g.hi; i++ {
			if l := &m.links[i]; i != g.pivot && l.isSoft {
				l.u[k] = l.remainder(k)
				force += m.gain(i) * l.u[k] * l.weight
			}
		}
		force /= g.den
		for i := g.lo; i < g.hi; i++ {
			if l := &m.links[i]; i != g.pivot && l.isSoft {
				l.u[k] = (force/m.gain(i) - l.u[k]) * l.perKu
				left -= l.u[k] * l.scale
				l.complete(k)
			}
		}
		p.u[k] = left * p.perScale
		p.complete(k)
		if m.f[k] = force; q == 0 {
			m.completeEdge(k, force)
		}
	}
}

// passing is the rate series of the length that has run over the edge, at order k: towards the mass.
func (m *solver) passing(k int) float64 {
	s := 0.0
	if m.node != nodeFixed && !m.loose {
		s = m.xc[k+1]
	}
	for i := range m.edge.first {
		if l := &m.links[i]; l.soft() {
			s += l.scale * l.u[k+1]
		}
	}
	return float64(k+1) * s
}

// rub books what the edge takes over a step of h.
func (m *solver) rub(h float64) {
	if !m.edge.on || m.phase != taut || m.edge.mode == gripped {
		return
	}
	n := m.order
	var rate [maxOrder + 1]float64
	for k := range n {
		rate[k] = m.passing(k)
	}
	power := h
	for k := range n {
		c := 0.0
		for i := 0; i <= k; i++ {
			c += (m.f[i] - m.edge.far[i]) * rate[k-i]
		}
		m.rubbed[0] += c * power / float64(k+1)
		power *= h
	}
}

// rubRate is the power that the edge takes now.
func (m *solver) rubRate() float64 {
	if !m.edge.on || m.phase != taut || m.edge.mode == gripped {
		return 0
	}
	return (m.f[0] - m.edge.far[0]) * m.passing(0)
}

// edgeWatches are what can end a stretch at the edge.
func (m *solver) edgeWatches(list []watch) []watch {
	if !m.edge.on || m.phase != taut {
		return list
	}
	if !math.IsInf(m.edge.strength, 1) {
		list = append(list, watch{watchFarBreak, -1})
	}
	if m.edge.mode == gripped {
		return append(list, watch{watchRunsOut, -1}, watch{watchRunsBack, -1})
	}
	return append(list, watch{watchHeld, -1})
}

// edgeGuard is the guard of a watch at the edge: of the chain's force, the anchor side's, and the rate of passing.
func (m *solver) edgeGuard(w watchKind, g *guard) {
	g.tol = 1e-11 * m.fScale
	put := func(factor float64, s *series) { g.terms = append(g.terms, term{s, factor, 0}) }
	switch w {
	case watchFarBreak:
		g.from = m.edge.strength
		put(-1, &m.edge.far)
	case watchRunsOut:
		put(m.edge.ratio, &m.edge.far)
		put(-1, &m.f)
	case watchRunsBack:
		put(m.edge.ratio, &m.f)
		put(-1, &m.edge.far)
	default: // watchHeld
		g.rates, g.tol = true, 1e-10*m.vScale
		sign := 1.0
		if m.edge.mode == runsBack {
			sign = -1
		}
		if m.node != nodeFixed && !m.loose {
			put(sign, &m.xc)
		}
		for i := range m.edge.first {
			if l := &m.links[i]; l.soft() {
				put(sign*l.scale, &l.u)
			}
		}
	}
}

// applyEdge changes what the chain does at the edge.
func (m *solver) applyEdge(w watchKind) {
	switch w {
	case watchHeld:
		m.holdEdge()
	case watchRunsOut:
		m.edge.mode = runsOut
	case watchRunsBack:
		m.edge.mode = runsBack
	case watchFarBreak:
		m.weakest, m.strength = m.edge.weakest, m.edge.strength
		m.breakNow()
	}
}

func (m *solver) holdEdge() {
	m.edge.mode = gripped
	m.edge.passed = m.xc[0]
	for i := range m.edge.first {
		m.edge.passed += m.links[i].elongation()
	}
}

// correctEdge changes the mode at the edge where it contradicts the derivatives; it reports whether it did.
func (m *solver) correctEdge() bool {
	e := &m.edge
	if !e.on || m.phase != taut {
		return false
	}
	rate, force := 1e-9*m.vScale, 1e-10*m.fScale
	if e.mode != gripped {
		s := m.passing(0)
		if e.mode == runsOut && s < -rate || e.mode == runsBack && s > rate {
			m.holdEdge()
			return true
		}
		return false
	}
	steep := 1e-8 * (m.fScale + m.vScale*math.Abs(e.groups[1].kp))
	f, far := &m.f, &e.far
	switch {
	case f[0] >= e.ratio*far[0]-force && (f[1]-e.ratio*far[1] > steep || f[0] > e.ratio*far[0]+force):
		e.mode = runsOut
		return true
	case e.ratio*f[0] <= far[0]+force && (e.ratio*f[1]-far[1] < -steep || e.ratio*f[0] < far[0]-force):
		e.mode = runsBack
		return true
	}
	return false
}

// observeEdge looks at the forces about the edge over the stretch of h.
func (m *solver) observeEdge(h float64) {
	e := &m.edge
	if !e.on || m.phase != taut {
		return
	}
	if _, v, ok := m.highest(&e.far, h, e.farPeak); ok {
		e.farPeak = v
	}
	for i := range parts + 1 {
		tau := h * float64(i) / parts
		e.load = max(e.load, e.law.Load(m.value(&e.far, tau), m.value(&m.f, tau)))
	}
	if e.mode != gripped { // both are largest together
		far := m.track.chainPeak / e.ratio
		if e.mode == runsOut && far <= e.farPeak*(1+1e-12) {
			e.load = max(e.load, e.law.Load(far, m.track.chainPeak))
		}
	}
}
