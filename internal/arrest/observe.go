package arrest

import (
	"math"

	"github.com/hardcatch/hardcatch/internal/num/ode"
)

// observeForces looks at the forces of the stretch of h for a Summary. The spreads that scan found
// hold for the whole step, and so for any part of it.
func (m *solver) observeForces(h float64) {
	k, n := &m.track, m.order
	if !k.inArrest {
		return
	}
	if m.f[0]+m.forceSpread > k.chainPeak {
		if _, v, ok := m.top(&m.f, h, k.chainPeak); ok {
			k.chainPeak = v
		}
	}
	felt := &m.f
	if m.node == nodeMassive {
		felt = &m.cellSeries
		most := m.kr*(m.xc[0]+spread(&m.xc, &m.powers, n)) + m.cr*(abs(m.vc[0])+spread(&m.vc, &m.powers, n))
		if most <= k.peak {
			return
		}
		for i := 0; i <= n; i++ {
			m.cellSeries[i] = m.kr*m.xc[i] + m.cr*m.vc[i]
		}
	} else if m.f[0]+m.forceSpread <= k.peak {
		return
	}
	if at, v, ok := m.top(felt, h, k.peak); ok {
		k.consider(m.t+at, v)
	}
}

// observeDepth looks for the lowest place of the mass within a step of h that began at x and v and has
// been taken.
func (m *solver) observeDepth(x, v, h float64) {
	k := &m.track
	k.lowest = max(k.lowest, m.x[0])
	endX, endV := m.x[0], m.v[0]
	if !(v > 0 && endV <= 0) {
		return
	}
	m.x[0], m.v[0] = x, v
	at := h
	if endV < 0 {
		at = ode.Root(func(tau float64) float64 { return ode.Value(m.v[:], m.order, tau) }, 0, h, v, endV, 0)
	}
	k.lowest = max(k.lowest, ode.Value(m.x[:], m.order, at))
	m.x[0], m.v[0] = endX, endV
	if m.phase == taut {
		m.noteAt(m.t-h+at, EventLowest, -1)
	}
}

// top finds the largest value of a series within h where it exceeds floor.
func (m *solver) top(s *series, h, floor float64) (at, value float64, ok bool) {
	n := m.order
	var times, slopes [parts]float64
	for i := range times {
		times[i] = h * (float64(i+1) / parts)
	}
	eightSlopes(s, n, &times, &slopes)
	at, value = 0, floor
	before, slopeBefore := 0.0, s[1]
	if s[0] > value {
		at, value = 0, s[0]
	}
	for i, slope := range slopes {
		if slopeBefore > 0 && slope < 0 {
			if tau, v := crest(s, n, before, times[i], slopeBefore, slope); v > value {
				at, value = tau, v
			}
		}
		before, slopeBefore = times[i], slope
	}
	if slopeBefore > 0 {
		if v := ode.Value(s[:], n, h); v > value {
			at, value = h, v
		}
	}
	return at, value, value > floor
}

// crest is the maximum of a series between a and b, where its slope is p > 0 and q < 0. A step of
// Newton's method below 1e-7 of the bracket leaves an error far below the last bit of the value.
func crest(s *series, n int, a, b, p, q float64) (at, value float64) {
	lo, hi := a, b
	at = a + (b-a)*p/(p-q)
	for range 60 {
		d1, d2 := 0.0, 0.0
		for k := n; k >= 1; k-- {
			d2 = d2*at + d1
			d1 = d1*at + float64(k)*s[k&maxOrder]
		}
		if d1 > 0 {
			lo = at
		} else {
			hi = at
		}
		dx := d1 / d2
		if at -= dx; !(at > lo && at < hi) {
			if hi-lo <= 1e-15*hi {
				break
			}
			at = (lo + hi) / 2
			continue
		}
		if math.Abs(dx) <= 1e-7*(b-a) {
			break
		}
	}
	return at, ode.Value(s[:], n, at)
}
