package store

import (
	"fmt"
	"strings"
)

// wayOutChanged is the way out of every break: the store cannot know which of two texts is the true
// one, but a copy made before can tell.
const wayOutChanged = "the file was changed by another program; do not decide on it, go back to a copy that hardcatch prove finds whole, and compare its logbook with this one"

// Verification is what Verify saw.
type Verification struct {
	Entries    int64  `json:"entries"`     // history entries that hold
	Head       Head   `json:"head"`        // of the entries that hold
	Drops      int64  `json:"drops"`       // distinct drops
	Traces     int64  `json:"traces"`      // distinct originals whose SHA-256 was recomputed
	TraceBytes int64  `json:"trace_bytes"` // their size
	Photos     int64  `json:"photos"`      // distinct photos whose SHA-256 was recomputed
	PhotoBytes int64  `json:"photo_bytes"` // their size
	Break      *Break `json:"break"`       // the first break, nil when all holds
}

// Break is the first place where the campaign is not what its history says.
type Break struct {
	Seq     int64  `json:"seq"` // history entry, 0 when none is concerned
	Kind    Kind   `json:"kind,omitempty"`
	Subject string `json:"subject,omitempty"`
	Table   string `json:"table"` // where the difference lies
	Fact    string `json:"fact"`
	WayOut  string `json:"way_out"`
}

// String is the sentence for the user.
func (b *Break) String() string {
	var s strings.Builder
	if b.Seq != 0 {
		fmt.Fprintf(&s, "logbook entry %d", b.Seq)
		if b.Kind != "" {
			fmt.Fprintf(&s, " (%s", b.Kind)
			if b.Subject != "" {
				fmt.Fprintf(&s, " %s", b.Subject)
			}
			s.WriteString(")")
		}
		s.WriteString(": ")
	}
	fmt.Fprintf(&s, "%s; %s", b.Fact, b.WayOut)
	return s.String()
}

// BreakAt makes the Break of an entry whose state differs.
func BreakAt(e Entry, table, fact string) *Break {
	return &Break{Seq: e.Seq, Kind: e.Kind, Subject: e.Subject, Table: table, Fact: fact, WayOut: wayOutChanged}
}

// BreakIn makes the Break of a table that holds what no entry accounts for.
func BreakIn(table, fact string) *Break {
	return &Break{Table: table, Fact: fact, WayOut: wayOutChanged}
}

// PinSet looks for pinned logbook hashes among the entries of a history.
type PinSet struct {
	open map[string]bool
}

// minPin is the least number of hex digits of a pin: 64 bits.
const minPin = 16

// NewPinSet reads pins.
func NewPinSet(pins []string) (*PinSet, error) {
	p := &PinSet{open: map[string]bool{}}
	for _, pin := range pins {
		text := strings.ToLower(strings.TrimSpace(pin))
		if len(text) < minPin || len(text) > 2*len(Hash{}) || strings.Trim(text, "0123456789abcdef") != "" {
			return nil, &Problem{
				Reason: ErrInvalid, Place: fmt.Sprintf("logbook hash %q", pin), Fact: "is not a hash",
				WayOut: fmt.Sprintf("copy it from the report: %d hexadecimal digits, or at least its first %d", 2*len(Hash{}), minPin),
			}
		}
		p.open[text] = true
	}
	return p, nil
}

// See marks the pins that h meets.
func (p *PinSet) See(h Hash) {
	if len(p.open) == 0 {
		return
	}
	text := h.String()
	for pin := range p.open {
		if strings.HasPrefix(text, pin) {
			delete(p.open, pin)
		}
	}
}

// Missing is the Break of a pin that no entry met, nil when all were met.
func (p *PinSet) Missing() *Break {
	first := ""
	for pin := range p.open {
		if first == "" || pin < first {
			first = pin
		}
	}
	if first == "" {
		return nil
	}
	return &Break{
		Table:  "history",
		Fact:   fmt.Sprintf("no entry has the logbook hash %s that was printed: the logbook was cut off or replaced after that, or the report belongs to another campaign", first),
		WayOut: "compare with the file the report was made from",
	}
}
