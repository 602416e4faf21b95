package memstore

import (
	"bytes"
	"context"
	"encoding/json"
	"io"
	"slices"
	"time"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/store"
)

// tx implements store.Tx on a copy of the state.
type tx struct {
	reads
	state snapshot
	clock func() time.Time
	ended bool
}

var _ store.Tx = (*tx)(nil)

func newTx(s snapshot, clock func() time.Time) *tx {
	t := &tx{state: s, clock: clock}
	t.reads = reads{moment: t.moment}
	return t
}

func (t *tx) end() { t.ended = true }

func (t *tx) moment(ctx context.Context) (snapshot, error) {
	if t.ended {
		return snapshot{}, &store.Problem{Reason: store.ErrClosed, Place: "campaign in memory", Fact: "the batch has ended", WayOut: "start another one"}
	}
	return t.state, ctx.Err()
}

// enter appends s unless it stands already.
func (t *tx) enter(ctx context.Context, s store.Sealed, reduction *store.Reduction) (store.Receipt, error) {
	if _, err := t.moment(ctx); err != nil {
		return store.Receipt{}, err
	}
	before, found := t.state.standing(s.Kind, s.Subject)
	if found && bytes.Equal(before.body, s.Payload) {
		return store.Receipt{Seq: before.entry.Seq, Hash: before.entry.Hash, Effect: store.Unchanged}, nil
	}
	effect := store.Added
	if found {
		effect = store.Revised
	}
	return t.append(ctx, s, effect, reduction)
}

func (t *tx) append(ctx context.Context, s store.Sealed, effect store.Effect, reduction *store.Reduction) (store.Receipt, error) {
	if _, err := t.moment(ctx); err != nil {
		return store.Receipt{}, err
	}
	e := s.Next(t.state.head(), t.clock())
	t.state.rows = append(t.state.rows, row{entry: e, body: s.Payload, reduction: reduction})
	return store.Receipt{Seq: e.Seq, Hash: e.Hash, Effect: effect}, nil
}

// SetCampaign implements store.Writer.
func (t *tx) SetCampaign(ctx context.Context, c store.Campaign) (store.Receipt, error) {
	c, err := store.WithCreated(ctx, t, c, t.clock)
	if err != nil {
		return store.Receipt{}, err
	}
	s, err := store.SealCampaign(c)
	if err != nil {
		return store.Receipt{}, err
	}
	return t.enter(ctx, s, nil)
}

// SetRig implements store.Writer.
func (t *tx) SetRig(ctx context.Context, r drop.Rig) (store.Receipt, error) {
	s, err := store.SealRig(r)
	if err != nil {
		return store.Receipt{}, err
	}
	return t.enter(ctx, s, nil)
}

// AddDrop implements store.Writer.
func (t *tx) AddDrop(ctx context.Context, d drop.Drop) (store.Receipt, error) {
	s, err := store.SealDrop(d)
	if err != nil {
		return store.Receipt{}, err
	}
	r, err := t.enter(ctx, s, nil)
	if err == nil && r.Effect == store.Added {
		t.state.drops = append(t.state.drops, d.ID)
	}
	return r, err
}

// AddTrace implements store.Writer.
func (t *tx) AddTrace(ctx context.Context, dropID, name string, original store.Original) (store.Receipt, error) {
	if err := t.mustHaveDrop(ctx, dropID); err != nil {
		return store.Receipt{}, err
	}
	trace, s, err := store.SealTrace(dropID, name, original)
	if err != nil {
		return store.Receipt{}, err
	}
	r, err := t.enter(ctx, s, nil)
	if err == nil && t.state.originals[trace.SHA256] == nil {
		t.state.originals[trace.SHA256], err = store.Read(original, io.ReadAll)
	}
	return r, err
}

// AddReduction implements store.Writer.
func (t *tx) AddReduction(ctx context.Context, r store.Reduction) (store.Receipt, error) {
	if err := t.mustHaveDrop(ctx, r.Drop); err != nil {
		return store.Receipt{}, err
	}
	s, err := store.SealReduction(r)
	if err != nil {
		return store.Receipt{}, err
	}
	traces, err := all(ctx, t.reads, decodeWhole[store.Trace], store.KindTrace, &r.Drop)
	if err != nil {
		return store.Receipt{}, err
	}
	if !slices.ContainsFunc(traces, func(v store.Revision[store.Trace]) bool { return v.Value.SHA256 == r.TraceSHA256 }) {
		return store.Receipt{}, store.NotFound("drop "+r.Drop, "trace of SHA-256 "+r.TraceSHA256, "add the record before its reduction")
	}
	kept := copyOf(r)
	return t.enter(ctx, s, &kept)
}

// Decide implements store.Writer.
func (t *tx) Decide(ctx context.Context, d drop.Decision) (store.Receipt, error) {
	s, err := store.SealDecision(d)
	if err != nil {
		return store.Receipt{}, err
	}
	if err := t.mustHaveDrop(ctx, d.Drop); err != nil {
		return store.Receipt{}, err
	}
	effect := store.Added
	if _, found := t.state.standing(s.Kind, s.Subject); found {
		effect = store.Revised
	}
	return t.append(ctx, s, effect, nil)
}

// SetPlan implements store.Writer.
func (t *tx) SetPlan(ctx context.Context, p json.RawMessage) (store.Receipt, error) {
	s, err := store.SealPlan(p)
	if err != nil {
		return store.Receipt{}, err
	}
	return t.enter(ctx, s, nil)
}

// Ask implements store.Writer.
func (t *tx) Ask(ctx context.Context, q drop.Question) (store.Receipt, error) {
	s, err := store.SealQuestion(q)
	if err != nil {
		return store.Receipt{}, err
	}
	return t.enter(ctx, s, nil)
}

// AddNote implements store.Writer.
func (t *tx) AddNote(ctx context.Context, n store.Note) (store.Receipt, error) {
	s, err := store.SealNote(n)
	if err != nil {
		return store.Receipt{}, err
	}
	if n.Drop != "" {
		if err := t.mustHaveDrop(ctx, n.Drop); err != nil {
			return store.Receipt{}, err
		}
	}
	return t.append(ctx, s, store.Added, nil)
}

// AddChecklist implements store.Writer.
func (t *tx) AddChecklist(ctx context.Context, c drop.Checklist) (store.Receipt, error) {
	s, err := store.SealChecklist(c)
	if err != nil {
		return store.Receipt{}, err
	}
	if err := t.mustHaveDrop(ctx, c.Drop); err != nil {
		return store.Receipt{}, err
	}
	effect := store.Added
	if _, found := t.state.standing(s.Kind, s.Subject); found {
		effect = store.Revised
	}
	return t.append(ctx, s, effect, nil)
}

// AddPhoto implements store.Writer.
func (t *tx) AddPhoto(ctx context.Context, p store.Photo, kept []byte) (store.Receipt, error) {
	if err := t.mustHaveDrop(ctx, p.Drop); err != nil {
		return store.Receipt{}, err
	}
	p, s, err := store.SealPhoto(p, kept)
	if err != nil {
		return store.Receipt{}, err
	}
	for _, r := range t.state.rows {
		if r.entry.Kind == s.Kind && r.entry.Subject == s.Subject && bytes.Equal(r.body, s.Payload) {
			return store.Receipt{Seq: r.entry.Seq, Hash: r.entry.Hash, Effect: store.Unchanged}, nil
		}
	}
	r, err := t.append(ctx, s, store.Added, nil)
	if err == nil && t.state.photos[p.SHA256] == nil {
		t.state.photos[p.SHA256] = bytes.Clone(kept)
	}
	return r, err
}

func (t *tx) mustHaveDrop(ctx context.Context, id string) error {
	s, err := t.moment(ctx)
	if err == nil && !slices.Contains(s.drops, id) {
		err = store.NoDrop(id)
	}
	return err
}
