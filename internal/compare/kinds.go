package compare

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/num/censor"
	"github.com/hardcatch/hardcatch/internal/num/uncert"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// SpecimenKind is one kind of specimen, whatever it fell: what its strength may depend on is alike.
type SpecimenKind struct {
	Levels map[string]string `json:"levels"`
	Name   string            `json:"name"`
	N      int               `json:"n"`
	Broke  int               `json:"broke"`
	// Fit is null where the strengths cannot be fitted; Unfitted then says why.
	Fit       *Strength        `json:"fit"`
	Unfitted  message.Sentence `json:"unfitted,omitempty"`
	Statement message.Sentence `json:"statement"`

	values  []censor.Value
	model   *censor.Model
	entered int // when its first drop was
}

// SpecimenKinds groups the trial drops by what varies among the specimens and fits the strength of each kind over all falls, by
// the family and with the quantiles of the options. Their source drives the check of each fit; nil leaves the check out.
func SpecimenKinds(entries []Entry, o StrengthOptions) ([]SpecimenKind, error) {
	if err := checkConfidence(o.Confidence); err != nil {
		return nil, err
	}
	obs := observations(entries, specimenLevels, Row.strength)
	cells := []Cell{}
	byKey := map[string][]censor.Value{}
	entered := map[string]int{}
	for _, o := range obs {
		k := levelText(o.levels)
		if byKey[k] == nil {
			entered[k] = len(cells)
			cells = append(cells, Cell{Levels: o.levels})
		}
		byKey[k] = append(byKey[k], o.value)
	}
	sortCells(cells, drop.Factors(rowsOf(obs)...))
	out := []SpecimenKind{}
	for _, c := range cells {
		k := SpecimenKind{Levels: c.Levels, Name: c.Name(), values: byKey[c.Key()], entered: entered[c.Key()]}
		if k.Name == "" {
			k.Name = "all specimens"
		}
		k.fit(o)
		out = append(out, k)
	}
	return out, nil
}

func (k *SpecimenKind) fit(o StrengthOptions) {
	for _, v := range k.values {
		k.N++
		if v.Kind() == censor.Observed {
			k.Broke++
		}
	}
	var err error
	o.Text = PrinterOf("N").Down
	if k.Fit, k.model, err = fitStrength(k.values, o); err != nil {
		k.Unfitted = message.Why(err)
		k.Statement = message.Say("%s: %s.", message.Names(k.Name), k.Unfitted)
		return
	}
	k.Statement = message.Say("%s: %s", message.Names(k.Name), k.Fit.Statement(PrinterOf("N")))
}

// StrengthRatio sets the strengths of two kinds that differ in one factor against each other: for a knot the
// efficiency, for conditioning the strength left.
type StrengthRatio struct {
	Factor string `json:"factor"`
	A      string `json:"a"`
	B      string `json:"b"`
	Rest   string `json:"all_else"`
	// Ratio is that of the medians, B over A, by fits of one family (Weibull unless another of logarithms was chosen), each kind with a scatter of its
	// own, and the calibrated interval; null sides are not bounded.
	Ratio *float64 `json:"ratio"`
	Lo    *float64 `json:"lo"`
	Hi    *float64 `json:"hi"`
	P     *float64 `json:"p"` // two-sided, of equal medians
	// Low is that of the 5 % quantiles.
	Low *LowRatio `json:"ratio_of_5_percent_quantiles"`
	// Means is the ratio of the mean strengths with Fieller's interval, which takes both kinds for equally scattered, where every specimen of both broke.
	Means     *Fieller         `json:"means"`
	Statement message.Sentence `json:"statement"`
}

// Fieller is a ratio of means with the interval that takes the uncertainty of both into account.
type Fieller struct {
	Ratio float64 `json:"ratio"`
	Lo    float64 `json:"lo"`
	Hi    float64 `json:"hi"`
}

// LowRatio is a ratio of low quantiles.
type LowRatio struct {
	Ratio float64  `json:"ratio"`
	Lo    *float64 `json:"lo"`
	Hi    *float64 `json:"hi"`
	P     float64  `json:"p"`
}

// lowQuantile is the one set against each other beside the median.
const lowQuantile = 0.05

// StrengthRatios are the ratios of each level over its reference, of a knot over what is not tied.
func StrengthRatios(kinds []SpecimenKind, against Against, confidence float64) []StrengthRatio {
	cells := make([]Cell, len(kinds))
	for i, k := range kinds {
		cells[i].Levels, cells[i].entered = k.Levels, k.entered
	}
	factors := Factors(cells)
	out := []StrengthRatio{}
	for _, f := range factors {
		for _, p := range against.pairs(cells, f) {
			for _, a := range kinds {
				for _, b := range kinds {
					if a.Levels[f] == p.under && b.Levels[f] == p.over && alike(a.Levels, b.Levels, f) {
						out = append(out, strengthRatio(f, a, b, confidence))
					}
				}
			}
		}
	}
	return out
}

// untied tells a termination without a knot, over which a knot's efficiency is reckoned.
func untied(level string) bool {
	for _, w := range []string{"sewn", "none", "open", "untied", "no knot", "spliced"} {
		if strings.HasPrefix(strings.ToLower(level), w) {
			return true
		}
	}
	return level == ""
}

func strengthRatio(factor string, a, b SpecimenKind, confidence float64) StrengthRatio {
	rest := map[string]string{}
	for f, l := range a.Levels {
		if f != factor {
			rest[f] = l
		}
	}
	r := StrengthRatio{Factor: factor, A: a.Levels[factor], B: b.Levels[factor], Rest: Cell{Levels: rest}.Name()}
	head := message.Say("strength of %s over %s", message.Names(r.B), message.Names(r.A))
	if factor == "knot" && untied(r.A) {
		head = message.Say("knot efficiency of %s, over %s", message.Names(r.B), message.Names(r.A))
	}
	if r.Rest != "" {
		head = head.Say(" (%s)", message.Names(r.Rest))
	}
	median, low, err := ratiosOf(a, b, confidence)
	if err != nil {
		r.Statement = message.Say("%s: no number: %s.", head, message.Why(err))
		return r
	}
	r.Ratio, r.Lo, r.Hi, r.P = &median.Estimate, median.Lo, median.Hi, &median.PValue
	r.Low = &LowRatio{Ratio: low.Estimate, Lo: low.Lo, Hi: low.Hi, P: low.PValue}
	r.Statement = message.Say("%s: median %s; 5 %% quantile %s (%g %% confidence, %d and %d {specimen|specimens}).", head, median.say(), low.say(), 100*confidence, b.N, a.N)
	if a.Broke == a.N && b.Broke == b.N {
		if f, err := FiellerRatio(lows(b.values), lows(a.values), confidence); err == nil {
			r.Means = &f
		}
	}
	return r
}

func ratiosOf(a, b SpecimenKind, confidence float64) (median, low QuantileRatio, err error) {
	fit, err := FitRatio(b.values, a.values, ratioFamily(a, b))
	if err != nil {
		return median, low, err
	}
	if median, err = fit.Quantile(0.5, confidence); err != nil {
		return median, low, err
	}
	low, err = fit.Quantile(lowQuantile, confidence)
	return median, low, err
}

// say words a ratio with what the data give of its interval, the lower bound rounded down and the upper one up.
func (q QuantileRatio) say() message.Sentence {
	return sayRatio(q.Estimate, q.Lo, q.Hi)
}

func sayRatio(ratio float64, lo, hi *float64) message.Sentence {
	three := quantity.Significant(ratio, 3)
	switch {
	case lo != nil && hi != nil:
		return message.Say("%s times as high (%s to %s)", three, quantity.Below(*lo, 3), quantity.Above(*hi, 3))
	case lo != nil:
		return message.Say("%s times as high (at least %s; the data give no upper bound)", three, quantity.Below(*lo, 3))
	case hi != nil:
		return message.Say("%s times as high (at most %s; the data give no lower bound)", three, quantity.Above(*hi, 3))
	}
	return message.Say("%s times as high (the data bound it on neither side)", three)
}

// ratioFamily is the family by which two kinds are set against each other: that of their fits where it gives a ratio.
func ratioFamily(a, b SpecimenKind) censor.Family {
	for _, k := range []SpecimenKind{a, b} {
		if k.model != nil && k.model.Family != censor.Normal {
			return k.model.Family
		}
	}
	return censor.Weibull
}

func lows(v []censor.Value) []float64 {
	x := make([]float64, len(v))
	for i := range v {
		x[i] = v[i].Lo
	}
	return x
}

// FiellerRatio is the ratio of the means of a over b with the interval of all ratios rho for which a t test does not reject
// mean a = rho mean b, both groups having one variance:
//
//	(ma - rho mb)^2 <= t^2 s^2 (1/na + rho^2/nb), s^2 pooled, t of na + nb - 2 degrees
//
// It fails with a sentence when mean b cannot be told from 0, since the interval then has no end. Source: Fieller, J. R. Stat.
// Soc. B 16 (1954) 175-185.
func FiellerRatio(a, b []float64, confidence float64) (Fieller, error) {
	x, okA := meanInterval(a, confidence)
	y, okB := meanInterval(b, confidence)
	if !okA || !okB || x.n+y.n < 3 {
		return Fieller{}, message.Say("too few specimens for the interval of a ratio of means; it needs three").Error()
	}
	dof := float64(x.n + y.n - 2)
	s2 := (x.sd*x.sd*float64(x.n-1) + y.sd*y.sd*float64(y.n-1)) / dof
	t := uncert.StudentQuantile(0.5+confidence/2, dof)
	va, vb := t*t*s2/float64(x.n), t*t*s2/float64(y.n)
	// (mb^2 - vb) rho^2 - 2 ma mb rho + (ma^2 - va) = 0
	lead := y.mean*y.mean - vb
	if lead <= 0 {
		return Fieller{}, message.Say("the mean below the line cannot be told from 0, so that the ratio has no bound; test more specimens").Error()
	}
	root := math.Sqrt(math.Max(0, vb*x.mean*x.mean+va*y.mean*y.mean-va*vb))
	return Fieller{Ratio: x.mean / y.mean, Lo: (x.mean*y.mean - root) / lead, Hi: (x.mean*y.mean + root) / lead}, nil
}

// CellInterference is the probability that the arrest force of a cell passes the strength of its kind of specimen.
type CellInterference struct {
	Cell string `json:"cell"`
	*Interference
	Broke     int              `json:"broke"`
	N         int              `json:"n"`
	Statement message.Sentence `json:"statement"`
	// CountP is how well the count of the cell agrees with the probability (CountP); with Contradicted it does not, and Lo to Hi holds both.
	CountP       float64 `json:"count_p"`
	Contradicted bool    `json:"contradicted_by_count"`
}

// Interferences takes each cell's arrest force as lognormal and the strength of its kind as fitted, the uncertainty of both
// fits normal on the logarithms of their parameters that are above 0 (mu on its own scale).
func Interferences(cells []Cell, kinds []SpecimenKind, confidence float64, seed uint64) ([]CellInterference, error) {
	out := []CellInterference{}
	for i, c := range cells {
		var kind *SpecimenKind
		for j := range kinds {
			if within(kinds[j].Levels, c.Levels) {
				kind = &kinds[j]
			}
		}
		if c.N == 0 || kind == nil {
			continue
		}
		x := CellInterference{Cell: c.Name(), Broke: c.Broke, N: c.N, CountP: 1}
		var arrests []censor.Value
		for _, r := range c.Drops {
			if v, ok := r.arrest(); ok {
				arrests = append(arrests, v)
			}
		}
		m, err := censor.Fit(arrests, censor.Lognormal)
		switch {
		case c.Held == 0:
			x.Statement = message.Say("%s: none held, so the arrest force is only known to pass what they bore; %d of %d broke.", message.Names(x.Cell), c.Broke, c.N)
		case err != nil:
			x.Statement = message.Say("%s: the arrest force is not known well enough: %s.", message.Names(x.Cell), err)
		case kind.model == nil:
			x.Statement = message.Say("%s: the strength is not known: %s.", message.Names(x.Cell), kind.Unfitted)
		default:
			v, err := interfere(m, kind.model, confidence, seed+uint64(i))
			if err != nil {
				return nil, fmt.Errorf("cell %s: %w", x.Cell, err)
			}
			x.Interference = &v
			x.hold(c, confidence)
		}
		out = append(out, x)
	}
	return out, nil
}

// few words a probability without more digits than fits of a handful of specimens bear.
func few(p float64) string {
	if p < 0.001 {
		return "fewer than 0.1 %"
	}
	return quantity.Significant(100*p, 2) + " %"
}

func within(part, whole map[string]string) bool {
	for f, l := range part {
		if whole[f] != l {
			return false
		}
	}
	return true
}

func interfere(arrest, strength *censor.Model, confidence float64, seed uint64) (Interference, error) {
	a := spreadForce{mu: arrest.Params[0].Value, sigma: arrest.Params[1].Value}
	drawA := pairDraw(arrest, false)
	drawS := strengthDraw(strength)
	return interference(a, strength.CDF, strength.Quantile, func(rng *rand.Rand) (spreadForce, func(float64) float64) {
		mu, sigma := drawA(rng)
		return spreadForce{mu, sigma}, drawS(rng)
	}, confidence, seed)
}

// strengthDraw draws the distribution function of a strength, as one of the logarithm of the force, out of the uncertainty of its fit.
func strengthDraw(m *censor.Model) func(*rand.Rand) func(float64) float64 {
	if m.Family == censor.Exponential {
		scale, se := m.Params[0].Value, m.Params[0].SE
		return func(rng *rand.Rand) func(float64) float64 {
			s := scale * math.Exp(rng.NormFloat64()*se/scale)
			return func(log float64) float64 { return -math.Expm1(-math.Exp(log) / s) }
		}
	}
	draw := pairDraw(m, m.Family == censor.Weibull)
	return func(rng *rand.Rand) func(float64) float64 {
		p, q := draw(rng)
		switch m.Family {
		case censor.Lognormal:
			return func(log float64) float64 { return normalCDF((log - p) / q) }
		case censor.Normal:
			return func(log float64) float64 { return normalCDF((math.Exp(log) - p) / q) }
		}
		at := math.Log(q)
		return func(log float64) float64 { return -math.Expm1(-math.Exp(p * (log - at))) }
	}
}

func normalCDF(z float64) float64 { return math.Erfc(-z/math.Sqrt2) / 2 }

// pairDraw draws the two parameters of a fit from the normal distribution that its covariance gives, the second, and with
// both the first too, on the logarithm.
func pairDraw(m *censor.Model, both bool) func(*rand.Rand) (float64, float64) {
	p, q := m.Params[0].Value, m.Params[1].Value
	vp, vq, c := m.Cov[0][0], m.Cov[1][1]/(q*q), m.Cov[0][1]/q
	if both {
		vp, c = vp/(p*p), c/p
	}
	lower := 0.0
	if vp > 0 {
		lower = c / math.Sqrt(vp)
	}
	rest := math.Sqrt(math.Max(0, vq-lower*lower))
	return func(rng *rand.Rand) (float64, float64) {
		z, w := rng.NormFloat64(), rng.NormFloat64()
		first := math.Sqrt(math.Max(0, vp)) * z
		second := q * math.Exp(lower*z+rest*w)
		if both {
			return p * math.Exp(first), second
		}
		return p + first, second
	}
}
