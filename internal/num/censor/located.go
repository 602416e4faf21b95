package censor

import (
	"math"

	"gonum.org/v1/gonum/mathext"
)

// located is a distribution of a family with a place mu and a scale sigma on the working scale.
type located struct {
	family    Family
	mu, sigma float64
}

func (d located) standard(x float64) float64 { return (d.family.work(x) - d.mu) / d.sigma }

func (d located) cdf(x float64) float64      { return math.Exp(d.family.logCumulative(d.standard(x))) }
func (d located) survival(x float64) float64 { return math.Exp(d.family.logSurvival(d.standard(x))) }

func (d located) logDensity(x float64) float64 {
	if d.family.onLog() && x <= 0 {
		return math.Inf(-1)
	}
	y := d.family.logDensity(d.standard(x)) - math.Log(d.sigma)
	if d.family.onLog() {
		y -= math.Log(x)
	}
	return y
}

func (d located) quantile(p float64) float64 {
	return d.family.natural(d.mu + d.sigma*d.family.standardQuantile(p))
}

// mean is exp(mu) Gamma(1 + sigma), exp(mu + sigma^2/2) or mu.
func (d located) mean() float64 {
	switch d.family {
	case Normal:
		return d.mu
	case Lognormal:
		return math.Exp(d.mu + d.sigma*d.sigma/2)
	}
	l, _ := math.Lgamma(1 + d.sigma)
	return math.Exp(d.mu + l)
}

// chi2Tail is the probability that chi-squared with df degrees of freedom passes x.
func chi2Tail(x, df float64) float64 {
	if x <= 0 {
		return 1
	}
	return mathext.GammaIncRegComp(df/2, x/2)
}
