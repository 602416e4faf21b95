package arrest

import (
	"math"

	"github.com/hardcatch/hardcatch/internal/arrest/element"
	"github.com/hardcatch/hardcatch/internal/num/ode"
)

type phase uint8

const (
	taut    phase = iota
	slack         // no force; the elongations relax so that it stays so
	tearing       // the force falls along the break ramp
	parted        // nothing holds the mass
	resting       // a rigid chain carries the mass at rest
)

func (p phase) String() string {
	return [...]string{"taut", "slack", "breaking", "parted", "at rest"}[p]
}

type nodeKind uint8

const (
	nodeFixed   nodeKind = iota // anchor, or a massless spring that is a link of the chain
	nodeDamped                  // massless spring with a damper beside it: x_c is a state
	nodeMassive                 // x_c and v_c are states
)

// solver is the chain in motion: its constants, its state (order 0 of every series) and the series
// about the present moment.
type solver struct {
	mass, limbs float64 // mass on the chain, and the second mass of a body (0 = none)
	g           float64
	kr, cr, mc  float64
	kb, cb      float64
	node        nodeKind
	rigElem     int // place of the rig in the chain, -1 = none
	links       []link
	offset      float64 // sum of the elongations when this drop came taut
	strength    float64 // of the weakest link, +Inf = never parts
	weakest     int     // its place in the chain
	ramp        float64
	ground      float64 // depth of the floor below the place of the first taut of the first drop, +Inf = none
	floor       float64 // below that of this drop
	until       float64
	atLeast     bool                 // the run goes on past until while its first arrest is not over
	extended    bool                 // it has
	worn        map[int]element.Worn // of the textiles with a law of damage, by their place
	drift       float64              // length that the specimen had at the first drop
	fall, speed float64
	eps         float64
	order       int
	lengthScale float64

	phase  phase
	t      float64
	x, v   series
	xc, vc series
	x2, v2 series
	rel    series // v2 - v
	f      series
	damped series // work into the dampers
	tornW  series // work into the tearing element
	rubbed series // work into the edge

	friction, slip, broken float64 // energies booked in closed form
	storedBefore           float64 // energy that tense branches held at first taut
	pivot                  int
	den, share             float64 // see prepare; share = 1/den
	perMass, perNode       float64
	fScale, vScale         float64

	list        []watch
	terms       []term  // of the guard looked at
	base        float64 // rigid part of the chain's length, slack: see margin
	forceSpread float64
	powers      series // of the step looked at
	cellSeries  series
	tornAt      float64
	summaryOnly bool    // only what a Summary holds is looked at, and the ledger only at the end
	limit       float64 // share of the fall's energy that the ledger may be open by
	enough      float64 // share of the chain's length below which a correction of project is the last
	pointwise   bool    // the series hold one point of a step, not the whole: see load
	rk          *stepwise
	now         float64 // time of the point the series hold
	free        ring
	edge        edgeState
	hollow      bool // a textile has no stiffness at zero strain: the chain is slack when that has no strain
	loose       bool // the node follows free, not its series
	done        bool
	steps       int

	method Method
	names  []string
	track  track
	probe  sampler
	felt   reading
}

// chainLength is the sum of the elongations beyond those at first taut.
func (m *solver) chainLength() float64 {
	s := -m.offset
	for i := range m.links {
		s += m.links[i].elongation()
	}
	return s
}

// prepare computes stiffnesses at order 0 and chooses the pivot: the softest link, whose unknown is
// found from the constraint and not from the force, so that a link of zero stiffness is no trouble.
func (m *solver) prepare() {
	if m.edge.on && m.phase == taut {
		m.prepareEdge()
		return
	}
	m.pivot, m.den = -1, 1
	low := 0.0
	for i := range m.links {
		l := &m.links[i]
		if !l.soft() {
			continue
		}
		l.now = l.evaluate()
		if k := l.ku / l.scale; m.pivot < 0 || k < low {
			m.pivot, low = i, k
		}
	}
	m.share = 1
	if m.phase != taut || m.pivot < 0 {
		return
	}
	for i := range m.links {
		if l := &m.links[i]; i != m.pivot && l.soft() {
			l.weight = low * l.scale / l.ku
			m.den += l.weight
		}
	}
	m.share = 1 / m.den
}

// invert notes the reciprocals that every order of the series needs.
func (m *solver) invert() {
	m.perMass = 1 / m.mass
	if m.node == nodeMassive {
		m.perNode = 1 / m.mc
	}
	for i := range m.links {
		l := &m.links[i]
		l.isSoft = l.soft()
		if l.isSoft {
			l.perKu, l.perScale = 1/l.ku, 1/l.scale
		}
	}
}

// project makes the elongations and the force fit the positions (taut) or the force given (else).
func (m *solver) project() {
	switch m.phase {
	case taut:
		m.projectTaut()
	case slack, tearing:
		for i := range m.links {
			l := &m.links[i]
			if !l.soft() {
				continue
			}
			for range 40 {
				du := (m.f[0] - l.evaluate()) / l.ku
				l.u[0] += du
				if math.Abs(du) <= 1e-16+4e-16*math.Abs(l.u[0]) {
					break
				}
			}
			l.evaluate()
		}
		m.edge.far[0] = m.f[0]
	case parted:
		m.f[0], m.edge.far[0] = 0, 0
	case resting:
		m.f[0] = m.mass * m.g
	}
}

func (m *solver) projectTaut() {
	if m.edge.on {
		m.projectEdge()
		return
	}
	if m.prepare(); m.pivot < 0 {
		if m.node == nodeDamped {
			m.xc[0] = m.x[0] - m.chainLength()
			m.f[0] = m.kr*m.xc[0] + m.cr*m.v[0]
		}
		return
	}
	for range 50 {
		gap := m.x[0] - m.xc[0] - m.chainLength()
		p := &m.links[m.pivot]
		kp := p.ku / p.scale
		num, den := kp*gap+p.now, 1.0
		for i := range m.links {
			if l := &m.links[i]; i != m.pivot && l.soft() {
				w := kp * l.scale / l.ku
				num += l.now * w
				den += w
			}
		}
		force := num / den
		move := 0.0
		left := gap
		for i := range m.links {
			if l := &m.links[i]; i != m.pivot && l.soft() {
				du := (force - l.now) / l.ku
				l.u[0] += du
				left -= du * l.scale
				move += math.Abs(du * l.scale)
			}
		}
		p.u[0] += left / p.scale
		move += math.Abs(left)
		size := math.Abs(m.x[0]) + math.Abs(m.xc[0]) + math.Abs(m.offset)
		m.prepare()
		if move <= m.enough*size+1e-18 {
			break
		}
	}
	p := &m.links[m.pivot]
	m.f[0] = p.now
}

// expand computes the series of every variable up to order n about the present state.
func (m *solver) expand(n int) {
	m.prepare()
	m.invert()
	for k := 0; k < n; k++ {
		m.integrate(k)
		m.constrain(k + 1)
	}
}

// integrate finds the differential variables at order k+1 from everything at order k.
func (m *solver) integrate(k int) {
	r := reciprocal[(k+1)&maxOrder]
	i, j := k&maxOrder, (k+1)&maxOrder
	g := 0.0
	if k == 0 {
		g = m.g
	}
	pull := 0.0
	if m.limbs > 0 {
		m.rel[i] = m.v2[i] - m.v[i]
		pull = m.kb*(m.x2[i]-m.x[i]) + m.cb*m.rel[i]
		m.x2[j] = m.v2[i] * r
		m.v2[j] = (g - pull/m.limbs) * r
	}
	m.x[j] = m.v[i] * r
	m.v[j] = (g + (pull-m.f[i])*m.perMass) * r
	switch m.node {
	case nodeMassive:
		if m.loose {
			m.xc[j], m.vc[j] = 0, 0
			break
		}
		m.xc[j] = m.vc[i] * r
		m.vc[j] = (m.anchorForce()[i] - m.kr*m.xc[i] - m.cr*m.vc[i]) * (m.perNode * r)
	case nodeDamped:
		if m.phase == taut && m.pivot < 0 { // nothing between node and mass gives way
			m.vc[i] = m.v[i]
		} else {
			m.vc[i] = (m.anchorForce()[i] - m.kr*m.xc[i]) / m.cr
		}
		m.xc[j] = m.vc[i] * r
	}
	if m.phase >= parted {
		return
	}
	for q := range m.links {
		l := &m.links[q]
		for p := range l.branches {
			b := &l.branches[p]
			b.z[j] = b.q[i] * (r * b.rate)
		}
	}
}

// constrain finds the force and the unknowns of the links at order k.
func (m *solver) constrain(k int) {
	k &= maxOrder
	if m.edge.on {
		m.edge.far[k] = 0
		if m.phase == taut {
			m.constrainEdge(k)
			return
		}
	}
	switch m.phase {
	case parted, resting:
		m.f[k] = 0
		return
	case slack, tearing:
		m.f[k] = 0
		if m.phase == tearing && k == 1 {
			m.f[1] = -m.strength / m.ramp
		}
		for i := range m.links {
			if l := &m.links[i]; l.isSoft {
				l.u[k] = (m.f[k] - l.remainder(k)) * l.perKu
				l.complete(k)
			}
		}
		return
	}
	if m.pivot < 0 {
		m.f[k] = m.kr*m.xc[k] + m.cr*m.v[k]
		return
	}
	p := &m.links[m.pivot]
	kp := p.ku * p.perScale
	left := m.x[k] - m.xc[k]
	force := p.remainder(k) + kp*left
	for i := range m.links {
		if l := &m.links[i]; i != m.pivot && l.isSoft {
			l.u[k] = l.remainder(k)
			force += l.u[k] * l.weight
		}
	}
	force *= m.share
	m.f[k] = force
	for i := range m.links {
		if l := &m.links[i]; i != m.pivot && l.isSoft {
			l.u[k] = (force - l.u[k]) * l.perKu
			left -= l.u[k] * l.scale
			l.complete(k)
		}
	}
	p.u[k] = left * p.perScale
	p.complete(k)
}

// bookRates finds the rates of the works that have no closed form: the series' first coefficients.
func (m *solver) bookRates() {
	p := 0.0
	if m.node != nodeFixed {
		p += m.cr * m.vc[0] * m.vc[0]
	}
	if m.cb > 0 {
		p += m.cb * m.rel[0] * m.rel[0]
	}
	m.damped[1], m.tornW[1], m.rubbed[1] = p, 0, m.rubRate()
	if m.phase >= parted {
		return
	}
	rate := m.v[0]
	if m.node != nodeFixed {
		rate -= m.vc[0]
	}
	for i := range m.links {
		l := &m.links[i]
		l.lost[1] = 0
		for j := range l.branches {
			b := &l.branches[j]
			l.lost[1] += b.loss * b.q[0] * b.q[0]
		}
		if l.soft() {
			rate -= l.scale * l.u[1]
		}
	}
	if m.phase == tearing {
		m.tornW[1] = rate * m.f[0]
	}
}

// reach is the step that keeps the neglected terms of force, load cell and branches below eps.
func (m *solver) reach(n int) float64 {
	a, b := math.Abs(m.f[n]), math.Abs(m.f[n-1])
	if m.edge.on {
		a, b = max(a, math.Abs(m.edge.far[n])), max(b, math.Abs(m.edge.far[n-1]))
	}
	if m.node != nodeFixed {
		a = max(a, m.kr*math.Abs(m.xc[n]))
		b = max(b, m.kr*math.Abs(m.xc[n-1]))
	}
	if m.limbs > 0 {
		a = max(a, m.kb*math.Abs(m.x2[n]))
		b = max(b, m.kb*math.Abs(m.x2[n-1]))
	}
	if m.phase < parted {
		for i := range m.links {
			l := &m.links[i]
			if l.kind == linkTextile {
				a = max(a, math.Abs(l.tel[n]), l.ku*math.Abs(l.u[n]))
				b = max(b, math.Abs(l.tel[n-1]), l.ku*math.Abs(l.u[n-1]))
				for j := range l.branches {
					a = max(a, math.Abs(l.branches[j].q[n]))
					b = max(b, math.Abs(l.branches[j].q[n-1]))
				}
			} else if l.kind == linkAbsorber && l.state == slipping && l.tear.Ripple > 0 {
				a = max(a, l.tear.F0*math.Abs(l.sq[n]))
				b = max(b, l.tear.F0*math.Abs(l.sq[n-1]))
			}
		}
	}
	s := 1 / m.fScale
	return ode.LongestStep(a*s, b*s, n, m.eps)
}

// advance moves the state by h along the series.
func (m *solver) advance(h float64) {
	n := m.order
	if m.powers[1] != h || m.pointwise {
		m.powers.fill(n, h)
	}
	at := func(s *series) { s[0] = dot(s, &m.powers, n) }
	m.t += h
	for i := range m.links {
		m.links[i].enter()
	}
	m.dissipate(h)
	m.rub(h)
	if m.phase != resting {
		at(&m.x)
		at(&m.v)
	}
	if m.node != nodeFixed && !m.loose {
		at(&m.xc)
		if m.node == nodeMassive {
			at(&m.vc)
		}
	}
	if m.limbs > 0 {
		at(&m.x2)
		at(&m.v2)
	}
	if m.loose {
		m.release(h)
	}
	if m.phase >= parted {
		return
	}
	if m.phase == tearing {
		at(&m.f)
	}
	for i := range m.links {
		l := &m.links[i]
		if !l.soft() {
			continue
		}
		at(&l.u)
		for j := range l.branches {
			at(&l.branches[j].z)
		}
	}
	m.project()
	for i := range m.links {
		if l := &m.links[i]; l.soft() {
			m.bookLink(l)
		}
	}
}

// fill writes the powers of h up to n, and zero beyond.
func (p *series) fill(n int, h float64) {
	p[0], p[1] = 1, h
	a, b, s := h, h*h, h*h // odd and even powers apart
	for k := 2; k <= n; k += 2 {
		a *= s
		p[k&maxOrder], p[(k+1)&maxOrder] = b, a
		b *= s
	}
	for k := n + 1; k <= maxOrder; k++ {
		p[k] = 0
	}
}

// vectors tells that sums to order n may be taken four terms at a time from order 1 on: what they read
// beyond n has the power zero.
func vectors(n int) bool { return lockstepWorks && n >= 8 && n <= maxOrder-3 }

// dot is the value of a series, given the powers of the step, which are zero beyond order n.
func dot(c, p *series, n int) float64 {
	if vectors(n) {
		return c[0] + dotVector(&c[1], &p[1], (n+3)/4)
	}
	a, b := 0.0, 0.0
	k := n
	for ; k > 1; k -= 2 {
		a += c[k&maxOrder] * p[k&maxOrder]
		b += c[(k-1)&maxOrder] * p[(k-1)&maxOrder]
	}
	if k == 1 {
		a += c[1] * p[1]
	}
	return c[0] + (a + b)
}

// spread bounds how far a series moves from its start, given the powers of the step, which are zero
// beyond order n.
func spread(c, p *series, n int) float64 {
	if vectors(n) {
		return spreadVector(&c[1], &p[1], (n+3)/4)
	}
	a, b := 0.0, 0.0
	k := n
	for ; k > 1; k -= 2 {
		a += math.Abs(c[k&maxOrder]) * p[k&maxOrder]
		b += math.Abs(c[(k-1)&maxOrder]) * p[(k-1)&maxOrder]
	}
	if k == 1 {
		a += math.Abs(c[1]) * p[1]
	}
	return a + b
}

// slopeSpread bounds how far the derivative of a series moves from its start.
func slopeSpread(c, p *series, n int) float64 {
	a, b := 0.0, 0.0
	k := n
	for ; k > 2; k -= 2 {
		a += float64(k) * math.Abs(c[k&maxOrder]) * p[(k-1)&maxOrder]
		b += float64(k-1) * math.Abs(c[(k-1)&maxOrder]) * p[(k-2)&maxOrder]
	}
	if k == 2 {
		a += 2 * math.Abs(c[2]) * p[1]
	}
	return a + b
}

// enter notes where a link stands at the start of a step.
func (l *link) enter() {
	l.from, l.fromQ = l.u[0], l.frictionForce()
	if l.virgin {
		l.fromStored, l.fromLost = l.stored(), l.lost[0]
	}
}

// bookLink books the friction, set or slip work of a link since it was entered.
func (m *solver) bookLink(l *link) {
	switch {
	case l.kind == linkTextile:
		work := 0.0
		if l.grip == slidingUp || l.grip == slidingDown {
			p := l.frictionForce()
			work = l.mu * float64(l.grip) * (l.el.Energy(l.u[0]) - l.el.Energy(l.from))
			work = l.length * (work - (p*p-l.fromQ*l.fromQ)/(2*l.kf))
		}
		if l.virgin {
			// the set takes its share alpha/(1 - alpha) of the work of the force over e
			work += l.alpha / (1 - l.alpha) * (l.stored() - l.fromStored + l.lost[0] - l.fromLost + work)
		}
		m.friction += work
	case l.kind >= linkKnot && l.state == slipping:
		m.slip += l.yieldWork(l.u[0]) - l.yieldWork(l.from)
	}
}

// cell is the force that the load cell feels.
func (m *solver) cell() float64 {
	if m.node == nodeMassive {
		return m.kr*m.xc[0] + m.cr*m.vc[0]
	}
	return m.anchorForce()[0]
}

// ledger is the energy balance at the present moment.
func (m *solver) ledger() (in, kinetic, stored, viscous, friction, slip, broken float64) {
	total := m.mass + m.limbs
	in = total * (m.speed*m.speed/2 + m.g*m.x[0])
	kinetic = m.mass * m.v[0] * m.v[0] / 2
	if m.limbs > 0 {
		in += m.limbs * m.g * (m.x2[0] - m.x[0])
		kinetic += m.limbs * m.v2[0] * m.v2[0] / 2
		d := m.x2[0] - m.x[0]
		stored += m.kb * d * d / 2
	}
	if m.node != nodeFixed {
		stored += m.kr * m.xc[0] * m.xc[0] / 2
		if m.node == nodeMassive {
			kinetic += m.mc * m.vc[0] * m.vc[0] / 2
		}
	}
	viscous = m.damped[0]
	for i := range m.links {
		l := &m.links[i]
		viscous += l.lost[0]
		if m.phase != parted && l.soft() {
			stored += l.stored()
		}
	}
	return in, kinetic, stored - m.storedBefore, viscous, m.friction + m.rubbed[0], m.slip, m.broken + m.tornW[0]
}
