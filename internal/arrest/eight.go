package arrest

// eightValues evaluates a series at eight times together: the chains of multiplications overlap.
func eightValues(c *series, n int, t, out *[8]float64) {
	if lockstepWorks {
		eightValuesVector(&c[0], n, &t[0], &out[0])
		return
	}
	t0, t1, t2, t3, t4, t5, t6, t7 := t[0], t[1], t[2], t[3], t[4], t[5], t[6], t[7]
	s := c[n&maxOrder]
	a0, a1, a2, a3, a4, a5, a6, a7 := s, s, s, s, s, s, s, s
	for k := n - 1; k >= 0; k-- {
		s = c[k&maxOrder]
		a0, a1, a2, a3 = a0*t0+s, a1*t1+s, a2*t2+s, a3*t3+s
		a4, a5, a6, a7 = a4*t4+s, a5*t5+s, a6*t6+s, a7*t7+s
	}
	out[0], out[1], out[2], out[3], out[4], out[5], out[6], out[7] = a0, a1, a2, a3, a4, a5, a6, a7
}

// eightSlopes evaluates the derivative of a series at eight times together.
func eightSlopes(c *series, n int, t, out *[8]float64) {
	if lockstepWorks {
		eightSlopesVector(&c[0], n, &t[0], &out[0])
		return
	}
	t0, t1, t2, t3, t4, t5, t6, t7 := t[0], t[1], t[2], t[3], t[4], t[5], t[6], t[7]
	s := float64(n) * c[n&maxOrder]
	a0, a1, a2, a3, a4, a5, a6, a7 := s, s, s, s, s, s, s, s
	for k := n - 1; k >= 1; k-- {
		s = float64(k) * c[k&maxOrder]
		a0, a1, a2, a3 = a0*t0+s, a1*t1+s, a2*t2+s, a3*t3+s
		a4, a5, a6, a7 = a4*t4+s, a5*t5+s, a6*t6+s, a7*t7+s
	}
	out[0], out[1], out[2], out[3], out[4], out[5], out[6], out[7] = a0, a1, a2, a3, a4, a5, a6, a7
}

// Nodes and weights of the Gauss-Legendre rule with eight points on (0, 1): exact to degree 15.
// Abramowitz and Stegun, table 25.4 (recalled; a test integrates monomials).
var (
	gaussNodes = [8]float64{
		0.5 - 0.9602898564975363/2, 0.5 - 0.7966664774136267/2, 0.5 - 0.5255324099163290/2, 0.5 - 0.1834346424956498/2,
		0.5 + 0.1834346424956498/2, 0.5 + 0.5255324099163290/2, 0.5 + 0.7966664774136267/2, 0.5 + 0.9602898564975363/2,
	}
	gaussWeights = [8]float64{
		0.1012285362903763 / 2, 0.2223810344533745 / 2, 0.3137066458778873 / 2, 0.3626837833783620 / 2,
		0.3626837833783620 / 2, 0.3137066458778873 / 2, 0.2223810344533745 / 2, 0.1012285362903763 / 2,
	}
)

// meanSquare is the mean of a series squared over the step whose Gauss times are t.
func meanSquare(c *series, n int, t *[8]float64) float64 {
	var v [8]float64
	eightValues(c, n, t, &v)
	s := 0.0
	for i, w := range gaussWeights {
		s += w * v[i] * v[i]
	}
	return s
}

// dissipate books the works of the dashpots and of the tear over the step h. The squares of the
// speeds vary twice as fast as the speeds; Gauss's rule follows them where a product of truncated
// series would not.
func (m *solver) dissipate(h float64) {
	n := m.order
	var t [8]float64
	for i, x := range gaussNodes {
		t[i] = x * h
	}
	if m.cr > 0 && !m.loose && m.node != nodeFixed {
		m.damped[0] += h * m.cr * meanSquare(&m.vc, n-1, &t)
	}
	if m.cb > 0 {
		m.damped[0] += h * m.cb * meanSquare(&m.rel, n-1, &t)
	}
	if m.phase >= parted {
		return
	}
	for i := range m.links {
		l := &m.links[i]
		for j := range l.branches {
			b := &l.branches[j]
			l.lost[0] += h * b.loss * meanSquare(&b.q, n, &t)
		}
	}
	if m.phase == tearing {
		m.tear(h, &t)
	}
}

// tear books the work that the falling force does on the opening tear.
func (m *solver) tear(h float64, t *[8]float64) {
	n := m.order
	var rate, v [8]float64
	eightValues(&m.v, n, t, &rate)
	if m.node != nodeFixed {
		eightValues(&m.vc, n-1, t, &v)
		for i := range rate {
			rate[i] -= v[i]
		}
	}
	for j := range m.links {
		if l := &m.links[j]; l.soft() {
			eightSlopes(&l.u, n, t, &v)
			for i := range rate {
				rate[i] -= l.scale * v[i]
			}
		}
	}
	eightValues(&m.f, n, t, &v)
	for i, w := range gaussWeights {
		m.tornW[0] += h * w * rate[i] * v[i]
	}
}
