package censor

import (
	"math"
	"testing"
)

func mustFit(t *testing.T, values []Value, f Family) *Model {
	t.Helper()
	m, err := Fit(values, f)
	if err != nil {
		t.Fatal(err)
	}
	return m
}

func param(t *testing.T, m *Model, name string) float64 {
	t.Helper()
	p, ok := m.Param(name)
	if !ok {
		t.Fatalf("no parameter %s", name)
	}
	return p.Value
}

// With rate r the likelihood of exact 2, 3, 5 and right-censored 4, 6 is r^3 exp(-20 r): scale = sum/failures = 20/3,
// log L = -3 log(scale) - 3, standard error of log scale 1/sqrt 3. With s = scale/(20/3) the deviance is
// 6 (log s + 1/s - 1), which the ends of the interval hold at z^2 = 3.841458820694124 (the 95 % point of
// chi-squared with one degree of freedom).
func TestExponentialByHand(t *testing.T) {
	m := mustFit(t, []Value{Exact(2), Exact(3), Exact(5), AtLeast(4), AtLeast(6)}, Exponential)
	near(t, "scale", param(t, m, "scale"), 20.0/3, 1e-12, 0)
	near(t, "se", m.Params[0].SE, 20/(3*math.Sqrt(3)), 1e-12, 0)
	near(t, "log L", m.LogLik, -3*math.Log(20.0/3)-3, 1e-12, 0)
	near(t, "AIC", m.AIC, 2+6*math.Log(20.0/3)+6, 1e-12, 0)
	near(t, "mean", m.Mean(), 20.0/3, 1e-12, 0)
	v, err := m.ParamInterval("scale", .95)
	if err != nil {
		t.Fatal(err)
	}
	for _, end := range []float64{v.Lo, v.Hi} {
		s := end / (20.0 / 3)
		near(t, "deviance at an end", 6*(math.Log(s)+1/s-1), 3.841458820694124, 1e-9, 0)
	}
	if !(v.Lo < 20.0/3 && v.Hi > 20.0/3) {
		t.Errorf("interval %+v", v)
	}
}

// All kinds at once, rate log 2: the derivatives of the log-likelihood by the rate are, with u = exp(-rate) = 1/2,
//
//	at most 1: u/(1-u) = 1;  from 1 to 2: -1 + 1 = 0;  at least 1: -1;  exact x: 1/log 2 - x
//
// and sum to 0 for x = 1/log 2, so that the scale is 1/log 2 too.
func TestExponentialAllKindsByHand(t *testing.T) {
	x := 1 / math.Ln2
	m := mustFit(t, []Value{AtMost(1), Between(1, 2), AtLeast(1), Exact(x)}, Exponential)
	near(t, "scale", param(t, m, "scale"), x, 1e-12, 0)
	// Bounds alone: (1-u) u (1-u) u^2 = u^3 (1-u)^2 is highest at u = 3/5.
	m = mustFit(t, []Value{AtMost(1), Between(1, 2), AtLeast(2)}, Exponential)
	near(t, "scale", param(t, m, "scale"), -1/math.Log(.6), 1e-12, 0)
	// One boundary: 2 of 6 below 3 gives exp(-3/scale) = 4/6.
	m = mustFit(t, []Value{{Lo: math.Inf(-1), Hi: 3, Count: 2}, {Lo: 3, Hi: math.Inf(1), Count: 4}}, Exponential)
	near(t, "scale", param(t, m, "scale"), 3/math.Log(1.5), 1e-12, 0)
}

// Two levels saturate a Weibull: 1 of 3 broke at 1, 2 of 3 at 2 gives (1/scale)^shape = log 1.5 and
// (2/scale)^shape = log 3.
func TestWeibullByHand(t *testing.T) {
	m := mustFit(t, []Value{AtMost(1), AtLeast(1), AtLeast(1), AtMost(2), AtMost(2), AtLeast(2)}, Weibull)
	shape := math.Log2(math.Log(3) / math.Log(1.5))
	near(t, "shape", param(t, m, "shape"), shape, 1e-10, 0)
	near(t, "scale", param(t, m, "scale"), math.Pow(math.Log(1.5), -1/shape), 1e-10, 0)
	near(t, "survival at 2", m.Survival(2), 1.0/3, 1e-10, 0)
	near(t, "quantile", m.Quantile(1.0/3), 1, 1e-10, 0)
}

// Symmetric values have mu = 0. With sigma = 1 the derivatives by sigma are x^2 - 1 for an exact x, a h(a) with
// h = phi/(1 - Phi) for a bound beyond a, and -2 b phi(b)/(2 Phi(b) - 1) for the interval from -b to b; x below makes them sum to 0.
func TestNormalAllKindsByHand(t *testing.T) {
	phi := func(z float64) float64 { return math.Exp(-z*z/2) / math.Sqrt(2*math.Pi) }
	a, b := .5, 1.0
	upper := math.Erfc(a/math.Sqrt2) / 2
	x2 := 1 - a*phi(a)/upper + b*phi(b)/math.Erf(b/math.Sqrt2)
	x := math.Sqrt(x2)
	values := []Value{Exact(x), Exact(-x), AtLeast(a), AtMost(-a), Between(-b, b)}
	m := mustFit(t, values, Normal)
	near(t, "mu", param(t, m, "mu"), 0, 0, 1e-12)
	near(t, "sigma", param(t, m, "sigma"), 1, 1e-12, 0)
	logs := make([]Value, len(values))
	for i, v := range values {
		logs[i] = Value{Lo: math.Exp(3 + 2*v.Lo), Hi: math.Exp(3 + 2*v.Hi)}
	}
	l := mustFit(t, logs, Lognormal)
	near(t, "mu", param(t, l, "mu"), 3, 1e-11, 0)
	near(t, "sigma", param(t, l, "sigma"), 2, 1e-11, 0)
	near(t, "mean", l.Mean(), math.Exp(5), 1e-10, 0)
	near(t, "median", l.Quantile(.5), math.Exp(3), 1e-10, 0)
}

// Complete normal values: the mean, the root mean square deviation s, standard errors s/sqrt n and s/sqrt(2n).
func TestNormalCompleteByHand(t *testing.T) {
	m := mustFit(t, []Value{Exact(1), Exact(2), Exact(6)}, Normal)
	s := math.Sqrt(14.0 / 3)
	near(t, "mu", param(t, m, "mu"), 3, 1e-12, 0)
	near(t, "sigma", param(t, m, "sigma"), s, 1e-12, 0)
	near(t, "se mu", m.Params[0].SE, s/math.Sqrt(3), 1e-12, 0)
	near(t, "se sigma", m.Params[1].SE, s/math.Sqrt(6), 1e-12, 0)
	// The profile of mu is n/2 log(1 + (mean - mu)^2/s^2): half-width s sqrt(exp(z^2/n) - 1).
	v, err := m.ParamInterval("mu", .95)
	if err != nil {
		t.Fatal(err)
	}
	half := s * math.Sqrt(math.Expm1(3.841458820694124/3))
	near(t, "lo", v.Lo, 3-half, 1e-9, 0)
	near(t, "hi", v.Hi, 3+half, 1e-9, 0)
}

// Two exponential groups: the coefficient is the logarithm of the ratio of sum/failures, (30/2)/(12/3); its standard
// error sqrt(1/2 + 1/3). The likelihood ratio against one group is 2 (5 log(42/5) - 3 log 4 - 2 log 15).
func TestTwoSampleByHand(t *testing.T) {
	a := []Value{Exact(2), Exact(3), Exact(7)}
	b := []Value{Exact(8), Exact(10), AtLeast(12)}
	r, err := TwoSample(a, b, Exponential)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "ratio", r.Coefficients[1], math.Log(15.0/4), 1e-11, 0)
	near(t, "se", r.SE[1], math.Sqrt(5.0/6), 1e-11, 0)
	all := append(append([]Value{}, a...), b...)
	one, err := Regress(all, [][]float64{{1}, {1}, {1}, {1}, {1}, {1}}, []string{"all"}, Exponential)
	if err != nil {
		t.Fatal(err)
	}
	lr, err := LikelihoodRatio(one, r)
	if err != nil {
		t.Fatal(err)
	}
	want := 2 * (5*math.Log(42.0/5) - 3*math.Log(4) - 2*math.Log(15))
	near(t, "likelihood ratio", lr.Statistic, want, 1e-10, 0)
	near(t, "p", lr.P, math.Erfc(math.Sqrt(want/2)), 1e-9, 0)
	// At the confidence that belongs to the likelihood ratio the interval of the coefficient ends at 0.
	v, err := r.CoefInterval(SecondOverIt, 1-lr.P)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "end", v.Lo, 0, 0, 1e-8)
}

// Kaplan-Meier by hand: 6 values, 3 seen. S(2) = 5/6, S(4) = 5/6 3/4, S(7) = 5/6 3/4 1/2;
// Greenwood at 4: S^2 (1/(6 5) + 1/(4 3)).
func TestKaplanMeierByHand(t *testing.T) {
	c, err := KaplanMeier([]Value{Exact(2), AtLeast(2), Exact(4), AtLeast(5), Exact(7), AtLeast(9)}, .95)
	if err != nil {
		t.Fatal(err)
	}
	want := []CurvePoint{{Value: 2, Survival: 5.0 / 6}, {Value: 4, Survival: 5.0 / 8}, {Value: 7, Survival: 5.0 / 16}}
	if len(c.Points) != 3 {
		t.Fatalf("%+v", c.Points)
	}
	for i, w := range want {
		near(t, "value", c.Points[i].Value, w.Value, 0, 0)
		near(t, "survival", c.Points[i].Survival, w.Survival, 1e-14, 0)
	}
	near(t, "Greenwood", c.Points[1].SE, 5.0/8*math.Sqrt(1.0/30+1.0/12), 1e-14, 0)
	near(t, "between", c.Survival(6.9), 5.0/8, 1e-14, 0)
	near(t, "before", c.Survival(1), 1, 0, 0)
}

// Masses e at 0.5, b in (1, 2], c beyond 2. Exact 0.5: e; at most 1: e; from 1 to 2: b; at most 2 from 0: e + b;
// at least 2: c. e^2 b (e + b) c is highest at c = 1/5, e = 8/15, b = 4/15.
func TestTurnbullByHand(t *testing.T) {
	c, err := Turnbull([]Value{Exact(.5), AtMost(1), Between(1, 2), Between(0, 2), AtLeast(2)}, .95)
	if err != nil {
		t.Fatal(err)
	}
	if len(c.Points) != 2 {
		t.Fatalf("%+v", c.Points)
	}
	near(t, "after .5", c.Points[0].Survival, 7.0/15, 1e-9, 0)
	near(t, "after 2", c.Points[1].Survival, 1.0/5, 1e-9, 0)
	// c is a binomial share: c (1 - c)/5 is its variance.
	near(t, "se", c.Points[1].SE, math.Sqrt(.2*.8/5), 1e-7, 0)
}

func TestSuccessRun(t *testing.T) {
	s, err := SuccessRun(22, .9)
	if err != nil {
		t.Fatal(err)
	}
	// 22 without a failure show 90 % survival at 90 % confidence: .1^(1/22) (closed form).
	near(t, "success run", s, math.Pow(.1, 1.0/22), 1e-14, 0)
}

// Survival is the curve at x: P(value > x); 1 before the first step. Within (From, Value) it is that before the step.
func (c *Curve) Survival(x float64) float64 {
	s := 1.0
	for _, p := range c.Points {
		if p.Value > x {
			break
		}
		s = p.Survival
	}
	return s
}
