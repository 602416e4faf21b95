package store

import (
	"encoding/json"
	"time"
)

// Revision is a value with the history entry that entered it.
type Revision[T any] struct {
	Seq   int64     `json:"seq"`
	At    time.Time `json:"at"`
	Value T         `json:"value"`
}

// Campaign is a planned set of drops that answers a stated question.
type Campaign struct {
	Name     string    `json:"name"`
	Question string    `json:"question"`
	Created  time.Time `json:"created"`
	Invented bool      `json:"invented,omitempty"` // demonstration data
	Notes    string    `json:"notes,omitempty"`
}

// Trace is the original record of a drop as it was added.
type Trace struct {
	Drop   string `json:"drop"`
	Name   string `json:"name"`   // record file name
	SHA256 string `json:"sha256"` // of the original bytes, lower-case hex
	Bytes  int64  `json:"bytes"`  // size of the original
}

// Reduction is one way from a trace to measures, with what came out. Settings and Result are kept
// byte for byte, so that a reduction can be repeated and compared to the same bits.
type Reduction struct {
	Drop        string          `json:"drop"`
	TraceSHA256 string          `json:"trace_sha256"`
	Version     string          `json:"version"`
	Settings    json.RawMessage `json:"settings"`
	Result      json.RawMessage `json:"result"`
}

// Note is a remark on a drop, or on the campaign when Drop is empty.
type Note struct {
	Drop string `json:"drop,omitempty"`
	Text string `json:"text"`
	By   string `json:"by,omitempty"`
	// Settles is the finding of the doctor that Text gives the reason to pass over; Reopens takes that back.
	Settles string `json:"settles,omitempty"`
	Reopens bool   `json:"reopens,omitempty"`
}

// Photo is a picture of a specimen or a break, as it is kept: resized, turned upright and without what the
// camera wrote beside it, unless KeptMetadata.
type Photo struct {
	Drop           string `json:"drop"`
	Name           string `json:"name"` // file name of the original
	Caption        string `json:"caption,omitempty"`
	OriginalSHA256 string `json:"original_sha256"` // of the file that was given, which is not kept
	OriginalBytes  int64  `json:"original_bytes"`
	SHA256         string `json:"sha256"` // of the bytes kept, a JPEG
	Bytes          int64  `json:"bytes"`
	Width          int    `json:"width"` // pixels, as kept
	Height         int    `json:"height"`
	KeptMetadata   bool   `json:"kept_metadata,omitempty"` // the camera's EXIF block, with the position it may hold, was kept on purpose
	By             string `json:"by,omitempty"`
}

// Effect is what a write did.
type Effect int

// The effects.
const (
	Unchanged Effect = iota // the same value stands already; no entry was made
	Added                   // the first value of its subject
	Revised                 // an earlier value of its subject is kept and stands no longer
)

// String names the effect.
func (e Effect) String() string {
	switch e {
	case Unchanged:
		return "unchanged"
	case Added:
		return "added"
	case Revised:
		return "revised"
	}
	return "unknown"
}

// Receipt acknowledges a write: the entry that now stands for the value.
type Receipt struct {
	Seq    int64
	Hash   Hash
	Effect Effect
}

// Head is the last entry of the history. Its hash stands for the whole campaign.
type Head struct {
	Seq  int64 `json:"seq"`
	Hash Hash  `json:"hash"`
}
