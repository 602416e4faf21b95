package app

import (
	"context"
	"errors"
	"fmt"
	"strings"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/reduce"
	"github.com/hardcatch/hardcatch/internal/store"
)

// hand is what a person set about one record.
type hand struct {
	sha256 string
	set    *reduce.EventsByHand
}

// of gives the setting when the record is still the one that the person looked at.
func (h hand) of(original *store.Hashing) (*reduce.EventsByHand, error) {
	if h.set.None() {
		return nil, nil //nolint:nilnil // nothing was set
	}
	known, err := original.Sum()
	if err != nil || known.SHA256 != h.sha256 {
		return nil, err
	}
	return h.set, nil
}

// handsOf reads the events set by hand of every drop.
func handsOf(ctx context.Context, s store.Reader) (map[string]hand, error) {
	rs, err := s.Reductions(ctx)
	if err != nil {
		return nil, err
	}
	out := map[string]hand{}
	for _, r := range rs {
		k, err := look.ReadKept(r.Value)
		if err != nil {
			return nil, err
		}
		if !k.Reduce.Hand.None() {
			out[r.Value.Drop] = hand{r.Value.TraceSHA256, k.Reduce.Hand}
		}
	}
	return out, nil
}

// MoveEvents reduces a drop again with events set by hand, and keeps the reason as a note. Nothing set gives the
// events back to the record. The reduction before is kept.
func MoveEvents(ctx context.Context, a *look.Access, path, id string, h reduce.EventsByHand, reason, by string) (look.Receipt, error) {
	return ChangeEvents(ctx, a, path, id, func(to *reduce.EventsByHand) { *to = h }, reason, by)
}

// ChangeEvents is MoveEvents for a change of the events that stand set by hand when it is entered, so that who sets the peak keeps
// what another has meanwhile set of taut.
func ChangeEvents(ctx context.Context, a *look.Access, path, id string, change func(*reduce.EventsByHand), reason, by string) (look.Receipt, error) {
	if strings.TrimSpace(reason) == "" {
		return look.Receipt{}, message.Say("drop %s: moving an event needs a reason; say what the record shows", message.Own(id)).Error()
	}
	return moveEvents(ctx, a, path, id, by, func(hist []*reduce.EventsByHand) (*reduce.EventsByHand, string, error) {
		var h reduce.EventsByHand
		if now := hist[len(hist)-1]; now != nil {
			h = *now
		}
		change(&h)
		if h.None() {
			return nil, "events as the record gives them: " + reason, nil
		}
		return &h, handText(&h) + ": " + reason, nil
	})
}

// WithdrawEvents brings back the events as they stood before they were last moved. Withdrawn twice, the move stands
// again. Nothing is deleted.
func WithdrawEvents(ctx context.Context, a *look.Access, path, id, by string) (look.Receipt, error) {
	return moveEvents(ctx, a, path, id, by, func(hist []*reduce.EventsByHand) (*reduce.EventsByHand, string, error) {
		now := hist[len(hist)-1]
		for i := len(hist) - 2; i >= 0; i-- {
			if !hist[i].Same(now) {
				if hist[i].None() {
					return nil, "withdrawn: events as the record gives them", nil
				}
				return hist[i], "withdrawn: " + handText(hist[i]), nil
			}
		}
		return nil, "", message.Say("drop %s: its events were never moved by hand; there is nothing to withdraw", message.Own(id)).Error()
	})
}

func handText(h *reduce.EventsByHand) string {
	var parts []string
	if h.Taut != nil {
		parts = append(parts, fmt.Sprintf("taut set by hand at %.5f s", h.Taut.SI()))
	}
	if h.Peak != nil {
		parts = append(parts, fmt.Sprintf("peak set by hand at %.5f s", h.Peak.SI()))
	}
	if h.Slack != nil {
		parts = append(parts, fmt.Sprintf("end of the arrest set by hand at %.5f s", h.Slack.SI()))
	}
	if h.From != nil || h.To != nil {
		part := "the drop lies in the part of the record"
		if h.From != nil {
			part += fmt.Sprintf(" from %.4f s", h.From.SI())
		}
		if h.To != nil {
			part += fmt.Sprintf(" to %.4f s", h.To.SI())
		}
		parts = append(parts, part)
	}
	return strings.Join(parts, ", ")
}

// recordOf is the record of a drop with the settings of its last reduction, or with those that its rig asks for when none could be made.
func recordOf(ctx context.Context, a *look.Access, tx store.Tx, d drop.Drop, hist []store.Revision[store.Reduction]) (*look.Record, error) {
	t, original, err := tx.Trace(ctx, d.ID)
	if errors.Is(err, store.ErrNotFound) {
		return nil, fmt.Errorf("drop %s has no record whose events could be moved; enter its record first", d.ID)
	}
	if err != nil {
		return nil, err
	}
	if len(hist) > 0 {
		return a.Held(t.Value, original, &hist[len(hist)-1].Value)
	}
	rec, err := a.Held(t.Value, original, nil)
	if err != nil {
		return nil, err
	}
	rig, err := tx.Rig(ctx)
	if err != nil {
		return nil, err
	}
	rec.Kept = look.SettingsFor(rig.Value, d, rec.Kept.Reduce.Filter, rec.Kept.Reader)
	return rec, nil
}

func moveEvents(ctx context.Context, a *look.Access, path, id, by string, choose func([]*reduce.EventsByHand) (*reduce.EventsByHand, string, error)) (out look.Receipt, err error) {
	err = a.Change(ctx, path, func(tx store.Tx) error {
		d, err := tx.Drop(ctx, id)
		if err != nil {
			return err
		}
		hist, err := tx.ReductionHistory(ctx, id)
		if err != nil {
			return err
		}
		var hands []*reduce.EventsByHand
		for _, h := range hist {
			k, err := look.ReadKept(h.Value)
			if err != nil {
				return err
			}
			hands = append(hands, k.Reduce.Hand)
		}
		if len(hist) == 0 {
			hands = append(hands, nil) // the record was refused: what is named now may tell it
		}
		set, note, err := choose(hands)
		if err != nil {
			return err
		}
		rec, err := recordOf(ctx, a, tx, d.Value, hist)
		if err != nil {
			return err
		}
		rec.Kept = rec.Kept.WithHand(set)
		_, r, err := rec.Entry(ctx)
		if err != nil {
			return err
		}
		if _, err := tx.AddNote(ctx, store.Note{Drop: id, Text: note, By: by}); err != nil {
			return err
		}
		receipt, err := tx.AddReduction(ctx, r)
		out = look.ReceiptOf(receipt)
		return err
	})
	return out, err
}
