// Package joint fits a load and a strength that may go together, of which each drop shows the smaller.
package joint

import (
	"fmt"
	"math"

	"github.com/hardcatch/hardcatch/internal/num/uncert"
)

// Shown is what a drop shows.
type Shown int

// What a drop may show of its load F and strength S.
const (
	Load     Shown = iota // F = X and S > X: the specimen held
	Strength              // S = X and F > X: it broke
	Neither               // both above X
)

// Drop is one specimen's drop. X is above 0; Group numbers, from 0, the falls that have one distribution of load each.
type Drop struct {
	X     float64
	Group int
	Shown Shown
}

// Fit is the fit of highest likelihood at one correlation. The logarithm of the load is normal around Mu of its group with Sigma; the logarithm of the strength is
// M + S e, e smallest-extreme-value (a Weibull strength of shape 1/S) or standard normal. Their normal scores have the correlation Rho (normal copula; of
// two lognormal forces that is the correlation of the logarithms).
type Fit struct {
	Rho     float64
	Weibull bool
	LogLik  float64
	Mu      []float64 // NaN of a group in which none held: its load is above all that was seen, and says nothing of the strength
	Sigma   float64
	M, S    float64
	cov     [4]float64 // of M and log S
}

// Quantile is the logarithm of the strength below which the share p of specimens lie, with its standard error from the observed information.
func (f *Fit) Quantile(p float64) (log, se float64) {
	e := standard(f.Weibull, p)
	d := f.S * e
	return f.M + f.S*e, math.Sqrt(math.Max(0, f.cov[0]+2*d*f.cov[1]+d*d*f.cov[3]))
}

func standard(weibull bool, p float64) float64 {
	if weibull {
		return math.Log(-math.Log1p(-p))
	}
	return uncert.NormalQuantile(p)
}

// At fits at one correlation, -1 < rho < 1, by maximum likelihood:
//
//	held    log f_F(x) + log P(S > x | F = x)
//	broke   log f_S(x) + log P(F > x | S = x)
//	neither log P(F > x, S > x)
//
// It fails where fewer than two broke or the scatter of the load is not determined (fewer loads seen than groups with a load, and one more). From is a fit
// near by to begin at, or nil. With rho = 0 the strength is fitted as by itself with bounds, and the load likewise. Whether the correlation itself can be told
// by such data rests on the families: the smaller of two and which it was determine the two distributions and their correlation when they are jointly normal
// (Nadas, J. Am. Stat. Assoc. 66 (1971) 653 ff.; recalled), and leave it open without such a family (Tsiatis, Proc. Natl. Acad. Sci. 72 (1975) 20-22).
func At(drops []Drop, weibull bool, rho float64, from *Fit) (*Fit, error) {
	if !(rho > -1 && rho < 1) {
		return nil, fmt.Errorf("a correlation of %g does not lie between -1 and 1", rho)
	}
	p, err := prepare(drops, weibull, rho)
	if err != nil {
		return nil, err
	}
	theta := p.start()
	if from != nil && len(from.Mu) == len(p.slot) {
		p.pack(from, theta)
	}
	value, hessian, ok := p.climb(theta)
	if !ok {
		return nil, fmt.Errorf("the likelihood has no top that could be found at a correlation of %g", rho)
	}
	inverse, ok := invert(hessian)
	if !ok {
		return nil, fmt.Errorf("the data do not determine the strength at a correlation of %g", rho)
	}
	f := &Fit{Rho: rho, Weibull: weibull, LogLik: value, Mu: make([]float64, len(p.slot))}
	for g, k := range p.slot {
		f.Mu[g] = math.NaN()
		if k >= 0 {
			f.Mu[g] = theta[k]
		}
	}
	n := len(theta)
	f.Sigma, f.M, f.S = math.Exp(theta[n-3]), theta[n-2], math.Exp(theta[n-1])
	f.cov = [4]float64{inverse[n-2][n-2], inverse[n-2][n-1], inverse[n-1][n-2], inverse[n-1][n-1]}
	if !(f.cov[0] > 0) || !(f.cov[3] > 0) {
		return nil, fmt.Errorf("the data do not determine the strength at a correlation of %g", rho)
	}
	return f, nil
}

// problem is the likelihood at one correlation. Parameters: Mu of the groups with a load, log Sigma, M, log S.
type problem struct {
	drops   []Drop
	log     []float64
	slot    []int // of a group; -1 without a load
	weibull bool
	rho, r  float64
}

func prepare(drops []Drop, weibull bool, rho float64) (*problem, error) {
	p := &problem{drops: drops, weibull: weibull, rho: rho, r: math.Sqrt((1 - rho) * (1 + rho))}
	groups, loads, broke := 0, 0, 0
	for _, d := range drops {
		if !(d.X > 0) || math.IsInf(d.X, 1) || d.Group < 0 {
			return nil, fmt.Errorf("a force of %g in group %d is none", d.X, d.Group)
		}
		groups = max(groups, d.Group+1)
		p.log = append(p.log, math.Log(d.X))
	}
	p.slot = make([]int, groups)
	for g := range p.slot {
		p.slot[g] = -1
	}
	used := 0
	for _, d := range drops {
		switch d.Shown {
		case Load:
			loads++
			if p.slot[d.Group] < 0 {
				p.slot[d.Group] = used
				used++
			}
		case Strength:
			broke++
		}
	}
	switch {
	case broke < 2:
		return nil, fmt.Errorf("%d strengths were seen; two are needed", broke)
	case used == 0 || loads <= used:
		return nil, fmt.Errorf("%d loads were seen in %d groups; their scatter needs one more", loads, used)
	}
	return p, nil
}

// start takes what was seen as if it were all.
func (p *problem) start() []float64 {
	used := 0
	for _, k := range p.slot {
		used = max(used, k+1)
	}
	theta, n := make([]float64, used+3), make([]float64, used)
	var m, mm, broke float64
	for i, d := range p.drops {
		switch d.Shown {
		case Load:
			k := p.slot[d.Group]
			theta[k] += p.log[i]
			n[k]++
		case Strength:
			m += p.log[i]
			mm += p.log[i] * p.log[i]
			broke++
		}
	}
	for k := range n {
		theta[k] /= n[k]
	}
	ss, loads := 0.0, 0.0
	top := math.Inf(-1)
	for i, d := range p.drops {
		top = math.Max(top, p.log[i])
		if d.Shown == Load {
			v := p.log[i] - theta[p.slot[d.Group]]
			ss += v * v
			loads++
		}
	}
	m /= broke
	theta[used] = math.Log(math.Max(0.01, math.Sqrt(ss/loads)))
	theta[used+1] = math.Max(m, (m+top)/2)
	theta[used+2] = math.Log(math.Max(0.03, math.Sqrt(math.Max(0, mm/broke-m*m))))
	return theta
}

func (p *problem) pack(f *Fit, theta []float64) {
	n := len(theta)
	for g, k := range p.slot {
		if k >= 0 && !math.IsNaN(f.Mu[g]) {
			theta[k] = f.Mu[g]
		}
	}
	theta[n-3], theta[n-2], theta[n-1] = math.Log(f.Sigma), f.M, math.Log(f.S)
}

// value is the logarithm of the likelihood and adds its gradient to grad.
func (p *problem) value(theta, grad []float64) float64 {
	n := len(theta)
	sigma, m, s := math.Exp(theta[n-3]), theta[n-2], math.Exp(theta[n-1])
	sum := 0.0
	for i, d := range p.drops {
		y := p.log[i]
		e := (y - m) / s
		// By e: normal score of the strength and its slope, log density and its slope.
		z, dz := e, 1.0
		logf, dlogf := -e*e/2-logRoot2Pi, -e
		if p.weibull {
			h := math.Exp(e)
			logf, dlogf = e-h, 1-h
			z = scoreOfHazard(h)
			dz = math.Exp(logf + z*z/2 + logRoot2Pi)
		}
		var byE float64 // slope of the term by e
		k := p.slot[d.Group]
		if k < 0 {
			if d.Shown == Strength {
				sum += logf - theta[n-1] - y
				grad[n-1]--
				byE = dlogf
			} else { // bounded from below only
				sum += logTail(z)
				byE = -hazard(z) * dz
			}
		} else {
			a := (y - theta[k]) / sigma
			var byA float64
			switch d.Shown {
			case Load:
				t := (z - p.rho*a) / p.r
				h := hazard(t)
				sum += -theta[n-3] - y - a*a/2 - logRoot2Pi + logTail(t)
				grad[n-3]--
				byA, byE = -a+h*p.rho/p.r, -h*dz/p.r
			case Strength:
				t := (a - p.rho*z) / p.r
				h := hazard(t)
				sum += logf - theta[n-1] - y + logTail(t)
				grad[n-1]--
				byA, byE = -h/p.r, dlogf+h*p.rho*dz/p.r
			default:
				v := orthant(a, z, p.rho)
				sum += math.Log(v)
				byA = -math.Exp(-a*a/2-logRoot2Pi+logTail((z-p.rho*a)/p.r)) / v
				byE = -math.Exp(-z*z/2-logRoot2Pi+logTail((a-p.rho*z)/p.r)) / v * dz
			}
			grad[k] -= byA / sigma
			grad[n-3] -= byA * a
		}
		grad[n-2] -= byE / s
		grad[n-1] -= byE * e
	}
	return sum
}
