package arrest

// fetch copies a series of a lane.
func fetch(c *[octetOrder + 1][laneCount]float64, lane int, to *series) {
	for k := range c {
		to[k] = c[k][lane]
	}
}

// bring fetches the series that a guard is made of, where the lane has not got them yet.
func (o *octet) bring(i int, g *guard) {
	d, r := &o.drops[i], o.rows
	m := &d.m
	for k := range g.terms {
		rows, what := &r.cs, uint8(haveSecond)
		switch s := g.terms[k].s; {
		case s == &m.f:
			rows, what = &r.cf, haveForce
		case s == &m.x:
			rows, what = &r.cx, havePosition
		case s == &m.xc:
			rows, what = &r.cxc, haveNode
		case s == &d.textile.u:
			rows, what = &r.cu, haveStrain
		case s == &d.textile.tel:
			rows, what = &r.ctel, haveElastic
		case o.second&(1<<i) == 0:
			continue // it is at rest
		}
		if d.fetched&what == 0 {
			d.fetched |= what
			fetch(rows, i, g.terms[k].s)
		}
	}
}

// What has been fetched of a lane's step.
const (
	haveForce = 1 << iota
	havePosition
	haveNode
	haveStrain
	haveElastic
	haveSecond
)

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
			g := m.guard(w)
			o.bring(i, &g)
			at, ok := m.firstOf(&g, tau)
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
