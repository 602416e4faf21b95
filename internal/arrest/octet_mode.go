package arrest

import "math"

// never is a bound that nothing reaches.
const never = 1e300

// couple finds the two links that lanes carry: the one textile, of at most one branch, and at most one other
// link whose force is a polynomial of degree two. It reports false where the chain has more.
func (m *solver) couple() (t, s *link, ok bool) {
	if m.limbs > 0 || m.node == nodeDamped || m.pointwise || m.edge.on {
		return nil, nil, false
	}
	for i := range m.links {
		l := &m.links[i]
		switch {
		case l.kind == linkTextile:
			if t != nil || len(l.branches) > 1 || l.hollow || l.weak {
				return nil, nil, false
			}
			t = l
		case s != nil:
			return nil, nil, false
		default:
			if _, _, _, ok := l.polynomial(); !ok {
				return nil, nil, false
			}
			s = l
		}
	}
	return t, s, t != nil && (t.el.E1 > 0 || len(t.branches) == 1)
}

// carries tells that the present mode is one that lanes carry.
func (d *octetDrop) carries() bool {
	switch d.m.phase {
	case taut:
		return true
	case slack:
		return d.second == nil || d.second.kind == linkSpring || !d.second.soft()
	}
	return false
}

// put writes the state and the mode of a drop into its lane.
func (o *octet) put(i int) {
	d, r := &o.drops[i], o.rows
	m, t := &d.m, d.textile
	m.clear()
	m.list = m.watches(m.list)
	m.rigidLength()
	r.x[i], r.v[i], r.xc[i], r.vc[i], r.u[i], r.t[i] = m.x[0], m.v[0], m.xc[0], m.vc[0], t.u[0], m.t
	r.damped[i], r.lost[i], r.lowest[i], r.fScale[i] = m.damped[0], t.lost[0], m.track.lowest, m.fScale
	r.z[i] = 0
	if len(t.branches) == 1 {
		r.z[i] = t.branches[0].z[0]
	}
	r.scale[i], r.perScale[i], r.base[i], r.offset[i] = t.scale, 1/t.scale, m.base, math.Abs(m.offset)
	r.on[i] = 0
	if o.flying |= 1 << i; m.phase == taut {
		r.on[i] = 1
		o.flying &^= 1 << i
	}
	r.nodeOn[i], r.perNode[i], r.damp[i] = 0, 0, 0
	if m.node == nodeMassive && !m.loose {
		r.nodeOn[i], r.perNode[i], r.damp[i] = 1, 1/m.mc, m.cr
	}
	r.grip[i], r.kf[i], r.slider[i] = t.elasticFactor(), 0, 0
	if t.grip == sticking {
		r.kf[i], r.slider[i] = t.kf, t.slider
	}
	o.putSecond(i)
	o.putWatches(i)
	o.peaks(i)
	for j := range m.links {
		m.links[j].enter()
	}
}

// putSecond writes the second link into a lane.
func (o *octet) putSecond(i int) {
	d, r := &o.drops[i], o.rows
	r.s[i], r.s0[i], r.s1[i], r.s2[i], r.rigid[i], r.act[i] = 0, 0, 0, 0, never, 0
	bit := uint8(1) << i
	o.second &^= bit
	l := d.second
	if l == nil || !l.soft() || d.m.phase != taut {
		return
	}
	o.second |= bit
	r.s[i], r.rigid[i], r.act[i] = l.u[0], 0, 1
	if l.state == locked {
		r.s0[i], r.s1[i] = l.fLock, l.kLock
		return
	}
	r.s0[i], r.s1[i], r.s2[i], _ = l.polynomial()
}

// putWatches writes the bounds that end the mode of a lane.
func (o *octet) putWatches(i int) {
	d, r := &o.drops[i], o.rows
	m, t := &d.m, d.textile
	r.loF[i], r.upF[i], r.upX[i], r.loS[i], r.upS[i], r.upU[i] = -never, never, never, -never, never, never
	bit := uint8(1) << i
	o.slipping &^= bit
	o.turning &^= bit
	r.muW[i], r.kfW[i], r.offW[i], r.sgnU[i], r.offU[i], r.sgnS[i], r.offS[i], r.gap[i] = 0, 0, never, 0, never, 0, never, never
	for _, w := range m.list {
		switch w.kind {
		case watchSlack:
			r.loF[i] = 0
		case watchBreak:
			r.upF[i] = min(r.upF[i], m.strength)
		case watchSlipOn:
			r.upF[i] = min(r.upF[i], d.second.threshold())
		case watchFloor:
			r.upX[i] = m.floor
		case watchTaut:
			r.gap[i] = -never // few steps: each is looked at
		case watchNear:
			r.gap[i] = m.base - 2*m.free.reach
		case watchReverse:
			o.turning |= bit
			r.sgnU[i], r.offU[i] = 1, -m.guard(w).tol
			if t.grip == slidingDown {
				r.sgnU[i] = -1
			}
		case watchUpper, watchLower:
			r.muW[i], r.kfW[i], r.offW[i] = t.mu, t.kf, 0
		case watchVirgin:
			r.upU[i] = t.top
		case watchSlipOff:
			o.slipping |= bit
			r.sgnS[i], r.offS[i] = 1, -m.guard(w).tol
		case watchLocked:
			r.upS[i] = d.second.travel
		default: // watchSeated
			r.loS[i] = 0
		}
	}
}

// sync brings the drop of a lane to where the lane stands, its works booked.
func (o *octet) sync(i int) {
	d, r := &o.drops[i], o.rows
	m, t := &d.m, d.textile
	m.steps += o.clock - d.clock
	d.clock = o.clock
	m.x[0], m.v[0], m.xc[0], m.vc[0], t.u[0], m.t = r.x[i], r.v[i], r.xc[i], r.vc[i], r.u[i], r.t[i]
	m.damped[0], t.lost[0], m.track.lowest, m.fScale = r.damped[i], r.lost[i], r.lowest[i], r.fScale[i]
	if len(t.branches) == 1 {
		t.branches[0].z[0] = r.z[i]
	}
	if o.second&(1<<i) != 0 {
		d.second.u[0] = r.s[i]
	}
	if m.loose {
		m.release(r.h[i])
	}
	m.project()
	m.fScale = max(m.fScale, m.f[0])
	for j := range m.links {
		if l := &m.links[j]; l.soft() {
			m.bookLink(l)
		}
	}
}

// putDrop writes what stays the same through a drop into its lane.
func (o *octet) putDrop(i int) {
	d, r := &o.drops[i], o.rows
	m, t := &d.m, d.textile
	r.g[i], r.perMass[i], r.kr[i], r.cr[i], r.end[i] = m.g, 1/m.mass, m.kr, m.cr, m.until
	r.e1[i], r.e2[i], r.e3[i] = t.el.E1, t.el.E2, t.el.E3
	r.em[i], r.rate[i], r.loss[i] = 0, 0, 0
	if len(t.branches) == 1 {
		b := &t.branches[0]
		r.em[i], r.rate[i], r.loss[i] = b.e, b.rate, b.loss
	}
	r.logEps[i], r.enough[i] = o.logEps, m.enough
	bit := uint8(1) << i
	if o.cubic &^= bit; t.el.E3 != 0 {
		o.cubic |= bit
	}
}

// rest leaves a lane with numbers that do no harm.
func (o *octet) rest(i int) {
	d := &o.drops[i]
	d.who = -1
	for _, lanes := range []*uint8{&o.active, &o.flying, &o.cubic, &o.second, &o.slipping, &o.turning} {
		*lanes &^= 1 << i
	}
	r := o.rows
	for _, p := range r.all() {
		p[i] = 0
	}
	for _, p := range []*[laneCount]float64{&r.end, &r.fScale, &r.e1, &r.scale, &r.perScale, &r.grip, &r.perMass, &r.on} {
		p[i] = 1
	}
	r.rigid[i] = never
}
