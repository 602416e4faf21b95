package arrest

import (
	"math"

	"github.com/hardcatch/hardcatch/internal/num/ode"
)

// screen is scan for a solver whose series hold whole steps and whose watches are few: it looks for a
// root only where a bound leaves room for one, and then in the series of the margin itself.
func (m *solver) screen(h float64) (tau float64, hit int) {
	tau, hit = h, -1
	m.powers.fill(m.order, h)
	m.forceSpread = spread(&m.f, &m.powers, m.order)
	for i, w := range m.list {
		g := m.guard(w)
		if g.rates && len(g.terms) == 1 && m.keepsOn(g.terms[0].s, g.terms[0].factor, tau, g.tol) || m.cannot(&g, tau) {
			continue
		}
		if at, ok := m.firstOf(&g, tau); ok && (at < tau || hit < 0) {
			tau, hit = at, i
		}
	}
	return tau, hit
}

// firstOf is first, by the series of the margin where it has one.
func (m *solver) firstOf(g *guard, h float64) (float64, bool) {
	if g.swing || g.weak != nil {
		return m.first(g, h)
	}
	return m.firstInSeries(g, h)
}

// keepsOn tells that the rate of a series, times sign, stays above zero within h: by a bound, or because
// it is above zero at all points of a scan and comes near zero between none of them.
func (m *solver) keepsOn(u *series, sign, h, tol float64) bool {
	g := sign * u[1]
	if g <= tol {
		return false
	}
	if g > slopeSpread(u, &m.powers, m.order) {
		return true
	}
	var times, slopes [parts]float64
	for i := range times {
		times[i] = h * (float64(i+1) / parts)
	}
	eightSlopes(u, m.order, &times, &slopes)
	before, beforeAt, at := g, 0.0, 0.0
	for i, s := range slopes {
		if s *= sign; !(s > 0) {
			return false
		}
		if g < before && g < s {
			if _, near := lowest(beforeAt, at, times[i], before, g, s); near {
				return false
			}
		}
		before, beforeAt, g, at = g, at, s, times[i]
	}
	return true
}

// firstInSeries is first, by the series of the margin.
func (m *solver) firstInSeries(g *guard, h float64) (float64, bool) {
	var c series
	n := g.series(m.order, &c)
	tol := g.tol
	last, at := c[0], 0.0
	if last <= tol {
		var gone bool
		if at, last, gone = leaveSeries(&c, n, h, last, tol); gone {
			return 0, true
		}
	}
	var times, values [parts]float64
	for i := range times {
		times[i] = h * (float64(i+1) / parts)
	}
	eightValues(&c, n, &times, &values)
	value := func(tau float64) float64 { return ode.Value(c[:], n, tau) }
	before, beforeAt := last, at
	for i, next := range times {
		now := values[i]
		if now < 0 {
			if last <= 0 {
				return at, true
			}
			return passage(&c, n, at, next, last), true
		}
		if i > 0 && last < before && last < now {
			if dip, possible := lowest(beforeAt, at, next, before, last, now); possible {
				if v := value(dip); v < 0 {
					if before <= 0 {
						return beforeAt, true
					}
					return passage(&c, n, beforeAt, dip, before), true
				}
			}
		}
		before, beforeAt, last, at = last, at, now, next
	}
	return 0, false
}

// leaveSeries is solver.leave, by the series of the margin: at 2^-b of the step, whose terms are all of one
// size at most, those beyond order 54/b are below the last bit.
func leaveSeries(c *series, n int, h, start, tol float64) (at, g float64, gone bool) {
	bits := 36
	for tau := h * 0x1p-36; tau < h/parts; tau *= 8 {
		switch g := ode.Value(c[:], min(n, 1+54/bits), tau); {
		case g < min(start, 0)-tol, start < -tol && g <= start:
			return 0, 0, true
		case g > tol:
			return tau, g, false
		}
		at = tau
		bits -= 3
	}
	return at, 0, false
}

// passage is where a series that is a > 0 at lo and negative at hi passes zero, by Newton's method held
// to the bracket. A step below 1e-8 of the bracket leaves an error of about its square.
func passage(c *series, n int, lo, hi, a float64) float64 {
	whole := hi - lo
	at := lo - a/ode.Slope(c[:], n, lo)
	if !(at > lo && at < hi) {
		at = lo + whole/2
	}
	for range 60 {
		d0, d1 := c[n&maxOrder], 0.0
		for k := n - 1; k >= 0; k-- {
			d1 = d1*at + d0
			d0 = d0*at + c[k&maxOrder]
		}
		if d0 > 0 {
			lo = at
		} else {
			hi = at
		}
		dx := d0 / d1
		if at -= dx; !(at > lo && at < hi) {
			if hi-lo <= 1e-15*hi {
				break
			}
			at = lo + (hi-lo)/2
			continue
		}
		if math.Abs(dx) <= 1e-8*whole {
			break
		}
	}
	return at
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
