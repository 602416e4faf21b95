package ode

import "math"

// Value is the polynomial c[0] + c[1] t + ... + c[n] t^n, by Horner's rule.
func Value(c []float64, n int, t float64) float64 {
	c = c[:n+1]
	s := c[n]
	for k := n - 1; k >= 0; k-- {
		s = s*t + c[k]
	}
	return s
}

// Slope is the derivative of Value with respect to t.
func Slope(c []float64, n int, t float64) float64 {
	c = c[:n+1]
	s := 0.0
	for k := n; k >= 1; k-- {
		s = s*t + float64(k)*c[k]
	}
	return s
}

// LongestStep is a step over which a Taylor series of order n keeps its last two terms below eps: the
// smaller of (eps/last)^(1/n) and (eps/lastButOne)^(1/(n-1)), within 1 %, where last and lastButOne
// are the magnitudes of the coefficients n and n-1 in units in which eps is the error allowed. It is
// larger than 1e14 when both vanish.
//
// Source: Jorba and Zou, A software package for the numerical integration of ODEs by means of
// high-order Taylor methods, Experimental Mathematics 14 (2005), section 3.2, with the tolerance
// inside the root instead of a separate choice of the order.
func LongestStep(last, lastButOne float64, n int, eps float64) float64 {
	t := RoughLog2(eps)
	return RoughExp2(min((t-RoughLog2(last))/float64(n), (t-RoughLog2(lastButOne))/float64(n-1)))
}

// RoughLog2 is the logarithm of |x| to base 2, read off the exponent with the mantissa as a straight
// line: it is low by up to 0.086. Zero gives -1023.
func RoughLog2(x float64) float64 {
	return float64(math.Float64bits(x)&^(1<<63))*0x1p-52 - 1023
}

// RoughExp2 is 2^y within 0.4 %, for -1022 <= y < 1023; y is held to that range.
func RoughExp2(y float64) float64 {
	y = min(max(y, -1022), 1022.9)
	whole := math.Floor(y)
	f := y - whole
	return math.Float64frombits(uint64(int64(whole)+1023)<<52) * (1 + f*(0.6564+f*0.3436))
}
