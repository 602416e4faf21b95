// Package portable holds functions that give the same bits on every processor, where those of the standard library use what
// the processor at hand can do.
package portable

import "math"

// Exp is e^x for |x| up to 700, NaN beyond and for NaN; the error is below 1e-15 of the value.
//
//	x = k ln2 + 16 r, e^r - 1 by its series to r^8/8!, four times doubled by e^2r - 1 = (e^r - 1)(e^r - 1 + 2), times 2^k
//
// Every fused operation is written as one and every other product is rounded, so that no compiler has a choice. Source of
// the method: Shibata, Efficient evaluation methods of elementary functions suitable for SIMD computation, Comput.
// Sci. Res. Dev. 25 (2010) 25-32.
func Exp(x float64) float64 {
	if !(math.Abs(x) <= 700) {
		return math.NaN()
	}
	const (
		ln2Upper = 0.69314718055966295651160180568695068359375
		ln2Lower = 0.28235290563031577122588448175013436025525412068e-12
	)
	k := math.RoundToEven(x * math.Log2E)
	r := math.FMA(-ln2Lower, k, math.FMA(-ln2Upper, k, x)) * 0.0625
	s := 1.0 / 40320
	for _, c := range [...]float64{1.0 / 5040, 1.0 / 720, 1.0 / 120, 1.0 / 24, 1.0 / 6, 0.5, 1} {
		s = math.FMA(s, r, c)
	}
	y := float64(r * s)
	for range 3 {
		y = float64(y * float64(y+2))
	}
	return math.Ldexp(math.FMA(y, y+2, 1), int(k))
}
