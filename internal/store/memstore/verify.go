package memstore

import (
	"context"
	"fmt"

	"hardcatch/internal/store"
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
	summed := map[string]bool{}
	for _, r := range at.rows {
		if out.Break = walk.Step(r.entry); out.Break != nil {
			break
		}
		wanted.See(r.entry.Hash)
		if out.Break = at.differs(r, summed, &out); out.Break != nil {
			break
		}
	}
	if out.Break == nil && len(summed) != len(at.originals) {
		out.Break = store.BreakIn("originals", fmt.Sprintf("%d originals are kept, but the history accounts for %d", len(at.originals), len(summed)))
	}
	if out.Break == nil {
		out.Break = wanted.Missing()
	}
	out.Head = walk.Head()
	out.Entries = out.Head.Seq
	return out, ctx.Err()
}

// differs holds a row against its entry.
func (s state) differs(r row, summed map[string]bool, out *store.Verification) *store.Break {
	sealed, err := reseal(r)
	switch {
	case err != nil:
		return store.BreakAt(r.entry, "rows", err.Error())
	case sealed.Subject != r.entry.Subject || string(sealed.Payload) != r.entry.Payload:
		return store.BreakAt(r.entry, "rows", fmt.Sprintf("%s is kept, but %s was entered", sealed.Payload, r.entry.Payload))
	case r.entry.Kind != store.KindTrace:
		return nil
	}
	t, err := plain[store.Trace](r)
	if err != nil {
		return store.BreakAt(r.entry, "rows", err.Error())
	}
	if summed[t.Value.SHA256] {
		return nil
	}
	original, found := s.originals[t.Value.SHA256]
	if sum := store.SumHex(original); !found || sum != t.Value.SHA256 {
		return store.BreakAt(r.entry, "originals", fmt.Sprintf("the bytes of trace %s are gone or changed", t.Value.SHA256))
	}
	summed[t.Value.SHA256] = true
	out.Traces++
	out.TraceBytes += t.Value.Bytes
	return nil
}

// reseal makes the payload of a row anew from its value.
func reseal(r row) (store.Sealed, error) {
	switch r.entry.Kind {
	case store.KindCampaign:
		return again(r, store.SealCampaign)
	case store.KindRig:
		return again(r, store.SealRig)
	case store.KindDrop:
		return again(r, store.SealDrop)
	case store.KindTrace:
		return again(r, store.ResealTrace)
	case store.KindDecision:
		return again(r, store.SealDecision)
	case store.KindNote:
		return again(r, store.SealNote)
	case store.KindReduction:
		return store.ResealReduction(*r.reduction)
	}
	return store.Sealed{}, fmt.Errorf("the kind %q is not known", r.entry.Kind)
}

func again[T any](r row, seal func(T) (store.Sealed, error)) (store.Sealed, error) {
	v, err := plain[T](r)
	if err != nil {
		return store.Sealed{}, err
	}
	return seal(v.Value)
}
