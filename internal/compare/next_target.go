package compare

import (
	"fmt"
	"math"
	"slices"
	"sort"
	"strconv"
	"strings"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/num/censor"
	"github.com/hardcatch/hardcatch/internal/num/uncert"
)

// nextTarget is what the interval is of: width is log(upper/lower) of its 95 % interval from some data, +Inf when it does not close.
type nextTarget struct {
	name  message.Sentence
	uses  func(kind int) bool
	width func(data []nextDatum, kind int) (float64, error)
	// answer is what the data say, empty while it is open; nil where only an interval is asked for. worded says it in a sentence.
	answer func(data []nextDatum) string
	worded func(answer string) message.Sentence
}

func (t nextTarget) says(data []nextDatum) string {
	if t.answer == nil {
		return ""
	}
	return t.answer(data)
}

func (t nextTarget) answers(answer string) message.Sentence {
	if t.worded == nil {
		return message.Say("%s: %s", t.name, answer)
	}
	return t.worded(answer)
}

// aimed is a target of the caller's own.
func (s *nextState) aimed(aim *NextAim, uses func(int) bool) nextTarget {
	entries := func(data []nextDatum) []Entry {
		out := make([]Entry, len(data))
		for i, d := range data {
			out[i] = d.from
		}
		return out
	}
	t := nextTarget{name: aim.Name, uses: uses, width: func(data []nextDatum, _ int) (float64, error) { return aim.Width(entries(data)) }}
	if aim.Answer != nil {
		t.answer = func(data []nextDatum) string { return aim.Answer(entries(data)) }
	}
	return t
}

func (s *nextState) target() (nextTarget, error) {
	of, err := s.named(s.q.Of)
	if err != nil {
		return nextTarget{}, err
	}
	mine := func(k int) bool { return of < 0 || k == of }
	whose := message.Say("each kind of specimen")
	if of >= 0 {
		whose = message.Say("%s", message.Names(s.kinds[of].name))
	}
	if s.q.Aim != nil {
		return s.aimed(s.q.Aim, mine), nil
	}
	switch s.q.Goal {
	case NextEffect:
		if of >= 0 {
			return nextTarget{}, fmt.Errorf("an effect is between two levels, not of one kind of specimen; give --factor and --levels instead of --of")
		}
		return s.effect()
	case NextSlack:
		return nextTarget{name: message.Say("fall at which the median arrest force passes %s, of %s", s.q.Limit.Text(3), whose), uses: mine, width: s.fallWidth}, nil
	}
	return nextTarget{name: message.Say("%s %% quantile of the strength of %s (%s)", strconv.FormatFloat(100*s.q.Quantile, 'g', 4, 64), whose, s.q.Family), uses: mine, width: s.quantileWidth}, nil
}

func (s *nextState) named(of string) (int, error) {
	if of == "" {
		return -1, nil
	}
	var names []string
	for k, kind := range s.kinds {
		if strings.EqualFold(kind.name, strings.TrimSpace(of)) {
			return k, nil
		}
		names = append(names, kind.name)
	}
	return -1, fmt.Errorf("no kind of specimen is named %q; there are: %s", of, strings.Join(names, "; "))
}

// quantileWidth is by profile likelihood, of one kind's strengths.
func (s *nextState) quantileWidth(data []nextDatum, kind int) (float64, error) {
	var values []censor.Value
	for _, d := range data {
		if d.kind == kind {
			values = append(values, d.strength)
		}
	}
	if len(values) == 0 {
		return 0, fmt.Errorf("no drop counts: %w", censor.ErrNotIdentified)
	}
	m, err := censor.Fit(values, s.q.Family)
	if err != nil {
		return 0, err
	}
	i, err := m.QuantileInterval(s.q.Quantile, 0.95)
	if err != nil {
		return 0, err
	}
	if i.OpenLo || i.OpenHi || !(i.Lo > 0) || math.IsInf(i.Hi, 0) {
		return math.Inf(1), nil
	}
	return math.Log(i.Hi / i.Lo), nil
}

// fallWidth is of the fall x at which the line a + b log x of log peak meets the limit: all x for which the limit lies
// within 1.96 standard errors of the line. Source: Fieller, J. R. Stat. Soc. B 16 (1954) 175-185.
func (s *nextState) fallWidth(data []nextDatum, kind int) (float64, error) {
	var values []censor.Value
	var design [][]float64
	for _, d := range data {
		if d.kind == kind {
			values, design = append(values, d.arrest), append(design, []float64{1, d.logFall})
		}
	}
	if len(values) == 0 {
		return 0, fmt.Errorf("no drop counts: %w", censor.ErrNotIdentified)
	}
	r, err := censor.Regress(values, design, []string{"level", "log fall"}, censor.Lognormal)
	if err != nil {
		return 0, err
	}
	a, b, z2 := r.Coefficients[0]-math.Log(s.q.Limit.SI()), r.Coefficients[1], nextNormal*nextNormal
	// (a + b y)^2 = z^2 (va + 2 c y + vb y^2)
	p2, p1, p0 := b*b-z2*r.Cov[1][1], a*b-z2*r.Cov[0][1], a*a-z2*r.Cov[0][0]
	if disc := p1*p1 - p2*p0; p2 > 0 && disc >= 0 {
		return 2 * math.Sqrt(disc) / p2, nil
	}
	return math.Inf(1), nil
}

// effect is the ratio between two levels over the kinds that differ in nothing else, by its standard error.
func (s *nextState) effect() (nextTarget, error) {
	factor, a, b, err := s.levels()
	if err != nil {
		return nextTarget{}, err
	}
	block := make([]int, len(s.kinds)) // -1: not in a pair
	for k := range block {
		block[k] = -1
		for j := range s.kinds {
			la, lb := s.kinds[k].levels, s.kinds[j].levels
			if (la[factor] == a && lb[factor] == b || la[factor] == b && lb[factor] == a) && alike(la, lb, factor) {
				block[k] = min(k, j)
			}
		}
	}
	if !slices.ContainsFunc(block, func(b int) bool { return b >= 0 }) {
		return nextTarget{}, fmt.Errorf("no two kinds of specimen differ in %s (%s, %s) and in nothing else; choose other levels with --levels", factor, a, b)
	}
	what := "median strength"
	if s.q.Peak {
		what = "median arrest force"
	}
	width := func(data []nextDatum, _ int) (float64, error) {
		return s.effectWidth(data, block, func(k int) bool { return s.kinds[k].levels[factor] == b })
	}
	second := func(k int) bool { return s.kinds[k].levels[factor] == b }
	return nextTarget{
		name: message.Say("ratio of %s, %s %s over %s, all else alike", what, factor, message.Names(b), message.Names(a)), uses: func(k int) bool { return block[k] >= 0 }, width: width,
		answer: func(data []nextDatum) string { return s.weaker(data, block, second) },
		worded: func(answer string) message.Sentence {
			low, high := a, b
			if answer == nextSecondLess {
				low, high = b, a
			}
			return message.Say("the %s of %s is less than that of %s", what, message.Names(low), message.Names(high))
		},
	}, nil
}

// The answers to which of two levels has less.
const nextFirstLess, nextSecondLess = "first", "second"

// nextFar is how many times the highest break of one level must lie below the lowest that the other held, where the other never broke, for the answer to stand: four
// standard deviations at a scatter of 10 %. Common practice, no source.
const nextFar = 1.5

// weaker tells which level has less: by the ratio and its standard error with Student's t for the values that were seen, or where one level only gives bounds, by two
// values of the other that all lie far below the bounds of at least two specimens, block by block. Empty while it is open.
func (s *nextState) weaker(data []nextDatum, block []int, second func(int) bool) string {
	value := func(d nextDatum) censor.Value {
		if s.q.Peak {
			return d.arrest
		}
		return d.strength
	}
	type half struct {
		seen, bounds  int
		highest, held float64
	}
	halves := map[int]*[2]half{}
	seen := [2]int{}
	for _, d := range data {
		b := block[d.kind]
		if b < 0 {
			continue
		}
		if halves[b] == nil {
			halves[b] = &[2]half{{held: math.Inf(1)}, {held: math.Inf(1)}}
		}
		i := 0
		if second(d.kind) {
			i = 1
		}
		h := &halves[b][i]
		if v := value(d); v.Kind() == censor.Observed {
			h.seen++
			seen[i]++
			h.highest = math.Max(h.highest, v.Lo)
		} else {
			h.bounds++
			h.held = math.Min(h.held, v.Lo)
		}
	}
	if seen[0] > 0 && seen[1] > 0 {
		log, se, dof, err := s.effectOf(data, block, second)
		if err != nil || dof < 1 || !(math.Abs(log) > uncert.StudentQuantile(0.975, float64(dof))*se) {
			return ""
		}
		if log < 0 {
			return nextSecondLess
		}
		return nextFirstLess
	}
	for i, answer := range []string{nextFirstLess, nextSecondLess} { // i is the level that was seen
		far, n, open := true, 0, 0
		for _, h := range halves {
			x, y := h[i], h[1-i]
			if x.seen > 0 && y.bounds > 0 {
				n, open = n+x.seen, open+y.bounds
				far = far && x.highest*nextFar < y.held
			}
		}
		if far && n >= 2 && open >= 2 && seen[1-i] == 0 {
			return answer
		}
	}
	return ""
}

func (s *nextState) effectWidth(data []nextDatum, block []int, second func(int) bool) (float64, error) {
	_, se, _, err := s.effectOf(data, block, second)
	return 2 * nextNormal * se, err
}

// effectOf is the logarithm of the ratio with its standard error and the degrees of freedom of what was seen.
func (s *nextState) effectOf(data []nextDatum, block []int, second func(int) bool) (log, se float64, dof int, err error) {
	t := &nextState{data: data}
	low, high, seen := math.Inf(1), math.Inf(-1), map[bool]bool{}
	for _, d := range data {
		if block[d.kind] >= 0 {
			low, high = math.Min(low, d.logFall), math.Max(high, d.logFall)
			seen[second(d.kind)] = true
		}
	}
	if len(seen) < 2 {
		return 0, 0, 0, fmt.Errorf("one of the two levels has no drop that counts: %w", censor.ErrNotIdentified)
	}
	many := high-low > 1e-3
	extra := []string{"second level over first"}
	if s.q.Peak && many {
		extra = append(extra, "log fall")
	}
	values, design, names, at := t.blocks(func(d nextDatum) (censor.Value, int, []float64) {
		x := []float64{0}
		if second(d.kind) {
			x[0] = 1
		}
		if !s.q.Peak {
			return d.strength, block[d.kind], x
		}
		if many {
			x = append(x, d.logFall)
		}
		return d.arrest, block[d.kind], x
	}, extra)
	if len(at) == 0 {
		return 0, 0, 0, fmt.Errorf("there are only bounds: %w", censor.ErrNotIdentified)
	}
	family := s.q.Family
	if s.q.Peak {
		family = censor.Lognormal
	}
	r, err := censor.Regress(values, design, names, family)
	if err != nil {
		return 0, 0, 0, err
	}
	return r.Coefficients[len(at)], r.SE[len(at)], r.Exact - len(names), nil
}

// levels finds the factor and its two levels.
func (s *nextState) levels() (factor, a, b string, err error) {
	at := map[string][]string{}
	var rows []map[string]string
	for _, k := range s.kinds {
		rows = append(rows, k.levels)
		for f, l := range k.levels {
			if !slices.Contains(at[f], l) {
				at[f] = append(at[f], l)
			}
		}
	}
	factors := slices.DeleteFunc(drop.Factors(rows...), func(f string) bool { return len(at[f]) < 2 })
	if len(factors) == 0 {
		return "", "", "", fmt.Errorf("the specimens are all of one kind, so that there is no effect to tell; use --goal strength or --goal slack")
	}
	factor = factors[0]
	if s.q.Factor != "" {
		factor = s.q.Factor
	}
	levels := at[factor]
	if len(levels) < 2 {
		return "", "", "", fmt.Errorf("%q is no factor with two levels here; there are: %s", factor, strings.Join(factors, ", "))
	}
	sort.SliceStable(levels, func(i, j int) bool {
		return before(map[string]string{factor: levels[i]}, map[string]string{factor: levels[j]}, []string{factor})
	})
	a, b = levels[0], levels[1]
	if s.q.A != "" || s.q.B != "" {
		a, b = s.q.A, s.q.B
	}
	if a == b || !slices.Contains(levels, a) || !slices.Contains(levels, b) {
		return "", "", "", fmt.Errorf("%q and %q are not two levels of %s; there are: %s", a, b, factor, strings.Join(levels, ", "))
	}
	return factor, a, b, nil
}

// nextReason says in a sentence why a candidate tells much or little.
func (c NextChoice) nextReason(q NextQuestion) message.Sentence {
	p := nextPct(c.likely)
	strength := q.Goal == NextStrength || q.Goal == NextEffect && !q.Peak
	var why message.Sentence
	switch {
	case c.against:
		why = message.Say("what broke at this fall contradicts the fits, so that no break probability is given (between %s %% and %s %% by fits and count); look at the specimens first", nextPct(*c.BreakLo), nextPct(*c.BreakHi))
	case !c.known:
		why = message.Say("whether it breaks is unknown, since none of its kind broke and no rating is stated (between %s %% and %s %% by what was held); if it breaks it shows its strength, else its arrest force, about %s", nextPct(*c.BreakLo), nextPct(*c.BreakHi), c.Arrest.Text(3))
	case strength && c.likely >= 0.5:
		why = message.Say("a break is likely (%s %%), so the specimen would show its strength instead of a lower bound", p)
	case strength && c.likely >= 0.1:
		why = message.Say("a break is possible (%s %%); a specimen that holds only bounds its strength from below at about %s", p, c.Arrest.Text(3))
	case strength:
		why = message.Say("the specimen most likely holds (break %s %%) and then only bounds its strength from below at about %s", p, c.Arrest.Text(3))
	case c.likely >= 0.5:
		why = message.Say("a break is likely (%s %%), and a broken specimen only bounds the arrest force from below", p)
	default:
		at := message.Say("%s", c.Arrest.Text(3))
		if q.Goal == NextSlack {
			at = message.Say("%s against the limit of %s", c.Arrest.Text(3), q.Limit.Text(3))
		}
		why = message.Say("the specimen most likely holds (break %s %%) and shows its arrest force, about %s", p, at)
		if c.likely >= 0.1 {
			why = message.Say("a break is possible (%s %%); a specimen that holds shows its arrest force, about %s", p, at)
		}
	}
	switch {
	case c.open:
		why = why.Say("; with it there would be an interval with probability %s %%, where today there is none", nextPct(c.Identifies))
	case c.Now == nil:
		why = why.Say("; there is no interval today, and this one drop would hardly give one")
	case *c.Shrinkage < 1:
		why = why.Say("; the interval would hardly shrink")
	}
	return why
}

// nextPct is a probability in per cent, never rounded to certainty.
func nextPct(p float64) string {
	switch {
	case p > 0.995 && p < 1:
		return "over 99"
	case p > 0 && p < 0.005:
		return "under 1"
	}
	return strconv.FormatFloat(100*p, 'f', 0, 64)
}

func (s *nextState) assume() {
	method := "profile likelihood"
	if s.q.Goal == NextEffect {
		method = "standard error"
	}
	s.out.Assumptions = append(s.out.Assumptions,
		message.Say("95 %% intervals by %s; widths are the logarithm of the upper over the lower end", map[bool]string{true: "Fieller's theorem on the fitted line", false: method}[s.q.Goal == NextSlack]),
		message.Say("drops whose shrinkage differs by less than the sum of their ± (standard error of the draws) tell alike; --draws narrows it"),
		message.Say("outcomes are drawn from the fits as they stand; the break probability stands with what 95 %% of the strengths that drops and ratings leave open give"),
		message.Say("for a strength, always the highest fall that the bench allows narrows the interval about as much (simulated; docs/methods.md)"),
		message.Say("arrest force lognormal around one line of log peak on log fall for each kind of specimen, slope and scatter in common; strength does not depend on the fall"))
	if s.q.Capacity > 0 {
		s.out.Assumptions = append(s.out.Assumptions, message.Say("no drop is suggested whose arrest force could pass the load cell's capacity of %s (97.5 %% point, the specimen holding)", s.q.Capacity.Text(3)))
	} else {
		s.out.Warnings = append(s.out.Warnings, message.Say("the load cell's capacity is not known, so that nothing was held against it; give capacity in the rig file"))
	}
	s.out.Warnings = append(s.out.Warnings, message.Say("connectors, anchor and the height of the tower were not held against these drops; check them with: hardcatch chain, or hardcatch plan"))
}
