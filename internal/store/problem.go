package store

import "errors"

// The reasons of a Problem; test for them with errors.Is.
var (
	ErrNotFound    = errors.New("not in the campaign")
	ErrInvalid     = errors.New("value refused")
	ErrTooLarge    = errors.New("value too large")
	ErrClosed      = errors.New("store is closed")
	ErrExists      = errors.New("file exists")
	ErrMissing     = errors.New("no such file or folder")
	ErrNotFile     = errors.New("not a regular file")
	ErrEmpty       = errors.New("file is empty")
	ErrNotSQLite   = errors.New("not a SQLite file")
	ErrForeign     = errors.New("SQLite file of another program")
	ErrNewer       = errors.New("file of a newer version")
	ErrBusy        = errors.New("another writer")
	ErrFull        = errors.New("disk full")
	ErrReadOnly    = errors.New("not writable")
	ErrUnmerged    = errors.New("unmerged changes in a read-only folder")
	ErrDamaged     = errors.New("file is damaged")
	ErrUnreachable = errors.New("file cannot be read or written")
)

// Problem is why a store did not do what was asked: place, fact, way out.
type Problem struct {
	Reason error  // one of the Err values above
	Place  string // the file, and within it the drop
	Fact   string
	WayOut string
	Cause  error // what the layer below said, or nil
}

// Error is the sentence for the user.
func (p *Problem) Error() string {
	s := p.Fact
	if p.Place != "" {
		s = p.Place + ": " + s
	}
	if p.WayOut != "" {
		s += "; " + p.WayOut
	}
	return s
}

// Unwrap gives the reason and the cause.
func (p *Problem) Unwrap() []error {
	if p.Cause == nil {
		return []error{p.Reason}
	}
	return []error{p.Reason, p.Cause}
}

// NoDrop is the Problem of a drop that was not added.
func NoDrop(id string) error {
	return &Problem{Reason: ErrNotFound, Place: "drop " + id, Fact: "is not in this campaign", WayOut: "add the drop first, or check its name"}
}

// NotFound is the Problem of a value that a drop, or the campaign, does not have.
func NotFound(place, what, wayOut string) error {
	return &Problem{Reason: ErrNotFound, Place: place, Fact: "has no " + what, WayOut: wayOut}
}

// Closed is the Problem of a store used after Close.
func Closed(place string) error {
	return &Problem{Reason: ErrClosed, Place: place, Fact: "the store is closed", WayOut: "open it again"}
}
