package main

import (
	"fmt"
	"math"

	. "github.com/mmcloughlin/avo/build"
	. "github.com/mmcloughlin/avo/operand"
	. "github.com/mmcloughlin/avo/reg"
)

// reach finds the steps: see solver.reach.
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
