package arrest

// crestStep is a step in which a force may have its largest value of the arrest. While the force rises every step
// surpasses the one before, so that the crest within it is looked for only when that matters.
type crestStep struct {
	c      series
	t, h   float64 // start and length of the step
	top    float64 // bound of the force in it
	seen   float64 // largest value met in any step of the arrest
	isOpen bool
}

// surpass takes in a step in which seen was met, if it is taken whole. It reports
// true where the crest of the step kept so far must be looked for first.
func (p *crestStep) surpass(seen float64, whole bool) bool {
	if whole {
		p.seen = max(p.seen, seen)
	}
	return p.isOpen && p.top > p.seen
}

// keep notes a step whose series is in place.
func (p *crestStep) keep(t, h, top float64) {
	p.t, p.h, p.top, p.isOpen = t, h, top, true
}

// crest looks for the crest in the step that is kept.
func (d *octetDrop) crest(p *crestStep) {
	if !p.isOpen {
		return
	}
	p.isOpen = false
	m := &d.m
	k := &m.track
	if p == &d.force {
		if _, v, ok := m.top(&p.c, p.h, k.chainPeak); ok {
			k.chainPeak = v
		}
	}
	if p == &d.cell || m.node != nodeMassive {
		if at, v, ok := m.top(&p.c, p.h, k.peak); ok {
			k.consider(p.t+at, v)
		}
	}
}

// crests looks for the crests that are left, before an arrest ends.
func (d *octetDrop) crests() {
	d.crest(&d.force)
	d.crest(&d.cell)
	d.force.seen, d.cell.seen = -never, -never
}

// keepForCrest keeps the step of a lane for the crest of a force in it.
func (o *octet) keepForCrest(i int, tau float64, chain, cell bool) {
	d, r := &o.drops[i], o.rows
	m, whole := &d.m, d.hit < 0
	if chain {
		p := &d.force
		if p.surpass(r.forceSeen[i], whole) {
			d.crest(p)
		}
		fetch(&r.cf, i, &p.c)
		p.keep(m.t, tau, r.forceTop[i])
	}
	if cell {
		p := &d.cell
		if p.surpass(r.cellSeen[i], whole) {
			d.crest(p)
		}
		for k := range r.cxc {
			p.c[k] = m.kr*r.cxc[k][i] + m.cr*r.cvc[k][i]
		}
		p.keep(m.t, tau, r.cellTop[i])
	}
	o.peaks(i)
}

// peaks tells the kernel which forces would be new peaks.
func (o *octet) peaks(i int) {
	d, r := &o.drops[i], o.rows
	k := &d.m.track
	r.peak[i], r.chainPeak[i] = never, never
	switch {
	case !k.inArrest:
	case d.m.node == nodeMassive:
		r.peak[i], r.chainPeak[i] = max(k.peak, d.cell.seen), max(k.chainPeak, d.force.seen)
	default:
		r.chainPeak[i] = max(min(k.peak, k.chainPeak), d.force.seen)
	}
}
