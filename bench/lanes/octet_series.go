package main

import (
	"fmt"

	. "github.com/mmcloughlin/avo/build"
	. "github.com/mmcloughlin/avo/operand"
	. "github.com/mmcloughlin/avo/reg"
)

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
