package exact

import "math"

// root is where f, continuous, passes 0 between lo and hi, to the last digits of x. Where f has one sign
// over both ends, the end nearer to 0 is given: callers bracket first. Where f has no
// value the search ends there. Source: Chandrupatla, Adv. Eng.
// Software 28 (1997) 145-149.
func root(f func(float64) float64, lo, hi float64) float64 {
	a, b := hi, lo
	fa, fb := f(a), f(b)
	if (fa > 0) == (fb > 0) && fa != 0 && fb != 0 {
		if math.Abs(fa) < math.Abs(fb) {
			return a
		}
		return b
	}
	t := 0.5
	for range 200 {
		x := a + t*(b-a)
		fx := f(x)
		if math.IsNaN(fx) {
			return x
		}
		var c, fc float64 // the end that x replaces, or the older one
		if (fx > 0) == (fa > 0) {
			c, fc = a, fa
		} else {
			c, fc, b, fb = b, fb, a, fa
		}
		a, fa = x, fx
		best := a
		if math.Abs(fb) < math.Abs(fa) {
			best = b
		}
		tol := 4*math.Abs(best)*0x1p-52 + 1e-300
		if math.Abs(b-a) <= tol || fa == 0 || fb == 0 {
			return best
		}
		t = interpolate(a, b, c, fa, fb, fc)
		edge := tol / math.Abs(b-a) / 2
		t = math.Min(1-edge, math.Max(edge, t))
	}
	return a
}

// interpolate is the next fraction of the way from a to b: inverse quadratic where that is safe, else half.
func interpolate(a, b, c, fa, fb, fc float64) float64 {
	xi, phi := (a-b)/(c-b), (fa-fb)/(fc-fb)
	if phi*phi < xi && (1-phi)*(1-phi) < 1-xi {
		return fa/(fb-fa)*fc/(fb-fc) + (c-a)/(b-a)*fa/(fc-fa)*fb/(fc-fb)
	}
	return 0.5
}
