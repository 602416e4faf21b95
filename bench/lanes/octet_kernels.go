package main

import (
	"fmt"

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
