package exact

import "math"

// NoncentralT is the distribution of (Z + Delta)/S, Z standard normal and DoF S^2 chi-square with DoF
// degrees of freedom, independent. DoF > 0 need not be whole; +Inf makes it normal.
type NoncentralT struct{ DoF, Delta float64 }

// CDF is the probability of a value up to t, with its relative accuracy kept in the lower tail:
//
//	P(T <= t) = integral Phi(t s - Delta) f(s) ds, f the density of S
//
// integrated over u = log s by the trapezoidal rule, which converges geometrically because the integrand
// falls off at both ends. Relative error below 1e-11 down to 1e-290. NaN for DoF not above 0 or any NaN, and for extremes that the rule
// does not settle on (DoF below about 0.1 or |Delta| above about 1e4 at few degrees), rather than a number without digits.
// Source of the integral: Owen, Technometrics 10 (1968) 445-478; of the rule: Trefethen and Weideman,
// SIAM Rev. 56 (2014) 385-458. The series of algorithm AS 243 is not used: it ends on an absolute error
// and loses the tails.
func (d NoncentralT) CDF(t float64) float64 { return d.tail(t, 1) }

// Survival is the probability of a value above t, with its relative accuracy kept in the upper tail.
func (d NoncentralT) Survival(t float64) float64 { return d.tail(t, -1) }

// tail is the probability that sign (T - t) is not above 0.
func (d NoncentralT) tail(t, sign float64) float64 {
	switch {
	case !(d.DoF > 0) || math.IsNaN(d.Delta) || math.IsInf(d.Delta, 0) || math.IsNaN(t):
		return math.NaN()
	case math.IsInf(t, 0):
		if (t > 0) == (sign > 0) {
			return 1
		}
		return 0
	case math.IsInf(d.DoF, 1):
		return phiTail(-sign * (t - d.Delta))
	case t == 0:
		return phiTail(sign * d.Delta)
	case t < 0:
		return NoncentralT{d.DoF, -d.Delta}.tail(-t, -sign)
	}
	g := mixture{dof: d.DoF, delta: d.Delta, t: t, sign: sign, constant: logChiConstant(d.DoF)}
	// The integrand is log-concave in s, so that it has one mode, and it is its weight that matters: 1e-19 of
	// the mode is left out at either end.
	mode := g.mode()
	lo, hi := g.edge(mode, -1), g.edge(mode, 1)
	return math.Min(1, g.integrate(lo, hi))
}

// mixture is the integrand over u = log s, for t > 0.
type mixture struct{ dof, delta, t, sign, constant float64 }

func (g mixture) log(u float64) float64 {
	return logPhi(g.sign*(g.t*math.Exp(u)-g.delta)) + g.dof*chiExponent(u) + g.constant
}

// chiExponent is u - (e^2u - 1)/2, by its series where the difference would lose digits.
func chiExponent(u float64) float64 {
	if math.Abs(u) < 1e-3 {
		return -u * u * (1 + u*(2./3+u*(1./3+u*(2./15+u*2./45))))
	}
	return u - math.Expm1(2*u)/2
}

// slope is the derivative of log.
func (g mixture) slope(u float64) float64 {
	s := math.Exp(u)
	x := g.sign * (g.t*s - g.delta)
	hazard := math.Exp(-x*x/2 - logRoot2Pi - logPhi(x))
	if x < -1e7 {
		hazard = -x
	}
	return g.dof*(1-s*s) + g.sign*g.t*s*hazard
}

func (g mixture) mode() float64 {
	// The density of S alone has its mode at u = 0; the other factor moves it up for sign 1, else down.
	step := g.sign
	for step*g.slope(step) > 0 && math.Abs(step) < 512 {
		step *= 2
	}
	return root(g.slope, math.Min(0, step), math.Max(0, step))
}

// edge is a point beyond which less than 1e-19 of the integrand's height is left.
func (g mixture) edge(mode, direction float64) float64 {
	top := g.log(mode)
	step := direction * math.Min(1, 1/math.Sqrt(g.dof))
	for top-g.log(mode+step) < 44 {
		step *= 1.5
	}
	return mode + step
}

func (g mixture) integrate(lo, hi float64) float64 {
	n := 64
	h := (hi - lo) / float64(n)
	sum := 0.0
	for i := range n + 1 {
		sum += math.Exp(g.log(lo + float64(i)*h))
	}
	last := sum * h
	for n < 1<<18 {
		for i := range n {
			sum += math.Exp(g.log(lo + (float64(i)+0.5)*h))
		}
		n, h = 2*n, h/2
		next := sum * h
		// With a geometric rate the error of the finer sum is about the square of the change.
		if math.Abs(next-last) <= 1e-9*next {
			return next
		}
		last = next
	}
	return math.NaN()
}

// logChiConstant is log(2 a^a e^-a / Gamma(a)), a = dof/2: the density of log S at s = 1. From 20 on by
// Stirling's series, where the difference of large numbers would lose digits.
func logChiConstant(dof float64) float64 {
	a := dof / 2
	if a < 20 {
		lg, _ := math.Lgamma(a)
		return math.Ln2 + a*math.Log(a) - a - lg
	}
	y := 1 / (a * a)
	series := (1./12 - y*(1./360-y*(1./1260-y*(1./1680-y/1188)))) / a
	return math.Ln2 + math.Log(a)/2 - logRoot2Pi - series
}

// Quantile is the value that T exceeds with probability 1 - p, 0 < p < 1; NaN outside, and where CDF is.
func (d NoncentralT) Quantile(p float64) float64 {
	if !(p > 0 && p < 1) || math.IsNaN(d.CDF(0)) {
		return math.NaN()
	}
	miss := func(t float64) float64 { return math.Log(d.CDF(t)) - math.Log(p) }
	if p > 0.5 {
		miss = func(t float64) float64 { return math.Log1p(-p) - math.Log(d.Survival(t)) }
	}
	start := d.Delta - normalUpper(p)
	width := 1 + math.Abs(d.Delta)/math.Sqrt(2*d.DoF)
	lo, hi := start-width, start+width
	for miss(lo) > 0 && !math.IsInf(lo, 0) {
		width *= 2
		lo, hi = lo-width, lo
	}
	for miss(hi) < 0 && !math.IsInf(hi, 0) {
		width *= 2
		lo, hi = hi, hi+width
	}
	t := root(miss, lo, hi)
	if !(math.Abs(miss(t)) < 1e-8) {
		return math.NaN()
	}
	return t
}
