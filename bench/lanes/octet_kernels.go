package main

import (
	"fmt"
	"math"

	. "github.com/mmcloughlin/avo/build"
	. "github.com/mmcloughlin/avo/operand"
	. "github.com/mmcloughlin/avo/reg"
)

// What a kernel is told about the drops in the lanes.
const (
	anyCubic  = 1 << iota // a textile has a cubic term
	anySecond             // a second link gives way
	anySlip               // it slips
	anyTurn               // the strain of a textile may not turn round in its mode
)

// kernel writes a function of the rows, for eight lanes at once or for four twice. body returns the flags
// of its lanes in one register, eight bits a kind.
func kernel(name, doc string, zmm bool, body func(e *vec, about Register) Register) {
	width := 256
	if zmm {
		width = 512
	}
	name = fmt.Sprintf("%s%d", name, width)
	TEXT(name, NOSPLIT, "func(p *float64, about uint64) uint64")
	Pragma("noescape")
	Doc(name + " " + doc)
	e := &vec{zmm: zmm, p: Load(Param("p"), GP64()).(Register)}
	about := Load(Param("about"), GP64()).(Register)
	if zmm {
		flags := body(e, about)
		VZEROUPPER()
		Store(flags, ReturnIndex(0))
		RET()
		return
	}
	all, left := GP64(), GP64()
	XORQ(all, all)
	MOVQ(U32(2), left)
	ADDQ(Imm(32), e.p)
	Label("half")
	flags := body(e, about)
	SHLQ(Imm(4), all)
	ORQ(flags, all)
	SUBQ(Imm(32), e.p)
	DECQ(left)
	JNZ(LabelRef("half"))
	VZEROUPPER()
	Store(all, ReturnIndex(0))
	RET()
}

// unlessPositive is a bit for each lane in which a margin is not above zero.
func (e *vec) unlessPositive(margins ...VecVirtual) Register {
	zero := e.reg()
	VXORPD(zero, zero, zero)
	const notGreater = 0x1a
	out := GP64()
	if e.zmm {
		var all Register
		for _, m := range margins {
			k := K()
			VCMPPD(Imm(notGreater), zero, m, k)
			if all == nil {
				all = k
				continue
			}
			KORB(k, all, all)
		}
		KMOVB(all, out.As32())
		return out
	}
	var all VecVirtual
	for _, m := range margins {
		y := e.reg()
		VCMPPD(Imm(notGreater), zero, m, y)
		if all == nil {
			all = y
			continue
		}
		VORPD(y, all, all)
	}
	VMOVMSKPD(all, out.As32())
	return out
}

// answer evaluates both links at (u, s), and how they answer to a length and to forces:
//
//	F = P left + T rt + S rs, u = a left + b rs - c rt, s = S left + r (rt - rs)
type answer struct {
	ft, fs                      VecVirtual
	ku, slope, bend             VecVirtual
	push, partT, partS          VecVirtual
	moveU, givenU, restU, restS VecVirtual
}

func (e *vec) answers(u, s, z VecVirtual) answer {
	var a answer
	// elastic force, slope and half the curvature
	cubic := e.mul(u, e.row("e3"))
	tel := e.add(cubic, e.row("e2"))
	tel = e.mul(tel, u)
	tel = e.add(tel, e.row("e1"))
	tel = e.mul(tel, u)
	a.bend = e.get("e2")
	fma(a.bend, cubic, e.c(3))
	a.slope = e.get("e1")
	t := e.mul(cubic, e.c(3))
	fma(t, e.load(e.c(2)), e.row("e2"))
	fma(a.slope, t, u)
	// force and stiffness of the textile
	a.ft = e.mul(tel, e.row("grip"))
	fma(a.ft, u, e.row("em"))
	a.ft = e.sub(a.ft, z)
	d := e.sub(u, e.row("slider"))
	fma(a.ft, d, e.row("kf"))
	a.ku = e.mul(a.slope, e.row("grip"))
	a.ku = e.add(a.ku, e.row("em"))
	a.ku = e.add(a.ku, e.row("kf"))
	// of the second link
	q := e.mul(s, e.row("s2"))
	ks := e.get("rigid")
	ks = e.add(ks, e.row("s1"))
	ks = e.add(ks, q)
	ks = e.add(ks, q)
	q = e.add(q, e.row("s1"))
	a.fs = e.get("s0")
	fma(a.fs, s, q)
	// shares
	kt := e.mul(a.ku, e.row("perScale"))
	ks = e.mul(ks, e.row("on"))
	d = e.div(e.load(e.c(1)), e.add(kt, ks))
	a.partT = e.mul(ks, d)
	a.restS = e.mul(d, e.row("act"))
	a.partS = e.mul(kt, a.restS)
	a.push = e.mul(kt, a.partT)
	a.moveU = e.mul(a.partT, e.row("perScale"))
	a.restU = e.mul(a.restS, e.row("perScale"))
	a.givenU = e.mul(d, e.row("perScale"))
	return a
}

// expandOctet computes the series, the step and the margins over it.
func expandOctet(zmm bool) {
	kernel("expandOctet", "computes the series of eight drops about their states, their steps, and bounds over these. It flags lanes in which a mode may end, the chain's force may pass its largest, or the load cell's.", zmm,
		func(e *vec, about Register) Register {
			n := e.begin()
			for k := 1; k <= octetOrder; k++ {
				e.order(k, n, about)
			}
			e.reach()
			e.bounds(e.of("cf"), octetPieces, "force", true)
			e.bounds(func(k int) VecVirtual {
				c := e.get("kr")
				c = e.mul(c, e.co("cxc", k))
				fma(c, e.get("cr"), e.co("cvc", k))
				return c
			}, octetPieces, "cell", false)
			chain, cell := e.higher("chainPeak", "force"), e.higher("peak", "cell")
			screen := e.margins(about)
			SHLQ(Imm(8), chain)
			ORQ(chain, screen)
			SHLQ(Imm(16), cell)
			ORQ(cell, screen)
			return screen
		})
}

// newest are the coefficients of the order before, and the first ones of the unknowns, which most sums need.
type newest struct {
	v, f, xc, vc, q, u, s VecVirtual
	firstU, firstS        []VecVirtual // from order 1 on, as many as there are registers for
}

// begin writes order 0 of the series and what every order needs.
func (e *vec) begin() *newest {
	var n newest
	take := func(name string) VecVirtual {
		r := e.get(name)
		e.store(r, e.co("c"+name, 0))
		return r
	}
	take("x")
	take("z")
	n.v, n.xc, n.vc, n.u, n.s = take("v"), take("xc"), take("vc"), take("u"), take("s")
	z := e.get("z")
	n.q = e.mul(n.u, e.row("em"))
	n.q = e.sub(n.q, z)
	e.store(n.q, e.co("cq", 0))
	tel := e.mul(n.u, e.row("e3"))
	tel = e.add(tel, e.row("e2"))
	tel = e.mul(tel, n.u)
	tel = e.add(tel, e.row("e1"))
	tel = e.mul(tel, n.u)
	e.store(tel, e.co("ctel", 0))
	a := e.answers(n.u, n.s, z)
	n.f = e.mul(a.partT, a.ft)
	fma(n.f, a.partS, a.fs)
	e.store(n.f, e.co("cf", 0))
	e.put(e.max(n.f, e.row("fScale")), "fScale")
	e.put(a.push, "push")
	e.put(a.partT, "partT")
	e.put(a.partS, "partS")
	e.put(a.moveU, "moveU")
	e.put(a.restU, "restU")
	e.put(a.givenU, "givenU")
	e.put(a.restS, "restS")
	e.put(a.slope, "slope")
	e.put(a.bend, "bend")
	e.put(a.ku, "ku")
	return &n
}

// order computes order k of every series from those below it.
func (e *vec) order(k int, n *newest, about Register) {
	r := e.load(e.c(1 / float64(k)))
	left := e.mul(n.v, r)
	e.store(left, e.co("cx", k))
	v := e.reg()
	if k == 1 {
		VMOVUPD(e.row("g"), v)
	} else {
		VXORPD(v, v, v)
	}
	fnma(v, n.f, e.row("perMass"))
	v = e.mul(v, r)
	e.store(v, e.co("cv", k))
	xc := e.mul(n.vc, r)
	xc = e.mul(xc, e.row("nodeOn"))
	e.store(xc, e.co("cxc", k))
	left = e.sub(left, xc)
	vc := e.load(n.f)
	fnma(vc, n.xc, e.row("kr"))
	fnma(vc, n.vc, e.row("cr"))
	vc = e.mul(vc, e.row("perNode"))
	vc = e.mul(vc, r)
	e.store(vc, e.co("cvc", k))
	z := e.mul(n.q, r)
	z = e.mul(z, e.row("rate"))
	e.store(z, e.co("cz", k))
	sq := e.square("cu", k, n.u, n.firstU)
	tel := e.mul(sq, e.row("bend"))
	if k > 1 {
		e.cube(sq, tel, k, about)
	}
	rt := e.mul(tel, e.row("grip"))
	rt = e.sub(rt, z)
	// without a second link
	u := e.mul(left, e.row("moveU"))
	fnma(u, rt, e.row("givenU"))
	f := e.mul(left, e.row("push"))
	fma(f, rt, e.row("partT"))
	s := e.reg()
	VXORPD(s, s, s)
	done := fmt.Sprintf("single%d", k)
	TESTQ(U32(anySecond), about)
	JZ(LabelRef(done))
	rs := e.square("cs", k, n.s, n.firstS)
	rs = e.mul(rs, e.row("s2"))
	fma(u, rs, e.row("restU"))
	fma(f, rs, e.row("partS"))
	VSUBPD(rs, rt, rt)
	fma(s, left, e.row("partS"))
	fma(s, rt, e.row("restS"))
	Label(done)
	e.store(s, e.co("cs", k))
	e.store(f, e.co("cf", k))
	e.store(u, e.co("cu", k))
	fma(tel, u, e.row("slope"))
	e.store(tel, e.co("ctel", k))
	q := e.mul(u, e.row("em"))
	q = e.sub(q, z)
	e.store(q, e.co("cq", k))
	n.v, n.f, n.xc, n.vc, n.q, n.u, n.s = v, f, xc, vc, q, u, s
	if e.zmm && k <= 6 {
		n.firstU, n.firstS = append(n.firstU, u), append(n.firstS, s)
	}
}

// square is the sum of a[i] a[k-i] for 0 < i < k, what the newest enters last. first are a[1], a[2] and so on.
func (e *vec) square(series string, k int, newest VecVirtual, first []VecVirtual) VecVirtual {
	low := func(i int) VecVirtual {
		if i <= len(first) {
			return first[i-1]
		}
		return e.load(e.co(series, i))
	}
	s := e.reg()
	VXORPD(s, s, s)
	if k < 2 {
		return s
	}
	if k == 2 {
		fma(s, newest, newest)
		return s
	}
	for i := (k - 1) / 2; i >= 2; i-- {
		fma(s, low(i), e.co(series, k-i))
	}
	VADDPD(s, s, s)
	if k%2 == 0 {
		a := low(k / 2)
		fma(s, a, a)
	}
	twice := e.add(low(1), low(1))
	fma(s, twice, newest)
	return s
}

// cube adds the cubic term of the elastic force at order k > 1 to tel.
func (e *vec) cube(sq, tel VecVirtual, k int, about Register) {
	done := fmt.Sprintf("square%d", k)
	TESTQ(U32(anyCubic), about)
	JZ(LabelRef(done))
	e.store(sq, e.co("csq", k))
	var sums [2]VecVirtual
	for j := range sums {
		sums[j] = e.reg()
		VXORPD(sums[j], sums[j], sums[j])
	}
	for _, i := range oldestFirst(k) {
		if k-i < 2 {
			continue // the square has no order 1
		}
		a := e.load(e.co("cu", i))
		fma(sums[i%2], a, e.co("csq", k-i))
	}
	VADDPD(sums[1], sums[0], sums[0])
	fma(tel, sums[0], e.row("e3"))
	Label(done)
}

// log2 is ode.RoughLog2 of a magnitude.
func (e *vec) log2(x VecVirtual) VecVirtual {
	hi, lo := e.reg(), e.reg()
	VPSRLQ(Imm(32), x, hi)
	magic := e.c(0x1p52)
	VORPD(magic, hi, hi)
	VPSLLQ(Imm(32), x, lo)
	VPSRLQ(Imm(32), lo, lo)
	VORPD(magic, lo, lo)
	lo = e.sub(lo, magic)
	hi = e.sub(hi, magic)
	fma(lo, hi, e.c(0x1p32))
	lo = e.mul(lo, e.c(0x1p-52))
	return e.sub(lo, e.c(1023))
}

// exp2 is ode.RoughExp2.
func (e *vec) exp2(y VecVirtual) VecVirtual {
	y = e.max(y, e.c(-1022))
	y = e.min(y, e.c(1022.9))
	whole := e.reg()
	if e.zmm {
		VRNDSCALEPD(Imm(1), y, whole)
	} else {
		VROUNDPD(Imm(1), y, whole)
	}
	f := e.sub(y, whole)
	power := e.add(whole, e.c(0x1p52+1023))
	VPSLLQ(Imm(52), power, power)
	s := e.load(e.c(0.6564))
	fma(s, f, e.c(0.3436))
	one := e.load(e.c(1))
	fma(one, f, s)
	return e.mul(one, power)
}

// reach finds the steps: see machine.reach.
func (e *vec) reach() {
	mask := e.magnitude()
	per := e.div(e.load(e.c(1)), e.row("fScale"))
	least := func(n int) VecVirtual {
		a := e.abs(e.co("cf", n), mask)
		a = e.max(e.mul(e.abs(e.co("cxc", n), mask), e.row("kr")), a)
		a = e.max(e.abs(e.co("ctel", n), mask), a)
		a = e.max(e.mul(e.abs(e.co("cu", n), mask), e.row("ku")), a)
		a = e.max(e.abs(e.co("cq", n), mask), a)
		l := e.log2(e.mul(a, per))
		l = e.sub(e.get("logEps"), l)
		return e.div(l, e.c(float64(n)))
	}
	h := e.exp2(e.min(least(octetOrder), least(octetOrder-1)))
	end := e.get("end")
	end = e.sub(end, e.row("t"))
	h = e.min(h, end)
	e.put(h, "h")
	for i := 1; i <= 8; i++ {
		e.put(e.mul(h, e.c(float64(i)/8)), fmt.Sprintf("t%d", i))
	}
	for i := 1; i <= octetPieces; i++ {
		e.put(e.mul(h, e.c(float64(i)/octetPieces)), fmt.Sprintf("p%d", i))
	}
}

// spread bounds how far a series moves from its start within the step.
func (e *vec) spread(series string, h, mask VecVirtual) VecVirtual {
	s := e.abs(e.co(series, octetOrder), mask)
	for k := octetOrder - 1; k >= 1; k-- {
		horner(s, h, e.abs(e.co(series, k), mask))
	}
	return e.mul(s, h)
}

// margins writes how far every end of a mode stays away, and flags lanes where one may be met.
func (e *vec) margins(about Register) Register {
	h, mask := e.get("h"), e.magnitude()
	spX := e.spread("cx", h, mask)
	x0 := e.load(e.co("cx", 0))
	mX := e.sub(e.sub(e.get("upX"), x0), spX)
	e.put(mX, "mX")
	e.bounds(e.of("cu"), octetPieces/2, "u", true)
	mU := e.get("upU")
	mU = e.sub(mU, e.row("uTop"))
	e.put(mU, "mU")
	// gap - x + scale u, while the mass flies
	far := e.mul(e.mul(h, e.c(0.5)), e.row("g"))
	far = e.add(far, e.row("v"))
	far = e.mul(far, h)
	far = e.add(far, x0)
	gap := e.sub(e.get("gap"), e.max(far, x0))
	fma(gap, e.get("uLow"), e.row("scale"))
	e.put(gap, "mGap")
	// offW + muW T_el -+ kfW (u - slider)
	tel := e.load(e.co("ctel", 0))
	tel = e.sub(tel, e.spread("ctel", h, mask))
	w := e.get("offW")
	fma(w, tel, e.row("muW"))
	upper, lower := e.load(w), w
	away := e.get("uTop")
	away = e.sub(away, e.row("slider"))
	fnma(upper, away, e.row("kfW"))
	e.put(upper, "mUpper")
	away = e.get("uLow")
	away = e.sub(away, e.row("slider"))
	fma(lower, away, e.row("kfW"))
	e.put(lower, "mLower")
	e.put(e.load(e.c(never)), "mS")
	TESTQ(U32(anySecond), about)
	JZ(LabelRef("single"))
	e.bounds(e.of("cs"), octetPieces/2, "s", true)
	low, up := e.get("sLow"), e.get("upS")
	low = e.sub(low, e.row("loS"))
	up = e.sub(up, e.row("sTop"))
	e.put(e.min(low, up), "mS")
	Label("single")
	for _, w := range []struct {
		any               uint32
		series, sign, off string
		to                string
	}{{anyTurn, "cu", "sgnU", "offU", "mTurn"}, {anySlip, "cs", "sgnS", "offS", "mOff"}} {
		e.put(e.get(w.off), w.to)
		TESTQ(U32(w.any), about)
		JZ(LabelRef("no" + w.to))
		e.put(e.keepsOn(w.series, w.sign, w.off), w.to)
		Label("no" + w.to)
	}
	low = e.get("forceLow")
	low = e.sub(low, e.row("loF"))
	up = e.get("upF")
	up = e.sub(up, e.row("forceTop"))
	return e.unlessPositive(low, up, e.get("mX"), e.get("mU"), e.get("mGap"), e.get("mUpper"), e.get("mLower"), e.get("mS"), e.get("mTurn"), e.get("mOff"))
}

// keepsOn is positive only where the rate of a series, times its sign, stays positive at the points of a
// scan and comes near zero between none of them.
func (e *vec) keepsOn(series, sign, off string) VecVirtual {
	group := 8
	if !e.zmm {
		group = 4
	}
	sgn := e.get(sign)
	first := e.mul(sgn, e.co(series, 1))
	low := first
	// 6 b - a - c below zero: a parabola through three rates a, b, c may come near zero
	var a, b VecVirtual = nil, first
	for g := 0; g < 8; g += group {
		acc := make([]VecVirtual, group)
		top := e.mul(e.load(e.c(octetOrder)), e.co(series, octetOrder))
		for i := range acc {
			acc[i] = e.load(top)
		}
		for k := octetOrder - 1; k >= 1; k-- {
			c := e.mul(e.load(e.c(float64(k))), e.co(series, k))
			for i := range acc {
				hornerAt(acc[i], e.row(fmt.Sprintf("t%d", g+i+1)), c)
			}
		}
		for i := range acc {
			c := e.mul(acc[i], sgn)
			low = e.min(low, c)
			if a != nil {
				dip := e.mul(b, e.c(6))
				dip = e.sub(dip, a)
				low = e.min(low, e.sub(dip, c))
			}
			a, b = b, c
		}
	}
	return e.add(low, e.row(off))
}

// never is a margin that nothing uses up: see package arrest.
const never = 1e300

// octetPieces is the number of pieces for the bounds of a force.
const octetPieces = 4

// bounds writes a bound of a series within the step: the largest control point of its cubic Hermite pieces, with
// their error (d^4/384 times the fourth derivative). It also writes the largest value at the points, and with
// low the bound from below.
func (e *vec) bounds(coefficient func(k int) VecVirtual, pieces int, name string, low bool) {
	v, s := make([]VecVirtual, pieces), make([]VecVirtual, pieces)
	last, c := coefficient(octetOrder), coefficient(octetOrder-1)
	at := func(i int) Mem { return e.row(fmt.Sprintf("p%d", (i+1)*octetPieces/pieces)) }
	for i := range v {
		v[i], s[i] = e.load(last), e.load(last)
		hornerAt(v[i], at(i), c)
	}
	for k := octetOrder - 2; k >= 0; k-- {
		c := coefficient(k)
		for i := range v {
			hornerAt(s[i], at(i), v[i])
			hornerAt(v[i], at(i), c)
		}
	}
	h, mask := e.get("h"), e.magnitude()
	third := e.mul(h, e.c(1/(3*float64(pieces))))
	seen := coefficient(0)
	bottom := e.load(seen)
	for i := range v {
		VMAXPD(v[i], seen, seen)
		away := e.mul(e.abs(s[i], mask), third)
		if i == pieces-1 { // only the control point before the end
			away = e.mul(s[i], third)
			if low {
				VMINPD(v[i], bottom, bottom)
			}
			v[i] = e.sub(v[i], away)
			s[i] = v[i]
			continue
		}
		if low {
			s[i] = e.sub(v[i], away)
		}
		v[i] = e.add(v[i], away)
	}
	first := e.mul(coefficient(1), third)
	first = e.add(first, coefficient(0))
	top := e.max(first, seen)
	VMINPD(first, bottom, bottom)
	for i := range v {
		VMAXPD(v[i], top, top)
		if low {
			VMINPD(s[i], bottom, bottom)
		}
	}
	e.put(seen, name+"Seen")
	// sum of k(k-1)(k-2)(k-3) |c_k| h^k
	var bound VecVirtual
	for k := octetOrder; k >= 4; k-- {
		c := e.mul(e.abs(coefficient(k), mask), e.c(float64(k*(k-1)*(k-2)*(k-3))))
		if bound == nil {
			bound = c
			continue
		}
		horner(bound, h, c)
	}
	h2 := e.mul(h, h)
	bound = e.mul(e.mul(bound, h2), h2)
	bound = e.mul(bound, e.c(1/(384*math.Pow(float64(pieces), 4))))
	top = e.add(top, bound)
	e.put(top, name+"Top")
	if low {
		e.put(e.sub(bottom, bound), name+"Low")
	}
}

// higher flags lanes in which a bounded series may pass a level.
func (e *vec) higher(level, name string) Register {
	l := e.get(level)
	return e.unlessPositive(e.sub(l, e.row(name+"Top")))
}

// of reads the coefficients of a series.
func (e *vec) of(series string) func(k int) VecVirtual {
	return func(k int) VecVirtual { return e.load(e.co(series, k)) }
}

// advanceOctet moves the states.
func advanceOctet(zmm bool) {
	kernel("advanceOctet", "moves eight drops by their steps, books the works of their dampers and makes their chains fit. It flags lanes in which the mass turns round, the run ends, one correction was not enough, or time stands still.", zmm,
		func(e *vec, about Register) Register {
			h := e.get("h")
			e.dissipated("cvc", octetOrder-1, "damp", "damped")
			e.dissipated("cq", octetOrder, "loss", "lost")
			at := func(series string) VecVirtual {
				s := e.load(e.co(series, octetOrder))
				for k := octetOrder - 1; k >= 0; k-- {
					horner(s, h, e.co(series, k))
				}
				return s
			}
			x, v, xc, vc := at("cx"), at("cv"), at("cxc"), at("cvc")
			e.put(x, "x")
			e.put(vc, "vc")
			e.put(xc, "xc")
			e.put(e.max(x, e.row("lowest")), "lowest")
			turned := e.turned(v)
			e.put(v, "v")
			before := e.get("t")
			t := e.add(before, h)
			e.put(t, "t")
			still := e.unlessPositive(e.sub(t, before))
			end := e.get("end")
			left := e.sub(end, t)
			fnma(left, end, e.c(1e-15))
			late := e.unlessPositive(left)
			open := e.project(at)
			ORQ(still, open)
			SHLQ(Imm(8), late)
			ORQ(late, turned)
			SHLQ(Imm(16), open)
			ORQ(open, turned)
			return turned
		})
}

// turned flags lanes in which the speed was positive and no longer is.
func (e *vec) turned(v VecVirtual) Register {
	was, is := e.unlessPositive(e.load(e.co("cv", 0))), e.unlessPositive(v)
	NOTQ(was)
	ANDQ(was, is)
	return is
}

// Nodes and weights of Gauss's rule with eight points: see gaussNodes of package arrest.
var octetGauss = [4][2]float64{
	{0.9602898564975363, 0.1012285362903763}, {0.7966664774136267, 0.2223810344533745},
	{0.5255324099163290, 0.3137066458778873}, {0.1834346424956498, 0.3626837833783620},
}

// dissipated adds the integral of a series squared over the step, times a factor.
func (e *vec) dissipated(series string, n int, factor, sum string) {
	group := 8
	if !e.zmm {
		group = 4
	}
	var total VecVirtual
	for g := 0; g < 8; g += group {
		acc, t := make([]VecVirtual, group), make([]VecVirtual, group)
		h := e.get("h")
		last := e.load(e.co(series, n))
		for i := range acc {
			x := octetGauss[(g+i)/2][0]
			if (g+i)%2 == 0 {
				x = -x
			}
			t[i] = e.mul(h, e.c(0.5+x/2))
			acc[i] = e.load(last)
		}
		for k := n - 1; k >= 0; k-- {
			c := e.load(e.co(series, k))
			for i := range acc {
				VFMADD213PD(c, t[i], acc[i])
			}
		}
		for i := range acc {
			s := e.mul(acc[i], acc[i])
			w := octetGauss[(g+i)/2][1] / 2
			if total == nil {
				total = e.mul(s, e.c(w))
				continue
			}
			fma(total, s, e.c(w))
		}
	}
	total = e.mul(total, e.row("h"))
	sumUp := e.get(sum)
	fma(sumUp, total, e.row(factor))
	e.put(sumUp, sum)
}

// project corrects the unknowns once, so that both links carry one force and fit the positions.
func (e *vec) project(at func(string) VecVirtual) Register {
	u, s, z := at("cu"), at("cs"), at("cz")
	e.put(z, "z")
	a := e.answers(u, s, z)
	gap := e.get("x")
	gap = e.sub(gap, e.row("xc"))
	gap = e.sub(gap, e.row("base"))
	fnma(gap, u, e.row("scale"))
	fnma(gap, s, e.row("act"))
	du := e.mul(gap, a.moveU)
	fma(du, a.restU, a.fs)
	fnma(du, a.givenU, a.ft)
	ds := e.mul(gap, a.partS)
	fma(ds, a.restS, e.sub(a.ft, a.fs))
	e.put(e.add(u, du), "u")
	e.put(e.add(s, ds), "s")
	mask := e.magnitude()
	move := e.abs(ds, mask)
	fma(move, e.abs(du, mask), e.row("scale"))
	size := e.abs(e.row("x"), mask)
	size = e.add(size, e.abs(e.row("xc"), mask))
	size = e.add(size, e.row("offset"))
	room := e.load(e.c(math.SmallestNonzeroFloat64 + 1.0001e-18))
	fma(room, size, e.row("enough"))
	return e.unlessPositive(e.sub(room, move))
}
