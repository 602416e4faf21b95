package compare

import (
	"fmt"
	"math"
	"math/rand/v2"
	"sort"

	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/num/censor"
	"github.com/hardcatch/hardcatch/internal/num/uncert"
)

const (
	// nextSlope is the exponent of the fall where the campaign has one fall only: a linear spring under a fall
	// that is long against its stretch peaks at sqrt(2 k m g h).
	nextSlope = 0.5
	// nextScatter is the scatter of log arrest force where the data show none. Common practice, no source.
	nextScatter = 0.05
	// nextShape is the Weibull shape of a strength where the data show none: a coefficient of variation near
	// 10 %. Common practice, no source.
	nextShape = 12.0
)

// fit predicts from today's data.
func (s *nextState) fit() {
	s.fitArrest()
	shape := s.shape()
	for k := range s.kinds {
		var values []censor.Value
		top := 0.0
		for _, d := range s.data {
			if d.kind == k {
				top = math.Max(top, d.peakN)
			}
		}
		for _, d := range s.data {
			if d.kind != k {
				continue
			}
			values = append(values, d.strength)
		}
		m, err := censor.Fit(values, s.q.Family)
		if err == nil && m.Exact > 1 {
			s.model.strength = append(s.model.strength, fittedSpread(m, s.q.Seed))
			continue
		}
		if len(values) == 0 {
			top = math.Exp(s.model.cut[k])
			s.out.Warnings = append(s.out.Warnings, message.Say("%s: no drop counts yet; its strength and arrest force are guessed from the other kinds of specimen, and its break probabilities are worth nothing yet", message.Names(s.kinds[k].name)))
		}
		s.model.strength = append(s.model.strength, openSpread(values, top, shape, s.kinds[k].rating.SI()))
		if s.kinds[k].rating > 0 {
			s.out.Assumptions = append(s.out.Assumptions, message.Say("%s: fewer than two broke; half of the specimens are taken to bear more than %g times the stated rating of %s, give or take %g %% (common practice, no source), as far as what was held allows", message.Names(s.kinds[k].name), nextOverRating, s.kinds[k].rating.Text(3), 100*nextRatingSD))
		}
	}
}

const (
	// A rating is a strength that makers stay above: the median is taken to lie so many times higher, with a standard deviation of the logarithm. Common practice,
	// no source.
	nextOverRating, nextRatingSD = 1.2, 0.15
	// Without a rating the median is taken to lie, evenly on the logarithm, from half the highest force seen to five times of it. Common practice, no source.
	nextLeast, nextMost = 0.5, 5.0
	nextGrid            = 120
)

// fittedSpread is a fit, with distributions drawn out of its uncertainty.
func fittedSpread(m *censor.Model, seed uint64) nextSpread {
	out := nextSpread{cdf: m.CDF, quantile: m.Quantile, known: true}
	draw, rng := strengthDraw(m), rand.New(rand.NewPCG(seed, 0x6272))
	for range nextGrid {
		out.open, out.weights = append(out.open, draw(rng)), append(out.weights, 1./nextGrid)
	}
	return out
}

// openSpread is a strength of which fewer than two breaks were seen: Weibull distributions of one shape, whose medians are as likely as the rating (or else nothing)
// makes them, times the likelihood of what was seen (Bayes). The mixture predicts.
func openSpread(values []censor.Value, topN, shape, ratingN float64) nextSpread {
	lo, hi := math.Log(nextLeast*topN), math.Log(nextMost*topN)
	if ratingN > 0 {
		lo, hi = math.Log(nextOverRating*ratingN)-4*nextRatingSD, math.Log(nextOverRating*ratingN)+4*nextRatingSD
	}
	out := nextSpread{known: ratingN > 0}
	logScale, logWeight := make([]float64, nextGrid), make([]float64, nextGrid)
	top := math.Inf(-1)
	for j := range nextGrid {
		median := lo + (hi-lo)*(float64(j)+0.5)/nextGrid
		logScale[j] = median - math.Log(math.Ln2)/shape
		if ratingN > 0 {
			z := (median - math.Log(nextOverRating*ratingN)) / nextRatingSD
			logWeight[j] = -z * z / 2
		}
		for _, v := range values {
			e := shape * (math.Log(v.Lo) - logScale[j])
			logWeight[j] -= math.Exp(e)
			if v.Kind() == censor.Observed {
				logWeight[j] += e
				out.known = true
			}
		}
		top = math.Max(top, logWeight[j])
	}
	sum := 0.0
	for j := range nextGrid {
		w, at := math.Exp(logWeight[j]-top), logScale[j]
		sum += w
		out.weights = append(out.weights, w)
		out.open = append(out.open, func(log float64) float64 { return -math.Expm1(-math.Exp(shape * (log - at))) })
	}
	for j := range out.weights {
		out.weights[j] /= sum
	}
	out.cdf = func(x float64) float64 {
		p := 0.0
		for j, f := range out.open {
			p += out.weights[j] * f(math.Log(x))
		}
		return math.Min(1, p)
	}
	known := map[float64]float64{} // every candidate asks for the same
	out.quantile = func(p float64) float64 {
		if x, ok := known[p]; ok {
			return x
		}
		a, b := lo-20/shape, hi+5/shape
		for range 60 {
			if mid := (a + b) / 2; out.cdf(math.Exp(mid)) < p {
				a = mid
			} else {
				b = mid
			}
		}
		known[p] = math.Exp((a + b) / 2)
		return known[p]
	}
	return out
}

// between holds 95 % of the break probabilities that the data leave open, and the one of the fit; plausible are some of them, each as likely as the others.
func (n nextSpread) between(a spreadForce, fit float64) (lo, hi float64, plausible []float64) {
	p := make([]float64, len(n.open))
	order := make([]int, len(p))
	for j, f := range n.open {
		p[j], order[j] = coarse.passes(a, f), j
	}
	sort.Slice(order, func(x, y int) bool { return p[order[x]] < p[order[y]] })
	at := func(share float64) float64 {
		under := 0.0
		for _, j := range order {
			if under += n.weights[j]; under >= share {
				return p[j]
			}
		}
		return p[order[len(order)-1]]
	}
	for i := range 40 {
		plausible = append(plausible, at((float64(i)+0.5)/40))
	}
	return math.Min(fit, at(0.025)), math.Max(fit, at(0.975)), plausible
}

// shape is the Weibull shape common to the kinds in which specimens broke.
func (s *nextState) shape() float64 {
	values, design, names, _ := s.blocks(func(d nextDatum) (censor.Value, int, []float64) { return d.strength, d.kind, nil }, nil)
	if r, err := censor.Regress(values, design, names, censor.Weibull); err == nil && r.Exact > len(names)+1 {
		return 1 / r.Sigma
	}
	s.out.Assumptions = append(s.out.Assumptions, message.Say("where a strength cannot be fitted, outcomes are drawn with a Weibull shape of %g (common practice, no source)", nextShape))
	return nextShape
}

// fitArrest regresses log peak on log fall with one line a kind, slope and scatter in common.
func (s *nextState) fitArrest() {
	s.model.cut = make([]float64, len(s.kinds))
	s.model.slope, s.model.sigma = nextSlope, nextScatter
	many := false
	for _, d := range s.data {
		many = many || math.Abs(d.logFall-s.data[0].logFall) > 1e-3
	}
	row := func(d nextDatum) (censor.Value, int, []float64) {
		if many {
			return d.arrest, d.kind, []float64{d.logFall}
		}
		return d.arrest, d.kind, nil
	}
	extra := []string{}
	if many {
		extra = append(extra, "log fall")
	}
	values, design, names, at := s.blocks(row, extra)
	known := map[int]float64{}
	if r, err := censor.Regress(values, design, names, censor.Lognormal); err == nil && r.Exact > len(names) {
		s.model.sigma = r.Sigma
		if many {
			s.model.slope = r.Coefficients[len(names)-1]
		}
		for k, j := range at {
			known[k] = r.Coefficients[j]
			if !many {
				known[k] -= s.model.slope * s.data[0].logFall
			}
		}
	} else {
		s.out.Assumptions = append(s.out.Assumptions, message.Say("the peaks do not determine how the arrest force grows with the fall: it is taken to grow with the fall to the power %g, with a scatter of %g %% (common practice, no source)", nextSlope, 100*nextScatter))
		s.meanCuts(known)
	}
	if !many {
		s.out.Assumptions = append(s.out.Assumptions, message.Say("all drops are from one fall: the arrest force is taken to grow with the fall to the power %g, as a linear spring does in a long fall", nextSlope))
	}
	for k := range s.kinds {
		if c, ok := known[k]; ok {
			s.model.cut[k] = c
			continue
		}
		s.model.cut[k] = s.borrow(k, known)
		s.out.Assumptions = append(s.out.Assumptions, message.Say("%s: no specimen held, so that its arrest force is only bounded; it is taken as that of the kinds most like it, and at least as high as its highest break", message.Names(s.kinds[k].name)))
	}
}

// meanCuts are the mean heights of the lines of the kinds in which a specimen held, with the slope as it stands.
func (s *nextState) meanCuts(known map[int]float64) {
	n := map[int]float64{}
	for _, d := range s.data {
		if d.arrest.Kind() == censor.Observed {
			n[d.kind]++
			known[d.kind] += math.Log(d.peakN) - s.model.slope*d.logFall
		}
	}
	for k := range known {
		known[k] /= n[k]
	}
}

// borrow is the line of the kinds that share most levels, or the highest bound where that is above it.
func (s *nextState) borrow(k int, known map[int]float64) float64 {
	best, n, sum := -1, 0.0, 0.0
	for j := range s.kinds {
		c, ok := known[j]
		if !ok {
			continue
		}
		like := 0
		for f, l := range s.kinds[k].levels {
			if s.kinds[j].levels[f] == l {
				like++
			}
		}
		switch {
		case like > best:
			best, n, sum = like, 1, c
		case like == best:
			n, sum = n+1, sum+c
		}
	}
	cut := math.Inf(-1)
	if n > 0 {
		cut = sum / n
	}
	for _, d := range s.data {
		if d.kind == k || n == 0 {
			cut = math.Max(cut, math.Log(d.peakN)-s.model.slope*d.logFall)
		}
	}
	return cut
}

// blocks lays out a regression with one intercept for each block that has an exact value; others are left out, for their
// bounds say nothing when the block's own height is free. at is the column of a block.
func (s *nextState) blocks(row func(nextDatum) (v censor.Value, block int, x []float64), extra []string) (values []censor.Value, design [][]float64, names []string, at map[int]int) {
	at = map[int]int{}
	for _, d := range s.data {
		if v, b, _ := row(d); b >= 0 && v.Kind() == censor.Observed {
			if _, ok := at[b]; !ok {
				at[b] = len(at)
				names = append(names, fmt.Sprintf("block %d", b+1))
			}
		}
	}
	for _, d := range s.data {
		v, b, x := row(d)
		j, ok := at[b]
		if !ok {
			continue
		}
		line := make([]float64, len(at), len(at)+len(x))
		line[j] = 1
		values, design = append(values, v), append(design, append(line, x...))
	}
	return values, design, append(names, extra...), at
}

// nextNormal is the two-sided 95 % point of the standard normal distribution.
var nextNormal = uncert.NormalQuantile(0.975)
