package censor

import (
	"fmt"
	"math"
	"slices"
)

// Param is a parameter of a fitted model with its standard error from the observed information, on the
// natural scale of the parameter.
type Param struct {
	Name      string
	Value, SE float64
}

// Model is a distribution fitted to values of which some are censored.
type Model struct {
	Family Family
	Counts
	// Params are shape and scale (Weibull), mu and sigma (lognormal, of log T; normal) or scale (exponential).
	Params []Param
	Cov    [][]float64 // covariance of the parameters, in their order
	LogLik float64     // of the values themselves (not of their logarithms)
	AIC    float64     // 2 (number of parameters) - 2 LogLik
	// Warnings are sentences on what makes this result doubtful.
	Warnings []string

	dist located
	pr   *problem
	fit  *solver
	data []Value
}

// Fit is the maximum-likelihood fit of a family to values with any kind of censoring. The standard errors
// come from the observed information. Values of one distribution other than normal are above 0, in any
// unit. It fails with a sentence (ErrNotIdentified) when no estimate exists: fewer than two different
// values, all held, a point common to all; and with ErrValue for an impossible value. Source: Meeker and
// Escobar, Statistical Methods for Reliability Data, 1998, ch. 7 and 8 (recalled).
func Fit(values []Value, f Family) (*Model, error) {
	if err := checkFamily(f); err != nil {
		return nil, err
	}
	if err := shared(values, f); err != nil {
		return nil, err
	}
	ones := []float64{1}
	design := make([][]float64, len(values))
	for i := range design {
		design[i] = ones
	}
	pr, err := prepare(values, design, []string{"location"}, f)
	if err != nil {
		return nil, err
	}
	s, err := pr.seek()
	if err != nil {
		return nil, fmt.Errorf("%s fit: %w", f, err)
	}
	m := &Model{Family: f, Counts: pr.counts, pr: pr, fit: s, data: slices.Clone(values)}
	b, sigma := pr.estimates(s.phi)
	m.dist = located{family: f, mu: b[0], sigma: sigma}
	m.LogLik = pr.logLik(s)
	m.AIC = 2*float64(pr.q.free()) - 2*m.LogLik
	m.describe(pr.covariance(s))
	for _, p := range m.Params {
		if !(p.SE < math.Inf(1)) || math.IsInf(p.Value, 0) {
			return nil, failf(ErrNotIdentified, "%s fit: %s would lie outside the range of numbers (sigma %.3g); the values hardly order by size. Look for exchanged results, or test more specimens", f, p.Name, sigma)
		}
	}
	m.doubts()
	return m, nil
}

func checkFamily(f Family) error {
	if f < 0 || int(f) >= len(familyNames) {
		return failf(ErrArgument, "distribution number %d is not known", int(f))
	}
	return nil
}

// estimates takes phi to the coefficients and sigma.
func (pr *problem) estimates(phi []float64) (b []float64, sigma float64) {
	p := pr.q.p
	sigma = pr.unit / phi[p]
	if pr.q.fixed {
		sigma = 1
	}
	b = pr.toCoefficients(phi)
	for j := range b {
		b[j] = pr.base[j] + b[j]*sigma
	}
	return b, sigma
}

// logLik is the log-likelihood of the values on their own scale.
func (pr *problem) logLik(s *solver) float64 {
	l := s.logLik - pr.seen*math.Log(pr.unit)
	if pr.family.onLog() {
		l -= pr.sumSeen
	}
	return l
}

// covariance is the inverse information of (coefficients, sigma) on the working scale; without sigma for the
// exponential.
func (pr *problem) covariance(s *solver) [][]float64 {
	p, n, m := pr.q.p, pr.q.free(), pr.q.dim()
	// Rows of the Jacobian: d b/d gamma = R^-1 unit/theta, d b/d theta = -(b - base)/theta, d sigma/d theta = -sigma/theta.
	theta := s.phi[p]
	jac := make([][]float64, n)
	unit := make([]float64, p)
	shift := pr.toCoefficients(s.phi)
	for j := range jac {
		jac[j] = make([]float64, m)
	}
	for k := range p {
		clear(unit)
		unit[k] = 1
		for j, v := range pr.toCoefficients(unit) {
			jac[j][k] = v * pr.unit / theta
		}
	}
	if !pr.q.fixed {
		for j := range p {
			jac[j][p] = -shift[j] * pr.unit / (theta * theta)
		}
		jac[p][p] = -pr.unit / (theta * theta)
	}
	solved := make([][]float64, n)
	for j := range n {
		solved[j] = make([]float64, m)
		choleskySolve(solved[j], s.factor, jac[j], n, m)
	}
	cov := make([][]float64, n)
	for j := range n {
		cov[j] = make([]float64, n)
		for k := range n {
			cov[j][k] = dot(jac[j][:n], solved[k][:n])
		}
	}
	return cov
}

// describe sets the natural parameters from the covariance of (mu, sigma).
func (m *Model) describe(cov [][]float64) {
	mu, sigma := m.dist.mu, m.dist.sigma
	switch m.Family {
	case Exponential:
		scale := math.Exp(mu)
		m.Cov = [][]float64{{cov[0][0] * scale * scale}}
		m.Params = []Param{{"scale", scale, scale * math.Sqrt(cov[0][0])}}
	case Weibull:
		shape, scale := 1/sigma, math.Exp(mu)
		ds, dm := -shape*shape, scale
		m.Cov = [][]float64{{cov[1][1] * ds * ds, cov[0][1] * ds * dm}, {cov[0][1] * ds * dm, cov[0][0] * dm * dm}}
		m.Params = []Param{{"shape", shape, math.Sqrt(m.Cov[0][0])}, {"scale", scale, math.Sqrt(m.Cov[1][1])}}
	default:
		m.Cov = cov
		m.Params = []Param{{"mu", mu, math.Sqrt(cov[0][0])}, {"sigma", sigma, math.Sqrt(cov[1][1])}}
	}
}

// doubts writes the warnings.
func (m *Model) doubts() {
	m.Warnings = nil
	warn := func(format string, args ...any) { m.Warnings = append(m.Warnings, fmt.Sprintf(format, args...)) }
	if m.pr.q.blankTerm > 0 {
		warn("%d of %d values are bounds that every %s variable keeps (at least 0); they add nothing.", m.pr.q.blankTerm, m.N, m.Family)
	}
	told := m.N - m.Right
	switch {
	case m.fit.calibrated && m.tooFewSeen():
		warn("Only %s of %d values is more than a lower bound: the scatter is not known, so that no interval is given.", countWord(told), m.N)
	case m.fit.calibrated && told < 5:
		warn("Only %s of %d values are more than a lower bound: the intervals allow for that, but lean wholly on the %s distribution, which so few cannot show.", countWord(told), m.N, m.Family)
	case m.fit.calibrated:
	case told < 5:
		warn("Only %d of %d values are more than a lower bound: the shape of the distribution is hardly known, and a 95 %% interval covers less than 95 %%.", told, m.N)
	case m.N < 10:
		warn("With %d values a 95 %% interval covers somewhat less than 95 %%.", m.N)
	}
	if m.Family != Exponential && m.sigmaSE() > m.dist.sigma {
		warn("The scatter is hardly determined: the standard error of sigma is larger than sigma itself. Read the intervals, not the estimates.")
	}
	least := math.Inf(1)
	for _, v := range m.data {
		if !math.IsInf(v.Lo, -1) {
			least = min(least, v.Lo)
		}
	}
	if m.Family == Normal && least > 0 {
		if below := m.CDF(0); below > 1e-3 {
			warn("The normal distribution puts %.2g of its probability below 0, where no value can lie; low quantiles are then too low. Weibull or lognormal stay above 0.", below)
		}
	}
}

// sigmaSE is the standard error of sigma, for the families that have one.
func (m *Model) sigmaSE() float64 {
	if m.Family == Weibull {
		return m.Params[0].SE * m.dist.sigma * m.dist.sigma
	}
	return m.Params[1].SE
}

// CDF is the probability of a value up to x.
func (m *Model) CDF(x float64) float64 { return m.dist.cdf(x) }

// Survival is the probability of a value above x, good in its far tail too.
func (m *Model) Survival(x float64) float64 { return m.dist.survival(x) }

// LogDensity is the logarithm of the density at x, per unit of x; -Inf outside the range.
func (m *Model) LogDensity(x float64) float64 { return m.dist.logDensity(x) }

// Quantile is the value below which the fraction p lies; p from 0 to 1, otherwise it panics.
func (m *Model) Quantile(p float64) float64 {
	if !(p >= 0 && p <= 1) {
		panic(fmt.Sprintf("censor: quantile of probability %g", p))
	}
	return m.dist.quantile(p)
}

// Mean is the expected value.
func (m *Model) Mean() float64 { return m.dist.mean() }

// Param is the parameter of that name.
func (m *Model) Param(name string) (Param, bool) {
	for _, p := range m.Params {
		if p.Name == name {
			return p, true
		}
	}
	return Param{}, false
}

// ParamInterval is the profile-likelihood interval of a parameter by its name in Params.
func (m *Model) ParamInterval(name string, confidence float64) (Interval, error) {
	if _, ok := m.Param(name); !ok {
		return Interval{}, failf(ErrArgument, "%s has no parameter %q", m.Family, name)
	}
	switch name {
	case "shape":
		v, err := m.pr.intervalOf(m.fit, &functional{kind: precision}, confidence)
		if err != nil {
			return v, err
		}
		return v.through(func(t float64) float64 { return t / m.pr.unit }).settle("shape", 0, math.Inf(1)), nil
	case "sigma":
		return sigmaInterval(m.pr, m.fit, confidence)
	}
	v, err := m.pr.ratioInterval(m.fit, []float64{1}, 0, confidence)
	if err != nil {
		return v, err
	}
	if name == "scale" {
		return v.through(math.Exp).settle("scale", 0, math.Inf(1)), nil
	}
	return v.settle(name, math.Inf(-1), math.Inf(1)), nil
}

func sigmaInterval(pr *problem, fit *solver, confidence float64) (Interval, error) {
	v, err := pr.intervalOf(fit, &functional{kind: precision}, confidence)
	if err != nil {
		return v, err
	}
	v = v.through(func(t float64) float64 { return pr.unit / max(t, 0) }).turned()
	return v.settle("sigma", 0, math.Inf(1)), nil
}

// ratioInterval is the interval of c.b + sigma z on the working scale, open ends at infinity.
func (pr *problem) ratioInterval(fit *solver, c []float64, z, confidence float64) (Interval, error) {
	f := &functional{kind: ratio, c: pr.toColumns(c), z: z}
	v, err := pr.intervalOf(fit, f, confidence)
	if err != nil {
		return v, err
	}
	base := dot(c, pr.base)
	return v.through(func(t float64) float64 { return base + pr.unit*t }), nil
}

// survivalInterval is the interval of P(value > x) at the combination c.
func (pr *problem) survivalInterval(fit *solver, c []float64, x, confidence float64) (Interval, error) {
	y := pr.family.work(x)
	if math.IsInf(y, 0) || math.IsNaN(y) {
		return Interval{}, failf(ErrArgument, "the survival at %g needs no data for a %s distribution; ask for a value inside its range", x, pr.family)
	}
	f := &functional{kind: tail, c: pr.toColumns(c), y: (y - dot(c, pr.base)) / pr.unit}
	v, err := pr.intervalOf(fit, f, confidence)
	if err != nil {
		return v, err
	}
	v = v.through(func(z float64) float64 { return math.Exp(pr.family.logSurvival(z)) }).turned()
	return v.settle("survival", 0, 1), nil
}

// QuantileInterval is the profile-likelihood interval of the p quantile, 0 < p < 1.
func (m *Model) QuantileInterval(p, confidence float64) (Interval, error) {
	if err := checkProbability(p); err != nil {
		return Interval{}, err
	}
	v, err := m.pr.ratioInterval(m.fit, []float64{1}, m.Family.standardQuantile(p), confidence)
	if err != nil {
		return v, err
	}
	return m.Family.settleValue(v, fmt.Sprintf("%.4g %% quantile", 100*p)), nil
}

// settleValue takes an interval from the working scale to values.
func (f Family) settleValue(v Interval, what string) Interval {
	v = v.through(f.natural)
	if f.onLog() {
		return v.settle(what, 0, math.Inf(1))
	}
	return v.settle(what, math.Inf(-1), math.Inf(1))
}

// SurvivalInterval is the profile-likelihood interval of the probability of a value above x.
func (m *Model) SurvivalInterval(x, confidence float64) (Interval, error) {
	return m.pr.survivalInterval(m.fit, []float64{1}, x, confidence)
}
