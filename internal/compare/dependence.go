package compare

import (
	"math"
	"slices"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/num/censor"
	"github.com/hardcatch/hardcatch/internal/num/joint"
	"github.com/hardcatch/hardcatch/internal/num/uncert"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// Dependence is what becomes of a kind's strength if the force of a fall and the strength of its specimen go together: a stiff specimen may be both strong and hard to
// fall on. Every strength from drops of which some held takes the two as independent.
type Dependence struct {
	Kind  string `json:"kind"`
	Held  int    `json:"held"`
	Broke int    `json:"broke"`
	// Correlation is that of highest likelihood with its profile interval of 95 %, null where these drops cannot tell: where the likelihood bounds it on one side
	// only, or not at all, between LeastCorrelation and MostCorrelation. It rests on both distributions being as they are fitted.
	Correlation *float64 `json:"correlation"`
	Lo          *float64 `json:"correlation_lo"`
	Hi          *float64 `json:"correlation_hi"`
	// At are the quantiles at some correlations, the first of which is 0.
	At        []AtCorrelation  `json:"at"`
	Statement message.Sentence `json:"statement"`
}

// AtCorrelation is a kind's quantiles of strength at one correlation.
type AtCorrelation struct {
	Correlation float64    `json:"correlation"`
	Quantiles   []Quantile `json:"quantiles"`
}

// Correlations are those at which strengths are shown beside that of none. Common practice, no source.
var Correlations = []float64{0.5, 0.8}

// LeastCorrelation and MostCorrelation are the ends between which a correlation is looked for.
const LeastCorrelation, MostCorrelation = -0.8, 0.95

// leastTold is how many must have held and how many broken before a correlation is looked for: with fewer the likelihood is flat.
const leastTold = 8

// Dependences shows for each kind of which some broke and some held how far its strength depends on the two being independent. Kinds without a fit on logarithms, and
// those whose likelihood has no top, are left out.
func Dependences(entries []Entry, kinds []SpecimenKind) []Dependence {
	drops := jointDrops(entries)
	out := []Dependence{}
	for _, k := range kinds {
		if k.Fit == nil || k.model == nil || k.model.Family != censor.Weibull && k.model.Family != censor.Lognormal {
			continue
		}
		if d, ok := dependence(k, drops[levelText(k.Levels)]); ok {
			out = append(out, d)
		}
	}
	return out
}

// jointDrops are the drops of each kind, by its levels, each fall a group.
func jointDrops(entries []Entry) map[string][]joint.Drop {
	var trial []drop.Drop
	marked := MarkAgain(entries)
	for _, e := range marked {
		if e.Drop.Role != drop.Check {
			trial = append(trial, e.Drop)
		}
	}
	factors := drop.VaryingFactors(trial)
	group := map[string]map[string]int{}
	out := map[string][]joint.Drop{}
	for _, e := range marked {
		r := e.Row()
		v, ok := r.arrest()
		if e.Drop.Role == drop.Check || !ok {
			continue
		}
		levels := specimenLevels(e.Drop)
		for f := range levels {
			if !slices.Contains(factors, f) {
				delete(levels, f)
			}
		}
		kind, cell := levelText(levels), levelText(levelsAmong(e.Drop, factors))
		if group[kind] == nil {
			group[kind] = map[string]int{}
		}
		g, known := group[kind][cell]
		if !known {
			g = len(group[kind])
			group[kind][cell] = g
		}
		out[kind] = append(out[kind], jointDrop(r, v, g))
	}
	return out
}

// jointDrop is a drop of a group of falls, with the arrest force that it shows or bounds.
func jointDrop(r Row, arrest censor.Value, group int) joint.Drop {
	d := joint.Drop{X: r.Peak.SI(), Group: group, Shown: joint.Neither}
	switch {
	case arrest.Kind() == censor.Observed:
		d.Shown = joint.Load
	case arrest.Kind() == censor.IntervalCensored: // the middle of a rebuilt top
		d.X, d.Shown = (arrest.Lo+arrest.Hi)/2, joint.Load
	case r.Outcome == drop.Broke && !r.CutOff:
		d.Shown = joint.Strength
	}
	return d
}

// Shift is what becomes of a strength at one correlation: the factor of the quantile, and how many times as large the standard error of its logarithm is.
type Shift struct {
	Correlation    float64
	Factor, Spread float64
}

// ShiftsOf are the shifts of the quantile p of a Weibull strength at Correlations, from drops of one kind, each fall a group. None where not both some held and some broke, or
// where the likelihood has no top.
func ShiftsOf(entries []Entry, p float64) []Shift {
	var drops []joint.Drop
	groups := map[string]int{}
	held, broke := 0, 0
	for _, e := range entries {
		r := e.Row()
		v, ok := r.arrest()
		if !ok {
			continue
		}
		cell := levelText(e.Drop.Levels())
		g, known := groups[cell]
		if !known {
			g = len(groups)
			groups[cell] = g
		}
		d := jointDrop(r, v, g)
		switch d.Shown {
		case joint.Load:
			held++
		case joint.Strength:
			broke++
		}
		drops = append(drops, d)
	}
	if held == 0 || broke == 0 {
		return nil
	}
	none, err := joint.At(drops, true, 0, nil)
	if err != nil {
		return nil
	}
	at0, se0 := none.Quantile(p)
	var out []Shift
	from := none
	for _, rho := range Correlations {
		f, err := joint.At(drops, true, rho, from)
		if err != nil {
			return out
		}
		from = f
		at, se := f.Quantile(p)
		out = append(out, Shift{rho, math.Exp(at - at0), se / se0})
	}
	return out
}

func dependence(k SpecimenKind, drops []joint.Drop) (Dependence, bool) {
	d := Dependence{Kind: k.Name, At: []AtCorrelation{{0, k.Fit.Quantiles}}}
	for _, x := range drops {
		switch x.Shown {
		case joint.Load:
			d.Held++
		case joint.Strength:
			d.Broke++
		}
	}
	if d.Held == 0 || d.Broke == 0 {
		return d, false
	}
	weibull := k.model.Family == censor.Weibull
	none, err := joint.At(drops, weibull, 0, nil)
	if err != nil {
		return d, false
	}
	from := none
	for _, rho := range Correlations {
		f, err := joint.At(drops, weibull, rho, from)
		if err != nil {
			break
		}
		from = f
		d.At = append(d.At, AtCorrelation{rho, moved(k.Fit.Quantiles, none, f)})
	}
	if len(d.At) == 1 {
		return d, false
	}
	if d.Held >= leastTold && d.Broke >= leastTold {
		d.tell(drops, weibull, none)
	}
	d.say()
	return d, true
}

// moved are the quantiles at another correlation: by its own fit, with the interval of the fit without one, whose ends are so many times as far away, on the logarithm, as
// the standard error is larger.
func moved(at0 []Quantile, none, f *joint.Fit) []Quantile {
	var out []Quantile
	for _, q := range at0 {
		_, se0 := none.Quantile(q.P)
		log, se := f.Quantile(q.P)
		m := Quantile{P: q.P, Value: math.Exp(log), Confidence: q.Confidence, Method: "joint likelihood"}
		end := func(e *float64) *float64 {
			if e == nil || !(*e > 0) {
				return nil
			}
			v := math.Exp(log + math.Log(*e/q.Value)*se/se0)
			return &v
		}
		m.Lo, m.Hi = end(q.Lo), end(q.Hi)
		out = append(out, m)
	}
	return out
}

// correlationSteps is the grid of the profile.
var correlationSteps = []float64{LeastCorrelation, -0.5, -0.25, 0, 0.25, 0.45, 0.6, 0.72, 0.82, 0.89, MostCorrelation}

// tell finds the correlation where the likelihood bounds it on both sides.
func (d *Dependence) tell(drops []joint.Drop, weibull bool, from *joint.Fit) {
	height := make([]float64, len(correlationSteps))
	best := 0
	for i, rho := range correlationSteps {
		f, err := joint.At(drops, weibull, rho, from)
		if err != nil {
			return
		}
		from, height[i] = f, f.LogLik
		if height[i] > height[best] {
			best = i
		}
	}
	z := uncert.NormalQuantile(0.975)
	cut := height[best] - z*z/2
	if best == 0 || best == len(height)-1 || height[0] > cut || height[len(height)-1] > cut {
		return
	}
	top := vertex(correlationSteps[best-1:best+2], height[best-1:best+2])
	lo, hi := top, top
	for i := 1; i < len(height); i++ {
		a, b := correlationSteps[i-1], correlationSteps[i]
		at := a + (b-a)*(cut-height[i-1])/(height[i]-height[i-1])
		if height[i-1] < cut && height[i] >= cut {
			lo = at
		}
		if height[i-1] >= cut && height[i] < cut {
			hi = at
		}
	}
	d.Correlation, d.Lo, d.Hi = &top, &lo, &hi
}

// vertex is the top of the parabola through three points, the middle one the highest.
func vertex(x, y []float64) float64 {
	a, b := (y[1]-y[0])/(x[1]-x[0]), (y[2]-y[1])/(x[2]-x[1])
	if a == b {
		return x[1]
	}
	return math.Max(x[0], math.Min(x[2], (x[0]+x[1])/2+a*(x[2]-x[0])/2/(a-b)))
}

// low is the quantile that is told: 5 %, or the lowest there is.
func (a AtCorrelation) low() Quantile {
	out := a.Quantiles[0]
	for _, q := range a.Quantiles {
		if q.P == 0.05 {
			return q
		}
		if q.P < out.P {
			out = q
		}
	}
	return out
}

func (d *Dependence) say() {
	text := func(q Quantile) message.Sentence {
		at := quantity.Force(q.Value).Text(3)
		switch {
		case q.Lo != nil && q.Hi != nil:
			return message.Say("%s (%s to %s)", at, quantity.Force(*q.Lo).Text(3), quantity.Force(*q.Hi).Text(3))
		case q.Lo != nil:
			return message.Say("%s (at least %s)", at, quantity.Force(*q.Lo).Text(3))
		}
		return message.Say("%s (no lower bound)", at)
	}
	q := d.At[0].low()
	s := message.Say("%s: that %g %% are weaker than %s takes the force of a fall and the strength of its specimen as independent.", message.Names(d.Kind), 100*q.P, text(q))
	for _, a := range d.At[1:] {
		s = s.Say(" With a correlation of %g it is %s.", a.Correlation, text(a.low()))
	}
	if d.Correlation == nil {
		s = s.Say(" These drops cannot tell the correlation; slow pulls of specimens of the same batch, beside drops that break, can.")
	} else {
		s = s.Say(" By these drops the correlation is %.2f (%.2f to %.2f, likelihood), if both distributions are as they are fitted.", *d.Correlation, *d.Lo, *d.Hi)
	}
	d.Statement = s
}
