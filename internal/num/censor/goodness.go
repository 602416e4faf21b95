package censor

import (
	"fmt"
	"math"
)

// Source is a stream of uniform random numbers on [0, 1), seeded by the caller.
type Source interface{ Float64() float64 }

// Goodness tells how far a model lies from the Kaplan-Meier curve of its values.
type Goodness struct {
	// A2 is n times the integral of (KM - F)^2 / (F (1 - F)) dF up to the largest value, censored or not;
	// without censoring it is the Anderson-Darling statistic.
	A2 float64
	// P is the share of samples from the model, censored as the values were, that lie as far: (1 + more)/(1 + replicates).
	P          float64
	Replicates int
	Redrawn    int // samples without an estimate (for instance all held), drawn again
	Warnings   []string
}

// GoodnessOfFit holds a model against the Kaplan-Meier curve of its exact and right-censored values by an
// Anderson-Darling statistic, and finds p by parametric bootstrap: values from the model, censoring bounds from the
// product-limit estimate of their own distribution, and the parameters fitted anew each time. At least 99 replicates,
// 999 usual. Source: Stephens, J. Am. Stat. Assoc. 69 (1974) 730-737; for censored samples the integral is
// cut at the largest value as in Pettitt and Stephens, Biometrika 63 (1976) 291-298 (recalled).
func GoodnessOfFit(m *Model, source Source, replicates int) (Goodness, error) {
	if replicates < 99 {
		return Goodness{}, failf(ErrArgument, "%d replicates are too few for a p-value; ask for at least 99, 999 is usual", replicates)
	}
	all, counts, err := steps(m.data, "the Anderson-Darling test", "look at Turnbull's curve instead")
	if err != nil {
		return Goodness{}, err
	}
	if counts.Exact < 3 {
		return Goodness{}, failf(ErrNotIdentified, "a goodness-of-fit test of %d values seen says nothing, since two parameters fit them all; test until at least three break", counts.Exact)
	}
	g := Goodness{A2: andersonDarling(all, counts.N, m.dist), Replicates: replicates}
	bounds := newBounds(all, counts.N)
	more := 0
	sample := make([]Value, counts.N)
	for done := 0; done < replicates; {
		for i := range sample {
			x, c := m.dist.quantile(open(source)), bounds.draw(source)
			if sample[i] = Exact(x); x > c {
				sample[i] = AtLeast(c)
			}
		}
		if a2, ok := refit(sample, m.Family); ok {
			done++
			if a2 >= g.A2 {
				more++
			}
			continue
		}
		if g.Redrawn++; g.Redrawn > 20*replicates {
			return Goodness{}, failf(ErrNotIdentified, "too few samples like this one have an estimate for a goodness-of-fit test; test more specimens")
		}
	}
	g.P = (1 + float64(more)) / (1 + float64(replicates))
	if counts.Exact < 20 {
		g.Warnings = append(g.Warnings, fmt.Sprintf("With %d values seen of %d this test rejects only a gross misfit; that it does not reject is no evidence for the %s distribution, least of all in its lower tail.", counts.Exact, counts.N, m.Family))
	}
	if 10*g.Redrawn > replicates {
		g.Warnings = append(g.Warnings, fmt.Sprintf("%d samples from the model had no estimate and were drawn again, so that p holds for those that have one.", g.Redrawn))
	}
	return g, nil
}

// open is a uniform number that is not 0.
func open(source Source) float64 {
	for {
		if u := source.Float64(); u > 0 {
			return u
		}
	}
}

func refit(sample []Value, f Family) (a2 float64, ok bool) {
	m, err := Fit(sample, f)
	if err != nil || m.Exact < 2 {
		return 0, false
	}
	all, counts, err := steps(sample, "", "")
	if err != nil {
		return 0, false
	}
	return andersonDarling(all, counts.N, m.dist), true
}

// andersonDarling integrates piece by piece: with KM = c constant,
//
//	integral of (c - u)^2/(u (1 - u)) du = c^2 log u - (1 - c)^2 log(1 - u) - u
func andersonDarling(all []step, n int, d located) float64 {
	risk, s := float64(n), 1.0
	from, logFrom, logOverFrom := 0.0, 0.0, 0.0
	total := 0.0
	for i, e := range all {
		z := d.standard(e.x)
		to, logTo, logOverTo := d.cdf(e.x), d.family.logCumulative(z), d.family.logSurvival(z)
		c := 1 - s
		piece := -(to - from) - s*s*(logOverTo-logOverFrom)
		if c > 0 {
			piece += c * c * (logTo - logFrom)
		}
		total += piece
		from, logFrom, logOverFrom = to, logTo, logOverTo
		s *= (risk - e.events) / risk
		risk -= e.events + e.censored
		if i == len(all)-1 && s == 0 {
			// KM = 1 beyond the last: c^2 log u - u from u to 1.
			total += -logFrom - (1 - from)
		}
	}
	return float64(n) * total
}

// censorBounds is the product-limit distribution of the censoring bounds; what remains is no bound.
type censorBounds struct{ x, cumulative []float64 }

func newBounds(all []step, n int) censorBounds {
	var b censorBounds
	risk, s := float64(n), 1.0
	for _, e := range all {
		risk -= e.events
		if e.censored > 0 {
			s *= (risk - e.censored) / risk
			b.x, b.cumulative = append(b.x, e.x), append(b.cumulative, 1-s)
			risk -= e.censored
		}
	}
	return b
}

func (b censorBounds) draw(source Source) float64 {
	u := source.Float64()
	for i, c := range b.cumulative {
		if u < c {
			return b.x[i]
		}
	}
	return math.Inf(1)
}
