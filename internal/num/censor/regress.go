package censor

import (
	"fmt"
	"math"
	"slices"
)

// Regression is an accelerated-failure-time fit: y = x'b + sigma e, y the logarithm of the value (the value itself
// for Normal). On the logarithmic families exp(b) is the ratio by which one unit of a column multiplies every
// quantile.
type Regression struct {
	Family Family
	Counts
	Names        []string // of the columns of the design
	Coefficients []float64
	SE           []float64 // of the coefficients, from the observed information
	// Cov is the covariance of the coefficients in their order and, last, of sigma (not for Exponential).
	Cov            [][]float64
	Sigma, SigmaSE float64 // 1 and 0 for Exponential
	LogLik, AIC    float64
	Warnings       []string

	pr  *problem
	fit *solver
}

// Regress fits a family to values by maximum likelihood with one row of the design a value. The design is taken as
// it stands: give a column of ones for an intercept. A coefficient that the data cannot tell (a column made of
// others, a level of which every value held) is an error that names it (ErrNotIdentified). Source: Lawless,
// Statistical Models and Methods for Lifetime Data, 2nd ed., ch. 6 (recalled).
func Regress(values []Value, design [][]float64, names []string, f Family) (*Regression, error) {
	if err := checkFamily(f); err != nil {
		return nil, err
	}
	if err := checkDesign(values, design, names); err != nil {
		return nil, err
	}
	names = slices.Clone(names)
	pr, err := prepare(values, design, names, f)
	if err != nil {
		return nil, fmt.Errorf("%s regression: %w", f, err)
	}
	if c := pr.counts; c.Right == c.N || c.Left == c.N {
		side, way := "lower", "until something breaks"
		if c.Left == c.N {
			side, way = "upper", "until something holds"
		}
		return nil, failf(ErrNotIdentified, "%s regression: all %d values are only %s bounds, so that no coefficient is determined; test %s", f, c.N, side, way)
	}
	s, err := pr.seek()
	if err != nil {
		return nil, fmt.Errorf("%s regression: %w", f, err)
	}
	r := &Regression{Family: f, Counts: pr.counts, Names: names, pr: pr, fit: s}
	r.Coefficients, r.Sigma = pr.estimates(s.phi)
	r.Cov = pr.covariance(s)
	r.SE = make([]float64, len(names))
	for j := range names {
		r.SE[j] = math.Sqrt(r.Cov[j][j])
	}
	if f != Exponential {
		p := len(names)
		r.SigmaSE = math.Sqrt(r.Cov[p][p])
	}
	r.LogLik = pr.logLik(s)
	r.AIC = 2*float64(pr.q.free()) - 2*r.LogLik
	r.doubts()
	return r, nil
}

// doubts writes the warnings.
func (r *Regression) doubts() {
	r.Warnings = nil
	if told, free := r.N-r.Right, r.pr.q.free(); !r.fit.calibrated && told < free+3 {
		r.Warnings = append(r.Warnings, fmt.Sprintf("%d values that are more than a lower bound carry %d parameters: a 95 %% interval covers less than 95 %%.", told, free))
	}
	for j, name := range r.Names {
		if r.SE[j]*r.pr.columnSize[j] > 100*r.Sigma {
			r.Warnings = append(r.Warnings, fmt.Sprintf("Coefficient %s is hardly determined: its standard error is far larger than the scatter. Read its interval, not the estimate.", name))
		}
	}
	if r.pr.q.blankTerm > 0 {
		r.Warnings = append(r.Warnings, fmt.Sprintf("%d of %d values are bounds that every %s variable keeps; they add nothing.", r.pr.q.blankTerm, r.N, r.Family))
	}
}

func checkDesign(values []Value, design [][]float64, names []string) error {
	if len(names) == 0 {
		return failf(ErrArgument, "a regression needs at least one column; a column of ones gives the intercept")
	}
	if len(design) != len(values) {
		return failf(ErrArgument, "%d rows of the design for %d values; give one row a value", len(design), len(values))
	}
	for j, name := range names {
		for k := range j {
			if names[k] == name {
				return failf(ErrArgument, "two columns are named %q; give each its own name", name)
			}
		}
	}
	for i, row := range design {
		if len(row) != len(names) {
			return failf(ErrArgument, "row %d of the design has %d numbers for %d columns", i+1, len(row), len(names))
		}
		for j, x := range row {
			if math.IsNaN(x) || math.IsInf(x, 0) {
				return failf(ErrArgument, "row %d of the design: %s is %g; give a number", i+1, names[j], x)
			}
		}
	}
	return nil
}

// at is the combination that picks one coefficient.
func (r *Regression) at(name string) ([]float64, int, error) {
	c := make([]float64, len(r.Names))
	for j, n := range r.Names {
		if n == name {
			c[j] = 1
			return c, j, nil
		}
	}
	return nil, 0, failf(ErrArgument, "there is no coefficient %q; there are %q", name, r.Names)
}

// CoefInterval is the profile-likelihood interval of a coefficient, on the working scale (logarithm of the
// value unless Normal).
func (r *Regression) CoefInterval(name string, confidence float64) (Interval, error) {
	c, _, err := r.at(name)
	if err != nil {
		return Interval{}, err
	}
	v, err := r.pr.ratioInterval(r.fit, c, 0, confidence)
	if err != nil {
		return v, err
	}
	return v.settle("coefficient "+name, math.Inf(-1), math.Inf(1)), nil
}

// SigmaInterval is the profile-likelihood interval of sigma.
func (r *Regression) SigmaInterval(confidence float64) (Interval, error) {
	if r.Family == Exponential {
		return Interval{}, failf(ErrArgument, "sigma of an exponential regression is 1 and not estimated")
	}
	return sigmaInterval(r.pr, r.fit, confidence)
}

// Contrast is the linear combination c of the coefficients: its estimate, its standard error, and its
// profile-likelihood interval, on the working scale.
func (r *Regression) Contrast(c []float64, confidence float64) (v Interval, se float64, err error) {
	if err := r.checkCombination(c); err != nil {
		return v, 0, err
	}
	for j := range c {
		se += c[j] * dot(c, r.Cov[j])
	}
	if v, err = r.pr.ratioInterval(r.fit, c, 0, confidence); err != nil {
		return v, 0, err
	}
	return v.settle("contrast", math.Inf(-1), math.Inf(1)), math.Sqrt(se), nil
}

// Ratio is Contrast taken through exp: the ratio of any quantile between two rows of a design that differ by c. It needs
// a logarithmic family.
func (r *Regression) Ratio(c []float64, confidence float64) (Interval, error) {
	if !r.Family.onLog() {
		return Interval{}, failf(ErrArgument, "a normal regression has differences, not ratios; choose weibull or lognormal, or ask for the contrast")
	}
	v, _, err := r.Contrast(c, confidence)
	if err != nil {
		return v, err
	}
	v.Note = ""
	return v.through(math.Exp).settle("ratio", 0, math.Inf(1)), nil
}

func (r *Regression) checkCombination(c []float64) error {
	zero := true
	for j, x := range c {
		if math.IsNaN(x) || math.IsInf(x, 0) {
			return failf(ErrArgument, "number %d of a combination is %g", j+1, x)
		}
		zero = zero && x == 0
	}
	if len(c) != len(r.Names) || zero {
		return failf(ErrArgument, "a combination of %d numbers, not all 0, is needed, one for each of %q", len(r.Names), r.Names)
	}
	return nil
}

// Quantile is the estimated p quantile of values with the row x of the design, 0 < p < 1, and its
// profile-likelihood interval.
func (r *Regression) Quantile(x []float64, p, confidence float64) (Interval, error) {
	if err := checkProbability(p); err != nil {
		return Interval{}, err
	}
	if err := r.checkCombination(x); err != nil {
		return Interval{}, err
	}
	v, err := r.pr.ratioInterval(r.fit, x, r.Family.standardQuantile(p), confidence)
	if err != nil {
		return v, err
	}
	return r.Family.settleValue(v, fmt.Sprintf("%.4g %% quantile", 100*p)), nil
}

// Survival is the probability of a value above t with the row x of the design, and its profile-likelihood interval.
func (r *Regression) Survival(x []float64, t, confidence float64) (Interval, error) {
	if err := r.checkCombination(x); err != nil {
		return Interval{}, err
	}
	return r.pr.survivalInterval(r.fit, x, t, confidence)
}

// LikelihoodTest holds one fit against a wider one.
type LikelihoodTest struct {
	Statistic float64 // twice the gain in log-likelihood
	DF        int     // coefficients more
	P         float64 // by chi-squared, which small samples follow only roughly: too small a p
}

// LikelihoodRatio tests whether a wider regression gains more than chance over a narrower one. Both are of one family
// and of the same values, and the columns of the narrower are combinations of those of the wider.
func LikelihoodRatio(narrow, wide *Regression) (LikelihoodTest, error) {
	df := len(wide.Names) - len(narrow.Names)
	switch {
	case narrow.Family != wide.Family:
		return LikelihoodTest{}, failf(ErrArgument, "a %s and a %s regression cannot be held against each other by likelihood ratio; compare their AIC", narrow.Family, wide.Family)
	case narrow.Counts != wide.Counts || narrow.pr.sumSeen != wide.pr.sumSeen || len(narrow.pr.q.kind) != len(wide.pr.q.kind):
		return LikelihoodTest{}, failf(ErrArgument, "the two regressions do not rest on the same values")
	case df < 1:
		return LikelihoodTest{}, failf(ErrArgument, "the wider regression has %d columns and the narrower %d; give the narrower first", len(wide.Names), len(narrow.Names))
	}
	if name := outside(narrow, wide); name != "" {
		return LikelihoodTest{}, failf(ErrArgument, "column %s of the narrower regression is no combination of the columns of the wider one; the two are not nested", name)
	}
	t := LikelihoodTest{Statistic: max(0, 2*(wide.LogLik-narrow.LogLik)), DF: df}
	t.P = chi2Tail(t.Statistic, float64(df))
	return t, nil
}

// outside names a column of the narrower design that does not lie in the span of the wider.
func outside(narrow, wide *Regression) string {
	w, p := wide.pr.q, wide.pr.q.p
	nq := narrow.pr.q
	n := len(w.kind)
	for j, name := range narrow.Names {
		left, size := 0.0, 0.0
		column := make([]float64, n)
		for i := range n {
			// X = Q R, so that only rows which say something are compared.
			for k := 0; k <= j; k++ {
				column[i] += nq.x[i*nq.p+k] * narrow.pr.r[k*nq.p+j]
			}
			size += column[i] * column[i]
		}
		for k := range p {
			s := 0.0
			for i := range n {
				s += w.x[i*p+k] * column[i] / float64(n)
			}
			for i := range n {
				column[i] -= s * w.x[i*p+k]
			}
		}
		for i := range n {
			left += column[i] * column[i]
		}
		if left > 1e-16*size {
			return name
		}
	}
	return ""
}

// Names of the coefficients of TwoSample.
const (
	FirstGroup   = "first group"
	SecondOverIt = "second over first"
)

// TwoSample is the regression of two groups on an intercept (FirstGroup) and a 0/1 column (SecondOverIt): the
// second coefficient is the logarithm of the ratio of any quantile of b to that of a, or their difference for Normal.
func TwoSample(a, b []Value, f Family) (*Regression, error) {
	values := make([]Value, 0, len(a)+len(b))
	values = append(append(values, a...), b...)
	design := make([][]float64, len(values))
	for i := range design {
		design[i] = []float64{1, 0}
		if i >= len(a) {
			design[i][1] = 1
		}
	}
	if len(a) == 0 || len(b) == 0 {
		return nil, failf(ErrNotIdentified, "two groups are compared, but one has no value; give both")
	}
	return Regress(values, design, []string{FirstGroup, SecondOverIt}, f)
}
