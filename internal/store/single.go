package store

import (
	"context"
	"encoding/json"
	"errors"
	"time"

	"github.com/hardcatch/hardcatch/internal/drop"
)

// Single implements Writer with one commit for each call.
type Single struct {
	// Commit is the Update of a Store.
	Commit func(ctx context.Context, fn func(Tx) error) error
}

var _ Writer = Single{}

func (s Single) one(ctx context.Context, write func(Tx) (Receipt, error)) (Receipt, error) {
	var r Receipt
	err := s.Commit(ctx, func(tx Tx) (err error) {
		r, err = write(tx)
		return err
	})
	if err != nil {
		return Receipt{}, err
	}
	return r, nil
}

// SetCampaign implements Writer.
func (s Single) SetCampaign(ctx context.Context, c Campaign) (Receipt, error) {
	return s.one(ctx, func(tx Tx) (Receipt, error) { return tx.SetCampaign(ctx, c) })
}

// SetRig implements Writer.
func (s Single) SetRig(ctx context.Context, r drop.Rig) (Receipt, error) {
	return s.one(ctx, func(tx Tx) (Receipt, error) { return tx.SetRig(ctx, r) })
}

// AddDrop implements Writer.
func (s Single) AddDrop(ctx context.Context, d drop.Drop) (Receipt, error) {
	return s.one(ctx, func(tx Tx) (Receipt, error) { return tx.AddDrop(ctx, d) })
}

// AddTrace implements Writer.
func (s Single) AddTrace(ctx context.Context, dropID, name string, original Original) (Receipt, error) {
	return s.one(ctx, func(tx Tx) (Receipt, error) { return tx.AddTrace(ctx, dropID, name, original) })
}

// AddReduction implements Writer.
func (s Single) AddReduction(ctx context.Context, r Reduction) (Receipt, error) {
	return s.one(ctx, func(tx Tx) (Receipt, error) { return tx.AddReduction(ctx, r) })
}

// Decide implements Writer.
func (s Single) Decide(ctx context.Context, d drop.Decision) (Receipt, error) {
	return s.one(ctx, func(tx Tx) (Receipt, error) { return tx.Decide(ctx, d) })
}

// Ask implements Writer.
func (s Single) Ask(ctx context.Context, q drop.Question) (Receipt, error) {
	return s.one(ctx, func(tx Tx) (Receipt, error) { return tx.Ask(ctx, q) })
}

// SetPlan implements Writer.
func (s Single) SetPlan(ctx context.Context, p json.RawMessage) (Receipt, error) {
	return s.one(ctx, func(tx Tx) (Receipt, error) { return tx.SetPlan(ctx, p) })
}

// AddNote implements Writer.
func (s Single) AddNote(ctx context.Context, n Note) (Receipt, error) {
	return s.one(ctx, func(tx Tx) (Receipt, error) { return tx.AddNote(ctx, n) })
}

// AddChecklist implements Writer.
func (s Single) AddChecklist(ctx context.Context, c drop.Checklist) (Receipt, error) {
	return s.one(ctx, func(tx Tx) (Receipt, error) { return tx.AddChecklist(ctx, c) })
}

// AddPhoto implements Writer.
func (s Single) AddPhoto(ctx context.Context, p Photo, kept []byte) (Receipt, error) {
	return s.one(ctx, func(tx Tx) (Receipt, error) { return tx.AddPhoto(ctx, p, kept) })
}

// WithCreated fills in a zero time of creation: the one that stands, or now for a new campaign.
func WithCreated(ctx context.Context, r Reader, c Campaign, clock func() time.Time) (Campaign, error) {
	if !c.Created.IsZero() {
		return c, nil
	}
	before, err := r.Campaign(ctx)
	switch {
	case err == nil:
		c.Created = before.Value.Created
	case errors.Is(err, ErrNotFound):
		c.Created = clock()
	default:
		return c, err
	}
	return c, nil
}
