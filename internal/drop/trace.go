package drop

import (
	"fmt"

	"github.com/hardcatch/hardcatch/internal/quantity"
)

// Trace is the sampled record of a drop: channels on one even time base, never altered once taken.
type Trace struct {
	Name     string             `json:"name"`     // file or source name
	Format   string             `json:"format"`   // reader and its version, "csv/1"
	SHA256   string             `json:"sha256"`   // of the original bytes, lower-case hex
	Bytes    int64              `json:"bytes"`    // size of the original
	Rate     quantity.Frequency `json:"rate_Hz"`  // of the even time base
	Start    quantity.Duration  `json:"start_s"`  // time of sample 0 on the record's own clock
	Channels []Channel          `json:"channels"` // all of one length
	Findings []Finding          `json:"findings,omitempty"`
	// Resampled tells that the original times were uneven and the values were interpolated.
	Resampled bool `json:"resampled,omitempty"`
}

// Channel is one column of a trace in SI.
type Channel struct {
	Name   string       `json:"name"`
	Unit   string       `json:"unit"` // as written in the record
	Dim    quantity.Dim `json:"dim"`  // DimForce for N, kN, kgf, lbf; DimVoltage; DimRatio for mV/V, counts or unitless
	Factor float64      `json:"factor"`
	// Kind tells apart what the dimension cannot: "counts", "ratio" (mV/V), "acceleration", ...
	Kind string `json:"kind,omitempty"`
	// Values are in SI. A value that could not be read is NaN and has a finding. They are empty in a channel that
	// nobody wanted.
	Values []float64 `json:"-"`
	// Mask says which samples were not measured. Empty, and without NaN among the values, all were.
	Mask Mask `json:"mask,omitempty"`
}

// Len is the number of samples.
func (t *Trace) Len() int {
	for _, c := range t.Channels {
		if len(c.Values) > 0 {
			return len(c.Values)
		}
	}
	return 0
}

// Grade says how much a finding matters.
type Grade string

// The grades. A Fault makes a measure unusable unless a person decides otherwise.
const (
	Note    Grade = "note"
	Warning Grade = "warning"
	Fault   Grade = "fault"
)

// Finding is something a reader or a reduction noticed: place, fact, way out.
type Finding struct {
	Kind   string `json:"kind"`  // short stable key: "backward-time", "clipped", "gap", ...
	Grade  Grade  `json:"grade"` //
	Place  string `json:"place"` // "drop17.csv:412"
	Fact   string `json:"fact"`  // "time goes backwards (0.0310 s after 0.0312 s)"
	WayOut string `json:"way_out,omitempty"`
	From   int    `json:"from,omitempty"`  // first sample concerned
	To     int    `json:"to,omitempty"`    // one past the last sample concerned
	Count  int    `json:"count,omitempty"` // how often, when repeated
}

// String prints place, fact, way out.
func (f Finding) String() string {
	s := f.Fact
	if f.Place != "" {
		s = f.Place + ": " + s
	}
	if f.Count > 1 {
		s += fmt.Sprintf(" (and %d more of the kind)", f.Count-1)
	}
	if f.WayOut != "" {
		s += "; " + f.WayOut
	}
	return s
}
