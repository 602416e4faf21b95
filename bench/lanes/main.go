// Command lanes writes the unrolled Taylor recurrence of the short way: as portable Go for one drop
// (fast_series.go) and as AVX2 assembly for eight drops in lockstep (lanes_amd64.s and its stub).
//
// Run it in this folder:
//
//	go run . -go ../../internal/arrest/fast_series.go -out ../../internal/arrest/lanes_amd64.s -stubs ../../internal/arrest/lanes_stub_amd64.go -pkg arrest
package main

import (
	"flag"
	"fmt"
	"go/format"
	"log"
	"os"
	"strings"

	. "github.com/mmcloughlin/avo/build"
	. "github.com/mmcloughlin/avo/operand"
	. "github.com/mmcloughlin/avo/reg"
)

// order is fastOrder of package arrest.
const order = 12

var (
	goFile = flag.String("go", "", "write Go to this `file`")
	set    = flag.String("set", "race", "`which` code: race, of the short way, or octet, of the full set of elements")
)

func main() {
	flag.Parse()
	if *set == "octet" {
		if err := os.WriteFile(*goFile, octetStruct(), 0o644); err != nil {
			log.Fatal(err)
		}
		ConstraintExpr("!purego")
		for _, zmm := range []bool{false, true} {
			expandOctet(zmm)
			advanceOctet(zmm)
		}
		Generate()
		return
	}
	if err := os.WriteFile(*goFile, portable(), 0o644); err != nil {
		log.Fatal(err)
	}
	ConstraintExpr("!purego")
	recip := GLOBL("laneReciprocal", 8|16)
	for k := 1; k <= order; k++ {
		DATA((k-1)*8, F64(1/float64(k)))
	}
	two := GLOBL("laneTwo", 8|16)
	DATA(0, F64(2))
	three := GLOBL("laneThree", 8|16)
	DATA(0, F64(3))
	expand(recip, two, three)
	advance(three)
	eight(recip, false)
	eight(recip, true)
	sums(false)
	sums(true)
	Generate()
}

// Fields of the struct lanes in their order; each is eight float64.
const (
	fE = iota
	fV
	fZ
	fF
	fD
	fH
	fStiff
	fE3
	fEM
	fRate
	fFlex
	fLength
	fPerMass
	fG
	fields
)

const row = 64

// array offsets after the fields.
const (
	aE = fields * row
	aS = aE + (order+1)*row
	aF = aS + (order+1)*row
	aV = aF + (order+1)*row
	aZ = aV + (order+1)*row
)

// half addresses lanes 4h to 4h+3 of a field or of coefficient k of an array.
func field(p Register, f, h int) Mem   { return Mem{Base: p, Disp: f*row + h*32} }
func coef(p Register, a, k, h int) Mem { return Mem{Base: p, Disp: a + k*row + h*32} }

func expand(recip, two, three Mem) {
	TEXT("expandLanes", NOSPLIT, "func(p *float64)")
	Doc("expandLanes computes the series of eight drops about their present states.")
	p := Load(Param("p"), GP64())
	base := p.(Register)
	var acc, kk, inv [2]VecVirtual // acceleration, dF/de, 1/(length + k flex)
	for h := range 2 {
		e, sq, f, t := YMM(), YMM(), YMM(), YMM()
		acc[h], kk[h], inv[h] = YMM(), YMM(), YMM()
		VMOVUPD(field(base, fE, h), e)
		VMOVUPD(e, coef(base, aE, 0, h))
		VMULPD(e, e, sq)
		VMOVUPD(sq, coef(base, aS, 0, h))
		VMOVUPD(field(base, fV, h), t)
		VMOVUPD(t, coef(base, aV, 0, h))
		VMOVUPD(field(base, fZ, h), t)
		VMOVUPD(t, coef(base, aZ, 0, h))
		// f = e (stiff + e3 e^2) - z; k = stiff + 3 e3 e^2
		VMULPD(field(base, fE3, h), sq, sq)
		VMOVUPD(field(base, fStiff, h), f)
		VADDPD(sq, f, f)
		VFMSUB213PD(t, e, f) // f = f*e - z
		VMOVUPD(f, coef(base, aF, 0, h))
		VBROADCASTSD(three, t)
		VMOVUPD(field(base, fStiff, h), kk[h])
		VFMADD231PD(sq, t, kk[h])
		// inv = 1/(length + k flex)
		VMOVUPD(field(base, fLength, h), t)
		VFMADD231PD(field(base, fFlex, h), kk[h], t)
		one := YMM()
		VBROADCASTSD(recip, one)
		VDIVPD(t, one, inv[h])
		// a = g - f/m
		VMOVUPD(field(base, fG, h), acc[h])
		VFNMADD231PD(field(base, fPerMass, h), f, acc[h])
	}
	for k := 0; k < order; k++ {
		for h := range 2 {
			term(base, recip, two, k, h, acc[h], kk[h], inv[h])
		}
	}
	VZEROUPPER()
	RET()
}

// term computes order k+1 of half h.
func term(p Register, recip, two Mem, k, h int, acc, kk, inv VecVirtual) {
	r, x, z, e, s, c, t := YMM(), YMM(), YMM(), YMM(), YMM(), YMM(), YMM()
	VBROADCASTSD(recip.Offset(k*8), r)
	// x = v_k r ; v_{k+1} = a r
	VMULPD(coef(p, aV, k, h), r, x)
	VMULPD(acc, r, t)
	VMOVUPD(t, coef(p, aV, k+1, h))
	// z_{k+1} = (em e_k - z_k) rate r
	VMOVUPD(coef(p, aE, k, h), z)
	VMOVUPD(coef(p, aZ, k, h), t)
	VFMSUB132PD(field(p, fEM, h), t, z)
	VMULPD(field(p, fRate, h), z, z)
	VMULPD(r, z, z)
	VMOVUPD(z, coef(p, aZ, k+1, h))
	rest := YMM()
	if k == 0 {
		VXORPD(s, s, s)
		VXORPD(rest, rest, rest)
		VSUBPD(z, rest, rest)
	} else {
		inner(p, two, k+1, h, s, c)
		// rest = e3 (e0 s + c) - z
		VFMADD231PD(coef(p, aE, 0, h), s, c)
		VMOVUPD(field(p, fE3, h), rest)
		VFMSUB213PD(z, c, rest)
	}
	// e_{k+1} = (x - rest flex) inv
	VMOVAPD(x, e)
	VFNMADD231PD(field(p, fFlex, h), rest, e)
	VMULPD(inv, e, e)
	VMOVUPD(e, coef(p, aE, k+1, h))
	// s_{k+1} = 2 e0 e + s
	VBROADCASTSD(two, t)
	VMULPD(coef(p, aE, 0, h), t, t)
	VFMADD231PD(e, t, s)
	VMOVUPD(s, coef(p, aS, k+1, h))
	// f_{k+1} = k e + rest ; a = -f/m
	VFMADD231PD(kk, e, rest)
	VMOVUPD(rest, coef(p, aF, k+1, h))
	VXORPD(acc, acc, acc)
	VFNMADD231PD(field(p, fPerMass, h), rest, acc)
}

// inner computes s = sum e_i e_{n-i} and c = sum e_i s_{n-i}, 0 < i < n, the newest terms last.
func inner(p Register, two Mem, n, h int, s, c VecVirtual) {
	d := YMM()
	VXORPD(s, s, s)
	VXORPD(c, c, c)
	VXORPD(d, d, d)
	e := YMM()
	for _, i := range oldestFirst(n) {
		VMOVUPD(coef(p, aE, i, h), e)
		if 2*i < n {
			VFMADD231PD(coef(p, aE, n-i, h), e, s)
		}
		if i%2 == 0 {
			VFMADD231PD(coef(p, aS, n-i, h), e, c)
		} else {
			VFMADD231PD(coef(p, aS, n-i, h), e, d)
		}
	}
	VADDPD(d, c, c)
	VADDPD(s, s, s)
	if n%2 == 0 {
		VMOVUPD(coef(p, aE, n/2, h), e)
		VFMADD231PD(e, e, s)
	}
}

// oldestFirst lists 1..n-1 so that the pairs that hold the highest coefficients come last.
func oldestFirst(n int) []int {
	var list []int
	for i := n / 2; i >= 1; i-- {
		list = append(list, i)
		if n-i != i {
			list = append(list, n-i)
		}
	}
	return list
}

func advance(three Mem) {
	TEXT("advanceLanes", NOSPLIT, "func(p *float64)")
	Doc("advanceLanes moves the eight states by h and finds the force f and its rate d there.")
	p := Load(Param("p"), GP64()).(Register)
	var e, v, z, hh [2]VecVirtual
	for h := range 2 {
		e[h], v[h], z[h], hh[h] = YMM(), YMM(), YMM(), YMM()
		VMOVUPD(coef(p, aE, order, h), e[h])
		VMOVUPD(coef(p, aV, order, h), v[h])
		VMOVUPD(coef(p, aZ, order, h), z[h])
		VMOVUPD(field(p, fH, h), hh[h])
	}
	for k := order - 1; k >= 0; k-- {
		for h := range 2 {
			VFMADD213PD(coef(p, aE, k, h), hh[h], e[h])
			VFMADD213PD(coef(p, aV, k, h), hh[h], v[h])
			VFMADD213PD(coef(p, aZ, k, h), hh[h], z[h])
		}
	}
	for h := range 2 {
		VMOVUPD(e[h], field(p, fE, h))
		VMOVUPD(v[h], field(p, fV, h))
		VMOVUPD(z[h], field(p, fZ, h))
		sq, f, k, zs, t := YMM(), YMM(), YMM(), YMM(), YMM()
		VMULPD(e[h], e[h], sq)
		VMULPD(field(p, fE3, h), sq, sq)
		VMOVUPD(field(p, fStiff, h), f)
		VMOVAPD(f, k)
		VADDPD(sq, f, f)
		VFMSUB213PD(z[h], e[h], f)
		VMOVUPD(f, field(p, fF, h))
		VBROADCASTSD(three, t)
		VFMADD231PD(sq, t, k)
		// zs = (em e - z) rate ; es = (v + zs flex)/(length + k flex) ; d = k es - zs
		VMOVAPD(e[h], zs)
		VFMSUB132PD(field(p, fEM, h), z[h], zs)
		VMULPD(field(p, fRate, h), zs, zs)
		VFMADD231PD(field(p, fFlex, h), zs, v[h])
		VMOVUPD(field(p, fLength, h), t)
		VFMADD231PD(field(p, fFlex, h), k, t)
		VDIVPD(t, v[h], v[h])
		VFMSUB213PD(zs, k, v[h])
		VMOVUPD(v[h], field(p, fD, h))
	}
	VZEROUPPER()
	RET()
}

// eight evaluates one polynomial, or its derivative, at eight places together by Horner's rule.
func eight(one Mem, slopes bool) {
	name, what := "eightValuesVector", "a series"
	if slopes {
		name, what = "eightSlopesVector", "the derivative of a series"
	}
	TEXT(name, NOSPLIT, "func(c *float64, n int, t, out *float64)")
	Pragma("noescape")
	Doc(name + " evaluates " + what + " of order n >= 1 at eight times together.")
	c, n := Load(Param("c"), GP64()).(Register), Load(Param("n"), GP64())
	t, out := Load(Param("t"), GP64()).(Register), Load(Param("out"), GP64()).(Register)
	ta, tb, a, b, s := YMM(), YMM(), YMM(), YMM(), YMM()
	VMOVUPD(Mem{Base: t}, ta)
	VMOVUPD(Mem{Base: t, Disp: 32}, tb)
	factor, step := YMM(), YMM()
	next := func() {
		VBROADCASTSD(Mem{Base: c, Index: n, Scale: 8}, s)
		if slopes {
			VMULPD(factor, s, s)
			VSUBPD(step, factor, factor)
		}
	}
	if slopes {
		x := XMM()
		VXORPD(x, x, x)
		VCVTSI2SDQ(n, x, x)
		VBROADCASTSD(x, factor)
		VBROADCASTSD(one, step)
	}
	next()
	VMOVAPD(s, a)
	VMOVAPD(s, b)
	last := int8(0)
	if slopes {
		last = 1
	}
	Label("loop")
	DECQ(n)
	CMPQ(n, Imm(uint64(last)))
	JLT(LabelRef("done"))
	next()
	VFMADD213PD(s, ta, a)
	VFMADD213PD(s, tb, b)
	JMP(LabelRef("loop"))
	Label("done")
	VMOVUPD(a, Mem{Base: out})
	VMOVUPD(b, Mem{Base: out, Disp: 32})
	VZEROUPPER()
	RET()
}

// sums adds up products four at a time, of the coefficients or of their magnitudes.
func sums(magnitudes bool) {
	name, what := "dotVector", "c[k] p[k]"
	if magnitudes {
		name, what = "spreadVector", "|c[k]| p[k]"
	}
	TEXT(name, NOSPLIT, "func(c, p *float64, blocks int) float64")
	Pragma("noescape")
	Doc(name + " is the sum of " + what + " for k = 0 to 4 blocks - 1.")
	c, p := Load(Param("c"), GP64()).(Register), Load(Param("p"), GP64()).(Register)
	n := Load(Param("blocks"), GP64())
	a, x, mask := YMM(), YMM(), YMM()
	VXORPD(a, a, a)
	if magnitudes {
		VPCMPEQD(mask, mask, mask)
		VPSRLQ(Imm(1), mask, mask)
	}
	Label("loop")
	VMOVUPD(Mem{Base: c}, x)
	if magnitudes {
		VANDPD(mask, x, x)
	}
	VFMADD231PD(Mem{Base: p}, x, a)
	ADDQ(Imm(32), c)
	ADDQ(Imm(32), p)
	DECQ(n)
	JNZ(LabelRef("loop"))
	hi := XMM()
	VEXTRACTF128(Imm(1), a, hi)
	VADDPD(a.AsX(), hi, hi)
	hi2 := XMM()
	VUNPCKHPD(hi, hi, hi2)
	VADDSD(hi, hi2, hi)
	VZEROUPPER()
	Store(hi, ReturnIndex(0))
	RET()
}

// portable writes the recurrence for one drop as straight Go.
func portable() []byte {
	var b strings.Builder
	w := func(f string, a ...any) { fmt.Fprintf(&b, f, a...) }
	w("// Code generated by bench/lanes. DO NOT EDIT.\n\npackage arrest\n\n")
	w("// fastOrder is the order of the Taylor series of the short way.\nconst fastOrder = %d\n\n", order)
	w("// expand computes the series about the present state.\nfunc (f *fast) expand() {\n")
	w("e0, flex, rate, em, cubic := f.e, f.flex, f.rate, f.em, f.e3\ns0 := e0*e0\nk := f.stiff + 3*cubic*s0\ninv := 1/(f.length + k*flex)\ntwice := 2*e0\n")
	w("f0 := e0*(f.stiff + s0*cubic) - f.z\nv0, z0, perMass := f.v, f.z, f.perMass\nf.ce[0], f.cf[0], f.cv[0], f.cz[0] = e0, f0, v0, z0\n")
	for k := 0; k < order; k++ {
		n := k + 1
		g := ""
		if k == 0 {
			g = "f.g"
		}
		w("v%d := (%s - f%d*perMass)*(1.0/%d)\n", n, g, k, n)
		w("z%d := (em*e%d - z%d)*rate*(1.0/%d)\n", n, k, k, n)
		if k == 0 {
			w("r1 := -z1\n")
		} else {
			var s, c []string
			for _, i := range oldestFirst(n) {
				if 2*i < n {
					s = append(s, fmt.Sprintf("e%d*e%d", i, n-i))
				}
				c = append(c, fmt.Sprintf("e%d*s%d", i, n-i))
			}
			sum := "2*(" + strings.Join(s, "+") + ")"
			if n%2 == 0 {
				sq := fmt.Sprintf("e%d*e%d", n/2, n/2)
				if len(s) == 0 {
					sum = sq
				} else {
					sum += "+" + sq
				}
			}
			half := (len(c) + 1) / 2
			cs := "(" + strings.Join(c[:half], "+") + ")"
			if half < len(c) {
				cs += "+(" + strings.Join(c[half:], "+") + ")"
			}
			w("p%d := %s\n", n, sum)
			w("r%d := cubic*(e0*p%d + (%s)) - z%d\n", n, n, cs, n)
		}
		w("e%d := (v%d*(1.0/%d) - r%d*flex)*inv\n", n, k, n, n)
		if k == 0 {
			w("s1 := twice*e1\n")
		} else if n < order {
			w("s%d := twice*e%d + p%d\n", n, n, n)
		}
		w("f%d := k*e%d + r%d\n", n, n, n)
		w("f.ce[%d], f.cf[%d], f.cv[%d], f.cz[%d] = e%d, f%d, v%d, z%d\n", n, n, n, n, n, n, n, n)
	}
	w("}\n")
	out, err := format.Source([]byte(b.String()))
	if err != nil {
		log.Fatalf("%v\n%s", err, b.String())
	}
	return out
}
