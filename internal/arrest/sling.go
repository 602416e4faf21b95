package arrest

// pair finds the two links whose series expandPair can compute: a textile of at most one branch, and
// what else gives way beside it, if anything (nil). It reports false where the chain asks for expand.
func (m *solver) pair() (t, s *link, ok bool) {
	if m.phase != taut || m.limbs > 0 || m.node == nodeDamped {
		return nil, nil, false
	}
	for i := range m.links {
		l := &m.links[i]
		switch {
		case !l.soft():
		case l.kind == linkTextile:
			if t != nil || len(l.branches) > 1 {
				return nil, nil, false
			}
			t = l
		case s != nil || !l.quadratic():
			return nil, nil, false
		default:
			s = l
		}
	}
	return t, s, t != nil
}

// quadratic tells that the force of a link that is no textile is a polynomial of degree two at most in
// its unknown.
func (l *link) quadratic() bool {
	switch {
	case l.kind == linkSpring || l.state == locked:
		return true
	case l.kind == linkAbsorber:
		return l.ripple == 0
	}
	return l.shift == 0 && l.power <= 2
}

// curvature is half the second derivative of the force of a quadratic link.
func (l *link) curvature() float64 {
	if l.kind == linkKnot && l.state == slipping && l.power == 2 {
		return l.df / (l.travel * l.travel)
	}
	return 0
}

// solution is the answer of the two links to a length and to the parts of their forces that do not
// contain the unknowns, at every order alike: with d = kp left + rp - ro,
//
//	F = share (kp left + rp + w ro),  u_o = byOther d,  u_p = left/scale - lost d.
type solution struct {
	kp, share, w   float64
	scale          float64 // 1/scale of the pivot
	byOther, lost  float64
	textileIsPivot bool
}

func (m *solver) solution(t, s *link) solution {
	p, o := t, s
	if p != &m.links[m.pivot] {
		p, o = s, t
	}
	r := solution{kp: p.ku / p.scale, share: m.share, scale: 1 / p.scale, textileIsPivot: p == t}
	if o != nil {
		r.w = o.weight
		r.byOther = r.share / o.ku
		r.lost = r.byOther * o.scale * r.scale
	}
	return r
}

// expandPair is expand where pair holds. What every order waits for, the coefficient before, enters
// last, so that a processor finds the sums over the older ones done.
func (m *solver) expandPair(n int, t, s *link) {
	if !m.fresh {
		m.prepare()
	}
	c := m.solution(t, s)
	massive := m.node == nodeMassive
	x, v, xc, vc, f, u := &m.x, &m.v, &m.xc, &m.vc, &m.f, &t.u
	perMass, perNode := 1/m.mass, 0.0
	if massive {
		perNode = 1 / m.mc
	}
	var b *branch
	em, rate := 0.0, 0.0
	if len(t.branches) == 1 {
		b = &t.branches[0]
		em, rate = b.e, b.rate
	}
	a, u0 := t.elasticFactor(), u[0]
	e2, e3 := t.e2+3*t.e3*u0, t.e3 // of the elastic force about u0
	slope := t.e1 + u0*(2*t.e2+3*t.e3*u0)
	bend := 0.0
	if s != nil {
		bend = s.curvature()
	}
	pull, bq := m.g, 0.0 // at order 0
	if b != nil {
		bq = b.q[0]
	}
	for k := 1; k <= n; k++ {
		i, j, r := (k-1)&maxOrder, k&maxOrder, reciprocal[k&maxOrder]
		left := v[i] * r
		x[j] = left
		v[j] = (pull - f[i]*perMass) * r
		pull = 0
		if massive {
			d := vc[i] * r
			xc[j] = d
			vc[j] = (f[i] - m.kr*xc[i] - m.cr*vc[i]) * (perNode * r)
			left -= d
		}
		z := bq * (r * rate)
		rt := 0.0
		switch {
		case e3 != 0:
			q := squareLate(u, k)
			t.sq[j] = q
			rt = e2*q + e3*productInner(u, &t.sq, k)
		case e2 != 0:
			rt = e2 * squareLate(u, k)
		}
		tel := rt
		rt = a*rt - z
		d := c.kp * left
		var force, ut float64
		if s == nil {
			force, ut = d+rt, left*c.scale
		} else {
			rs := 0.0
			if bend != 0 {
				rs = bend * squareLate(&s.u, k)
			}
			if c.textileIsPivot {
				d += rt
				force = c.share * (d + c.w*rs)
				d -= rs
				ut = left*c.scale - c.lost*d
				s.u[j] = c.byOther * d
			} else {
				d += rs
				force = c.share * (d + c.w*rt)
				d -= rt
				ut = c.byOther * d
				s.u[j] = left*c.scale - c.lost*d
			}
		}
		f[j], u[j] = force, ut
		t.tel[j] = tel + slope*ut
		if b != nil {
			bq = em*ut - z
			b.z[j], b.q[j] = z, bq
		}
	}
}

// squareLate is squareInner with the newest coefficient last.
func squareLate(a *series, k int) float64 {
	if k < 3 {
		if k == 2 {
			return a[1] * a[1]
		}
		return 0
	}
	return squareFrom(a, k, 2) + 2*a[1]*a[(k-1)&maxOrder]
}
