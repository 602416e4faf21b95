package arrest

import (
	"math"

	"github.com/hardcatch/hardcatch/internal/num/ode"
)

// guard says when a watch happens: where the sum
//
//	from + factor (s - about) + ...
//
// turns negative; with rates the sum of the series' derivatives, with clock less the time, with swing less what a node that moves
// freely may reach. It is the one place where that stands: value, bound, series and tolerance all follow from it.
type guard struct {
	from  float64
	terms []term
	rates bool
	clock bool
	swing bool
	weak  *link   // times how much stiffer the friction of this textile is than its bound is steep
	tol   float64 // what counts as zero at the start of a stretch
}

// term is one series of a guard.
type term struct {
	s             *series
	factor, about float64
}

// guard is that of a watch. It lasts until the next is asked for.
func (m *solver) guard(w watch) guard {
	g := guard{terms: m.terms[:0]}
	length, force := 1e-13*m.lengthScale, 1e-11*m.fScale
	put := func(factor float64, s *series) { g.terms = append(g.terms, term{s, factor, 0}) }
	switch w.kind {
	case watchSlack:
		g.tol = force
		put(1, &m.f)
	case watchBreak:
		g.from, g.tol = m.strength, force
		put(-1, &m.f)
	case watchTorn:
		g.from, g.clock = m.tornAt-m.t, true
	case watchFloor:
		g.from, g.tol = m.floor, length
		put(-1, &m.x)
	case watchTaut, watchNear:
		g.from, g.tol, g.swing = m.base, length, w.kind == watchNear
		put(-1, &m.x)
		if !g.swing && m.node != nodeFixed {
			put(1, &m.xc)
		}
		for i := range m.links {
			if l := &m.links[i]; l.soft() {
				put(l.scale, &l.u)
			}
		}
	case watchRunsOut, watchRunsBack, watchHeld, watchFarBreak:
		m.edgeGuard(w.kind, &g)
	default:
		m.guardLink(w.kind, w.link, &g)
	}
	m.terms = g.terms
	return g
}

// guardLink is that of a watch on link i.
func (m *solver) guardLink(w watchKind, i int, g *guard) {
	l := &m.links[i]
	length, force := 1e-13*m.lengthScale, 1e-11*m.fScale
	at := func(factor float64) { g.terms = append(g.terms, term{&l.u, factor, 0}) }
	switch w {
	case watchReverse:
		g.rates, g.tol = true, 1e-10*m.vScale/m.lengthScale
		at(l.onward())
	case watchSlipOff:
		g.rates, g.tol = true, 1e-10*m.vScale
		at(1)
	case watchUpper, watchLower:
		kf := l.kf
		if w == watchUpper {
			kf = -kf
		}
		g.tol = force
		g.terms = append(g.terms, term{&l.tel, l.mu, 0}, term{&l.u, kf, l.slider})
	case watchVirgin:
		g.from, g.tol = l.top, length
		at(-1)
	case watchSlipOn:
		g.from, g.tol = l.threshold(), force
		g.terms = append(g.terms, term{m.forceOn(i), -1, 0})
	case watchLocked:
		g.from, g.tol = l.travel, length
		at(-1)
	case watchLoosens:
		g.weak, g.tol = l, 1e-12*l.kf
		at(l.onward())
	case watchEmpty: // the tolerance is the strain at which the force is that of watchSlack
		g.tol = min(math.Sqrt(force/l.el.E2), math.Cbrt(force/l.el.E3))
		at(1)
	default: // watchSeated: the spring behind, which is stiff, is unloaded
		g.tol = 1e-18 * m.lengthScale
		at(1)
	}
}

// margin is the distance from happening, tau after the present moment.
func (m *solver) margin(g *guard, tau float64) float64 {
	if g.clock {
		return g.from - tau
	}
	n, at := m.order, tau
	if m.pointwise {
		m.load(tau)
		n, at = 1, 0
	}
	v := g.from
	for i := range g.terms {
		t := &g.terms[i]
		switch {
		case g.weak != nil:
			v += t.factor * g.weak.keepsUp(ode.Value(t.s[:], n, at))
		case g.rates:
			v += t.factor * ode.Slope(t.s[:], n, at)
		default:
			v += t.factor * (ode.Value(t.s[:], n, at) - t.about)
		}
		if i == 0 && g.swing {
			v -= m.free.reach * math.Exp(-m.free.sigma*tau)
		}
	}
	return v
}

// cannot tells that a watch cannot happen within h, by a bound on how far its margin can move.
func (m *solver) cannot(g *guard, h float64) bool {
	switch {
	case m.pointwise, g.weak != nil:
		return false
	case g.clock:
		return g.from > h
	}
	n, p := m.order, &m.powers
	v, most := g.from, 0.0
	for i := range g.terms {
		t := &g.terms[i]
		if g.rates {
			v += t.factor * t.s[1]
			most += abs(t.factor) * slopeSpread(t.s, p, n)
			continue
		}
		v += t.factor * (t.s[0] - t.about)
		if t.s == &m.f {
			most += abs(t.factor) * m.forceSpread
		} else {
			most += abs(t.factor) * spread(t.s, p, n)
		}
	}
	if g.swing {
		v, most = v-m.free.reach, most+m.free.reach
	}
	return v > most
}

// series writes the series of the margin, and returns its order. Those of swing and weak have none.
func (g *guard) series(n int, c *series) int {
	if g.clock {
		c[0], c[1] = g.from, -1
		return 1
	}
	if g.rates {
		for i := range g.terms {
			t := &g.terms[i]
			for k := 1; k <= n; k++ {
				d := t.factor * float64(k) * t.s[k&maxOrder]
				if i > 0 {
					d += c[(k-1)&maxOrder]
				}
				c[(k-1)&maxOrder] = d
			}
		}
		return n - 1
	}
	v := g.from
	for i := range g.terms {
		t := &g.terms[i]
		v += t.factor * (t.s[0] - t.about)
		if i == 0 {
			for k := 1; k <= n; k++ {
				c[k&maxOrder] = t.factor * t.s[k&maxOrder]
			}
			continue
		}
		for k := 1; k <= n; k++ {
			c[k&maxOrder] += t.factor * t.s[k&maxOrder]
		}
	}
	c[0] = v
	return n
}
