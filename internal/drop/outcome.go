package drop

import (
	"fmt"
	"strings"
)

// Outcome is how a drop ended.
type Outcome string

// The outcomes. A void drop always carries a reason.
const (
	Held    Outcome = "held"
	Broke   Outcome = "broke"
	Slipped Outcome = "slipped"
	Void    Outcome = "void"
)

// ParseOutcome reads one of the four words.
func ParseOutcome(s string) (Outcome, error) {
	switch o := Outcome(strings.ToLower(strings.TrimSpace(s))); o {
	case Held, Broke, Slipped, Void:
		return o, nil
	}
	return "", fmt.Errorf("outcome %q is not known; write held, broke, slipped or void", s)
}

// Sign is the character of the outcome in a terminal, the nearest there is to the sign that drawings, pages and reports draw: a closed eye on
// its standing part for what held, a torn end that points up for what broke. Its word always stands beside it.
func (o Outcome) Sign() string {
	switch o {
	case Held:
		return "⚲"
	case Broke:
		return "⋔"
	case Slipped:
		return "◇"
	case Void:
		return "×"
	}
	return "○"
}

// Place is where a specimen parted.
type Place string

// The places. Unsaid is the zero value.
const (
	Unsaid    Place = ""
	Body      Place = "body"
	Knot      Place = "knot"
	Stitching Place = "stitching"
	Edge      Place = "edge"
	Connector Place = "connector"
)

// ParsePlace reads one of the places, or nothing.
func ParsePlace(s string) (Place, error) {
	switch p := Place(strings.ToLower(strings.TrimSpace(s))); p {
	case Unsaid, Body, Knot, Stitching, Edge, Connector:
		return p, nil
	}
	return "", fmt.Errorf("break place %q is not known; write body, knot, stitching, edge or connector", s)
}

// Decision is what a person has settled about a drop. The latest decision stands; earlier ones are
// kept.
type Decision struct {
	Drop    string  `json:"drop"`
	Outcome Outcome `json:"outcome"`
	Place   Place   `json:"place,omitempty"`
	Reason  string  `json:"reason"`
	By      string  `json:"by,omitempty"`
	// Withdrawn tells that the decision before was taken back and none stands: what the record proposes
	// counts again. Such an entry has a reason and no outcome.
	Withdrawn bool `json:"withdrawn,omitempty"`
	// Again is why this decision stands again: what was entered after it was taken back. Empty for any other.
	Again string `json:"again,omitempty"`
}

// Check reports a decision that may not be entered.
func (d Decision) Check() error {
	if d.Drop == "" {
		return fmt.Errorf("decision: no drop is named")
	}
	if d.Withdrawn {
		if d.Outcome != "" || d.Place != Unsaid || strings.TrimSpace(d.Reason) == "" {
			return fmt.Errorf("decision on %s: what withdraws a decision has a reason and no outcome", d.Drop)
		}
		return nil
	}
	if _, err := ParseOutcome(string(d.Outcome)); err != nil {
		return fmt.Errorf("decision on %s: %w", d.Drop, err)
	}
	if d.Outcome == Void && strings.TrimSpace(d.Reason) == "" {
		return fmt.Errorf("decision on %s: a void drop needs a reason; say what went wrong", d.Drop)
	}
	if d.Place != Unsaid && d.Outcome != Broke {
		return fmt.Errorf("decision on %s: a break place is given but the outcome is %s; leave the place out or say broke", d.Drop, d.Outcome)
	}
	return nil
}
