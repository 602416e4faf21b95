package day

import (
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/quantity"
	"github.com/hardcatch/hardcatch/internal/store"
)

// Live is a capture under way. Its calls may come from one goroutine while another follows Signals.
type Live interface {
	Arm() error
	Disarm() error
	Fire() error   // triggers by hand
	Finish() error // ends the drop that is being recorded
	// Signals gives what happens, in order; it is closed when nothing more will come. Views may be left out when
	// nobody takes them; nothing else is.
	Signals() <-chan Signal
	Close() error
}

// Signal is one thing that happened in a capture; one of its fields is set.
type Signal struct {
	View  *LiveView
	Event string    // trouble of the source, in a sentence
	Drop  *Captured // a drop that is complete
	Ended error     // why the source cannot go on
}

// LiveView is what the force showed over a short stretch.
type LiveView struct {
	State   string            `json:"state"` // "idle", "armed", "triggered" or "done"
	At      quantity.Duration `json:"at_s"`
	Span    quantity.Duration `json:"-"`
	Min     quantity.Force    `json:"min_N"`
	Max     quantity.Force    `json:"max_N"`
	Last    quantity.Force    `json:"-"`
	Missing bool              `json:"missing"` // samples were lost, or none could be read
	Unit    string            `json:"unit"`    // set when the force is not known: Min, Max and Last are numbers of the channel in this unit
	// Provisional is the largest force since the trigger while the drop is not in the campaign yet; set by Day.
	Provisional *quantity.Force `json:"provisional_N"`
}

// Captured is a drop as it was captured.
type Captured struct {
	ID       string           // of the capture, the same when it is handed over again after a crash; may be empty
	Name     string           // of its record, when a logger gave it one
	Original store.Original   // of its record
	Remarks  []string         // what happened while it was recorded
	Found    message.Sentence // why it comes from the spool of an earlier run; empty for a drop of this run
	Invented bool             // a rehearsal or the simulated rig made it
	// Keep tells the capture that the campaign holds the drop, so that the spool need not.
	Keep func() error
}
