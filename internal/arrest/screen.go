package arrest

import "hardcatch/internal/num/ode"

// screen is scan for a machine whose series hold whole steps and whose watches are few: it looks for a
// root only where a bound leaves room for one, and then in the series of the margin itself.
func (m *machine) screen(h float64) (tau float64, hit int) {
	tau, hit = h, -1
	m.powers = powers(m.order, h)
	m.forceSpread = spread(&m.f, &m.powers, m.order)
	for i, w := range m.list {
		if m.far(w, tau) {
			continue
		}
		var at float64
		var ok bool
		if w.kind == watchNear {
			at, ok = m.first(w, tau)
		} else {
			at, ok = m.firstInSeries(w, tau)
		}
		if ok && (at < tau || hit < 0) {
			tau, hit = at, i
		}
	}
	return tau, hit
}

// far is cannot, for the watches that most steps have.
func (m *machine) far(w watch, h float64) bool {
	n, p := m.order, &m.powers
	switch w.kind {
	case watchSlack:
		return m.f[0] > m.forceSpread
	case watchBreak:
		return m.strength-m.f[0] > m.forceSpread
	case watchSlipOn:
		return m.links[w.link].threshold()-m.f[0] > m.forceSpread
	case watchFloor:
		return m.floor-m.x[0] > spread(&m.x, p, n)
	case watchLocked:
		l := &m.links[w.link]
		return l.travel-l.u[0] > spread(&l.u, p, n)
	case watchVirgin:
		l := &m.links[w.link]
		return l.top-l.u[0] > spread(&l.u, p, n)
	case watchSeated:
		l := &m.links[w.link]
		return l.u[0] > spread(&l.u, p, n)
	case watchReverse, watchSlipOff:
		l := &m.links[w.link]
		g := l.u[1]
		if w.kind == watchReverse && l.grip == slidingDown {
			g = -g
		}
		return g > 0 && g > slopeSpread(&l.u, p, n)
	}
	return m.cannot(w, h)
}

// marginSeries writes the series of a watch's margin, and returns its order.
func (m *machine) marginSeries(w watch, c *series) int {
	n := m.order
	copied := func(s *series, from float64) {
		for k := 1; k <= n; k++ {
			c[k&maxOrder] = -s[k&maxOrder]
		}
		c[0] = from - s[0]
	}
	switch w.kind {
	case watchSlack:
		*c = m.f
		return n
	case watchBreak:
		copied(&m.f, m.strength)
		return n
	case watchTorn:
		c[0], c[1] = m.tornAt-m.t, -1
		return 1
	case watchFloor:
		copied(&m.x, m.floor)
		return n
	case watchTaut:
		copied(&m.x, m.base)
		if m.node != nodeFixed {
			c.add(1, &m.xc, n)
		}
		for i := range m.links {
			if l := &m.links[i]; l.soft() {
				c.add(l.scale, &l.u, n)
			}
		}
		return n
	}
	l := &m.links[w.link]
	switch w.kind {
	case watchReverse, watchSlipOff:
		sign := 1.0
		if w.kind == watchReverse && l.grip == slidingDown {
			sign = -1
		}
		for k := 1; k <= n; k++ {
			c[(k-1)&maxOrder] = sign * float64(k) * l.u[k&maxOrder]
		}
		return n - 1
	case watchUpper, watchLower:
		sign := -1.0
		if w.kind == watchLower {
			sign = 1
		}
		for k := 0; k <= n; k++ {
			c[k&maxOrder] = l.mu*l.tel[k&maxOrder] + sign*l.kf*l.u[k&maxOrder]
		}
		c[0] = l.mu*l.tel[0] + sign*l.kf*(l.u[0]-l.slider)
	case watchVirgin:
		copied(&l.u, l.top)
	case watchSlipOn:
		copied(&m.f, l.threshold())
	case watchLocked:
		copied(&l.u, l.travel)
	default: // watchSeated
		*c = l.u
	}
	return n
}

func (c *series) add(a float64, s *series, n int) {
	for k := 0; k <= n; k++ {
		c[k&maxOrder] += a * s[k&maxOrder]
	}
}

// firstInSeries is first, by the series of the margin.
func (m *machine) firstInSeries(w watch, h float64) (float64, bool) {
	var c series
	n := m.marginSeries(w, &c)
	tol := m.tolerance(w)
	last, at := c[0], 0.0
	if last <= tol {
		var gone bool
		if at, last, gone = m.leave(w, h, last, tol); gone {
			return 0, true
		}
	}
	var times, g [parts]float64
	for i := range times {
		times[i] = h * (float64(i+1) / parts)
	}
	eightValues(&c, n, &times, &g)
	value := func(tau float64) float64 { return ode.Value(c[:], n, tau) }
	before, beforeAt := last, at
	for i, next := range times {
		now := g[i]
		if now < 0 {
			if last <= 0 {
				return at, true
			}
			return ode.Root(value, at, next, last, now, 0), true
		}
		if i > 0 && last < before && last < now {
			if dip, possible := lowest(beforeAt, at, next, before, last, now); possible {
				if v := value(dip); v < 0 {
					if before <= 0 {
						return beforeAt, true
					}
					return ode.Root(value, beforeAt, dip, before, v, 0), true
				}
			}
		}
		before, beforeAt, last, at = last, at, now, next
	}
	return 0, false
}

// lowest is where the parabola through three points has its bottom, if that is near zero.
func lowest(a, b, c, ga, gb, gc float64) (at float64, near bool) {
	p, q := (gb-ga)/(b-a), (gc-gb)/(c-b)
	curve := (q - p) / (c - a)
	if curve <= 0 {
		return b, false
	}
	at = (a+b)/2 - p/(2*curve)
	if at <= a || at >= c {
		return b, false
	}
	return at, gb-curve*(at-b)*(at-b) <= gb/2
}
