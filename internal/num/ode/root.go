package ode

import "math"

// Root finds where f crosses zero between a and b, given fa = f(a) and fb = f(b) of opposite sign,
// to within tol or the last bit of the abscissa, whichever is wider. The result is the end of the
// last bracket that lies on b's side, so that f has the sign of fb there (or is zero).
//
// It panics when fa and fb have the same sign. Source: Chandrupatla, A new hybrid quadratic/bisection
// algorithm for finding the zero of a nonlinear function without using derivatives, Advances in
// Engineering Software 28 (1997) 145-149.
func Root(f func(float64) float64, a, b, fa, fb, tol float64) float64 {
	if fb == 0 {
		return b
	}
	if fa == 0 {
		return a
	}
	if (fa > 0) == (fb > 0) {
		panic("ode: Root needs a change of sign")
	}
	side := fb > 0
	// x1 is the newest point, x2 the other end of the bracket, x3 the point before.
	x1, x2, f1, f2 := b, a, fb, fa
	var x3, f3 float64
	t := 0.5
	for range 200 {
		x := x1 + t*(x2-x1)
		y := f(x)
		if (y > 0) == (f1 > 0) {
			x3, f3 = x1, f1
		} else {
			x3, f3 = x2, f2
			x2, f2 = x1, f1
		}
		x1, f1 = x, y
		if f1 == 0 {
			return x1
		}
		width := math.Abs(x2 - x1)
		limit := tol + 2*math.Max(math.Abs(x1), math.Abs(x2))*0x1p-53
		if width <= limit {
			break
		}
		t = 0.5
		xi, phi := (x1-x2)/(x3-x2), (f1-f2)/(f3-f2)
		if phi*phi < xi && (1-phi)*(1-phi) < 1-xi {
			al := (x3 - x1) / (x2 - x1)
			t = f1/(f2-f1)*f3/(f2-f3) + al*f1/(f3-f1)*f2/(f3-f2)
			edge := 0.5 * limit / width
			t = math.Min(1-edge, math.Max(edge, t))
		}
	}
	if (f1 > 0) == side {
		return x1
	}
	return x2
}
