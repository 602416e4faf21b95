package acquire

import (
	"fmt"
	"time"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// Drop is a captured drop.
type Drop struct {
	ID          string        `json:"id"` // the same again when a crash makes the drop to be handed over twice
	Description *Description  `json:"source"`
	Trigger     int64         `json:"trigger"` // number of the sample that triggered
	First       int64         `json:"first"`   // number of the first sample
	Begun       time.Time     `json:"begun"`   // arrival of the sample that triggered
	By          string        `json:"by"`      // what triggered: "level", "slope", "hand"
	Ended       string        `json:"ended"`   // why it ended: "time", "quiet", "hand", or a sentence
	Recovered   bool          `json:"recovered,omitempty"`
	Lost        int64         `json:"lost"` // samples inside that did not come
	Events      []Event       `json:"events,omitempty"`
	Left        int           `json:"events_left_out,omitempty"` // events beyond those that are kept
	Values      [][]float64   `json:"-"`                         // of a drop that is in no spool; Each reads either
	Whole       *LoggerRecord `json:"-"`                         // a record as a logger wrote it; then there are no samples

	at      *spooled          // where the samples are; nil = in Values
	samples int64             // in the spool
	absent  int64             // of them did not come
	pre     int               // samples wanted before the trigger
	quiet   quantity.Duration // that would have ended it; 0 = none
}

// maxEvents is how many events of a drop are kept one by one.
const maxEvents = 500

// Len is the number of samples.
func (d *Drop) Len() int {
	if d.at != nil {
		return int(d.samples)
	}
	if len(d.Values) == 0 {
		return 0
	}
	return len(d.Values[0])
}

// Findings is what happened while the drop was recorded, for its history.
func (d *Drop) Findings() []drop.Finding {
	var list []drop.Finding
	name := d.Description.Name
	for _, e := range d.Events {
		f := e.Finding(name, d.First)
		f.From, f.To = min(max(f.From, 0), d.Len()), min(max(f.To, 0), d.Len())
		list = append(list, f)
	}
	if d.Left > 0 {
		list = append(list, drop.Finding{Kind: "more", Grade: drop.Warning, Place: name, Fact: fmt.Sprintf("%d more events of the source are not listed", d.Left)})
	}
	switch d.Ended {
	case "time", "quiet", "hand":
	default:
		list = append(list, drop.Finding{Kind: "cut", Grade: drop.Warning, Place: name, Fact: "the record ends early: " + d.Ended, WayOut: "check that the peak and the tail are in it", From: d.Len(), To: d.Len()})
	}
	if d.Ended == "time" && d.quiet > 0 {
		list = append(list, drop.Finding{Kind: "not-quiet", Grade: drop.Warning, Place: name, Fact: fmt.Sprintf("the signal was not quiet for %s within the longest time of a record: what came after it is not in the record", d.quiet.Text(2)), WayOut: "look for a load that stays above the trigger level, or allow a longer time after the trigger", From: d.Len(), To: d.Len()})
	}
	if have := int(d.Trigger - d.First); have < d.pre && d.Whole == nil {
		list = append(list, drop.Finding{Kind: "short-pre", Grade: drop.Note, Place: name, Fact: fmt.Sprintf("only %d of %d samples before the trigger were there", have, d.pre)})
	}
	return list
}
