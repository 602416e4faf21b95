package ensemble

import (
	"fmt"
	"math"
	"strings"

	"gonum.org/v1/gonum/mathext"

	"github.com/hardcatch/hardcatch/internal/arrest"
	"github.com/hardcatch/hardcatch/internal/arrest/element"
)

// Shape is a distribution about the case's own value.
type Shape string

// The shapes. Width is the standard deviation of Normal, the coefficient of variation times the mean of
// LogNormal (whose mean is the case's value), and the half-width of Uniform.
const (
	Normal    Shape = "normal"
	LogNormal Shape = "lognormal"
	Uniform   Shape = "uniform"
)

// Spread varies one parameter.
type Spread struct {
	Parameter string
	Shape     Shape
	Width     float64 // in the parameter's SI unit
	Min, Max  float64 // truncation; -Inf and +Inf = none
}

// Correlation ties two parameters by the correlation R of their normal scores.
type Correlation struct {
	Between [2]string
	R       float64
}

// Plan is what an ensemble varies.
type Plan struct {
	Case         arrest.Case
	Spreads      []Spread
	Correlations []Correlation
	Seed         uint64
}

// sampler turns uniform numbers into parameter values.
type sampler struct {
	params []Parameter
	dists  []dist
	chol   []float64 // lower triangle of the correlation of the normal scores, nil when independent
}

type dist struct {
	shape    Shape
	a, b     float64 // normal: mean, sd; lognormal: mu, sigma; uniform: low, high
	pLo, pHi float64 // probabilities of the truncation
}

func (p *Plan) sampler() (*sampler, error) {
	s := &sampler{}
	place := map[string]int{}
	for i, sp := range p.Spreads {
		par, err := Find(&p.Case, sp.Parameter)
		if err != nil {
			return nil, fmt.Errorf("spread: %w", err)
		}
		if _, twice := place[sp.Parameter]; twice {
			return nil, fmt.Errorf("spread: parameter %q stands twice; keep one", sp.Parameter)
		}
		place[sp.Parameter] = i
		d, err := sp.dist(par.Get(&p.Case))
		if err != nil {
			return nil, err
		}
		s.params, s.dists = append(s.params, par), append(s.dists, d)
	}
	return s, s.correlate(p.Correlations, place)
}

func (sp Spread) dist(nominal float64) (dist, error) {
	d := dist{shape: sp.Shape, pHi: 1}
	if !(sp.Width > 0) || math.IsInf(sp.Width, 0) {
		return d, fmt.Errorf("spread of %s: a width of %g is not possible; it must be positive", sp.Parameter, sp.Width)
	}
	switch sp.Shape {
	case Normal:
		d.a, d.b = nominal, sp.Width
	case LogNormal:
		if nominal <= 0 {
			return d, fmt.Errorf("spread of %s: a lognormal needs a positive value, it is %g", sp.Parameter, nominal)
		}
		cv := sp.Width / nominal
		d.b = math.Sqrt(math.Log1p(cv * cv))
		d.a = math.Log(nominal) - d.b*d.b/2
	case Uniform:
		d.a, d.b = nominal-sp.Width, nominal+sp.Width
	default:
		return d, fmt.Errorf("spread of %s: shape %q is not known; write normal, lognormal or uniform", sp.Parameter, sp.Shape)
	}
	if whole(sp.Parameter) { // drawn again where it comes out above the whole, or at nothing
		sp.Min, sp.Max = math.Max(sp.Min, leastShare), math.Min(sp.Max, 1)
	}
	if !math.IsInf(sp.Min, -1) {
		d.pLo = d.probability(sp.Min)
	}
	if !math.IsInf(sp.Max, 1) {
		d.pHi = d.probability(sp.Max)
	}
	if d.pHi-d.pLo < 1e-6 {
		return d, fmt.Errorf("spread of %s: next to nothing of it lies between its limits %g and %g", sp.Parameter, sp.Min, sp.Max)
	}
	return d, nil
}

// leastShare keeps a share that is left of a strength from none at all.
const leastShare = 1e-3

// whole tells that a parameter is the share that is left of a strength: at most all of it.
func whole(parameter string) bool {
	name := parameter[strings.LastIndexByte(parameter, '.')+1:]
	share := false
	for _, d := range element.Kinds() {
		for _, k := range d.Keys {
			if k.Name != name || !k.Number() || len(name) == len(parameter) {
				continue
			}
			if !k.Share {
				return false // a strength is a force, of an edge alone a share: the range decides there
			}
			share = true
		}
	}
	return share
}

// Cut is the probability of the values that a spread would give but that cannot be, such as a knot that strengthens: they
// are drawn again. 0 where the case's own limits leave none.
func (p *Plan) Cut(sp Spread) float64 {
	par, err := Find(&p.Case, sp.Parameter)
	if err != nil || !whole(sp.Parameter) {
		return 0
	}
	free := sp
	free.Parameter = ""
	d, err := free.dist(par.Get(&p.Case))
	if err != nil {
		return 0
	}
	within := math.Min(d.pHi, d.probability(1)) - math.Max(d.pLo, d.probability(leastShare))
	return math.Max(0, 1-within/(d.pHi-d.pLo))
}

func (d dist) probability(v float64) float64 {
	switch d.shape {
	case Uniform:
		return math.Max(0, math.Min(1, (v-d.a)/(d.b-d.a)))
	case LogNormal:
		if v <= 0 {
			return 0
		}
		v = math.Log(v)
	}
	return 0.5 * math.Erfc(-(v-d.a)/(d.b*math.Sqrt2))
}

// quantile is the value at probability u of the truncated distribution.
func (d dist) quantile(u float64) float64 {
	u = d.pLo + u*(d.pHi-d.pLo)
	switch d.shape {
	case Uniform:
		return d.a + u*(d.b-d.a)
	case LogNormal:
		return math.Exp(d.a + d.b*mathext.NormalQuantile(u))
	}
	return d.a + d.b*mathext.NormalQuantile(u)
}

// Draw is the value at probability u, 0 < u < 1, of the spread about nominal.
func (sp Spread) Draw(nominal, u float64) (float64, error) {
	d, err := sp.dist(nominal)
	if err != nil {
		return 0, err
	}
	return d.quantile(u), nil
}

func (s *sampler) correlate(list []Correlation, place map[string]int) error {
	if len(list) == 0 {
		return nil
	}
	n := len(s.dists)
	r := make([]float64, n*n)
	for i := range n {
		r[i*n+i] = 1
	}
	for _, c := range list {
		i, okI := place[c.Between[0]]
		j, okJ := place[c.Between[1]]
		if !okI || !okJ || i == j || !(math.Abs(c.R) <= 1) {
			return fmt.Errorf("correlation of %q and %q: name two parameters that have a spread, and an r from -1 to 1", c.Between[0], c.Between[1])
		}
		r[i*n+j], r[j*n+i] = c.R, c.R
	}
	for i := range n {
		for j := 0; j <= i; j++ {
			sum := r[i*n+j]
			for k := range j {
				sum -= r[i*n+k] * r[j*n+k]
			}
			switch {
			case i == j && sum < -1e-12:
				return fmt.Errorf("the correlations contradict each other; no spread has them all")
			case i == j:
				r[i*n+i] = math.Sqrt(math.Max(sum, 0))
			case r[j*n+j] > 0:
				r[i*n+j] = sum / r[j*n+j]
			case math.Abs(sum) > 1e-12:
				return fmt.Errorf("the correlations contradict each other; no spread has them all")
			default:
				r[i*n+j] = 0
			}
		}
	}
	s.chol = r
	return nil
}

// apply sets the parameters of c from uniform numbers u, one for each spread. z is scratch of that length.
func (s *sampler) apply(c *arrest.Case, u, z []float64) {
	if s.chol == nil {
		for i := range s.dists {
			s.params[i].Set(c, s.dists[i].quantile(u[i]))
		}
		return
	}
	n := len(u)
	for i := range z {
		z[i] = mathext.NormalQuantile(u[i])
	}
	for i := range n {
		sum := 0.0
		for k := 0; k <= i; k++ {
			sum += s.chol[i*n+k] * z[k]
		}
		s.params[i].Set(c, s.dists[i].quantile(0.5*math.Erfc(-sum/math.Sqrt2)))
	}
}
