package acquire

import (
	"fmt"
	"time"

	"github.com/hardcatch/hardcatch/internal/drop"
)

// EventKind says what happened to a stream.
type EventKind string

// The kinds of event.
const (
	Lost         EventKind = "lost"         // samples From to From+Count did not come
	Garbage      EventKind = "garbage"      // Count lines could not be read
	Overload     EventKind = "overload"     // a channel is at the end of its range, or shows no number
	Disconnected EventKind = "disconnected" // the device is gone or silent
	Reconnected  EventKind = "reconnected"  // it is back
	ClockSlip    EventKind = "clock-slip"   // counter or clock do not go on from where they were
	Behind       EventKind = "behind"       // the computer could not follow, or the disk was slow
	Torn         EventKind = "torn"         // the end of the spool was torn by a crash
	Unfinished   EventKind = "unfinished"   // a file ends before its stated end, or does not state one
	Long         EventKind = "long"         // a drop is being recorded for a long time and does not end
)

// Event is something that happened to a stream.
type Event struct {
	Kind      EventKind `json:"kind"`
	At        time.Time `json:"at"`
	From      int64     `json:"from"`                // first sample concerned
	Count     int64     `json:"count,omitempty"`     // samples, or lines of garbage
	Estimated bool      `json:"estimated,omitempty"` // Count comes from the computer's clock, not from the device
	Channel   string    `json:"channel,omitempty"`
	Text      string    `json:"text,omitempty"` // the line that could not be read, or the reason
}

// Finding is the event as it stands in the history of a record that begins with the given sample.
func (e Event) Finding(source string, begin int64) drop.Finding {
	f := drop.Finding{Kind: string(e.Kind), Grade: drop.Warning, Place: fmt.Sprintf("%s, sample %d", source, e.From-begin), Fact: e.fact()}
	f.From, f.To = int(e.From-begin), int(e.From-begin+e.Count)
	switch e.Kind {
	case Lost:
		f.Grade, f.WayOut = drop.Fault, "they are NaN in the record; look at cable, baud rate and load of the computer"
	case Garbage:
		f.WayOut, f.To = "look at cable, baud rate and the declared line", f.From
	case Overload:
		f.Grade, f.WayOut = drop.Fault, "the true value lies beyond; set a larger range for the next drop"
	case Disconnected:
		f.Grade, f.WayOut = drop.Fault, "look at plug, power and address"
	case ClockSlip:
		f.WayOut = "look whether the device restarted, and whether the stated rate is its rate"
	case Behind:
		f.WayOut = "close other programs, or use a faster disk"
	case Unfinished:
		f.WayOut = "copy the file again when the logger has closed it; what lies behind is missing"
	case Reconnected, Torn:
		f.Grade = drop.Note
	}
	return f
}

func (e Event) fact() string {
	about := ""
	if e.Estimated {
		about = "about "
	}
	switch e.Kind {
	case Lost:
		if e.Count == 1 {
			return about + "1 sample was lost"
		}
		return fmt.Sprintf("%s%d samples were lost", about, e.Count)
	case Garbage:
		if e.Count == 1 {
			return fmt.Sprintf("a line could not be read (%q)", e.Text)
		}
		return fmt.Sprintf("%d lines could not be read (first %q)", e.Count, e.Text)
	case Overload:
		return fmt.Sprintf("channel %s was at the end of its range or showed no number for %d samples", e.Channel, e.Count)
	case Disconnected:
		return "the source was gone: " + e.Text
	case Reconnected:
		return "the source was back"
	}
	return e.Text
}

// String prints the event with its place.
func (e Event) String() string {
	return fmt.Sprintf("%s: sample %d: %s", e.Kind, e.From, e.fact())
}
