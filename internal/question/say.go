package question

import (
	"maps"
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
	case a.ChangedAt != "" && a.AskedBefore:
		return s.Say(" Asked %s and changed %s, before the first of its %d drops.", at(a.AskedAt), at(a.ChangedAt), len(a.Drops))
	case a.ChangedAt != "":
		return s.Say(" Asked %s and changed %s, after %d of its %d drops.", at(a.AskedAt), at(a.ChangedAt), len(a.Late), len(a.Drops))
	case a.AskedBefore:
		return s.Say(" Asked %s, before the first of its %d drops.", at(a.AskedAt), len(a.Drops))
	}
	return s.Say(" Asked %s, after %d of its %d drops.", at(a.AskedAt), len(a.Late), len(a.Drops))
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
		return round(v/1000, 4) + " kN"
	case a.question.Of == drop.AskBreaks:
		return round(100*v, 3) + " %"
	}
	return round(v, 3)
}

// finish words the answer. early and late are how many questions were asked before and after their first drops.
func (a *Answer) finish(early, late int, planned []compare.Entry) {
	a.Statement = a.say()
	if n := len(a.Parts); n > 1 {
		a.Statement = a.Statement.Say(" It has to hold of each of %d kinds; the one that decides: %s.", n, message.Names(a.Parts[a.worst].Name))
		if a.Verdict == CannotTell {
			a.aside = a.aside.Say(" To ask of fewer kinds, name their levels under where.")
		}
	}
	family := early
	if !a.AskedBefore {
		family += late
	}
	if family > 1 {
		a.aside = a.aside.Say(" %d questions share the risks of a wrong answer (Holm).", family)
	}
	if a.Verdict == CannotTell {
		a.proposes(planned)
	} else {
		zero := 0
		a.MoreDrops = &zero
	}
	a.warn()
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
	if n == 1 {
		a.Statement = a.Statement.Say(" About one more drop would tell, with four chances in five, if the value is what these drops say.")
	} else {
		a.Statement = a.Statement.Say(" About %d more drops would tell, with four chances in five, if the value is what these drops say.", n)
	}
}

// percents of confidences, as they are reached: never rounded up.
func confident(c float64) string {
	v, _ := strconv.ParseFloat(quantity.Below(100*c, 4), 64) // what was printed is a number
	return strconv.FormatFloat(v, 'g', 4, 64) + " %"
}

func (a *Answer) say() message.Sentence {
	if len(a.Parts) == 0 {
		return message.Say("Cannot be told yet: no drop counts that tells of this: %s.", a.Quantity)
	}
	atLeast := a.question.Side == drop.AtLeast
	asked := a.question.BoundText()
	w := a.Parts[a.worst]
	if a.question.Rating && w.Threshold != nil {
		asked = drop.ForceText(*w.Threshold) + ", the rating,"
	}
	based := message.Say("%d specimens, %d broke", a.N, a.Broke)
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

func (a *Answer) warn() {
	add := func(s message.Sentence) { a.Warnings = append(a.Warnings, s) }
	if n := len(a.Late); n > 0 {
		add(message.Say("the question was entered or changed after %d of the %d drops that answer it had been taken: the answer is exploratory, new drops have to confirm it", n, len(a.Drops)))
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
	if undecided > 0 {
		add(message.Say("the outcome of %d drops that count here is proposed and not decided", undecided))
	}
	if disagrees > 0 {
		add(message.Say("%d drops count here although their audit disagrees; void them with a reason, or correct what was entered", disagrees))
	}
	if a.ofStrength() {
		if n := a.N - a.Broke; n > 0 && a.Broke > 0 {
			add(message.Say("%d specimens held and bound their strength from below only; this takes the force of a fall and the strength of its specimen to be independent", n))
		}
		if a.question.Quantile.SI() < 0.5 && a.Broke < 10 && a.Broke >= leastSeen {
			add(message.Say("the %s quantile rests on the shape of a distribution fitted to %d broken specimens", quantity.Percent(a.question.Quantile.SI()), a.Broke))
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
