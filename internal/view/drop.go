package view

import (
	"context"
	"errors"
	"time"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/reduce"
	"github.com/hardcatch/hardcatch/internal/store"
)

// DropView is all that is known of one drop.
type DropView struct {
	Drop      drop.Drop         `json:"drop"`
	Outcome   drop.Outcome      `json:"outcome"` // decided, else proposed
	Decided   bool              `json:"decided"`
	Decisions []drop.Decision   `json:"decisions"` // oldest first
	DecidedAt []time.Time       `json:"-"`         // of each decision
	ByHand    map[int64]bool    `json:"-"`         // entries of reductions with events set by hand
	Reduction *reduce.Reduction `json:"reduction"` // null when the record could not be reduced
	Trace     *store.Trace      `json:"trace"`
	// NotReduced is why the record gives no reduction, where it gives none.
	NotReduced string `json:"not_reduced,omitempty"`
	Planned    bool   `json:"planned"` // planned, not taken
	// Checklists are what was asked and answered before the drop, oldest first.
	Checklists []drop.Checklist `json:"checklists"`
	Photos     []store.Photo    `json:"photos"`
	Cautions   []string         `json:"cautions"`
}

// DropIn shows one drop with its reduction, record and decisions.
func DropIn(ctx context.Context, a *look.Access, path, id string) (v *DropView, err error) {
	err = a.Read(ctx, path, func(r store.Reader) error {
		if v, err = dropView(ctx, r, id); err != nil {
			return err
		}
		t, _, err := r.Trace(ctx, id)
		if errors.Is(err, store.ErrNotFound) {
			return nil
		}
		if err != nil {
			return err
		}
		v.Trace = &t.Value
		return v.whyNot(ctx, a, r)
	})
	return v, err
}

// dropView is all but the trace.
func dropView(ctx context.Context, r store.Reader, id string) (*DropView, error) {
	v := &DropView{Decisions: []drop.Decision{}, Checklists: []drop.Checklist{}, Photos: []store.Photo{}, Cautions: drop.Cautions()}
	var err error
	if v.Drop, err = look.DropOf(ctx, r, id); err != nil {
		return nil, err
	}
	hist, err := r.DecisionHistory(ctx, id)
	if err != nil {
		return nil, err
	}
	for _, h := range hist {
		v.Decisions = append(v.Decisions, h.Value)
		v.DecidedAt = append(v.DecidedAt, h.At)
	}
	switch red, err := r.Reduction(ctx, id); {
	case err == nil:
		if v.Reduction, err = look.ReadReduction(red.Value); err != nil {
			return nil, err
		}
	case !errors.Is(err, store.ErrNotFound):
		return nil, err
	}
	reds, err := r.ReductionHistory(ctx, id)
	if err != nil {
		return nil, err
	}
	v.ByHand = map[int64]bool{}
	for _, h := range reds {
		k, err := look.ReadKept(h.Value)
		if err != nil {
			return nil, err
		}
		if !k.Reduce.Hand.None() {
			v.ByHand[h.Seq] = true
		}
	}
	v.Outcome, v.Decided = look.Standing(v.Reduction, v.Decisions)
	v.Planned = look.Planned(v.Drop, v.Reduction != nil, v.Decisions) // a drop that was taken names its record
	return v, v.tower(ctx, r)
}

// whyNot reduces a record that has no reduction, to say why.
func (v *DropView) whyNot(ctx context.Context, a *look.Access, r store.Reader) error {
	if v.Reduction != nil || v.Trace == nil {
		return nil
	}
	rig, err := r.Rig(ctx)
	if errors.Is(err, store.ErrNotFound) {
		return nil
	}
	if err != nil {
		return err
	}
	rec, err := a.Streamed(ctx, r, *v.Trace, nil)
	if err != nil {
		return err
	}
	rec.Kept = look.SettingsFor(rig.Value, v.Drop, rec.Kept.Reduce.Filter, rec.Kept.Reader)
	if _, _, err := rec.Entry(ctx); err != nil {
		v.NotReduced = err.Error()
	}
	return nil
}

// tower reads checklists and photos.
func (v *DropView) tower(ctx context.Context, r store.Reader) error {
	lists, err := r.ChecklistHistory(ctx, v.Drop.ID)
	if err != nil {
		return err
	}
	for _, c := range lists {
		v.Checklists = append(v.Checklists, c.Value)
	}
	photos, err := r.DropPhotos(ctx, v.Drop.ID)
	for _, p := range photos {
		v.Photos = append(v.Photos, p.Value)
	}
	return err
}

// Drop is all that is known of one drop. The bytes of its record are not looked at.
func Drop(ctx context.Context, s *look.Campaign, id string) (v *DropView, err error) {
	st, err := s.Moment(ctx)
	if err != nil {
		return nil, err
	}
	err = s.S.View(ctx, func(r store.Reader) error {
		if v, err = dropView(ctx, r, id); err != nil {
			return err
		}
		if t, ok := st.Entered.Trace[id]; ok {
			v.Trace = &t
		}
		return v.whyNot(ctx, s.Access, r)
	})
	return v, err
}
