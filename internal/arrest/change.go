package arrest

import (
	"fmt"
	"math"
)

// apply changes the equations because watch w happened now.
func (m *solver) apply(w watch) {
	var l *link
	if w.link >= 0 && w.kind != watchBreak {
		l = &m.links[w.link]
	}
	switch w.kind {
	case watchSlack:
		m.goSlack()
	case watchNear:
		m.loose = false
	case watchTaut:
		m.phase = taut
		m.stopAtTop()
		m.track.begin(m, EventTaut)
	case watchBreak:
		m.breakNow()
	case watchTorn:
		m.part()
	case watchFloor:
		m.note(EventFloor, -1)
		m.track.floor = true
		m.done = true
	case watchReverse:
		l.reverse()
	case watchLoosens:
		l.stick()
	case watchEmpty:
		m.goSlack()
	case watchRunsOut, watchRunsBack, watchHeld, watchFarBreak:
		m.applyEdge(w.kind)
	case watchUpper:
		l.slideUp()
	case watchLower:
		l.grip = slidingDown
	case watchVirgin:
		l.rejoin()
	case watchSlipOn:
		m.slipOn(l)
	case watchSlipOff:
		m.slipOff(l)
	case watchLocked:
		m.lock(l)
	case watchSeated:
		l.seat()
	}
}

// stopAtTop leaves out a hop of the mass at the top of its way, too short to be told from rounding, where a hollow textile
// gives no force that would keep it apart from the next.
func (m *solver) stopAtTop() {
	if m.hollow && m.v[0]*m.v[0] <= 2e-12*m.g*m.lengthScale {
		m.v[0] = 0
	}
}

func (m *solver) goSlack() {
	m.hold()
	m.phase = slack
	for k := range m.f {
		m.f[k] = 0
	}
	m.edge.far, m.edge.mode = series{}, runsOut
	m.track.end(m, EventSlack)
}

// hold stops every slip: the force is about to fall.
func (m *solver) hold() {
	for i := range m.links {
		if l := &m.links[i]; l.kind >= linkKnot && l.state == slipping {
			m.slipOff(l)
		}
	}
}

func (m *solver) breakNow() {
	m.track.broke = true
	m.track.brokeAt, m.track.brokeForce = m.t, m.f[0]
	if m.edge.on && m.weakest < m.edge.elem {
		m.track.brokeForce = m.edge.far[0]
	}
	m.note(EventBreak, m.weakest)
	m.track.consider(m.t, m.cell())
	m.track.chainPeak = max(m.track.chainPeak, m.f[0])
	m.hold()
	if m.ramp > 0 {
		m.phase = tearing
		m.tornAt = m.t + m.ramp
		if m.hollow { // its strain falls to zero with a vertical tangent
			m.tornAt -= 1e-9 * m.ramp
		}
		return
	}
	m.part()
}

// part lets the mass go. What the chain still stored is lost in the recoil.
func (m *solver) part() {
	for i := range m.links {
		if l := &m.links[i]; l.soft() {
			m.broken += l.stored()
		}
	}
	m.phase = parted
	for k := range m.f {
		m.f[k], m.edge.far[k] = 0, 0
	}
	m.track.end(m, EventParted)
}

func (l *link) reverse() {
	if l.virgin {
		l.leaveVirgin()
	}
	if l.grip == slidingUp || l.grip == slidingDown {
		l.stick()
	}
}

// leaveVirgin keeps the set that the largest strain has left: on the virgin curve d/L = e/(1 - alpha).
func (l *link) leaveVirgin() {
	l.virgin = false
	l.top = l.u[0]
	l.base = l.alpha * l.length * l.u[0] / (1 - l.alpha)
	l.scale = l.length
}

// rejoin puts the textile back on its virgin curve.
func (l *link) rejoin() {
	l.virgin = true
	l.base = 0
	l.scale = l.length / (1 - l.alpha)
}

// restGrip is what the friction branch of an unloaded textile does when it is loaded.
func (l *link) restGrip() {
	if l.slideUp(); l.back {
		l.grip, l.slider = sticking, 0
	}
}

// slideUp puts the friction branch on its bound +mu T_el.
func (l *link) slideUp() {
	l.grip = slidingUp
	l.back = l.weak && l.keepsUp(l.u[0]) < 0
}

// stick holds the friction branch with the force it has.
func (l *link) stick() {
	l.slider = l.u[0] - l.frictionForce()/l.kf
	l.grip = sticking
}

func (m *solver) slipOn(l *link) {
	if l.state == seated {
		l.state = locked
		l.u[0], l.scale, l.base = 0, 1, l.slip
		return
	}
	l.state = slipping
	l.u[0], l.scale, l.base = l.slip, 1, 0
	m.note(EventSlipOn, l.elem)
}

func (m *solver) slipOff(l *link) {
	l.slip = min(max(l.u[0], l.slip), l.travel) // it never comes back
	l.state = stuck
	l.base = l.slip
	m.note(EventSlipOff, l.elem)
}

func (m *solver) lock(l *link) {
	l.slip = l.travel
	l.state = locked
	l.u[0], l.scale, l.base = 0, 1, l.slip
	kind := EventLocked
	if l.kind == linkAbsorber {
		kind = EventExhausted
	}
	m.note(kind, l.elem)
}

func (l *link) seat() {
	l.state = seated
	l.base = l.slip
}

// settle makes the state fit the positions and every element do what the first derivatives demand.
func (m *solver) settle() error {
	for range 60 {
		m.project()
		if m.phase == taut && m.pivot < 0 && m.node != nodeDamped {
			if m.rigid() {
				return nil
			}
			continue
		}
		if m.phase >= parted {
			return nil
		}
		if m.phase == taut && m.den < foldLimit {
			moved, err := m.jump()
			if err != nil {
				return err
			}
			if moved {
				continue
			}
		}
		m.expand(2)
		if !m.correct() {
			return nil
		}
	}
	return fmt.Errorf("the elements find no common state at t = %.9g s; two of them are likely to be alike in a way that leaves their share open: change one slightly", m.t)
}

// rigid decides what a chain without any elastic element does; it reports whether that is settled.
func (m *solver) rigid() bool {
	tol := 1e-9 * m.vScale
	switch {
	case m.v[0] > tol:
		weakest := -1
		for i := range m.links {
			if weakest < 0 || m.links[i].threshold() < m.links[weakest].threshold() {
				weakest = i
			}
		}
		m.slipOn(&m.links[weakest])
		return false
	case m.v[0] < -tol:
		m.goSlack()
		return true
	}
	m.phase = resting
	m.v[0] = 0
	m.f[0] = m.mass * m.g
	return true
}

// correct changes the first element whose mode contradicts the derivatives; it reports whether one did.
func (m *solver) correct() bool {
	rate := 1e-9 * m.vScale / m.lengthScale
	force := 1e-10 * m.fScale
	for i := range m.links {
		l := &m.links[i]
		switch {
		case l.kind == linkTextile:
			if m.correctTextile(l, rate, force) {
				return true
			}
		case l.kind == linkSpring:
		case l.state == slipping:
			if l.u[1] < -1e-9*m.vScale {
				m.slipOff(l)
				return true
			}
		case l.state == locked:
			if l.u[0] <= 0 && l.u[1] < 0 {
				l.seat()
				return true
			}
		case m.phase == taut:
			if f := m.forceOn(i); f[0] >= l.threshold()-force && (f[1] > m.rise(l) || f[0] > l.threshold()+force) {
				m.slipOn(l)
				return true
			}
		}
	}
	return m.correctEdge()
}

// rise is the rate of the force beyond which a link at its yield force is taken to slip again: slower
// slips end as soon as they begin.
func (m *solver) rise(l *link) float64 {
	k := l.kLock
	if l.state == stuck {
		l.evaluateYield(l.slip)
		k = math.Abs(l.ku)
	}
	if m.pivot >= 0 {
		p := &m.links[m.pivot]
		k += math.Abs(p.ku / p.scale / m.den)
	}
	return 1e-8 * (m.fScale + m.vScale*k)
}

func (m *solver) correctTextile(l *link, rate, force float64) bool {
	u := l.u[1]
	if l.virgin && u < -rate {
		l.leaveVirgin()
		return true
	}
	if l.leaves(u, rate) {
		l.stick()
		return true
	}
	if l.alpha > 0 && !l.virgin && l.u[0] >= l.top*(1-1e-14) && u > rate {
		l.rejoin()
		return true
	}
	if l.grip == sticking {
		bound, q := l.mu*l.tel[0], l.frictionForce()
		switch {
		case q >= bound-force*1e-3 && l.meetsUpper(u, rate):
			l.slideUp()
			return true
		case q <= -bound+force*1e-3 && l.kf*u < -l.mu*l.tel[1] && u < -rate:
			l.grip = slidingDown
			return true
		}
	}
	return false
}

// meetsUpper tells that a sticking friction branch that has reached +mu T_el would pass it.
func (l *link) meetsUpper(u, rate float64) bool {
	if l.weak {
		return l.keepsUp(l.u[0])*u > 1e-9*l.kf*rate && math.Abs(l.keepsUp(l.u[0])) > 1e-9*l.kf && math.Abs(u) > rate
	}
	return l.kf*u > l.mu*l.tel[1] && u > rate
}

// leaves tells that a sliding friction branch leaves its bound while the strain grows at u.
func (l *link) leaves(u, rate float64) bool {
	switch {
	case l.grip == slidingDown:
		return u > rate
	case l.grip == slidingUp && l.back:
		return u > rate
	case l.grip == slidingUp:
		return u < -rate
	}
	return false
}

// foldLimit is the value of den below which the chain is taken to have lost its stability: the time
// of the jump is then in error by the order of its square.
const foldLimit = 1e-3

// jump carries the softest link, whose yield force falls faster than the rest of the chain unloads,
// to the next slip at which both agree again. Positions do not change; the energy set free is slip. It
// reports false where they agree already: the chain is close to losing its stability, not beyond it.
func (m *solver) jump() (bool, error) {
	p := &m.links[m.pivot]
	if p.state != slipping {
		return false, fmt.Errorf("the chain lost its stability at t = %.9g s without a slip; check the stiffnesses of %s", m.t, m.names[p.elem])
	}
	before := m.storedInLinks() + m.slip
	from := p.u[0]
	total := m.x[0] - m.xc[0] + m.offset
	excess := func(s float64) float64 { return m.forceAt(total-s) - p.yield(s) }
	step := 2 * math.Pi / p.tear.Wave / 256
	s := from
	// Where the yield force falls only a little faster than the rest unloads, it does so over less than that step.
	on := func() float64 { return min(s+step, p.travel) }
	for finer := 0; m.den > 0 && excess(on()) <= 1e-12*m.fScale; finer++ {
		if finer == 12 {
			return false, nil
		}
		step /= 2
	}
	for s < p.travel && excess(on()) > 0 {
		s = on()
	}
	lo, hi := s, on()
	for range 200 {
		mid := lo + (hi-lo)/2
		if mid <= lo || mid >= hi {
			break
		}
		if excess(mid) > 0 {
			lo = mid
		} else {
			hi = mid
		}
	}
	if lo-from <= 1e-12*p.travel && m.turnBack() {
		m.project()
		return true, nil
	}
	ends := lo >= p.travel*(1-1e-15)
	behind := 0.0
	if ends {
		behind = m.meetBehind(p, total)
	}
	m.unloadTo(total - lo - behind)
	p.u[0] = lo
	m.note(EventJump, p.elem)
	if ends {
		m.lock(p)
		p.u[0] = behind
	}
	m.project()
	m.slip += before - m.storedInLinks() - m.slip
	return true, nil
}

// meetBehind is how far a jump that ends the travel stretches the spring behind the lock: the other links are
// unloaded no further than to where it carries what they do.
func (m *solver) meetBehind(p *link, total float64) float64 {
	lo, hi := 0.0, max(0, (m.f[0]-p.fLock)/p.kLock)
	for range 200 {
		mid := lo + (hi-lo)/2
		if mid <= lo || mid >= hi {
			break
		}
		if m.forceAt(total-p.travel-mid) > p.fLock+p.kLock*mid {
			lo = mid
		} else {
			hi = mid
		}
	}
	return lo
}

// turnBack puts the textiles that still follow a rising force into the mode in which they unload; it reports whether one did. Unloading,
// the chain may be stiff enough for a yield force that falls faster than the same chain would load.
func (m *solver) turnBack() bool {
	turned := false
	for i := range m.links {
		l := &m.links[i]
		if l.kind == linkTextile && (l.virgin || l.grip == slidingUp) {
			l.reverse()
			turned = true
		}
	}
	return turned
}

func (m *solver) storedInLinks() float64 {
	s := 0.0
	for i := range m.links {
		if l := &m.links[i]; l.soft() {
			s += l.stored()
		}
	}
	return s
}

// forceAt is the force of the other links, shortened at once so that their elongations sum to d:
// branches keep their dashpots, friction follows its bounds.
func (m *solver) forceAt(d float64) float64 {
	lo, hi := 0.0, m.f[0]
	for range 80 {
		mid := (lo + hi) / 2
		if m.lengthUnder(mid, false) > d {
			hi = mid
		} else {
			lo = mid
		}
	}
	return (lo + hi) / 2
}

func (m *solver) unloadTo(d float64) {
	m.lengthUnder(m.forceAt(d), true)
}

// lengthUnder is the sum of the other links' elongations when they are unloaded at once to force f;
// with keep they stay so.
func (m *solver) lengthUnder(f float64, keep bool) float64 {
	sum := 0.0
	for i := range m.links {
		l := &m.links[i]
		if i == m.pivot {
			continue
		}
		if l.kind >= linkKnot {
			sum += m.slipUnder(l, f, keep)
			continue
		}
		u, ku, grip, back, slider, virgin, top, scale, base := l.u[0], l.ku, l.grip, l.back, l.slider, l.virgin, l.top, l.scale, l.base
		l.unload(f)
		sum += l.elongation()
		if !keep {
			l.u[0], l.ku, l.grip, l.back, l.slider, l.virgin, l.top, l.scale, l.base = u, ku, grip, back, slider, virgin, top, scale, base
			l.evaluate()
		}
	}
	return sum
}

// slipUnder is lengthUnder of one knot or absorber: its slip does not come back.
func (m *solver) slipUnder(l *link, f float64, keep bool) float64 {
	switch l.state {
	case slipping:
		if keep {
			m.slipOff(l)
		}
		return l.u[0]
	case locked:
		u := max(0, (f-l.fLock)/l.kLock)
		if keep {
			if l.u[0] = u; u == 0 {
				l.seat()
			}
		}
		return l.slip + u
	}
	return l.base
}

// unload brings a textile or spring to a lower force at once.
func (l *link) unload(f float64) {
	if l.evaluate() <= f {
		return
	}
	if l.virgin {
		l.leaveVirgin()
	}
	if l.grip == slidingUp {
		l.stick()
	}
	l.solve(f)
	switch {
	case l.grip == sticking && l.frictionForce() < -l.mu*l.tel[0]:
		l.grip = slidingDown
		l.solve(f)
	case l.weak && l.grip == sticking && l.frictionForce() > l.mu*l.tel[0]:
		l.slideUp()
		l.solve(f)
	}
}

// solve finds the unknown at which the link carries f, in its present mode.
func (l *link) solve(f float64) {
	for range 60 {
		du := (f - l.evaluate()) / l.ku
		l.u[0] += du
		if math.Abs(du) <= 1e-16+4e-16*math.Abs(l.u[0]) {
			break
		}
	}
	l.evaluate()
}
