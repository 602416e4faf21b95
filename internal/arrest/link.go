package arrest

import (
	"math"

	"github.com/hardcatch/hardcatch/internal/arrest/element"
)

// maxOrder is the highest order of a Taylor series here; the arrays are one longer.
const maxOrder = 31

type series [maxOrder + 1]float64

// reciprocal is 1/k.
var reciprocal = func() (r series) {
	for k := 1; k < len(r); k++ {
		r[k] = 1 / float64(k)
	}
	return r
}()

type linkKind uint8

const (
	linkSpring linkKind = iota // massless rig spring
	linkTextile
	linkKnot
	linkAbsorber
)

// slipState is what a knot or absorber does at the moment.
type slipState uint8

const (
	stuck    slipState = iota // rigid, at slip s
	slipping                  // on the yield curve
	locked                    // at the end of its travel, stretching the spring behind
	seated                    // at the end of its travel, spring unloaded: rigid
)

// grip is what a friction branch does at the moment.
type grip int8

const (
	slidingUp   grip = 1
	sticking    grip = 0
	slidingDown grip = -1
	noFriction  grip = 2
)

// branch is one Maxwell branch: q = e u - z with z' = q/tau.
type branch struct {
	e, tau float64
	rate   float64 // 1/tau
	loss   float64 // length/(e tau): power lost = loss q^2
	z, q   series
}

// link is one element of the chain as the integrator sees it: an unknown u with elongation
// d = scale u + base, and a force that depends on u and on the states of its branches.
type link struct {
	kind linkKind
	elem int // place in Case.Chain

	scale, base float64
	k0          float64 // spring stiffness of linkSpring

	length         float64
	el             element.Elastic
	hollow         bool // no stiffness at zero strain but the hair that compileTextile gives it
	branches       []branch
	mu, kf, slider float64
	grip           grip
	weak           bool    // friction may be too soft to keep up with its bound: see keepsUp
	back           bool    // slidingUp while the strain falls
	alpha, top     float64 // set, and the strain e at which the virgin curve was left
	virgin         bool    // the largest strain d/L grows, and the set with it

	knot         element.KnotCurve
	tear         element.TearCurve
	travel       float64
	kLock, fLock float64
	slip         float64
	state        slipState

	grown float64 // stiffness over that of the first drop; 0 = 1

	lost            series  // work into the branches' dashpots
	u, sq, tel, aux series  // unknown; its square or power; elastic force; cos of the ripple
	ku, now         float64 // dF/du and F at order 0, when last prepared
	perKu, perScale float64 // 1/ku, 1/scale
	weight          float64 // stiffness of the pivot over this link's
	isSoft          bool    // soft(), noted for the series
	from, fromQ     float64 // unknown and friction force at the start of the step
	fromStored      float64
	fromLost        float64
	longest         float64
}

// soft tells whether the link has an unknown of its own now.
func (l *link) soft() bool {
	return l.kind <= linkTextile || l.state == slipping || l.state == locked
}

func (l *link) elongation() float64 {
	if l.soft() {
		return l.scale*l.u[0] + l.base
	}
	return l.base
}

// elasticFactor is dT/dT_el of the textile.
func (l *link) elasticFactor() float64 {
	if l.grip == slidingUp || l.grip == slidingDown {
		return 1 + l.mu*float64(l.grip)
	}
	return 1
}

// yield is the force at which the knot or absorber slips at slip s.
func (l *link) yield(s float64) float64 {
	if l.kind == linkAbsorber {
		return l.tear.Force(s)
	}
	return l.knot.Force(s)
}

// polynomial is the force of a spring or of a slip, as c0 + c1 u + c2 u^2 where it is of so low a degree.
func (l *link) polynomial() (c0, c1, c2 float64, ok bool) {
	switch l.kind {
	case linkSpring:
		return 0, l.k0, 0, true
	case linkAbsorber:
		return l.tear.Polynomial()
	case linkKnot:
		return l.knot.Polynomial()
	}
	return 0, 0, 0, false
}

// yieldWork is the integral of yield from 0 to s.
func (l *link) yieldWork(s float64) float64 {
	if l.kind == linkAbsorber {
		return l.tear.Work(s)
	}
	return l.knot.Work(s)
}

// threshold is the force above which a rigid link gives way.
func (l *link) threshold() float64 {
	if l.state == seated {
		return l.fLock
	}
	return l.yield(l.slip)
}

// keepsUp is how much stiffer the friction branch is than its bound +mu T_el is steep, at strain e. Where it is less
// stiff it leaves the bound under load, and follows it back unloading.
func (l *link) keepsUp(e float64) float64 {
	return l.kf - l.mu*l.el.Slope(e)
}

// frictionForce is q_f at order 0.
func (l *link) frictionForce() float64 {
	switch l.grip {
	case slidingUp, slidingDown:
		return l.mu * float64(l.grip) * l.tel[0]
	case sticking:
		return l.kf * (l.u[0] - l.slider)
	}
	return 0
}

// evaluate computes the force and the stiffness dF/du at order 0 from u[0] and the branch states.
func (l *link) evaluate() (force float64) {
	u := l.u[0]
	switch l.kind {
	case linkSpring:
		l.ku = l.k0
		return l.k0 * u
	case linkTextile:
		l.sq[0] = u * u
		l.tel[0] = l.el.Force(u)
		a := l.elasticFactor()
		l.ku = a * l.el.Slope(u)
		force = a * l.tel[0]
		for j := range l.branches {
			b := &l.branches[j]
			b.q[0] = b.e*u - b.z[0]
			force += b.q[0]
			l.ku += b.e
		}
		if l.grip == sticking {
			force += l.kf * (u - l.slider)
			l.ku += l.kf
		}
		return force
	}
	if l.state == locked {
		l.ku = l.kLock
		return l.fLock + l.kLock*u
	}
	return l.evaluateYield(u)
}

func (l *link) evaluateYield(u float64) float64 {
	if l.kind == linkAbsorber {
		s, c := math.Sincos(l.tear.Wave * u)
		l.sq[0], l.aux[0] = s, c
		l.ku = l.tear.F0 * l.tear.Ripple * l.tear.Wave * c
		return l.tear.F0 * (1 + l.tear.Ripple*s)
	}
	y := u/l.knot.Travel + l.knot.Shift
	if l.knot.Shift > 0 {
		y = max(y, l.knot.Shift/2) // a trial value may lie below the start of the curve
		w := math.Pow(y, l.knot.Power)
		l.sq[0], l.aux[0] = w, y
		l.ku = l.knot.DF * l.knot.Power * w / (y * l.knot.Travel)
		return l.knot.F0 + l.knot.DF*w
	}
	if y < 0 && l.knot.Power != 1 {
		y = 0
	}
	l.aux[0], l.sq[0] = y, y*y
	switch l.knot.Power {
	case 1:
		l.ku = l.knot.DF / l.knot.Travel
	case 2:
		l.ku = 2 * l.knot.DF * y / l.knot.Travel
	default:
		l.ku = 3 * l.knot.DF * y * y / l.knot.Travel
	}
	return l.yield(y * l.knot.Travel)
}

// remainder is the part of the force at order k that does not contain u[k]: F[k] = ku u[k] + remainder.
func (l *link) remainder(k int) float64 {
	k &= maxOrder
	switch l.kind {
	case linkSpring:
		return 0
	case linkTextile:
		r := 0.0
		l.sq[k] = 0
		if l.el.E2 != 0 || l.el.E3 != 0 {
			s := squareInner(&l.u, k)
			l.sq[k] = s
			r = l.el.E2 * s
			if l.el.E3 != 0 {
				r += l.el.E3 * (l.u[0]*s + productInner(&l.u, &l.sq, k))
			}
		}
		l.tel[k] = r
		r *= l.elasticFactor()
		for j := range l.branches {
			r -= l.branches[j].z[k]
		}
		return r
	}
	if l.state == locked {
		return 0
	}
	return l.remainderYield(k)
}

func (l *link) remainderYield(k int) float64 {
	if l.kind == linkAbsorber {
		if l.tear.Ripple == 0 {
			return 0
		}
		s, c := 0.0, 0.0
		for i := 1; i < k; i++ {
			t := float64(i) * l.u[i]
			s += t * l.aux[k-i]
			c -= t * l.sq[k-i]
		}
		f := l.tear.Wave / float64(k)
		l.sq[k], l.aux[k] = s*f, c*f
		return l.tear.F0 * l.tear.Ripple * l.sq[k]
	}
	switch {
	case l.knot.Shift > 0:
		s := 0.0
		for i := 1; i < k; i++ {
			s += (l.knot.Power*float64(k-i) - float64(i)) * l.aux[k-i] * l.sq[i]
		}
		l.sq[k] = s / (float64(k) * l.aux[0])
		return l.knot.DF * l.sq[k]
	case l.knot.Power == 1:
		return 0
	case l.knot.Power == 2:
		return l.knot.DF * squareInner(&l.aux, k)
	}
	s := squareInner(&l.aux, k)
	l.sq[k] = s
	return l.knot.DF * (l.aux[0]*s + productInner(&l.aux, &l.sq, k))
}

// complete fills in what depends on u[k], once u[k] is known.
func (l *link) complete(k int) {
	k &= maxOrder
	u := l.u[k]
	switch l.kind {
	case linkSpring:
	case linkTextile:
		u0 := l.u[0]
		l.sq[k] += 2 * u0 * u
		l.tel[k] += l.el.Slope(u0) * u
		for j := range l.branches {
			b := &l.branches[j]
			b.q[k] = b.e*u - b.z[k]
		}
	case linkAbsorber:
		if l.state == slipping && l.tear.Ripple > 0 {
			t := l.tear.Wave * u
			s, c := l.sq[0], l.aux[0]
			l.sq[k] += t * c
			l.aux[k] -= t * s
		}
	case linkKnot:
		if l.state != slipping {
			return
		}
		y := u / l.knot.Travel
		l.aux[k] = y
		switch {
		case l.knot.Shift > 0:
			l.sq[k] += l.knot.Power * l.sq[0] / l.aux[0] * y
		case l.knot.Power == 3:
			l.sq[k] += 2 * l.aux[0] * y
		}
	}
}

// squareInner is the sum of a[i] a[k-i] for 0 < i < k.
func squareInner(a *series, k int) float64 { return squareFrom(a, k, 1) }

// squareFrom is the sum of a[i] a[k-i] for first <= i <= k-first.
func squareFrom(a *series, k, first int) float64 {
	s, t := 0.0, 0.0
	i, j := first, k-first
	for ; i+1 < j-1; i, j = i+2, j-2 {
		s += a[i&maxOrder] * a[j&maxOrder]
		t += a[(i+1)&maxOrder] * a[(j-1)&maxOrder]
	}
	if i < j {
		s += a[i&maxOrder] * a[j&maxOrder]
		i, j = i+1, j-1
	}
	s += t
	s += s
	if i == j {
		s += a[i&maxOrder] * a[i&maxOrder]
	}
	return s
}

// productInner is the sum of a[i] b[k-i] for 0 < i < k.
func productInner(a, b *series, k int) float64 {
	s, t := 0.0, 0.0
	i, j := 1, k-1
	for ; j > 1; i, j = i+2, j-2 {
		s += a[i&maxOrder] * b[j&maxOrder]
		t += a[(i+1)&maxOrder] * b[(j-1)&maxOrder]
	}
	if j > 0 {
		s += a[i&maxOrder] * b[j&maxOrder]
	}
	return s + t
}

// stored is the energy the link would give back.
func (l *link) stored() float64 {
	u := l.u[0]
	switch l.kind {
	case linkSpring:
		return l.k0 * u * u / 2
	case linkTextile:
		e := l.el.Energy(u)
		e += l.branchEnergy()
		if l.grip != noFriction {
			q := l.frictionForce()
			e += q * q / (2 * l.kf)
		}
		return e * l.length
	}
	if l.state == locked {
		return u * (l.fLock + l.kLock*u/2)
	}
	return 0
}

// branchEnergy is what the Maxwell branches store, per length.
func (l *link) branchEnergy() float64 {
	e := 0.0
	for j := range l.branches {
		b := &l.branches[j]
		e += b.q[0] * b.q[0] / (2 * b.e)
	}
	return e
}
