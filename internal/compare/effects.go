package compare

import (
	"math"
	"slices"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/num/censor"
	"github.com/hardcatch/hardcatch/internal/num/exact"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// Effects are ratios between levels, all factors taken together, from a regression in which what broke (for the arrest
// force) or held (for the strength) is known from below only.
type Effects struct {
	Of         string           `json:"of"`    // "peak force" or "strength"
	Model      message.Sentence `json:"model"` // in words
	N          int              `json:"n"`
	Seen       int              `json:"seen"`
	Bounds     int              `json:"lower_bounds"`
	Confidence float64          `json:"confidence"`
	// Reference are the levels against which all ratios stand.
	Reference    map[string]string `json:"reference"`
	Effects      []Effect          `json:"effects"`
	Interactions []Interaction     `json:"interactions"`
	// Scatter is the standard deviation of the logarithms that the factors leave unexplained, nearly the relative one where it is small.
	Scatter quantity.Ratio `json:"scatter"`
	// LeftOut says what could not be told, and why.
	LeftOut  []message.Sentence `json:"left_out"`
	Warnings []message.Sentence `json:"warnings"`
}

// Effect is one level against the reference of its factor: the ratio of the medians.
type Effect struct {
	Factor string   `json:"factor"`
	Level  string   `json:"level"`
	Base   string   `json:"base"`
	Ratio  float64  `json:"ratio"`
	Lo     *float64 `json:"lo"` // null when the data give no bound on this side
	Hi     *float64 `json:"hi"`
	P      float64  `json:"p"` // two-sided, by the same calibrated likelihood as the interval
	PHolm  float64  `json:"p_holm"`
	// Statement words the effect.
	Statement message.Sentence `json:"statement"`
}

// Interaction asks whether one factor's effect depends on another.
type Interaction struct {
	A         string           `json:"a"`
	B         string           `json:"b"`
	P         float64          `json:"p"` // the smallest of its columns' times their number
	PHolm     float64          `json:"p_holm"`
	DF        int              `json:"df"`
	Statement message.Sentence `json:"statement"`
}

type observation struct {
	levels map[string]string
	value  censor.Value
}

// PeakEffects is the regression of log peak on the factors that vary: lognormal errors, drops that held seen, the peaks of
// those that broke or slipped or were cut off as lower bounds.
func PeakEffects(entries []Entry, against Against, confidence float64) (*Effects, error) {
	e := &Effects{Of: "peak force", Model: message.Say("log peak, normal errors; broken, slipped and cut-off drops are lower bounds of the arrest force")}
	return e, e.fit(entries, drop.Drop.Levels, Row.arrest, censor.Lognormal, against, confidence)
}

// StrengthEffects is the regression of log strength on what varies among the specimens: broken specimens seen, the peaks of
// those that held as lower bounds. The fall is taken to have no effect on the strength. A ratio needs a family of
// logarithms with a scatter of its own, so that any other than Lognormal is taken as Weibull.
func StrengthEffects(entries []Entry, family censor.Family, against Against, confidence float64) (*Effects, error) {
	model := message.Say("log strength, Weibull errors; specimens that held are lower bounds; the fall is taken to have no effect on the strength")
	family = ofLogarithms(family)
	if family == censor.Lognormal {
		model = message.Say("log strength, %s errors; specimens that held are lower bounds; the fall is taken to have no effect on the strength", "normal")
	}
	e := &Effects{Of: "strength", Model: model}
	return e, e.fit(entries, specimenLevels, Row.strength, family, against, confidence)
}

func observations(entries []Entry, levels func(drop.Drop) map[string]string, value func(Row) (censor.Value, bool)) []observation {
	var drops []drop.Drop
	var kept []Entry
	for _, e := range MarkAgain(entries) {
		if e.Drop.Role != drop.Check {
			drops, kept = append(drops, e.Drop), append(kept, e)
		}
	}
	factors := drop.VaryingFactors(drops)
	var out []observation
	for _, e := range kept {
		v, ok := value(e.Row())
		if !ok {
			continue
		}
		l := levels(e.Drop)
		for f := range l {
			if !slices.Contains(factors, f) {
				delete(l, f)
			}
		}
		out = append(out, observation{l, v})
	}
	return out
}

// seenOnly leaves out the levels at which nothing was seen, until every level that stays has a value.
func (e *Effects) seenOnly(obs []observation, factors []string) []observation {
	for again := true; again; {
		again = false
		for _, f := range factors {
			seen, all := map[string]int{}, map[string]int{}
			for _, o := range obs {
				all[o.levels[f]]++
				if o.value.Kind() == censor.Observed {
					seen[o.levels[f]]++
				}
			}
			for _, l := range levelOrder(rowsOf(obs), f) {
				if seen[l] > 0 {
					continue
				}
				obs = slices.DeleteFunc(obs, func(o observation) bool { return o.levels[f] == l })
				e.LeftOut = append(e.LeftOut, message.Say("%s %s: %d {drop gives a lower bound|drops give lower bounds} of the %s and none shows it, so no ratio can be told; {it is|they are} left out of the regression", f, message.Names(l), all[l], e.Of))
				again = true
			}
		}
	}
	return obs
}

func rowsOf(obs []observation) []map[string]string {
	rows := make([]map[string]string, len(obs))
	for i, o := range obs {
		rows[i] = o.levels
	}
	return rows
}

func (e *Effects) fit(entries []Entry, levels func(drop.Drop) map[string]string, value func(Row) (censor.Value, bool), family censor.Family, against Against, confidence float64) error {
	obs := observations(entries, levels, value)
	if err := checkConfidence(confidence); err != nil {
		return err
	}
	e.Confidence, e.Reference = confidence, map[string]string{}
	e.Effects, e.Interactions, e.LeftOut, e.Warnings = []Effect{}, []Interaction{}, []message.Sentence{}, []message.Sentence{}
	e.nameTwins(entries, levels)
	obs = e.seenOnly(obs, drop.Factors(rowsOf(obs)...))
	factors := varying(rowsOf(obs), drop.Factors(rowsOf(obs)...))
	terms, dropped := independent(rowsOf(obs), against.mainTerms(rowsOf(obs), factors))
	if len(terms) == 0 {
		e.LeftOut = append(e.LeftOut, message.Say("no factor has two levels at which the %s was seen, so there is nothing to compare by regression", e.Of))
		return nil
	}
	if len(dropped) > 0 {
		e.LeftOut = append(e.LeftOut, message.Say("the design cannot tell these apart from the others: %s", listTerms(dropped)))
	}
	full, err := regress(obs, terms, groupsOf(obs), family)
	if err != nil {
		e.LeftOut = append(e.LeftOut, message.Why(err))
		return nil
	}
	e.N, e.Seen, e.Bounds, e.Scatter = full.N, full.Exact, full.Right, quantity.Ratio(logSD(family, full.Scatter()))
	e.Warnings = append(e.Warnings, message.TellAll(full.Warnings)...)
	if free := e.Seen - len(terms) - 1; free < 5 {
		e.Warnings = append(e.Warnings, message.Say("%d {value was|values were} seen for %d {coefficient|coefficients} of the %s: the intervals and p-values of this regression allow for that, but lean on its distribution", e.Seen, len(terms)+1, e.Of))
	}
	for _, f := range factors {
		e.Reference[f] = against.levelOrder(rowsOf(obs), f)[0]
	}
	for i, t := range terms {
		if err := e.effect(len(terms), i, t, full); err != nil {
			e.LeftOut = append(e.LeftOut, message.Join(": ", t.says(), message.Why(err)))
		}
	}
	e.interactions(obs, terms, factors, against, family)
	return e.adjust()
}

// logSD is the standard deviation of the logarithm of a value of a family whose logarithm has the scale sigma: of the smallest extreme value
// distribution (Weibull, sigma = 1/shape, and exponential, shape 1) it is pi sigma/sqrt 6. Source: NIST/SEMATECH e-Handbook 1.3.6.6.16.
func logSD(family censor.Family, sigma float64) float64 {
	if family == censor.Lognormal {
		return sigma
	}
	return math.Pi * sigma / math.Sqrt(6)
}

func regress(obs []observation, terms []term, group []int, family censor.Family) (*censor.Pooled, error) {
	names := []string{"reference"}
	for _, t := range terms {
		names = append(names, t.name())
	}
	values := make([]censor.Value, len(obs))
	for i, o := range obs {
		values[i] = o.value
	}
	return censor.RegressPooled(values, matrix(rowsOf(obs), terms), names, group, family)
}

// leastOfAGroup is how many values must be seen at a combination of levels for it to have a scatter of its own; the others share one.
const leastOfAGroup = 3

// groupsOf numbers the observations by the scatter that they have.
func groupsOf(obs []observation) []int {
	seen := map[string]int{}
	for _, o := range obs {
		if o.value.Kind() == censor.Observed {
			seen[levelText(o.levels)]++
		}
	}
	number := map[string]int{}
	out := make([]int, len(obs))
	for i, o := range obs {
		k := levelText(o.levels)
		if seen[k] < leastOfAGroup {
			k = "\x00shared"
		}
		if _, ok := number[k]; !ok {
			number[k] = len(number)
		}
		out[i] = number[k]
	}
	return out
}

// nameTwins says which factors tell the same drops apart as another and stand behind it.
func (e *Effects) nameTwins(entries []Entry, levels func(drop.Drop) map[string]string) {
	var drops []drop.Drop
	var rows []map[string]string
	for _, x := range entries {
		if x.Drop.Role != drop.Check {
			drops, rows = append(drops, x.Drop), append(rows, levels(x.Drop))
		}
	}
	kept := drop.VaryingFactors(drops)
	for _, f := range varying(rows, drop.Factors(rows...)) {
		if slices.Contains(kept, f) {
			continue
		}
		for _, g := range kept {
			if twins(rows, f, g) {
				e.LeftOut = append(e.LeftOut, message.Say("%s goes with %s in every drop, so that what is said of one may be due to the other", message.Names(f), message.Names(g)))
				break
			}
		}
	}
}

// twins tells that two factors tell the same rows apart.
func twins(rows []map[string]string, f, g string) bool {
	of, by := map[string]string{}, map[string]string{}
	for _, r := range rows {
		if l, ok := of[r[f]]; ok && l != r[g] {
			return false
		}
		if l, ok := by[r[g]]; ok && l != r[f] {
			return false
		}
		of[r[f]], by[r[g]] = r[g], r[f]
	}
	return true
}

func (e *Effects) effect(terms, i int, t term, full *censor.Pooled) error {
	c := make([]float64, 1+terms)
	c[1+i] = 1
	r, p, err := full.Contrast(c, nil, e.Confidence)
	if err != nil {
		return err
	}
	out := Effect{Factor: t.factors[0], Level: t.levels[0], Base: t.base[0], Ratio: math.Exp(r.Estimate), P: p}
	if lo := math.Exp(r.Lo); !r.OpenLo && lo*FarRatio > out.Ratio {
		out.Lo = finite(lo)
	}
	if hi := math.Exp(r.Hi); !r.OpenHi && hi < out.Ratio*FarRatio {
		out.Hi = finite(hi)
	}
	e.Effects = append(e.Effects, out)
	return nil
}

// interactions tries each pair of factors beside the main effects, where the crossing leaves values to judge it by.
func (e *Effects) interactions(obs []observation, terms []term, factors []string, against Against, family censor.Family) {
	for i, f := range factors {
		for _, g := range factors[i+1:] {
			cross := against.crossTerms(rowsOf(obs), f, g)
			kept, _ := independent(rowsOf(obs), append(slices.Clone(terms), cross...))
			more := len(kept) - len(terms)
			pair := message.Say("%s", message.Names(f)).Say(" with ").Say("%s", message.Names(g))
			switch {
			case more == 0:
				e.LeftOut = append(e.LeftOut, message.Say("%s: the cells of the design do not cross these factors, so whether one's effect depends on the other cannot be told", pair))
				continue
			case e.Seen-len(kept)-1 < 2:
				e.LeftOut = append(e.LeftOut, message.Say("%s: %d {value is|values are} too few to ask whether one's effect depends on the other", pair, e.Seen))
				continue
			}
			p, err := smallestOf(obs, kept, len(terms), family)
			if err != nil {
				e.LeftOut = append(e.LeftOut, message.Join(": ", pair, message.Why(err)))
				continue
			}
			e.Interactions = append(e.Interactions, Interaction{A: f, B: g, P: p, DF: more})
		}
	}
}

// smallestOf is the smallest p-value of the terms from a number on, times how many they are: the chance of a false claim about any of them.
func smallestOf(obs []observation, terms []term, from int, family censor.Family) (float64, error) {
	wide, err := regress(obs, terms, groupsOf(obs), family)
	if err != nil {
		return 0, err
	}
	least := 1.0
	for i := from; i < len(terms); i++ {
		c := make([]float64, 1+len(terms))
		c[1+i] = 1
		p, err := wide.PValue(c, nil)
		if err != nil {
			return 0, err
		}
		least = min(least, p*float64(len(terms)-from))
	}
	return least, nil
}

func (e *Effects) adjust() error {
	p := make([]float64, len(e.Effects))
	for i := range e.Effects {
		p[i] = e.Effects[i].P
	}
	adjusted, err := exact.Holm(p)
	if err != nil {
		return err
	}
	for i := range e.Effects {
		e.Effects[i].PHolm = adjusted[i]
		e.Effects[i].Statement = e.Effects[i].say(e.Of, e.Confidence)
	}
	p = p[:0]
	for _, i := range e.Interactions {
		p = append(p, i.P)
	}
	if adjusted, err = exact.Holm(p); err != nil {
		return err
	}
	for k := range e.Interactions {
		i := &e.Interactions[k]
		i.PHolm = adjusted[k]
		if i.PHolm <= SignificanceLevel {
			i.Statement = message.Say("The effect of %s on the %s depends on %s (p = %s, adjusted): the ratios above are averages; look at the cells.", i.A, e.Of, i.B, probability(i.PHolm))
		} else {
			i.Statement = message.Say("No sign that the effect of %s on the %s depends on %s (p = %s, adjusted), which does not show that it does not.", i.A, e.Of, i.B, probability(i.PHolm))
		}
	}
	return nil
}

func (x *Effect) say(of string, confidence float64) message.Sentence {
	s := message.Say("%s %s against %s: median %s %s", x.Factor, message.Names(x.Level), message.Names(x.Base), of, sayRatio(x.Ratio, x.Lo, x.Hi))
	if x.PHolm <= SignificanceLevel {
		return s.Say("; more than chance would explain (p = %s, adjusted; %g %% confidence).", probability(x.PHolm), 100*confidence)
	}
	return s.Say("; chance alone may explain it (p = %s, adjusted; %g %% confidence).", probability(x.PHolm), 100*confidence)
}
