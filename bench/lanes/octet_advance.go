package main

import (
	"math"

	. "github.com/mmcloughlin/avo/build"
	. "github.com/mmcloughlin/avo/operand"
	. "github.com/mmcloughlin/avo/reg"
)

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
