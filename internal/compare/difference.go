package compare

import (
	"fmt"
	"math"
	"math/rand/v2"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/num/censor"
	"github.com/hardcatch/hardcatch/internal/num/exact"
	"github.com/hardcatch/hardcatch/internal/num/uncert"
)

// MeasureReader gives what a drop shows of a measure: seen, or at least so much; false where it shows nothing.
type MeasureReader func(Row) (censor.Value, bool)

// ReadPeak is the arrest force: seen where the specimen held, at least the peak where it let go.
func ReadPeak(r Row) (censor.Value, bool) { return r.arrest() }

// What a difference may be about, beside the names of measures.
const (
	OfStrength = "strength"
	OfPeak     = "peak force"
	OfBreaks   = "odds of breaking"
)

// Verdict is what an exact test allows to be said.
type Verdict string

// The verdicts.
const (
	BeyondChance Verdict = "beyond chance"
	Chance       Verdict = "chance may explain it"
	// AsClearAsCan is the smallest p that the sample could give, and still not small enough after the adjustment.
	AsClearAsCan Verdict = "as clear as so few can show"
	CouldNotShow Verdict = "too few to show it"
	Untested     Verdict = "not tested"
)

// Verdict of a test, nil when nothing could be tested. The adjusted p counts.
func (t *ExactTest) Verdict() Verdict {
	switch {
	case t == nil:
		return Untested
	case max(t.SmallestP, t.SmallestHolm) > SignificanceLevel && t.P > t.SmallestP*(1+1e-9) || t.SmallestP > SignificanceLevel:
		return CouldNotShow
	case t.PHolm <= SignificanceLevel:
		return BeyondChance
	case t.P <= t.SmallestP*(1+1e-9):
		return AsClearAsCan
	}
	return Chance
}

// Difference is a contrast in one respect: A over B as a ratio with its interval, and the exact test of it.
type Difference struct {
	Factor string `json:"factor"`
	A      string `json:"a"`
	B      string `json:"b"`
	Of     string `json:"of"`
	NA     int    `json:"n_a"`
	NB     int    `json:"n_b"`
	BrokeA int    `json:"broke_a"`
	BrokeB int    `json:"broke_b"`
	Pairs  int    `json:"pairs"` // of cells behind the ratio
	// Ratio is A over B; null where there is none, and Missing then says why. A side of the interval that the data do not
	// bound is null.
	Ratio      *float64         `json:"ratio"`
	Lo         *float64         `json:"lo"`
	Hi         *float64         `json:"hi"`
	Confidence float64          `json:"confidence"`
	Method     message.Sentence `json:"method"`
	Missing    message.Sentence `json:"missing,omitempty"`
	Test       *ExactTest       `json:"test"`
	Verdict    Verdict          `json:"verdict"`
}

// Differences puts ratios with intervals beside the tests of contrasts: of the strengths by a regression in which
// each kind of specimen has a level of its own, of a measure over the pairs of cells in which every drop shows it, and of the
// odds of breaking over all pairs. Of OfPeak the tests are those of the contrasts, of another measure they are made here.
func Differences(cells []Cell, tested []TestedContrast, of string, read MeasureReader, family censor.Family, confidence float64, seed uint64) ([]Difference, error) {
	if err := checkConfidence(confidence); err != nil {
		return nil, err
	}
	rng := rand.New(rand.NewPCG(seed, 0xd1))
	out := []Difference{}
	var own []*ExactTest
	for _, t := range tested {
		pairs := pairsOf(cells, t.Factor, t.A, t.B)
		start := Difference{Factor: t.Factor, A: t.A, B: t.B, NA: t.NA, NB: t.NB, BrokeA: t.BrokeA, BrokeB: t.BrokeB, Confidence: confidence}
		s, m, b := start, start, start
		s.Of, s.Test = OfStrength, t.Strength
		s.strength(pairs, family)
		m.Of, m.Test = of, t.Peak
		m.means(pairs, read)
		if of != OfPeak {
			m.Test = nil
			if test, err := testMeasure(pairs, read, rng); err == nil {
				m.Test = test
				own = append(own, test)
			}
		}
		b.Of, b.Test = OfBreaks, t.Break
		b.odds(pairs)
		out = append(out, s, m, b)
	}
	if err := adjust(of, own); err != nil {
		return nil, err
	}
	for i := range out {
		out[i].Verdict = out[i].Test.Verdict()
	}
	return out, nil
}

func (d *Difference) set(v censor.Interval) {
	d.Ratio = &v.Estimate
	if !v.OpenLo {
		d.Lo = &v.Lo
	}
	if !v.OpenHi {
		d.Hi = &v.Hi
	}
}

// strength fits one ratio of medians A over B, with a level of its own for each kind of specimen among the pairs and a scatter of its own for each side of
// it. Kinds of which nothing broke say nothing and are left out.
func (d *Difference) strength(pairs []cellPair, family censor.Family) {
	family = ofLogarithms(family)
	type value struct {
		v    censor.Value
		kind int
		isA  float64
	}
	var all []value
	var seen []int
	number := map[string]int{}
	once := map[string]bool{}
	for _, p := range pairs {
		rest := map[string]string{}
		for f, l := range p.a.Levels {
			if f != d.Factor && !ofTheFall[f] {
				rest[f] = l
			}
		}
		k := levelText(rest)
		if _, ok := number[k]; !ok {
			number[k] = len(number)
			seen = append(seen, 0)
		}
		for side, c := range []Cell{p.a, p.b} {
			if key := fmt.Sprint(side, c.Key()); once[key] {
				continue
			} else {
				once[key] = true
			}
			for _, v := range strengths(c) {
				if v.Kind() == censor.Observed {
					seen[number[k]]++
				}
				all = append(all, value{v, number[k], float64(1 - side)})
			}
		}
		if p.a.Broke+p.b.Broke > 0 {
			d.Pairs++
		}
	}
	column := map[int]int{}
	names := []string{}
	for k, n := range seen {
		if n > 0 {
			column[k] = len(names)
			names = append(names, fmt.Sprintf("kind %d", k+1))
		}
	}
	names = append(names, "ratio")
	var values []censor.Value
	var design [][]float64
	var group []int
	for _, v := range all {
		at, ok := column[v.kind]
		if !ok {
			continue
		}
		row := make([]float64, len(names))
		row[at], row[len(names)-1] = 1, v.isA
		values, design, group = append(values, v.v), append(design, row), append(group, 2*at+int(v.isA))
	}
	if len(values) == 0 {
		d.Missing = message.Say("no specimen broke, so that their strengths cannot be set against each other")
		return
	}
	r, err := censor.RegressPooled(values, design, names, group, family)
	if err == nil {
		c := make([]float64, len(names))
		c[len(c)-1] = 1
		var v censor.Interval
		if v, _, err = r.QuantileRatio(c, 0, 0, 0.5, d.Confidence); err == nil {
			d.Method = message.Say("medians by a %s regression with a level for each kind of specimen and a scatter for each side, held ones as lower bounds, calibrated interval", family)
			d.set(v)
			return
		}
	}
	d.Missing = message.Why(err)
}

// ofTheFall are the factors on which the strength of a specimen is taken not to depend.
var ofTheFall = map[string]bool{"fall": true, "fall factor": true, "mass": true, "slack": true}

// means is the geometric mean, over the pairs in which every drop shows the measure, of mean at A over mean at B. The interval is Student's
// on the logarithms, one relative variance s^2 pooled over all their cells:
//
//	log ratio -+ t s sqrt(sum (1/nA + 1/nB))/k, t of the pooled degrees of freedom, k pairs
//
// The variance of the logarithm of a mean is s^2/n to first order.
func (d *Difference) means(pairs []cellPair, read MeasureReader) {
	logs, weight, squares, dof, k := 0.0, 0.0, 0.0, 0.0, 0.0
	for _, p := range pairs {
		a, b, ok := p.shown(read)
		if !ok {
			continue
		}
		x, _ := meanInterval(a, d.Confidence)
		y, _ := meanInterval(b, d.Confidence)
		logs += math.Log(x.mean / y.mean)
		weight += 1/float64(x.n) + 1/float64(y.n)
		for _, i := range []interval{x, y} {
			squares += float64(i.n-1) * i.sd * i.sd / (i.mean * i.mean)
			dof += float64(i.n - 1)
		}
		k++
	}
	if k == 0 {
		d.Missing = message.Say("there is no pair of cells in which every drop shows it; what broke or slipped gives lower bounds")
		return
	}
	centre := logs / k
	d.Pairs, d.Method = int(k), message.Say("means where every drop shows it, t interval of the logarithms")
	v := censor.Interval{Estimate: math.Exp(centre), OpenLo: true, OpenHi: true}
	if dof > 0 {
		half := uncert.StudentQuantile(0.5+d.Confidence/2, dof) * math.Sqrt(squares/dof*weight) / k
		v = censor.Interval{Estimate: v.Estimate, Lo: math.Exp(centre - half), Hi: math.Exp(centre + half)}
	}
	d.set(v)
}

// shown are the values of a cell when every valid drop shows one above 0.
func shown(c Cell, read MeasureReader) ([]float64, bool) {
	var out []float64
	for _, r := range c.Drops {
		if r.Outcome == drop.Void || r.Outcome == "" || r.Again {
			continue
		}
		v, ok := read(r)
		if !ok || v.Kind() != censor.Observed || !(v.Lo > 0) {
			return nil, false
		}
		out = append(out, v.Lo)
	}
	return out, len(out) > 0
}

func (p cellPair) shown(read MeasureReader) (a, b []float64, ok bool) {
	a, okA := shown(p.a, read)
	b, okB := shown(p.b, read)
	return a, b, okA && okB
}

func testMeasure(pairs []cellPair, read MeasureReader, rng *rand.Rand) (*ExactTest, error) {
	var in []exact.Pair
	for _, p := range pairs {
		a, b, ok := p.shown(read)
		if !ok {
			continue
		}
		for _, x := range [][]float64{a, b} {
			for i := range x {
				x[i] = math.Log(x[i])
			}
		}
		in = append(in, exact.Pair{A: a, B: b})
	}
	if len(in) == 0 {
		return nil, message.Say("no pair of cells shows it").Error()
	}
	return permuted(exact.MeanDifference(in, exact.Sampling{Source: rng}))(message.Say("permutation test of the logarithms, two-sided"))
}

// MeasureEffects is PeakEffects of another measure.
func MeasureEffects(entries []Entry, of string, read MeasureReader, against Against, confidence float64) (*Effects, error) {
	e := &Effects{Of: of, Model: message.Say("log %s, normal errors; what let go gives lower bounds", of)}
	return e, e.fit(entries, drop.Drop.Levels, read, censor.Lognormal, against, confidence)
}

// MeasuredCell is what the drops of a cell show of a measure.
type MeasuredCell struct {
	Values []MeasuredDrop `json:"values"`
	// Mean, Lo and Hi are of the values that are seen, with Student's interval; null when there are too few.
	Mean *float64 `json:"mean"`
	SD   *float64 `json:"sd"`
	Lo   *float64 `json:"lo"`
	Hi   *float64 `json:"hi"`
	// AtLeast tells that others of the cell are lower bounds or show nothing, so that the mean stands for those only that are seen.
	AtLeast bool `json:"at_least"`
}

// MeasuredDrop is the value of one drop.
type MeasuredDrop struct {
	Drop    string       `json:"drop"`
	Outcome drop.Outcome `json:"outcome"`
	Value   float64      `json:"value"`
	AtLeast bool         `json:"at_least"`
}

// MeasureCell sums up what the valid drops of a cell show of a measure.
func MeasureCell(c Cell, read MeasureReader, confidence float64) MeasuredCell {
	out := MeasuredCell{Values: []MeasuredDrop{}}
	var seen []float64
	for _, r := range c.Drops {
		if r.Outcome == drop.Void || r.Outcome == "" || r.Again {
			continue
		}
		v, ok := read(r)
		if !ok {
			out.AtLeast = true
			continue
		}
		bound := v.Kind() != censor.Observed
		out.Values = append(out.Values, MeasuredDrop{r.Drop, r.Outcome, v.Lo, bound})
		out.AtLeast = out.AtLeast || bound
		if !bound {
			seen = append(seen, v.Lo)
		}
	}
	if i, ok := meanInterval(seen, confidence); ok {
		out.Mean = &i.mean
		if i.n > 1 {
			out.SD, out.Lo, out.Hi = &i.sd, &i.lo, &i.hi
		}
	}
	return out
}
