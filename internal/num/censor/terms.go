package censor

import "math"

// slopes1 is a log-likelihood term that depends on one standard value z, with its first and second
// derivative by z.
type slopes1 struct{ l, d1, d2 float64 }

// slopes2 is a term that depends on two, a below b.
type slopes2 struct{ l, da, db, daa, dab, dbb float64 }

func densityTerm(extreme bool, z float64) slopes1 {
	if extreme {
		w := math.Exp(z)
		return slopes1{z - w, 1 - w, -w}
	}
	return slopes1{-z*z/2 - logRoot2Pi, -z, -1}
}

// aboveTerm is log P(e > z).
func aboveTerm(extreme bool, z float64) slopes1 {
	if extreme {
		w := math.Exp(z)
		return slopes1{-w, -w, -w}
	}
	h, s := normalHazard(z)
	return slopes1{logNormalTail(z), -h, -s}
}

// belowTerm is log P(e <= z).
func belowTerm(extreme bool, z float64) slopes1 {
	if !extreme {
		h, s := normalHazard(-z)
		return slopes1{logNormalTail(-z), h, -s}
	}
	w := math.Exp(z)
	switch {
	case w > 700:
		return slopes1{0, 0, 0}
	case w < 1e-5:
		// w/expm1(w) = 1 - w/2 + w^2/12: to the second order, free of cancellation.
		r := 1 - w/2 + w*w/12
		return slopes1{z - w/2 + w*w/24, r, -w / 2 * (1 - w/3)}
	}
	r := w / math.Expm1(w)
	return slopes1{logExtremeCumulative(z), r, r * (1 - w - r)}
}

// bendTerm is f”/f of the density f, with its derivatives.
func bendTerm(extreme bool, z float64) slopes1 {
	if extreme {
		w := math.Exp(z)
		return slopes1{1 - 3*w + w*w, w * (2*w - 3), w * (4*w - 3)}
	}
	return slopes1{z*z - 1, 2 * z, 2}
}

// betweenTerm is log P(a < e <= b), b = a + wide. With f the density and D the probability, the derivatives are
//
//	by b: f(b)/D, by a: -f(a)/D, by bb: f'(b)/D - (f(b)/D)^2, by aa: -f'(a)/D - (f(a)/D)^2, by ab: f(a) f(b)/D^2
func betweenTerm(extreme bool, a, wide float64) slopes2 {
	b := a + wide
	var l, fa, fb, sa, sb float64
	if extreme {
		wa, wb := math.Exp(a), math.Exp(b)
		l = logExtremeBetween(a, b)
		fa, fb = math.Exp(a-wa-l), 0.0
		if !math.IsInf(wb, 1) {
			fb, sb = math.Exp(b-wb-l), 1-wb
		}
		sa = 1 - wa
	} else {
		l = logNormalBetween(a, b)
		fa, fb = math.Exp(-a*a/2-logRoot2Pi-l), math.Exp(-b*b/2-logRoot2Pi-l)
		sa, sb = -a, -b
	}
	return slopes2{l, -fa, fb, -fa*sa - fa*fa, fa * fb, fb*sb - fb*fb}
}
