package memstore

import (
	"bytes"
	"context"
	"encoding/json"
	"io"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/store"
)

// reads implements store.Reader on whatever state moment gives.
type reads struct {
	moment func(context.Context) (snapshot, error)
}

// all decodes the rows of a kind, and of a subject unless it is nil.
func all[T any](ctx context.Context, r reads, decode decoder[T], kind store.Kind, subject *string) ([]store.Revision[T], error) {
	s, err := r.moment(ctx)
	if err != nil {
		return nil, err
	}
	var out []store.Revision[T]
	for _, row := range s.rows {
		if row.entry.Kind != kind || subject != nil && row.entry.Subject != *subject {
			continue
		}
		v, err := decode(row)
		if err != nil {
			return nil, err
		}
		out = append(out, v)
	}
	return out, nil
}

// latest decodes the last row of a kind and subject.
func latest[T any](ctx context.Context, r reads, decode decoder[T], kind store.Kind, subject string) (v store.Revision[T], found bool, err error) {
	s, err := r.moment(ctx)
	if err != nil {
		return v, false, err
	}
	row, found := s.standing(kind, subject)
	if !found {
		return v, false, nil
	}
	v, err = decode(row)
	return v, true, err
}

// perDrop decodes the last row of a kind for each drop that has one.
func perDrop[T any](ctx context.Context, r reads, decode decoder[T], kind store.Kind) ([]store.Revision[T], error) {
	s, err := r.moment(ctx)
	if err != nil {
		return nil, err
	}
	last := map[string]row{}
	for _, row := range s.rows {
		if row.entry.Kind == kind {
			last[row.entry.Subject] = row
		}
	}
	var out []store.Revision[T]
	for _, id := range s.drops {
		row, found := last[id]
		if !found {
			continue
		}
		v, err := decode(row)
		if err != nil {
			return nil, err
		}
		out = append(out, v)
	}
	return out, nil
}

// decoder makes a value of a row.
type decoder[T any] func(row) (store.Revision[T], error)

// decodeWhole decodes a value whose payload holds all of it.
func decodeWhole[T any](r row) (store.Revision[T], error) {
	v := store.Revision[T]{Seq: r.entry.Seq}
	var err error
	if v.At, err = r.entry.Time(); err != nil {
		return v, err
	}
	return v, json.Unmarshal(r.body, &v.Value)
}

// reduced decodes a reduction, whose payload holds settings and result by their hash.
func reduced(r row) (store.Revision[store.Reduction], error) {
	v := store.Revision[store.Reduction]{Seq: r.entry.Seq, Value: copyOf(*r.reduction)}
	var err error
	v.At, err = r.entry.Time()
	return v, err
}

func copyOf(r store.Reduction) store.Reduction {
	r.Settings, r.Result = bytes.Clone(r.Settings), bytes.Clone(r.Result)
	return r
}

func (s snapshot) standing(kind store.Kind, subject string) (row, bool) {
	for i := len(s.rows) - 1; i >= 0; i-- {
		if e := s.rows[i].entry; e.Kind == kind && e.Subject == subject {
			return s.rows[i], true
		}
	}
	return row{}, false
}

// Campaign implements store.Reader.
func (r reads) Campaign(ctx context.Context) (store.Revision[store.Campaign], error) {
	v, found, err := latest(ctx, r, decodeWhole[store.Campaign], store.KindCampaign, "")
	if err == nil && !found {
		err = store.NotFound("campaign in memory", "question", "set the campaign first")
	}
	return v, err
}

// Rig implements store.Reader.
func (r reads) Rig(ctx context.Context) (store.Revision[drop.Rig], error) {
	v, found, err := latest(ctx, r, decodeWhole[drop.Rig], store.KindRig, "")
	if err == nil && !found {
		err = store.NotFound("campaign in memory", "rig", "enter the rig first")
	}
	return v, err
}

// RigHistory implements store.Reader.
func (r reads) RigHistory(ctx context.Context) ([]store.Revision[drop.Rig], error) {
	return all(ctx, r, decodeWhole[drop.Rig], store.KindRig, nil)
}

// Drop implements store.Reader.
func (r reads) Drop(ctx context.Context, id string) (store.Revision[drop.Drop], error) {
	v, found, err := latest(ctx, r, decodeWhole[drop.Drop], store.KindDrop, id)
	if err == nil && !found {
		err = store.NoDrop(id)
	}
	return v, err
}

// Drops implements store.Reader.
func (r reads) Drops(ctx context.Context) ([]store.Revision[drop.Drop], error) {
	return perDrop(ctx, r, decodeWhole[drop.Drop], store.KindDrop)
}

// DropHistory implements store.Reader.
func (r reads) DropHistory(ctx context.Context, id string) ([]store.Revision[drop.Drop], error) {
	return all(ctx, r, decodeWhole[drop.Drop], store.KindDrop, &id)
}

// Trace implements store.Reader.
func (r reads) Trace(ctx context.Context, dropID string) (store.Revision[store.Trace], []byte, error) {
	v, found, err := latest(ctx, r, decodeWhole[store.Trace], store.KindTrace, dropID)
	if err == nil && !found {
		err = store.NotFound("drop "+dropID, "trace", "add its force record")
	}
	if err != nil {
		return v, nil, err
	}
	original, err := r.TraceBytes(ctx, v.Value.SHA256)
	return v, original, err
}

// TraceBytes implements store.Reader.
func (r reads) TraceBytes(ctx context.Context, sha256 string) ([]byte, error) {
	s, err := r.moment(ctx)
	if err != nil {
		return nil, err
	}
	original, found := s.originals[sha256]
	if !found {
		return nil, store.NotFound("campaign in memory", "trace of SHA-256 "+sha256, "check the hash")
	}
	if sum := store.SumHex(original); sum != sha256 {
		return nil, &store.Problem{
			Reason: store.ErrDamaged, Place: "trace " + sha256, Fact: "its bytes have the SHA-256 " + sum,
			WayOut: "take the record from the logger again",
		}
	}
	return bytes.Clone(original), nil
}

// WriteTrace implements store.Reader.
func (r reads) WriteTrace(ctx context.Context, sha256 string, to io.Writer) error {
	original, err := r.TraceBytes(ctx, sha256)
	if err != nil {
		return err
	}
	_, err = to.Write(original)
	return err
}

// Traces implements store.Reader.
func (r reads) Traces(ctx context.Context) ([]store.Revision[store.Trace], error) {
	return perDrop(ctx, r, decodeWhole[store.Trace], store.KindTrace)
}

// Reduction implements store.Reader.
func (r reads) Reduction(ctx context.Context, dropID string) (store.Revision[store.Reduction], error) {
	v, found, err := latest(ctx, r, reduced, store.KindReduction, dropID)
	if err == nil && !found {
		err = store.NotFound("drop "+dropID, "reduction", "reduce its trace first")
	}
	return v, err
}

// Reductions implements store.Reader.
func (r reads) Reductions(ctx context.Context) ([]store.Revision[store.Reduction], error) {
	return perDrop(ctx, r, reduced, store.KindReduction)
}

// ReductionHistory implements store.Reader.
func (r reads) ReductionHistory(ctx context.Context, dropID string) ([]store.Revision[store.Reduction], error) {
	return all(ctx, r, reduced, store.KindReduction, &dropID)
}

// Decisions implements store.Reader.
func (r reads) Decisions(ctx context.Context) ([]store.Revision[drop.Decision], error) {
	return perDrop(ctx, r, decodeWhole[drop.Decision], store.KindDecision)
}

// DecisionHistory implements store.Reader.
func (r reads) DecisionHistory(ctx context.Context, dropID string) ([]store.Revision[drop.Decision], error) {
	return all(ctx, r, decodeWhole[drop.Decision], store.KindDecision, &dropID)
}

// Plan implements store.Reader.
func (r reads) Plan(ctx context.Context) (store.Revision[json.RawMessage], error) {
	v, found, err := latest(ctx, r, decodeWhole[json.RawMessage], store.KindPlan, "")
	if err == nil && !found {
		err = store.NotFound("campaign in memory", "plan", "plan the campaign first, or go without")
	}
	return v, err
}

// Questions implements store.Reader.
func (r reads) Questions(ctx context.Context) ([]store.Revision[drop.Question], error) {
	return all(ctx, r, decodeWhole[drop.Question], store.KindQuestion, nil)
}

// Taken implements store.Reader.
func (r reads) Taken(ctx context.Context) (map[string]int64, error) {
	history, err := r.History(ctx)
	if err != nil {
		return nil, err
	}
	out := map[string]int64{}
	for _, e := range history {
		_, told := out[e.Subject]
		outcome := false
		if e.Kind == store.KindDrop {
			var d drop.Drop
			if err := json.Unmarshal([]byte(e.Payload), &d); err != nil {
				return nil, err
			}
			outcome = d.Entered.Outcome != ""
		}
		if !told && (outcome || e.Kind == store.KindTrace || e.Kind == store.KindReduction || e.Kind == store.KindDecision) {
			out[e.Subject] = e.Seq
		}
	}
	return out, nil
}

// Notes implements store.Reader.
func (r reads) Notes(ctx context.Context) ([]store.Revision[store.Note], error) {
	return all(ctx, r, decodeWhole[store.Note], store.KindNote, nil)
}

// ChecklistHistory implements store.Reader.
func (r reads) ChecklistHistory(ctx context.Context, dropID string) ([]store.Revision[drop.Checklist], error) {
	return all(ctx, r, decodeWhole[drop.Checklist], store.KindChecklist, &dropID)
}

// Checklists implements store.Reader.
func (r reads) Checklists(ctx context.Context) ([]store.Revision[drop.Checklist], error) {
	return perDrop(ctx, r, decodeWhole[drop.Checklist], store.KindChecklist)
}

// Photos implements store.Reader.
func (r reads) Photos(ctx context.Context) ([]store.Revision[store.Photo], error) {
	return all(ctx, r, decodeWhole[store.Photo], store.KindPhoto, nil)
}

// DropPhotos implements store.Reader.
func (r reads) DropPhotos(ctx context.Context, dropID string) ([]store.Revision[store.Photo], error) {
	return all(ctx, r, decodeWhole[store.Photo], store.KindPhoto, &dropID)
}

// PhotoBytes implements store.Reader.
func (r reads) PhotoBytes(ctx context.Context, sha256 string) ([]byte, error) {
	s, err := r.moment(ctx)
	if err != nil {
		return nil, err
	}
	kept, found := s.photos[sha256]
	if !found {
		return nil, store.NotFound("campaign in memory", "photo of SHA-256 "+sha256, "check the hash")
	}
	if sum := store.SumHex(kept); sum != sha256 {
		return nil, &store.Problem{
			Reason: store.ErrDamaged, Place: "photo " + sha256, Fact: "its bytes have the SHA-256 " + sum,
			WayOut: "take the picture from the camera again",
		}
	}
	return bytes.Clone(kept), nil
}

// History implements store.Reader.
func (r reads) History(ctx context.Context) ([]store.Entry, error) {
	s, err := r.moment(ctx)
	if err != nil {
		return nil, err
	}
	out := make([]store.Entry, len(s.rows))
	for i, row := range s.rows {
		out[i] = row.entry
	}
	return out, nil
}

// Head implements store.Reader.
func (r reads) Head(ctx context.Context) (store.Head, error) {
	s, err := r.moment(ctx)
	return s.head(), err
}
