package lsq

import "math"

// Problem is a model to be fitted by least squares: M residuals, each divided by its own standard deviation where that is known, in N
// parameters. What stands in slices is not modified.
type Problem struct {
	M, N int

	// Residuals writes the M residuals at the parameters x into r. Where the model has no value it writes NaN: such places are not gone to.
	Residuals func(x, r []float64)
	// Jacobian writes dr_i/dx_j into jac[i*N+j]; nil = central differences of Residuals.
	Jacobian func(x, jac []float64)

	// Lower and Upper bound the parameters; nil = no bounds. Where both are equal the parameter is held there.
	Lower, Upper []float64
	// Log marks parameters above zero that are fitted as their logarithms: steps, priors and covariance are of the logarithm.
	Log []bool
	// Prior is what is known of a parameter beforehand, as one more residual (u - Mean)/SD; of the logarithm where Log is set. SD 0 = nothing.
	Prior []Normal
	// Step of the central differences, relative to |x|, or of the logarithm; 0 = the third root of the machine's precision.
	Step float64
	// Tolerance is the relative change of the sum of squares, and of the parameters, at which a fit has settled; 0 = 1e-15.
	Tolerance float64
	// MostSteps ends a fit that does not; 0 = 2000.
	MostSteps int
}

// Normal is a normal distribution.
type Normal struct{ Mean, SD float64 }

// Fit is where a fit ended.
type Fit struct {
	X          []float64 // parameters
	RSS        float64   // sum of squares, priors included
	DataRSS    float64   // without the priors
	Priors     int       // how many there are
	DoF        int       // residuals and priors less parameters that were free
	Cov        []float64 // (J'J)^-1 row by row, of the logarithm where Log is set; zero for held parameters, NaN where J'J is singular
	AtBound    []bool    // parameters that ended on a bound
	Converged  bool
	Steps      int
	GradCosine float64 // largest |cos| between the residuals and a free column of J: 0 at an exact minimum
}

// ResidualSD is sqrt(RSS/DoF), NaN without degrees of freedom.
func (f *Fit) ResidualSD() float64 {
	if f.DoF <= 0 {
		return math.NaN()
	}
	return math.Sqrt(f.RSS / float64(f.DoF))
}

// SD is the standard deviation of parameter j from the covariance, times scale: 1 where residuals were divided by their standard
// deviations, ResidualSD where that was to be found.
func (f *Fit) SD(j int, scale float64) float64 {
	return scale * math.Sqrt(f.Cov[j*len(f.X)+j])
}

func (p *Problem) log(j int) bool { return p.Log != nil && p.Log[j] }

// inner is a parameter as it is fitted.
func (p *Problem) inner(j int, x float64) float64 {
	if p.log(j) {
		return math.Log(x)
	}
	return x
}

// outer is a parameter as it is written.
func (p *Problem) outer(j int, u float64) float64 {
	if p.log(j) {
		return math.Exp(u)
	}
	return u
}

func (p *Problem) bounds(j int) (lo, hi float64) {
	lo, hi = math.Inf(-1), math.Inf(1)
	if p.Lower != nil {
		lo = p.Lower[j]
	}
	if p.Upper != nil {
		hi = p.Upper[j]
	}
	if p.log(j) {
		lo, hi = math.Log(max(lo, 0)), math.Log(hi)
	}
	return lo, hi
}

func (p *Problem) check(x []float64) {
	switch {
	case p.N < 1 || p.M < 1 || p.Residuals == nil:
		panic("lsq: a problem needs parameters and residuals")
	case len(x) != p.N, p.Lower != nil && len(p.Lower) != p.N, p.Upper != nil && len(p.Upper) != p.N, p.Log != nil && len(p.Log) != p.N, p.Prior != nil && len(p.Prior) != p.N:
		panic("lsq: starts, bounds, logarithms and priors must be as many as the parameters")
	}
	for j := range x {
		if lo, hi := p.bounds(j); lo > hi || math.IsNaN(lo+hi) && !math.IsInf(lo, 0) {
			panic("lsq: a lower bound is above its upper bound")
		}
	}
}
