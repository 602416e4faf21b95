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

// Effect is one level against the first level of its factor.
type Effect struct {
	Factor string   `json:"factor"`
	Level  string   `json:"level"`
	Base   string   `json:"base"`
	Ratio  float64  `json:"ratio"`
	Lo     *float64 `json:"lo"` // null when the data give no bound on this side
	Hi     *float64 `json:"hi"`
	P      float64  `json:"p"` // likelihood ratio, chi-squared
	PHolm  float64  `json:"p_holm"`
	// Statement words the effect.
	Statement message.Sentence `json:"statement"`
}

// Interaction asks whether one factor's effect depends on another.
type Interaction struct {
	A         string           `json:"a"`
	B         string           `json:"b"`
	P         float64          `json:"p"`
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
func PeakEffects(entries []Entry, confidence float64) (*Effects, error) {
	e := &Effects{Of: "peak force", Model: message.Say("log peak, normal errors; broken, slipped and cut-off drops are lower bounds of the arrest force")}
	return e, e.fit(observations(entries, drop.Drop.Levels, Row.arrest), censor.Lognormal, confidence)
}

// StrengthEffects is the regression of log strength on what varies among the specimens: broken specimens seen, the peaks of
// those that held as lower bounds. The fall is taken to have no effect on the strength. A ratio needs a family of
// logarithms, so that Normal is taken as Weibull.
func StrengthEffects(entries []Entry, family censor.Family, confidence float64) (*Effects, error) {
	model := message.Say("log strength, Weibull errors; specimens that held are lower bounds; the fall is taken to have no effect on the strength")
	switch family {
	case censor.Lognormal:
		model = message.Say("log strength, %s errors; specimens that held are lower bounds; the fall is taken to have no effect on the strength", "normal")
	case censor.Exponential:
		model = message.Say("log strength, %s errors; specimens that held are lower bounds; the fall is taken to have no effect on the strength", "exponential")
	default:
		family = censor.Weibull
	}
	e := &Effects{Of: "strength", Model: model}
	return e, e.fit(observations(entries, specimenLevels, Row.strength), family, confidence)
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
				e.LeftOut = append(e.LeftOut, message.Say("%s %s: all %d drops give lower bounds of the %s only, so no ratio can be told; they are left out of the regression", f, message.Names(l), all[l], e.Of))
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

func (e *Effects) fit(obs []observation, family censor.Family, confidence float64) error {
	if err := checkConfidence(confidence); err != nil {
		return err
	}
	e.Confidence, e.Reference = confidence, map[string]string{}
	e.Effects, e.Interactions, e.LeftOut, e.Warnings = []Effect{}, []Interaction{}, []message.Sentence{}, []message.Sentence{}
	obs = e.seenOnly(obs, drop.Factors(rowsOf(obs)...))
	factors := varying(rowsOf(obs), drop.Factors(rowsOf(obs)...))
	terms, dropped := independent(rowsOf(obs), mainTerms(rowsOf(obs), factors))
	if len(terms) == 0 {
		e.LeftOut = append(e.LeftOut, message.Say("no factor has two levels at which the %s was seen, so there is nothing to compare by regression", e.Of))
		return nil
	}
	if len(dropped) > 0 {
		e.LeftOut = append(e.LeftOut, message.Say("the design cannot tell these apart from the others: %s", listTerms(dropped)))
	}
	full, err := regress(obs, terms, family)
	if err != nil {
		e.LeftOut = append(e.LeftOut, message.Why(err))
		return nil
	}
	e.N, e.Seen, e.Bounds, e.Scatter = full.N, full.Exact, full.Right, quantity.Ratio(logSD(family, full.Sigma))
	e.Warnings = append(e.Warnings, message.TellAll(full.Warnings)...)
	if free := e.Seen - len(terms) - 1; free < 5 {
		e.Warnings = append(e.Warnings, message.Say("%d values were seen for %d coefficients of the %s: the intervals and p-values of this regression are too narrow and too small", e.Seen, len(terms)+1, e.Of))
	}
	for _, f := range factors {
		e.Reference[f] = levelOrder(rowsOf(obs), f)[0]
	}
	for i, t := range terms {
		if err := e.effect(obs, terms, i, t, full, family); err != nil {
			e.LeftOut = append(e.LeftOut, message.Join(": ", t.says(), message.Why(err)))
		}
	}
	e.interactions(obs, terms, factors, full, family)
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

func regress(obs []observation, terms []term, family censor.Family) (*censor.Regression, error) {
	names := []string{"reference"}
	for _, t := range terms {
		names = append(names, t.name())
	}
	values := make([]censor.Value, len(obs))
	for i, o := range obs {
		values[i] = o.value
	}
	return censor.Regress(values, matrix(rowsOf(obs), terms), names, family)
}

func (e *Effects) effect(obs []observation, terms []term, i int, t term, full *censor.Regression, family censor.Family) error {
	c := make([]float64, 1+len(terms))
	c[1+i] = 1
	r, err := full.Ratio(c, e.Confidence)
	if err != nil {
		return err
	}
	narrow, err := regress(obs, slices.Delete(slices.Clone(terms), i, i+1), family)
	if err != nil {
		return err
	}
	lr, err := censor.LikelihoodRatio(narrow, full)
	if err != nil {
		return err
	}
	out := Effect{Factor: t.factors[0], Level: t.levels[0], Base: t.base[0], Ratio: r.Estimate, P: lr.P}
	if !r.OpenLo {
		out.Lo = &r.Lo
	}
	if !r.OpenHi {
		out.Hi = &r.Hi
	}
	if r.Note != "" {
		e.Warnings = append(e.Warnings, message.Join(": ", t.says(), message.Told(r.Note)))
	}
	e.Effects = append(e.Effects, out)
	return nil
}

// interactions tries each pair of factors beside the main effects, where the crossing leaves values to judge it by.
func (e *Effects) interactions(obs []observation, terms []term, factors []string, full *censor.Regression, family censor.Family) {
	for i, f := range factors {
		for _, g := range factors[i+1:] {
			cross := crossTerms(rowsOf(obs), f, g)
			kept, _ := independent(rowsOf(obs), append(slices.Clone(terms), cross...))
			more := len(kept) - len(terms)
			pair := message.Say("%s", message.Names(f)).Say(" with ").Say("%s", message.Names(g))
			switch {
			case more == 0:
				e.LeftOut = append(e.LeftOut, message.Say("%s: the cells of the design do not cross these factors, so whether one's effect depends on the other cannot be told", pair))
				continue
			case e.Seen-len(kept)-1 < 2:
				e.LeftOut = append(e.LeftOut, message.Say("%s: %d values are too few to ask whether one's effect depends on the other", pair, e.Seen))
				continue
			}
			wide, err := regress(obs, kept, family)
			if err != nil {
				e.LeftOut = append(e.LeftOut, message.Join(": ", pair, message.Why(err)))
				continue
			}
			lr, err := censor.LikelihoodRatio(full, wide)
			if err != nil {
				e.LeftOut = append(e.LeftOut, message.Join(": ", pair, message.Why(err)))
				continue
			}
			e.Interactions = append(e.Interactions, Interaction{A: f, B: g, P: lr.P, DF: lr.DF})
		}
	}
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
	var s message.Sentence
	s = s.Say("%s %s against %s: %s %s times as high", x.Factor, message.Names(x.Level), message.Names(x.Base), of, quantity.Significant(x.Ratio, 3))
	text := func(v float64) string { return quantity.Significant(v, 3) }
	switch {
	case x.Lo != nil && x.Hi != nil:
		s = s.Say(" (%s to %s, %g %% confidence)", text(*x.Lo), text(*x.Hi), 100*confidence)
	case x.Lo != nil:
		s = s.Say(" (at least %s; the data give no upper bound)", text(*x.Lo))
	case x.Hi != nil:
		s = s.Say(" (at most %s; the data give no lower bound)", text(*x.Hi))
	}
	if x.PHolm <= SignificanceLevel {
		s = s.Say("; more than chance would explain (p = %s, adjusted).", probability(x.PHolm))
	} else {
		s = s.Say("; chance alone may explain it (p = %s, adjusted).", probability(x.PHolm))
	}
	return s
}
