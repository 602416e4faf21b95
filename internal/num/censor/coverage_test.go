package censor

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
)

// coverageRow is what a simulation of one plan gave.
type coverageRow struct {
	n          int
	held       float64 // share
	fits       int     // samples with an estimate
	low, med   covered
	ratioFits  int
	ratio      covered
	replicates int
}

// covered counts intervals that hold the truth, that miss it on a side, and that did not close.
type covered struct{ inside, above, below, open int }

func (c *covered) add(v Interval, truth float64) {
	switch {
	case v.Lo > truth:
		c.above++
	case v.Hi < truth:
		c.below++
	default:
		c.inside++
	}
	if v.Note != "" {
		c.open++
	}
}

// simulated draws n Weibull values of shape 8 and scale 1 with a bound of its own on each, uniform in the logarithm
// and placed so that the share given is held on average.
func simulated(n int, held float64, scale float64, r *rand.Rand) []Value {
	v := make([]Value, n)
	const shape = 8
	for i := range v {
		x := scale * math.Pow(-math.Log1p(-r.Float64()), 1.0/shape)
		v[i] = Exact(x)
		if held > 0 {
			// The bound is the held quantile from above, spread by 10 % to either side.
			c := scale * math.Pow(-math.Log(held), 1.0/shape) * (1 + .1*(2*r.Float64()-1))
			if x > c {
				v[i] = AtLeast(c)
			}
		}
	}
	return v
}

func simulateCoverage(n int, held float64, replicates int, r *rand.Rand) (coverageRow, error) {
	row := coverageRow{n: n, held: held, replicates: replicates}
	low, med := math.Pow(-math.Log1p(-.05), 1.0/8), math.Pow(math.Ln2, 1.0/8)
	const knot = .6
	for range replicates {
		a, b := simulated(n, held, 1, r), simulated(n, held, knot, r)
		m, err := Fit(a, Weibull)
		switch {
		case err == nil:
			row.fits++
			for p, c := range map[float64]*covered{.05: &row.low, .5: &row.med} {
				v, err := m.QuantileInterval(p, .95)
				if err != nil {
					return row, fmt.Errorf("%w: %v", err, a)
				}
				c.add(v, map[float64]float64{.05: low, .5: med}[p])
			}
		case !errors.Is(err, ErrNotIdentified):
			return row, fmt.Errorf("%w: %v", err, a)
		}
		two, err := TwoSample(a, b, Weibull)
		switch {
		case err == nil:
			row.ratioFits++
			v, err := two.Ratio([]float64{0, 1}, .95)
			if err != nil {
				return row, fmt.Errorf("%w: %v %v", err, a, b)
			}
			row.ratio.add(v, knot)
		case !errors.Is(err, ErrNotIdentified):
			return row, fmt.Errorf("%w: %v %v", err, a, b)
		}
	}
	return row, nil
}

// Plain profile intervals cover too little in small samples, within four binomial standard errors of what 10,000 samples gave: which is why plain fits warn, and why
// others are calibrated.
func TestCoverage(t *testing.T) {
	for _, c := range []struct {
		n               int
		held            float64
		low, med, ratio float64 // of 10,000 samples
	}{{3, 0, .857, .851, .856}, {10, .3, .934, .933, .936}} {
		row, err := simulateCoverage(c.n, c.held, 200, rand.New(rand.NewPCG(11, 12)))
		if err != nil {
			t.Fatal(err)
		}
		for name, s := range map[string]struct {
			c    covered
			fits int
			want float64
		}{"5 % quantile": {row.low, row.fits, c.low}, "median": {row.med, row.fits, c.med}, "ratio": {row.ratio, row.ratioFits, c.ratio}} {
			got := float64(s.c.inside) / float64(s.fits)
			if se := math.Sqrt(s.want * (1 - s.want) / float64(s.fits)); math.Abs(got-s.want) > 4*se {
				t.Errorf("n = %d, %s: coverage %.3f, of 10,000 samples %.3f", c.n, name, got, s.want)
			}
		}
	}
}
