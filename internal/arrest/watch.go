package arrest

import (
	"math"

	"github.com/hardcatch/hardcatch/internal/num/ode"
)

type watchKind uint8

const (
	watchSlack watchKind = iota
	watchTaut
	watchNear // the slack is no more than the node may swing
	watchBreak
	watchTorn
	watchFloor
	watchReverse // the strain of a textile turns round
	watchUpper   // the friction branch reaches +mu T_el
	watchLower   // the friction branch reaches -mu T_el
	watchVirgin  // a textile reaches its largest strain again
	watchSlipOn
	watchSlipOff
	watchLocked
	watchSeated
	watchLoosens // the friction branch leaves its bound, or begins to follow it back
	watchRunsOut // what an edge holds runs towards the mass
	watchRunsBack
	watchHeld     // an edge holds what ran
	watchFarBreak // the weakest on the anchor's side of an edge parts
	watchEmpty    // a hollow textile has no strain left
)

// watch is a condition under which the equations change: when its margin turns negative.
type watch struct {
	kind watchKind
	link int
}

// watches lists what can end the present stretch.
func (m *solver) watches(list []watch) []watch {
	list = list[:0]
	if !math.IsInf(m.floor, 1) {
		list = append(list, watch{watchFloor, -1})
	}
	switch m.phase {
	case parted, resting:
		return list
	case slack:
		if m.loose {
			list = append(list, watch{watchNear, -1})
		} else {
			list = append(list, watch{watchTaut, -1})
		}
	case tearing:
		list = append(list, watch{watchTorn, -1})
	case taut:
		if !m.hollow {
			list = append(list, watch{watchSlack, -1})
		}
		if !math.IsInf(m.strength, 1) {
			list = append(list, watch{watchBreak, m.weakest})
		}
	}
	list = m.edgeWatches(list)
	for i := range m.links {
		l := &m.links[i]
		switch l.kind {
		case linkSpring:
		case linkTextile:
			if l.virgin || l.grip == slidingUp || l.grip == slidingDown {
				list = append(list, watch{watchReverse, i})
			}
			if l.grip == sticking {
				list = append(list, watch{watchUpper, i}, watch{watchLower, i})
			}
			if l.weak && l.grip == slidingUp {
				list = append(list, watch{watchLoosens, i})
			}
			if l.hollow && m.phase == taut {
				list = append(list, watch{watchEmpty, i})
			}
			if l.alpha > 0 && !l.virgin {
				list = append(list, watch{watchVirgin, i})
			}
		default:
			switch l.state {
			case slipping:
				list = append(list, watch{watchSlipOff, i}, watch{watchLocked, i})
			case locked:
				list = append(list, watch{watchSeated, i})
			default:
				list = append(list, watch{watchSlipOn, i})
			}
		}
	}
	return list
}

// margin is the watch's distance from happening, tau after the present moment.
func (m *solver) margin(w watch, tau float64) float64 {
	if w.kind == watchTorn {
		return m.tornAt - m.t - tau
	}
	n := m.order
	if m.pointwise {
		m.load(tau)
		n, tau = 1, 0
	}
	switch w.kind {
	case watchSlack:
		return ode.Value(m.f[:], n, tau)
	case watchBreak:
		return m.strength - ode.Value(m.f[:], n, tau)
	case watchRunsOut, watchRunsBack, watchHeld, watchFarBreak:
		at := func(s *series, tau float64) float64 { return ode.Value(s[:], n, tau) }
		return m.edgeMargin(w.kind, tau, at, func(s *series, tau float64) float64 { return ode.Slope(s[:], n, tau) })
	case watchFloor:
		return m.floor - ode.Value(m.x[:], n, tau)
	case watchTaut, watchNear:
		s := m.base - ode.Value(m.x[:], n, tau)
		switch {
		case w.kind == watchNear:
			s -= m.free.reach * math.Exp(-m.free.sigma*tau)
		case m.node != nodeFixed:
			s += ode.Value(m.xc[:], n, tau)
		}
		for i := range m.links {
			if l := &m.links[i]; l.soft() {
				s += l.scale * ode.Value(l.u[:], n, tau)
			}
		}
		return s
	}
	l := &m.links[w.link]
	switch w.kind {
	case watchReverse:
		return l.onward() * ode.Slope(l.u[:], n, tau)
	case watchLoosens:
		return l.onward() * l.keepsUp(ode.Value(l.u[:], n, tau))
	case watchEmpty:
		return ode.Value(l.u[:], n, tau)
	case watchUpper:
		return l.mu*ode.Value(l.tel[:], n, tau) - l.kf*(ode.Value(l.u[:], n, tau)-l.slider)
	case watchLower:
		return l.mu*ode.Value(l.tel[:], n, tau) + l.kf*(ode.Value(l.u[:], n, tau)-l.slider)
	case watchVirgin:
		return l.top - ode.Value(l.u[:], n, tau)
	case watchSlipOn:
		return l.threshold() - ode.Value(m.forceOn(w.link)[:], n, tau)
	case watchSlipOff:
		return ode.Slope(l.u[:], n, tau)
	case watchLocked:
		return l.travel - ode.Value(l.u[:], n, tau)
	}
	return ode.Value(l.u[:], n, tau) // watchSeated: the spring behind the lock is unloaded
}

// onward is the sign of the rate of strain at which the textile keeps its mode.
func (l *link) onward() float64 {
	if l.grip == slidingDown || l.grip == slidingUp && l.back {
		return -1
	}
	return 1
}

// cannot tells that a watch cannot happen within h, by a bound on how far its margin can move.
func (m *solver) cannot(w watch, h float64) bool {
	if m.pointwise {
		return false
	}
	n, p := m.order, &m.powers
	g := m.margin(w, 0)
	switch w.kind {
	case watchSlack, watchBreak:
		return g > m.forceSpread
	case watchSlipOn:
		return g > m.forceSpread && !m.edge.on
	case watchTorn:
		return g > h
	case watchFloor:
		return g > spread(&m.x, p, n)
	case watchLocked, watchVirgin, watchSeated, watchEmpty:
		return g > spread(&m.links[w.link].u, p, n)
	case watchUpper, watchLower:
		l := &m.links[w.link]
		return g > l.mu*spread(&l.tel, p, n)+l.kf*spread(&l.u, p, n)
	case watchTaut, watchNear:
		s := spread(&m.x, p, n)
		switch {
		case w.kind == watchNear:
			s += m.free.reach
		case m.node != nodeFixed:
			s += spread(&m.xc, p, n)
		}
		for i := range m.links {
			if l := &m.links[i]; l.soft() {
				s += l.scale * spread(&l.u, p, n)
			}
		}
		return g > s
	case watchReverse, watchSlipOff:
		return g > slopeSpread(&m.links[w.link].u, p, n)
	}
	return false
}

// tolerance is the margin that counts as zero at the start of a stretch.
func (m *solver) tolerance(w watch) float64 {
	switch w.kind {
	case watchSlack, watchBreak, watchSlipOn, watchUpper, watchLower, watchRunsOut, watchRunsBack, watchFarBreak:
		return 1e-11 * m.fScale
	case watchReverse:
		return 1e-10 * m.vScale / m.lengthScale
	case watchSlipOff, watchHeld:
		return 1e-10 * m.vScale
	case watchTorn:
		return 0
	case watchEmpty: // the strain at which the force is that of watchSlack
		l, f := &m.links[w.link], 1e-11*m.fScale
		return min(math.Sqrt(f/l.el.E2), math.Cbrt(f/l.el.E3))
	case watchLoosens:
		return 1e-12 * m.links[w.link].kf
	case watchSeated:
		return 1e-18 * m.lengthScale // the spring behind is stiff
	}
	return 1e-13 * m.lengthScale
}

// parts is the number of points at which margins are looked at within a step.
const parts = 8

// scan finds the first watch that happens within h and when. When none does, it returns h and -1.
func (m *solver) scan(h float64) (tau float64, hit int) {
	tau, hit = h, -1
	if !m.pointwise {
		m.powers.fill(m.order, h)
		m.forceSpread = spread(&m.f, &m.powers, m.order)
	}
	for i, w := range m.list {
		if m.cannot(w, tau) {
			continue
		}
		if at, ok := m.first(w, tau); ok && (at < tau || hit < 0) {
			tau, hit = at, i
		}
	}
	return tau, hit
}

// first finds the first time within h at which the margin of w turns negative.
func (m *solver) first(w watch, h float64) (float64, bool) {
	tol := m.tolerance(w)
	last, at := m.margin(w, 0), 0.0
	if last <= tol {
		var gone bool
		if at, last, gone = m.leave(w, h, last, tol); gone {
			return 0, true
		}
	}
	before, beforeAt := last, at
	for i := 1; i <= parts; i++ {
		next := h * float64(i) / parts
		g := m.margin(w, next)
		if g < 0 {
			return m.crossing(w, at, next, last, g), true
		}
		if i > 1 && last < before && last < g {
			if dip, v := m.dip(w, beforeAt, at, next, before, last, g); v < 0 {
				return m.crossing(w, beforeAt, dip, before, v), true
			}
		}
		before, beforeAt, last, at = last, at, g, next
	}
	return 0, false
}

// leave follows a margin that is zero at the start: to where it has become positive, or to the finding
// that it turns negative, or more negative than start, at once (gone).
func (m *solver) leave(w watch, h, start, tol float64) (at, g float64, gone bool) {
	for tau := h * 0x1p-36; tau < h/parts; tau *= 8 {
		switch g := m.margin(w, tau); {
		case g < min(start, 0)-tol, start < -tol && g <= start:
			return 0, 0, true
		case g > tol:
			return tau, g, false
		}
		at = tau
	}
	return at, 0, false
}

func (m *solver) crossing(w watch, a, b, ga, gb float64) float64 {
	if ga <= 0 {
		return a
	}
	return ode.Root(func(tau float64) float64 { return m.margin(w, tau) }, a, b, ga, gb, 0)
}

// dip looks at the bottom of the parabola through three margins, where it comes near zero.
func (m *solver) dip(w watch, a, b, c, ga, gb, gc float64) (at, value float64) {
	at, near := lowest(a, b, c, ga, gb, gc)
	if !near {
		return b, gb
	}
	return at, m.margin(w, at)
}
