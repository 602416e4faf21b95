package store

import (
	"context"
	"encoding/json"
	"io"

	"github.com/hardcatch/hardcatch/internal/drop"
)

// Reader reads a campaign. Lists that hold one value for each drop are in the order in which the
// drops were first added; lists of revisions are oldest first. A single value that is not there is a
// Problem with reason ErrNotFound; an empty list is no error.
type Reader interface {
	// Campaign is the latest revision. A store always has one.
	Campaign(ctx context.Context) (Revision[Campaign], error)
	// Rig is the latest revision of the rig.
	Rig(ctx context.Context) (Revision[drop.Rig], error)
	// RigHistory is every revision of the rig.
	RigHistory(ctx context.Context) ([]Revision[drop.Rig], error)

	// Drop is the latest revision of one drop.
	Drop(ctx context.Context, id string) (Revision[drop.Drop], error)
	// Drops is the latest revision of each drop.
	Drops(ctx context.Context) ([]Revision[drop.Drop], error)
	// DropHistory is every revision of one drop.
	DropHistory(ctx context.Context, id string) ([]Revision[drop.Drop], error)

	// Trace is the latest trace of a drop with its original bytes, which have been checked against
	// their SHA-256.
	Trace(ctx context.Context, dropID string) (Revision[Trace], []byte, error)
	// TraceBytes is an original by its SHA-256 in lower-case hex, checked likewise. It reaches the
	// traces of earlier reductions too.
	TraceBytes(ctx context.Context, sha256 string) ([]byte, error)
	// WriteTrace writes the same, part by part where it is long. What was written is the original only when there is
	// no error.
	WriteTrace(ctx context.Context, sha256 string, to io.Writer) error
	// Traces is the latest trace of each drop that has one, without the bytes.
	Traces(ctx context.Context) ([]Revision[Trace], error)

	// Reduction is the latest reduction of one drop.
	Reduction(ctx context.Context, dropID string) (Revision[Reduction], error)
	// Reductions is the latest reduction of each drop that has one.
	Reductions(ctx context.Context) ([]Revision[Reduction], error)
	// ReductionHistory is every reduction of one drop.
	ReductionHistory(ctx context.Context, dropID string) ([]Revision[Reduction], error)

	// Decisions is the latest decision on each drop that has one.
	Decisions(ctx context.Context) ([]Revision[drop.Decision], error)
	// DecisionHistory is every decision on one drop.
	DecisionHistory(ctx context.Context, dropID string) ([]Revision[drop.Decision], error)

	// Plan is the latest revision of the campaign's plan, as canonical JSON.
	Plan(ctx context.Context) (Revision[json.RawMessage], error)

	// Questions is every revision of every question, oldest first.
	Questions(ctx context.Context) ([]Revision[drop.Question], error)

	// Taken is the entry by which each drop was taken, by the drop's name: the first that tells what came of it, a record, a reduction, a
	// decision, or an outcome in the drop list. A drop that was not taken is not in it.
	Taken(ctx context.Context) (map[string]int64, error)

	// Notes is every note, oldest first.
	Notes(ctx context.Context) ([]Revision[Note], error)

	// ChecklistHistory is every checklist before one drop.
	ChecklistHistory(ctx context.Context, dropID string) ([]Revision[drop.Checklist], error)
	// Checklists is the latest checklist of each drop that has one.
	Checklists(ctx context.Context) ([]Revision[drop.Checklist], error)
	// Photos is every photo, oldest first, without the bytes.
	Photos(ctx context.Context) ([]Revision[Photo], error)
	// DropPhotos is every photo of one drop, oldest first.
	DropPhotos(ctx context.Context, dropID string) ([]Revision[Photo], error)
	// PhotoBytes is the kept bytes of a photo by their SHA-256 in lower-case hex, checked against it.
	PhotoBytes(ctx context.Context, sha256 string) ([]byte, error)

	// History is every entry, oldest first.
	History(ctx context.Context) ([]Entry, error)
	// Head is the last entry's number and hash.
	Head(ctx context.Context) (Head, error)
}

// Writer appends to a campaign. A value that is the same as the one that stands changes nothing and
// leaves no entry; decisions, checklists and notes are acts of a person and are always entered.
type Writer interface {
	// SetCampaign enters a revision of the campaign. A zero Created keeps the time that stands.
	SetCampaign(ctx context.Context, c Campaign) (Receipt, error)
	// SetRig enters a revision of the rig.
	SetRig(ctx context.Context, r drop.Rig) (Receipt, error)
	// AddDrop enters a drop, or a revision of it when a drop of this id differs.
	AddDrop(ctx context.Context, d drop.Drop) (Receipt, error)
	// AddTrace keeps original unchanged as the trace of a drop; name is the record's file name. Bytes
	// that are there already are kept once.
	AddTrace(ctx context.Context, dropID, name string, original Original) (Receipt, error)
	// AddReduction enters a reduction of a trace that belongs to the drop.
	AddReduction(ctx context.Context, r Reduction) (Receipt, error)
	// Decide enters what a person settled about a drop.
	Decide(ctx context.Context, d drop.Decision) (Receipt, error)
	// SetPlan enters a revision of the campaign's plan, a JSON object.
	SetPlan(ctx context.Context, p json.RawMessage) (Receipt, error)
	// Ask enters a question, or a revision of the one of this name.
	Ask(ctx context.Context, q drop.Question) (Receipt, error)
	// AddNote enters a note on a drop, or on the campaign.
	AddNote(ctx context.Context, n Note) (Receipt, error)
	// AddChecklist enters what was asked and answered before a drop.
	AddChecklist(ctx context.Context, c drop.Checklist) (Receipt, error)
	// AddPhoto keeps the bytes of a photo of a drop. SHA256 and Bytes of p are made from kept. A drop that has
	// the same photo already is left unchanged.
	AddPhoto(ctx context.Context, p Photo, kept []byte) (Receipt, error)
}

// Tx is a batch: it reads what it has written, and is committed as a whole or not at all.
type Tx interface {
	Reader
	Writer
}

// Store keeps one campaign. A call outside Update is a commit of its own. A change is acknowledged
// when the call, or Update, returns without an error; from then on it outlives a kill of the process
// and, where the store has a file, a power cut.
//
// A Store may be used from several goroutines; their changes queue.
type Store interface {
	Reader
	Writer

	// Update runs fn as one commit. When fn returns an error or panics nothing of it is kept. Inside
	// fn only tx may be used to write: a write through the Store itself would wait for its own end.
	Update(ctx context.Context, fn func(tx Tx) error) error
	// View runs fn on one state of the campaign, whatever is written meanwhile.
	View(ctx context.Context, fn func(r Reader) error) error
	// Verify walks the history and holds the state against it. What it finds is in
	// Verification.Break; an error means that it could not be carried out. Pins are logbook hashes
	// printed earlier, in hex, whole or their first 16 digits at least; a pin that the history does
	// not hold is a break.
	Verify(ctx context.Context, pins ...string) (Verification, error)
	// Close releases the store. A second Close does nothing.
	Close() error
}
