// Package question says what a campaign's drops say to the questions that were asked of it.
package question

import (
	"slices"
	"time"

	"github.com/hardcatch/hardcatch/internal/compare"
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/message"
)

// Verdict is what is answered.
type Verdict string

// The verdicts.
const (
	Yes        Verdict = "yes"
	No         Verdict = "no"
	CannotTell Verdict = "cannot_tell"
)

// Asked is a question with when it was entered.
type Asked struct {
	drop.Question
	At  time.Time // of the first entry of the question
	Seq int64     // of the entry that stands
	// Changed is when the question was last changed; zero when never.
	Changed time.Time
	// Changes counts the entries that changed it.
	Changes int
}

// Taken is the entry of the logbook by which a drop was taken: its record, or the decision where there is none.
type Taken map[string]int64

// Answer is what the drops say to one question. The names in JSON are stable. Values are in SI units.
type Answer struct {
	ID       string           `json:"id"`
	Question message.Sentence `json:"question"` // in the words of who asked, else the rule
	AskedAt  string           `json:"asked_at"` // RFC 3339, UTC
	// AskedBefore tells that the question as it stands was entered before the first drop that it is answered by.
	AskedBefore bool   `json:"asked_before_first_drop"`
	ChangedAt   string `json:"changed_at,omitempty"`
	// Late are the drops that had been taken when the question was entered or last changed.
	Late     []string         `json:"drops_taken_before_it_was_asked"`
	Quantity message.Sentence `json:"quantity"`
	Rule     message.Sentence `json:"rule"`
	Unit     string           `json:"unit"` // "N", or "" of a bare number
	// Threshold is the bound that is asked about; null where ratings differ or are not known.
	Threshold *float64 `json:"threshold"`
	Estimate  *float64 `json:"estimate"`
	// Lo and Hi are one-sided bounds, each at its own confidence; null where the drops give none.
	Lo           *float64 `json:"lo"`
	Hi           *float64 `json:"hi"`
	Confidence   float64  `json:"confidence"` // of the rule: 1 less the allowed risk of a wrong yes
	LoConfidence float64  `json:"lo_confidence"`
	HiConfidence float64  `json:"hi_confidence"`
	Verdict      Verdict  `json:"verdict"`
	// Statement is the answer with its reason in one sentence or two.
	Statement message.Sentence `json:"statement"`
	// MoreDrops is about how many more drops would tell; null where that cannot be said, 0 where nothing more is needed.
	MoreDrops *int `json:"more_drops"`
	// NextDrop is the drop that would tell most; empty where nothing more is needed.
	NextDrop message.Sentence `json:"next_drop"`
	// NextLevels are the levels of that drop.
	NextLevels map[string]string  `json:"next_drop_levels,omitempty"`
	N          int                `json:"n"` // specimens that count
	Broke      int                `json:"broke"`
	Drops      []string           `json:"drops"`
	Parts      []Part             `json:"parts"`
	Warnings   []message.Sentence `json:"warnings"`
	// Dependence is what would be answered if the force of a fall and the strength of its specimen went together; empty where that does not matter.
	Dependence []AtCorrelation `json:"dependence,omitempty"`
	Cautions   []string        `json:"cautions"`

	question drop.Question
	worst    int              // the part that decides
	lacking  message.Sentence // levels asked about that no drop has
	aside    message.Sentence // what the rule does beside other questions and kinds
	// aloneUpper and aloneLower are the drops of a ratio that have no partner.
	aloneUpper, aloneLower int
}

// Of is what the question asks about.
func (a Answer) Of() drop.Asked { return a.question.Of }

// AtMost tells that the rule is an upper bound.
func (a Answer) AtMost() bool { return a.question.Side == drop.AtMost }

// Part is one kind of specimen, one cell, or one pair of them: the rule has to hold for every part.
type Part struct {
	Name      string            `json:"name"`
	Levels    map[string]string `json:"levels"`
	N         int               `json:"n"`
	Broke     int               `json:"broke"`
	NLower    int               `json:"n_lower,omitempty"` // of the lower part of a ratio
	Threshold *float64          `json:"threshold"`
	Estimate  *float64          `json:"estimate"`
	Lo        *float64          `json:"lo"`
	Hi        *float64          `json:"hi"`
	Verdict   Verdict           `json:"verdict"`
	Method    message.Sentence  `json:"method"`
	Why       message.Sentence  `json:"reason,omitempty"` // why there is no bound

	of   group
	made *figure
}

// AnswerAll answers the questions that are still asked, in the order in which they were first entered. taken says when each drop was taken.
//
// Where several questions were asked the answers are those of Holm's procedure: a claim is made at the risk of its question divided by the number of
// questions that no claim has been made of yet, so that the chance of any wrong yes among all questions is at most the largest of their risks, and likewise
// that of any wrong no. A question that was entered late does not weaken those that were entered in time: they are a family of their own.
// Source: Holm, Scandinavian Journal of Statistics 6 (1979) 65-70.
func AnswerAll(asked []Asked, entries []compare.Entry, taken Taken) []Answer {
	entries = compare.MarkAgain(entries)
	var early, late, out []*Answer
	for _, q := range asked {
		if q.Withdrawn != "" {
			continue
		}
		a := begin(q, entries, taken)
		out = append(out, a)
		if a.AskedBefore {
			early = append(early, a)
		} else {
			late = append(late, a)
		}
	}
	var planned []compare.Entry
	for _, e := range entries {
		if e.Planned && e.Drop.Role != drop.Check {
			planned = append(planned, e)
		}
	}
	settle(early, nil)
	settle(late, early)
	result := make([]Answer, len(out)) // never nil
	for i, a := range out {
		a.finish(len(early), len(late), planned)
		result[i] = *a
	}
	return result
}

// begin finds the drops that answer a question, and when it was asked.
func begin(q Asked, entries []compare.Entry, taken Taken) *Answer {
	a := &Answer{
		ID: q.ID, AskedAt: q.At.UTC().Format(time.RFC3339), AskedBefore: true, Late: []string{}, Drops: []string{}, Parts: []Part{},
		Confidence: q.Confidence(), Verdict: CannotTell, Warnings: []message.Sentence{}, Cautions: drop.Cautions(), question: q.Question, worst: -1,
	}
	if q.Of.IsForce() {
		a.Unit = "N"
	}
	if !q.Changed.IsZero() {
		a.ChangedAt = q.Changed.UTC().Format(time.RFC3339)
	}
	a.Quantity, a.Rule = QuantityWords(q.Question), RuleWords(q.Question)
	a.Question = message.Say("%s", message.Own(q.Text))
	if q.Text == "" {
		a.Question = message.Say("Is %s %s?", a.Quantity, BoundWords(q.Question))
	}
	list, aloneUpper, aloneLower := groups(q.Question, entries)
	a.aloneUpper, a.aloneLower = aloneUpper, aloneLower
	for _, g := range list {
		a.Parts = append(a.Parts, g.part())
		for _, e := range g.entries() {
			a.Drops = append(a.Drops, e.Drop.ID)
			if at, ok := taken[e.Drop.ID]; ok && at < q.Seq {
				a.Late = append(a.Late, e.Drop.ID)
			}
		}
		a.N += g.n()
		a.Broke += g.broke()
	}
	a.AskedBefore = len(a.Late) == 0
	if len(a.Parts) == 0 {
		a.lacking = lacking(q.Question, entries)
	}
	return a
}

// settle makes the claims of a family by Holm's procedure; before are the answers of a family that was settled first and counts among its questions.
func settle(family, before []*Answer) {
	open := slices.Clone(family)
	for len(open) > 0 {
		share := float64(len(open) + len(before) - claimed(before))
		var still []*Answer
		for _, a := range open {
			a.judge(share)
			if a.Verdict == CannotTell {
				still = append(still, a)
			}
		}
		if len(still) == len(open) {
			return
		}
		open = still
	}
}

func claimed(list []*Answer) int {
	n := 0
	for _, a := range list {
		if a.Verdict != CannotTell {
			n++
		}
	}
	return n
}

// judge works out every part at the risks divided by share, and what they say together. A yes has to hold of every part at the whole risk of a wrong yes,
// since any part at which it were wrong would have to be missed (an intersection-union test: Berger, Technometrics 24 (1982) 295-300); a no of any part
// divides the risk among the parts.
func (a *Answer) judge(share float64) {
	q := a.question
	yes, no := q.WrongYes.SI()/share, q.WrongNo.SI()/share/float64(max(1, len(a.Parts)))
	a.LoConfidence, a.HiConfidence = 1-yes, 1-no
	if q.Side == drop.AtMost {
		a.LoConfidence, a.HiConfidence = a.HiConfidence, a.LoConfidence
	}
	a.weigh()
}

// weigh takes the parts together at the risks that stand.
func (a *Answer) weigh() {
	q := a.question
	all, any := len(a.Parts) > 0, false
	for i := range a.Parts {
		p := &a.Parts[i]
		p.judge(q, 1-a.LoConfidence, 1-a.HiConfidence)
		all = all && p.Verdict == Yes
		any = any || p.Verdict == No
	}
	switch {
	case any:
		a.Verdict = No
	case all:
		a.Verdict = Yes
	default:
		a.Verdict = CannotTell
	}
	// Only a part of which the same is said as of all of them decides.
	a.worst = -1
	for i := range a.Parts {
		if p := &a.Parts[i]; p.Verdict == a.Verdict && (a.worst < 0 || p.nearer(a.Parts[a.worst], q.Side)) {
			a.worst = i
		}
	}
	a.gather()
}

// gather takes over what the part that decides says, and the widest bounds that the parts allow on the worst of them.
func (a *Answer) gather() {
	a.Threshold, a.Estimate, a.Lo, a.Hi = nil, nil, nil, nil
	if a.worst < 0 {
		if !a.question.Rating {
			t := a.question.Bound
			a.Threshold = &t
		}
		return
	}
	w := a.Parts[a.worst]
	a.Threshold, a.Estimate, a.Lo, a.Hi = w.Threshold, w.Estimate, w.Lo, w.Hi
	if a.question.Rating {
		return
	}
	estimate := w.Estimate
	for _, p := range a.Parts {
		if a.question.Side == drop.AtLeast {
			a.Lo, a.Hi, estimate = lowest(a.Lo, p.Lo), lowestKnown(a.Hi, p.Hi), lowest(estimate, p.Estimate)
		} else {
			a.Hi, a.Lo, estimate = highest(a.Hi, p.Hi), highestKnown(a.Lo, p.Lo), highest(estimate, p.Estimate)
		}
	}
	// That of the worst part, which is not known where one of them has none; a part that breaks the rule stands for itself.
	if a.Verdict != No {
		a.Estimate = estimate
	}
}

// lowest is the smaller of two bounds; one that is open is lower than any.
func lowest(a, b *float64) *float64 {
	if a == nil || b == nil {
		return nil
	}
	return lowestKnown(a, b)
}

func lowestKnown(a, b *float64) *float64 {
	if a == nil || b != nil && *b < *a {
		return b
	}
	return a
}

func highest(a, b *float64) *float64 {
	if a == nil || b == nil {
		return nil
	}
	return highestKnown(a, b)
}

func highestKnown(a, b *float64) *float64 {
	if a == nil || b != nil && *b > *a {
		return b
	}
	return a
}
