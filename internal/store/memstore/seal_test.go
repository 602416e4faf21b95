package memstore

import (
	"context"
	"fmt"

	"github.com/hardcatch/hardcatch/internal/store"
)

// Verify implements store.Store.
func (s *Store) Verify(ctx context.Context, pins ...string) (store.Verification, error) {
	wanted, err := store.NewPinSet(pins)
	if err != nil {
		return store.Verification{}, err
	}
	at, err := s.moment(ctx)
	if err != nil {
		return store.Verification{}, err
	}
	out := store.Verification{Drops: int64(len(at.drops))}
	var walk store.Walk
	summed := summed{traces: map[string]bool{}, photos: map[string]bool{}}
	for _, r := range at.rows {
		if out.Break = walk.Step(r.entry); out.Break != nil {
			break
		}
		wanted.See(r.entry.Hash)
		if out.Break = at.differs(r, summed, &out); out.Break != nil {
			break
		}
	}
	if out.Break == nil && len(summed.traces) != len(at.originals) {
		out.Break = store.BreakIn("originals", fmt.Sprintf("%d originals are kept, but the logbook accounts for %d", len(at.originals), len(summed.traces)))
	}
	if out.Break == nil && len(summed.photos) != len(at.photos) {
		out.Break = store.BreakIn("photos", fmt.Sprintf("%d photos are kept, but the logbook accounts for %d", len(at.photos), len(summed.photos)))
	}
	if out.Break == nil {
		out.Break = wanted.Missing()
	}
	out.Head = walk.Head()
	out.Entries = out.Head.Seq
	return out, ctx.Err()
}

// summed is the bytes whose SHA-256 was recomputed.
type summed struct{ traces, photos map[string]bool }

// differs holds a row against its entry.
func (s snapshot) differs(r row, seen summed, out *store.Verification) *store.Break {
	sealed, err := reseal(r)
	switch {
	case err != nil:
		return store.BreakAt(r.entry, "rows", err.Error())
	case sealed.Subject != r.entry.Subject || string(sealed.Payload) != r.entry.Payload:
		return store.BreakAt(r.entry, "rows", fmt.Sprintf("%s is kept, but %s was entered", sealed.Payload, r.entry.Payload))
	case r.entry.Kind == store.KindTrace:
		return s.original(r, seen.traces, out)
	case r.entry.Kind == store.KindPhoto:
		return s.photo(r, seen.photos, out)
	}
	return nil
}

func (s snapshot) original(r row, seen map[string]bool, out *store.Verification) *store.Break {
	t, err := decodeWhole[store.Trace](r)
	if err != nil {
		return store.BreakAt(r.entry, "rows", err.Error())
	}
	if seen[t.Value.SHA256] {
		return nil
	}
	original, found := s.originals[t.Value.SHA256]
	if sum := store.SumHex(original); !found || sum != t.Value.SHA256 {
		return store.BreakAt(r.entry, "originals", fmt.Sprintf("the bytes of trace %s are gone or changed", t.Value.SHA256))
	}
	seen[t.Value.SHA256] = true
	out.Traces++
	out.TraceBytes += t.Value.Bytes
	return nil
}

func (s snapshot) photo(r row, seen map[string]bool, out *store.Verification) *store.Break {
	p, err := decodeWhole[store.Photo](r)
	if err != nil {
		return store.BreakAt(r.entry, "rows", err.Error())
	}
	if seen[p.Value.SHA256] {
		return nil
	}
	kept, found := s.photos[p.Value.SHA256]
	if sum := store.SumHex(kept); !found || sum != p.Value.SHA256 {
		return store.BreakAt(r.entry, "photos", fmt.Sprintf("the bytes of photo %s are gone or changed", p.Value.SHA256))
	}
	seen[p.Value.SHA256] = true
	out.Photos++
	out.PhotoBytes += p.Value.Bytes
	return nil
}

// reseal makes the payload of a row anew from its value.
func reseal(r row) (store.Sealed, error) {
	switch r.entry.Kind {
	case store.KindCampaign:
		return resealValue(r, store.SealCampaign)
	case store.KindRig:
		return resealValue(r, store.SealRig)
	case store.KindDrop:
		return resealValue(r, store.SealDrop)
	case store.KindTrace:
		return resealValue(r, store.ResealTrace)
	case store.KindDecision:
		return resealValue(r, store.SealDecision)
	case store.KindNote:
		return resealValue(r, store.SealNote)
	case store.KindChecklist:
		return resealValue(r, store.SealChecklist)
	case store.KindPhoto:
		return resealValue(r, store.ResealPhoto)
	case store.KindPlan:
		return resealValue(r, store.SealPlan)
	case store.KindQuestion:
		return resealValue(r, store.SealQuestion)
	case store.KindReduction:
		return store.ResealReduction(*r.reduction)
	}
	return store.Sealed{}, fmt.Errorf("the kind %q is not known", r.entry.Kind)
}

func resealValue[T any](r row, seal func(T) (store.Sealed, error)) (store.Sealed, error) {
	v, err := decodeWhole[T](r)
	if err != nil {
		return store.Sealed{}, err
	}
	return seal(v.Value)
}
