package arrest

import (
	"math"

	"github.com/hardcatch/hardcatch/internal/quantity"
)

// compile sets the solver up for the case, reusing its memory.
func (m *solver) compile(c *Case, o Options) {
	m.g = orDefault(c.Gravity.SI(), quantity.StandardGravity)
	m.mass, m.limbs = c.Mass.SI(), 0
	m.fall = c.Fall.SI()
	m.speed = orDefault(c.Speed.SI(), math.Sqrt(2*m.g*m.fall))
	m.until = orDefault(c.Until.SI(), 1.5)
	m.atLeast, m.extended = c.AtLeast || c.Until == 0, false
	m.ground, m.drift = orDefault(c.Floor.SI(), inf), math.NaN()
	m.eps = orDefault(o.Tolerance, 1e-12)
	m.order, m.method = 20, Taylor
	m.summaryOnly, m.enough, m.limit = false, 2e-16, balanceLimit
	m.kr, m.cr, m.mc, m.kb, m.cb = 0, 0, 0, 0, 0
	m.node, m.rigElem = nodeFixed, -1
	m.links = m.links[:0]
	m.names = m.names[:0]
	m.strength, m.weakest, m.ramp = inf, -1, 0
	m.hollow, m.worn, m.edge = false, nil, edgeState{}
	for i := range c.Chain {
		m.names = append(m.names, c.Label(i))
		m.compileElement(c, i)
	}
	if c.Unbroken {
		m.strength, m.weakest, m.ramp = inf, -1, 0
		m.edge.strength, m.edge.weakest = inf, -1
	}
	m.scales()
	m.shiftKnots()
	m.choose(o.Method)
}

// tooManySteps is the number of Taylor steps beyond which an implicit method is quicker.
const tooManySteps = 40000

// restless is the time (s) after which what is fast has mostly died away, and asks for no short steps any more.
const restless = 10

// choose settles the method: Taylor series, or where the fastest rate of the case would force too
// many steps on an explicit method, the implicit one.
func (m *solver) choose(want Method) {
	m.pointwise, m.rk = false, nil
	if want == Auto {
		want = Taylor
		if m.fastest()*min(m.until, restless)/4 > tooManySteps {
			want = Radau
		}
	}
	m.method = want
	if want != Taylor {
		m.useStepwise(want)
	}
}

// fastest is the largest rate (1/s) at which anything in the case wants to move on its own.
func (m *solver) fastest() float64 {
	r := 0.0
	switch m.node {
	case nodeMassive:
		r = max(math.Sqrt(m.kr/m.mc), m.cr/m.mc)
	case nodeDamped:
		r = m.kr / m.cr
	}
	if m.limbs > 0 {
		r = max(r, math.Sqrt(m.kb/m.limbs), m.cb/m.limbs)
	}
	for i := range m.links {
		for j := range m.links[i].branches {
			r = max(r, 1/m.links[i].branches[j].tau)
		}
	}
	return r
}

// grow appends a link, keeping the branch memory of the link that was there before.
func (m *solver) grow(kind linkKind, elem int) *link {
	n := len(m.links)
	if n < cap(m.links) {
		m.links = m.links[:n+1]
	} else {
		m.links = append(m.links, link{})
	}
	l := &m.links[n]
	*l = link{kind: kind, elem: elem, branches: l.branches[:0], scale: 1, grip: noFriction}
	return l
}

func (m *solver) compileElement(c *Case, i int) {
	e := &c.Chain[i]
	switch e.Kind {
	case KindRig:
		m.compileRig(e.Rig, i)
	case KindTextile:
		m.compileTextile(e.Textile, i)
	case KindKnot:
		l := m.grow(linkKnot, i)
		l.knot = e.Knot.Curve()
		l.travel, l.kLock, l.fLock = l.knot.Travel, e.Knot.Behind(), e.Knot.FL.SI()
		l.setSlip(e.Knot.State.SI())
		if s := c.StrengthOf(i); s > 0 {
			m.weaken(s.SI(), i, c.Chain[c.TextileOf(i)].Textile.BreakRamp.SI())
		}
	case KindAbsorber:
		l := m.grow(linkAbsorber, i)
		l.tear, l.travel, l.kLock = e.Absorber.Curve(), e.Absorber.Travel.SI(), e.Absorber.Behind()
		l.fLock = l.yield(l.travel)
		l.setSlip(e.Absorber.State.SI())
		if s := c.StrengthOf(i); s > 0 {
			m.weaken(s.SI(), i, 0)
		}
	case KindEdge:
		m.compileEdge(e.Edge, i)
		if s := c.StrengthOf(i); s > 0 {
			m.weaken(s.SI(), i, 0)
		}
	case KindBody:
		b := e.Body
		m.limbs = m.mass * (1 - b.Torso())
		m.mass -= m.limbs
		m.kb = b.Stiffness.SI()
		m.cb = 2 * b.DampingRatio.SI() * math.Sqrt(m.kb*m.limbs)
	}
}

func (m *solver) compileRig(r *Rig, i int) {
	m.rigElem = i
	k := r.Stiffness.SI()
	switch {
	case r.NodeMass > 0:
		m.node, m.kr, m.mc = nodeMassive, k, r.NodeMass.SI()
		m.cr = r.Damper()
	case r.Damping > 0:
		m.node, m.kr, m.cr = nodeDamped, k, r.Damping.SI()
	default:
		l := m.grow(linkSpring, i)
		l.k0 = k
	}
}

func (m *solver) compileTextile(t *Textile, i int) {
	l := m.grow(linkTextile, i)
	l.length, l.el = t.Length.SI(), t.Elastic()
	for _, b := range t.Maxwell {
		if b.E > 0 {
			l.branches = append(l.branches, branch{e: b.E.SI(), tau: b.Tau.SI(), rate: 1 / b.Tau.SI(), loss: l.length / (b.E.SI() * b.Tau.SI())})
		}
	}
	if t.Friction > 0 {
		l.mu, l.grip = t.Friction.SI(), slidingUp
		l.kf = t.Slider()
		l.weak = l.keepsUp(min(giant/l.el.E1, math.Sqrt(giant/l.el.E2), math.Cbrt(giant/l.el.E3))) < 0
		l.restGrip()
	}
	if l.el.E1 == 0 && len(l.branches) == 0 {
		l.hollow, m.hollow = true, true
		l.el.E1 = hair * (l.el.E2 + l.el.E3)
	}
	l.alpha = t.Set.SI()
	l.scale = l.length
	if l.alpha > 0 {
		l.rejoin()
	}
	if t.Strength > 0 {
		m.weaken(t.Left(), i, t.BreakRamp.SI())
	}
}

// hair is the stiffness at zero strain of a textile that has none, as a share of E2 + E3: how several such textiles
// share the first micrometres would otherwise be open. At a strain of 1 % it changes the force by a part in 10^8 at most.
const hair = 1e-12

// giant is a force (N) that nothing here carries.
const giant = 1e6

func (m *solver) weaken(strength float64, elem int, ramp float64) {
	if strength < m.strength {
		m.strength, m.weakest, m.ramp = strength, elem, ramp
		if ramp < 1e-9 {
			m.ramp = 0
		}
	}
}

// setSlip starts a knot or absorber at slip s.
func (l *link) setSlip(s float64) {
	l.slip, l.base, l.state = s, s, stuck
	if s >= l.travel {
		l.state = seated
	}
}

// shiftKnots moves the start of the yield curves by a billionth of the travel where a Taylor series has no room at
// s = 0: powers that are not 1, 2 or 3, and several links that would start with zero stiffness together.
func (m *solver) shiftKnots() {
	knots := 0
	for i := range m.links {
		if m.links[i].kind == linkKnot || m.links[i].hollow {
			knots++
		}
	}
	for i := range m.links {
		l := &m.links[i]
		if l.kind != linkKnot {
			continue
		}
		if !l.knot.Whole() || knots > 1 && l.knot.Power != 1 {
			l.knot.Shift = 1e-9
		}
	}
}

// scales sets the sizes against which tolerances are taken.
func (m *solver) scales() {
	m.lengthScale = 0
	for i := range m.links {
		m.lengthScale += m.links[i].length
	}
	if m.lengthScale == 0 {
		m.lengthScale = 1
	}
	m.vScale = max(m.speed, math.Sqrt(m.g*m.lengthScale)*1e-1, 1e-3)
	m.fScale = max((m.mass+m.limbs)*m.g, 1e-3*m.mass*m.vScale*m.vScale/m.lengthScale)
}

// reset puts mass and node at the start of a drop: taut, unloaded, moving at the impact speed.
func (m *solver) reset() {
	m.phase, m.t, m.done, m.steps = taut, 0, false, 0
	for _, s := range []*series{&m.x, &m.v, &m.xc, &m.vc, &m.x2, &m.v2, &m.rel, &m.f, &m.damped, &m.tornW, &m.rubbed, &m.cellSeries, &m.edge.far} {
		*s = series{}
	}
	m.v[0], m.v2[0] = m.speed, m.speed
	m.friction, m.slip, m.broken = 0, 0, 0
	m.edge.mode, m.edge.farPeak, m.edge.load = runsOut, 0, 0
	m.offset = 0
	m.offset = m.chainLength()
	if math.IsNaN(m.drift) {
		m.drift = m.offset
	}
	m.floor = m.ground - (m.offset - m.drift) // the floor stays where it is when the specimen has become longer
	for i := range m.links {
		m.links[i].longest = 0
		m.links[i].lost[0] = 0
	}
	m.loose = false
	if m.rk != nil {
		m.rk.control.Restart(1e-6)
	}
	m.storedBefore = 0
	_, _, m.storedBefore, _, _, _, _ = m.ledger()
	m.track.reset()
	m.track.begin(m, EventTaut)
}
