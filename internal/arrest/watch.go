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

// onward is the sign of the rate of strain at which the textile keeps its mode.
func (l *link) onward() float64 {
	if l.grip == slidingDown || l.grip == slidingUp && l.back {
		return -1
	}
	return 1
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
		g := m.guard(w)
		if m.cannot(&g, tau) {
			continue
		}
		if at, ok := m.first(&g, tau); ok && (at < tau || hit < 0) {
			tau, hit = at, i
		}
	}
	return tau, hit
}

// first finds the first time within h at which the margin of a guard turns negative.
func (m *solver) first(g *guard, h float64) (float64, bool) {
	tol := g.tol
	last, at := m.margin(g, 0), 0.0
	if last <= tol {
		var gone bool
		if at, last, gone = m.leave(g, h, last, tol); gone {
			return 0, true
		}
	}
	before, beforeAt := last, at
	for i := 1; i <= parts; i++ {
		next := h * float64(i) / parts
		now := m.margin(g, next)
		if now < 0 {
			return m.crossing(g, at, next, last, now), true
		}
		if i > 1 && last < before && last < now {
			if dip, v := m.dip(g, beforeAt, at, next, before, last, now); v < 0 {
				return m.crossing(g, beforeAt, dip, before, v), true
			}
		}
		before, beforeAt, last, at = last, at, now, next
	}
	return 0, false
}

// leave follows a margin that is zero at the start: to where it has become positive, or to the finding
// that it turns negative, or more negative than start, at once (gone).
func (m *solver) leave(g *guard, h, start, tol float64) (at, value float64, gone bool) {
	for tau := h * 0x1p-36; tau < h/parts; tau *= 8 {
		switch v := m.margin(g, tau); {
		case v < min(start, 0)-tol, start < -tol && v <= start:
			return 0, 0, true
		case v > tol:
			return tau, v, false
		}
		at = tau
	}
	return at, 0, false
}

func (m *solver) crossing(g *guard, a, b, ga, gb float64) float64 {
	if ga <= 0 {
		return a
	}
	return ode.Root(func(tau float64) float64 { return m.margin(g, tau) }, a, b, ga, gb, 0)
}

// dip looks at the bottom of the parabola through three margins, where it comes near zero.
func (m *solver) dip(g *guard, a, b, c, ga, gb, gc float64) (at, value float64) {
	at, near := lowest(a, b, c, ga, gb, gc)
	if !near {
		return b, gb
	}
	return at, m.margin(g, at)
}
