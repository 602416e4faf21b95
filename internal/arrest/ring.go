package arrest

import "math"

// ring is the free motion of the load cell's node while no force comes from the chain:
// x_c = exp(-sigma t)(a cos w t + b sin w t).
type ring struct {
	a, b, sigma, w float64
	reach          float64 // bound of |x_c| exp(sigma t)
}

// rings tells whether the node now swings on its own, and underdamped, so that its motion is known in
// closed form.
func (m *solver) rings() bool {
	return m.node == nodeMassive && !m.pointwise && (m.phase == slack || m.phase == parted) && m.cr*m.cr < 4*m.kr*m.mc
}

// ringing is the node's free motion from the present moment.
func (m *solver) ringing() ring {
	sigma := m.cr / (2 * m.mc)
	w := math.Sqrt(m.kr/m.mc - sigma*sigma)
	r := ring{a: m.xc[0], b: (m.vc[0] + sigma*m.xc[0]) / w, sigma: sigma, w: w}
	r.reach = math.Hypot(r.a, r.b)
	return r
}

// at is position and velocity of the node after tau.
func (r ring) at(tau float64) (x, v float64) {
	d := math.Exp(-r.sigma * tau)
	s, c := math.Sincos(r.w * tau)
	x = d * (r.a*c + r.b*s)
	return x, d*r.w*(r.b*c-r.a*s) - r.sigma*x
}

// nodeEnergy is what the node holds.
func (m *solver) nodeEnergy() float64 {
	return m.kr*m.xc[0]*m.xc[0]/2 + m.mc*m.vc[0]*m.vc[0]/2
}

// release moves the node along its free motion; what it lost went into the damper.
func (m *solver) release(tau float64) {
	before := m.nodeEnergy()
	m.xc[0], m.vc[0] = m.free.at(tau)
	m.damped[0] += before - m.nodeEnergy()
}

// clear tells whether the chain is slack by more than the node can swing, and takes the node's free
// motion out of the series if so.
func (m *solver) clear() bool {
	m.loose = false
	if !m.rings() {
		return false
	}
	m.free = m.ringing()
	if m.phase == slack {
		if m.chainLength()-m.x[0] <= m.free.reach*(1+1e-6)+1e-9*m.lengthScale {
			return false
		}
	}
	m.loose = true
	return true
}
