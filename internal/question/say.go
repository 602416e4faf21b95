package question

import (
	"cmp"
	"maps"
	"math"
	"strconv"
	"strings"

	"github.com/hardcatch/hardcatch/internal/compare"
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// LevelWords are levels in one line, each behind its factor, in their usual order.
func LevelWords(levels map[string]string) string { return compare.Cell{Levels: levels}.Key() }

// QuantityWords says what a question is of.
func QuantityWords(q drop.Question) message.Sentence {
	share, above := quantity.Percent(q.Quantile.SI()), quantity.Percent(1-q.Quantile.SI())
	median := q.Quantile == 0.5
	var s message.Sentence
	switch {
	case q.Of == drop.AskBreaks:
		s = message.Say("the break probability")
	case q.Of == drop.AskStrength && median:
		s = message.Say("the median of the strength")
	case q.Of == drop.AskStrength:
		s = message.Say("the strength that %s of the specimens reach", above)
	case q.Of == drop.AskPeak && median:
		s = message.Say("the median of the peak force")
	case q.Of == drop.AskPeak:
		s = message.Say("the peak force that %s of such drops stay below", share)
	case q.Of == drop.AskStrengthRatio && median:
		s = message.Say("the ratio of the median strengths")
	case q.Of == drop.AskStrengthRatio:
		s = message.Say("the ratio of the %s quantiles of the strengths", share)
	case median:
		s = message.Say("the ratio of the median peak forces")
	default:
		s = message.Say("the ratio of the %s quantiles of the peak forces", share)
	}
	if q.Of.IsRatio() {
		// Only what differs stands behind "over".
		rest := maps.Clone(q.Where)
		upper := map[string]string{}
		for f := range q.Against {
			upper[f] = rest[f]
			delete(rest, f)
		}
		s = s.Say(", %s over %s", message.Names(LevelWords(upper)), message.Names(LevelWords(q.Against)))
		if len(rest) > 0 {
			s = s.Say(" (%s)", message.Names(LevelWords(rest)))
		}
		return s
	}
	if len(q.Where) > 0 {
		s = s.Say(" (%s)", message.Names(LevelWords(q.Where)))
	}
	return s
}

// BoundWords says what is asked for.
func BoundWords(q drop.Question) message.Sentence {
	switch {
	case q.Rating && q.Side == drop.AtLeast:
		return message.Say("at least the rating")
	case q.Rating:
		return message.Say("at most the rating")
	case q.Side == drop.AtLeast:
		return message.Say("at least %s", q.BoundText())
	}
	return message.Say("at most %s", q.BoundText())
}

// Told says by which rule and when the question was asked.
func (a Answer) Told() message.Sentence {
	s := message.Say("Rule: %s.", a.Rule).And(a.aside)
	at := func(t string) message.Own {
		return message.Own(strings.Replace(strings.TrimSuffix(t, "Z"), "T", " ", 1) + " UTC")
	}
	switch {
	case len(a.Drops) == 0 && a.ChangedAt != "":
		return s.Say(" Asked %s and changed %s; no drop counts yet.", at(a.AskedAt), at(a.ChangedAt))
	case len(a.Drops) == 0:
		return s.Say(" Asked %s; no drop counts yet.", at(a.AskedAt))
	case a.ChangedAt != "" && a.AskedBefore:
		return s.Say(" Asked %s and changed %s, before the first of its %d {drop|drops}.", at(a.AskedAt), at(a.ChangedAt), len(a.Drops))
	case a.ChangedAt != "":
		return s.Say(" Asked %s and changed %s, after %d of its %d {drop|drops}.", at(a.AskedAt), at(a.ChangedAt), len(a.Late), len(a.Drops))
	case a.AskedBefore:
		return s.Say(" Asked %s, before the first of its %d {drop|drops}.", at(a.AskedAt), len(a.Drops))
	}
	return s.Say(" Asked %s, after %d of its %d {drop|drops}.", at(a.AskedAt), len(a.Late), len(a.Drops))
}

// RuleWords says what counts as yes and as no.
func RuleWords(q drop.Question) message.Sentence {
	return BoundWords(q).Say(", a wrong yes in at most %s and a wrong no in at most %s of such campaigns", quantity.Percent(q.WrongYes.SI()), quantity.Percent(q.WrongNo.SI()))
}

// lower and upper print bounds of what is asked about, never claiming more than they are.
func (a *Answer) lower(v float64) string { return a.print(v, quantity.Below) }

func (a *Answer) upper(v float64) string { return a.print(v, quantity.Above) }

func (a *Answer) print(v float64, round func(float64, int) string) string {
	switch {
	case a.question.Of.IsForce():
		return a.onItsSide(v, 1e-3, 4, round) + " kN"
	case a.question.Of == drop.AskBreaks:
		return a.onItsSide(v, 100, 3, round) + " %"
	}
	return a.onItsSide(v, 1, 3, round)
}

// onItsSide prints v in a unit with so many figures, or with more where fewer would show it on the other side of what is asked about, or at it.
func (a *Answer) onItsSide(v, unit float64, digits int, round func(float64, int) string) string {
	const most = 6
	text := round(v*unit, digits)
	for a.Threshold != nil && digits < most {
		shown, err := strconv.ParseFloat(text, 64)
		if t := *a.Threshold; err != nil || cmp.Compare(shown, t*unit) == cmp.Compare(v, t) {
			break
		}
		digits++
		text = round(v*unit, digits)
	}
	return text
}

// finish words the answer. early and late are how many questions were asked before and after their first drops.
func (a *Answer) finish(early, late int, planned []compare.Entry) {
	a.Statement = a.say()
	if n := len(a.Parts); n > 1 {
		a.Statement = a.Statement.Say(" It has to hold of each of %d {kind|kinds}; the one that decides: %s.", n, message.Names(a.Parts[a.worst].Name))
		if a.Verdict == CannotTell {
			a.aside = a.aside.Say(" To ask of fewer kinds, name their levels under where.")
		}
	}
	family := early
	if !a.AskedBefore {
		family += late
	}
	if family > 1 {
		a.aside = a.aside.Say(" %d {question shares|questions share} the risks of a wrong answer (Holm).", family)
	}
	if a.Verdict == CannotTell {
		a.proposes(planned)
	} else {
		zero := 0
		a.MoreDrops = &zero
	}
	a.warn()
	a.warnOfFamily()
	a.warnOfLooks(planned)
}

// mostSkew is how far from its mean, relative, a quantile of peaks may lie before it matters whether they are normal or lognormal: below it the risks were
// kept in simulated campaigns.
const mostSkew = 0.15

// warnOfFamily says where the answer rests on a distribution that the drops do not show there.
func (a *Answer) warnOfFamily() {
	beyond, skew := false, 0.0
	for _, p := range a.Parts {
		if p.Estimate == nil {
			continue
		}
		switch a.question.Of {
		case drop.AskStrength:
			best := hardest(p.of.upper)
			beyond = beyond || *p.Estimate > best.Peak.SI()
		case drop.AskPeak:
			values := valuesOf(p.of.upper, compare.Entry.Arrest)
			mean := 0.0
			for _, v := range values {
				mean += v.Lo / float64(len(values))
			}
			skew = math.Max(skew, math.Abs(*p.Estimate/mean-1))
		}
	}
	if beyond && a.Broke < a.N {
		a.Warnings = append(a.Warnings, message.Say("the strength that is asked about is more than any of the specimens had put on: it is drawn out from the fit, and wrong answers were up to three times as frequent as stated in simulated campaigns"))
	}
	if skew > mostSkew {
		a.Warnings = append(a.Warnings, message.Say("the peaks scatter widely for so far a quantile: peaks are taken as normal, and where they are lognormal wrong answers were from twice to seven times as frequent as stated in simulated campaigns"))
	}
}

// warnOfLooks says that the risks are those of one look at a number of drops that was fixed before.
func (a *Answer) warnOfLooks(planned []compare.Entry) {
	left := 0
	for _, e := range planned {
		if l := e.Drop.Levels(); drop.Fits(l, a.question.Where) || a.question.Of.IsRatio() && drop.Fits(l, a.question.Lower()) {
			left++
		}
	}
	switch {
	case left > 0 && a.N > 0:
		a.Warnings = append(a.Warnings, message.Say("planned drops that answer this have not been taken (%d): the risks of the rule hold for one look, after the last of them; who stops at the first yes or no is wrong several times as often", left))
	case a.Verdict == CannotTell && a.N > 0:
		a.Warnings = append(a.Warnings, message.Say("settle now how many more drops are taken before the next look: the risks of the rule hold for one look; who looks after each drop and stops at the first yes or no is wrong several times as often"))
	}
}

func (a *Answer) proposes(planned []compare.Entry) {
	a.NextDrop, a.NextLevels = a.next(planned)
	n, why, ok := a.more()
	if !ok {
		if len(why) > 0 && len(a.Parts) > 0 {
			a.Statement = a.Statement.Say(" How many more drops would tell cannot be said: %s.", why)
		}
		return
	}
	a.MoreDrops = &n
	if load := a.runLoad(); load > 0 {
		a.Statement = a.Statement.Say(" It would tell when %d more {specimen|specimens} are dropped so that each has %s or more put on it, and none of them breaks below that.", n, a.upper(load))
		return
	}
	a.Statement = a.Statement.Say(" About %d more {drop|drops} would tell, with four chances in five, if the value is what these drops say.", n)
}

// percents of confidences, as they are reached: never rounded up.
func confident(c float64) string {
	v, _ := strconv.ParseFloat(quantity.Below(100*c, 4), 64) // what was printed is a number
	return strconv.FormatFloat(v, 'g', 4, 64) + " %"
}

func (a *Answer) say() message.Sentence {
	if len(a.Parts) == 0 {
		return append(message.Say("Cannot be told yet: no drop counts that tells of this: %s.", a.Quantity), a.lacking...)
	}
	atLeast := a.question.Side == drop.AtLeast
	asked := message.Say("%s", a.question.BoundText())
	if a.question.Rating {
		asked = message.Say("the rating")
	}
	w := a.Parts[a.worst]
	if a.question.Rating && w.Threshold != nil {
		asked = message.Say("%s, the rating,", drop.ForceText(*w.Threshold))
	}
	based := message.Say("%d {specimen|specimens}, %d broke", a.N, a.Broke)
	switch {
	case a.Verdict == Yes && atLeast:
		return message.Say("Yes: %s is at least %s (%s confidence; %s); at least %s was asked for.", a.Quantity, a.lower(*a.Lo), confident(a.LoConfidence), based, asked)
	case a.Verdict == Yes:
		return message.Say("Yes: %s is at most %s (%s confidence; %s); at most %s was asked for.", a.Quantity, a.upper(*a.Hi), confident(a.HiConfidence), based, asked)
	case a.Verdict == No && atLeast:
		return message.Say("No: %s is at most %s (%s confidence; %s); at least %s was asked for.", a.Quantity, a.upper(*a.Hi), confident(a.HiConfidence), based, asked)
	case a.Verdict == No:
		return message.Say("No: %s is at least %s (%s confidence; %s); at most %s was asked for.", a.Quantity, a.lower(*a.Lo), confident(a.LoConfidence), based, asked)
	}
	s := message.Say("Cannot be told yet: ")
	switch {
	case a.Lo != nil && a.Hi != nil:
		s = s.Say("%s lies between %s and %s (one-sided bounds at %s and %s confidence; %s)", a.Quantity, a.lower(*a.Lo), a.upper(*a.Hi), confident(a.LoConfidence), confident(a.HiConfidence), based)
	case a.Lo != nil:
		s = s.Say("%s is at least %s (%s confidence; %s), and the drops give no bound above", a.Quantity, a.lower(*a.Lo), confident(a.LoConfidence), based)
	case a.Hi != nil:
		s = s.Say("%s is at most %s (%s confidence; %s), and the drops give no bound below", a.Quantity, a.upper(*a.Hi), confident(a.HiConfidence), based)
	default:
		s = s.Say("the drops give no bound of this: %s (%s)", a.Quantity, based)
	}
	if len(w.Why) > 0 {
		s = s.Say(": %s", w.Why)
	}
	if atLeast {
		return s.Say("; at least %s was asked for.", asked)
	}
	return s.Say("; at most %s was asked for.", asked)
}

// fewestFitted is to how few broken specimens a distribution was fitted; 0 where none was.
func (a *Answer) fewestFitted() int {
	fewest := 0
	for _, p := range a.Parts {
		if p.Estimate == nil {
			continue
		}
		for _, half := range [][]compare.Entry{p.of.upper, p.of.lower} {
			if n := broke(half); len(half) > 0 && (fewest == 0 || n < fewest) {
				fewest = n
			}
		}
	}
	return fewest
}

func (a *Answer) warn() {
	add := func(s message.Sentence) { a.Warnings = append(a.Warnings, s) }
	if n := len(a.Late); n > 0 {
		add(message.Say("the question was entered or changed after %d of the %d {drop that answers|drops that answer} it had been taken: the answer is exploratory, new drops have to confirm it", n, len(a.Drops)))
	}
	undecided, disagrees := 0, 0
	for _, p := range a.Parts {
		for _, e := range p.of.entries() {
			if !e.Decided {
				undecided++
			}
			if !e.Trusted {
				disagrees++
			}
		}
	}
	if n := a.aloneUpper + a.aloneLower; n > 0 {
		add(message.Say("drops that do not count here: %d, as no drop of the other half of the ratio is like them in all that the question does not name", n))
	}
	if undecided > 0 {
		add(message.Say("the outcome of %d {drop that counts|drops that count} here is proposed and not decided", undecided))
	}
	if disagrees > 0 {
		add(message.Say("%d {drop counts here although its|drops count here although their} audit disagrees; void {it|them} with a reason, or correct what was entered", disagrees))
	}
	if a.ofStrength() {
		if n := a.N - a.Broke; n > 0 && a.Broke > 0 {
			add(message.Say("%d {specimen held and bounds its|specimens held and bound their} strength from below only; this takes the force of a fall and the strength of its specimen to be independent", n))
		}
		if n := a.fewestFitted(); a.question.Quantile != 0.5 && n > 0 && n < 10 {
			add(message.Say("the %s quantile rests on the shape of a distribution fitted to %d broken {specimen|specimens}", quantity.Percent(a.question.Quantile.SI()), n))
		}
	}
	for _, p := range a.Parts {
		for _, e := range p.of.entries() {
			if e.NoScale && a.question.Of.IsForce() {
				add(message.Say("the force scale of the load cell is not known: %g %% of standard uncertainty stand for it (common practice, no source)", 100*unknownScale))
				return
			}
		}
	}
}
