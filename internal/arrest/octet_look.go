package arrest

// fetch copies a series of a lane.
func fetch(c *[octetOrder + 1][laneCount]float64, lane int, to *series) {
	for k := range c {
		to[k] = c[k][lane]
	}
}

// want fetches the series that the margin of a watch is made of, where the lane has not got them yet.
func (o *octet) want(i int, w watch) {
	d, r := &o.drops[i], o.rows
	m := &d.m
	switch w.kind {
	case watchSlack, watchBreak, watchSlipOn:
		d.have(haveForce, func() { fetch(&r.cf, i, &m.f) })
	case watchFloor:
		d.have(havePosition, func() { fetch(&r.cx, i, &m.x) })
	case watchTaut, watchNear:
		d.have(havePosition, func() { fetch(&r.cx, i, &m.x) })
		d.have(haveStrain, func() { fetch(&r.cu, i, &d.textile.u) })
		if w.kind == watchTaut && m.node != nodeFixed {
			fetch(&r.cxc, i, &m.xc)
		}
	case watchUpper, watchLower:
		d.have(haveStrain, func() { fetch(&r.cu, i, &d.textile.u) })
		d.have(haveElastic, func() { fetch(&r.ctel, i, &d.textile.tel) })
	case watchReverse, watchVirgin:
		d.have(haveStrain, func() { fetch(&r.cu, i, &d.textile.u) })
	default:
		d.have(haveSecond, func() { fetch(&r.cs, i, &d.second.u) })
	}
}

// What has been fetched of a lane's step.
const (
	haveForce = 1 << iota
	havePosition
	haveStrain
	haveElastic
	haveSecond
)

func (d *octetDrop) have(what uint8, get func()) {
	if d.fetched&what == 0 {
		d.fetched |= what
		get()
	}
}

// margin is the bound that the kernel found for a watch: above zero where it cannot happen.
func (d *octetDrop) margin(r *octetRows, w watch, i int) float64 {
	switch w.kind {
	case watchSlack:
		return r.forceLow[i]
	case watchBreak:
		return d.m.strength - r.forceTop[i]
	case watchSlipOn:
		return d.second.threshold() - r.forceTop[i]
	case watchFloor:
		return r.mX[i]
	case watchTaut, watchNear:
		return r.mGap[i]
	case watchReverse:
		return r.mTurn[i]
	case watchUpper:
		return r.mUpper[i]
	case watchLower:
		return r.mLower[i]
	case watchVirgin:
		return r.mU[i]
	case watchSlipOff:
		return r.mOff[i]
	}
	return r.mS[i]
}

// look finds in a lane what the bounds left open: the first end of its mode within the step, which it
// shortens to that, and new peaks of the forces.
func (o *octet) look(i int, screen, chain, cell bool) {
	d, r := &o.drops[i], o.rows
	m := &d.m
	d.fetched = 0
	m.t, m.fScale = r.t[i], r.fScale[i]
	tau := r.h[i]
	if screen {
		for j, w := range m.list {
			if d.margin(r, w, i) > 0 {
				continue
			}
			o.want(i, w)
			var at float64
			var ok bool
			if w.kind == watchNear {
				at, ok = m.first(w, tau)
			} else {
				at, ok = m.firstInSeries(w, tau)
			}
			if ok && (at < tau || d.hit < 0) {
				tau, d.hit = at, j
			}
		}
		r.h[i] = tau
	}
	if m.track.inArrest {
		o.keepForCrest(i, tau, chain, cell)
	}
}
