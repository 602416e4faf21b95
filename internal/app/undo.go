package app

import (
	"context"
	"fmt"

	"hardcatch/internal/drop"
	"hardcatch/internal/store"
)

// UndoResult is what taking a decision back did.
type UndoResult struct {
	Receipt
	Undone   drop.Decision  `json:"undone"`
	Restored *drop.Decision `json:"restored"` // what stands again, null when nothing does
}

// Undo takes the last decision on a drop back that still stands. Nothing is deleted: a decision is entered that
// repeats what stood before and names the entry it takes back, or says undecided when nothing stood before. Undoing
// again goes further back.
func (a *App) Undo(ctx context.Context, path, dropID, by string) (*UndoResult, error) {
	res := &UndoResult{}
	s, err := a.Files.Open(ctx, path)
	return res, within(s, err, func(s store.Store) error {
		return s.Update(ctx, func(tx store.Tx) error {
			if _, err := tx.Drop(ctx, dropID); err != nil {
				return err
			}
			hist, err := tx.DecisionHistory(ctx, dropID)
			if err != nil {
				return err
			}
			stack := stillStanding(hist)
			if len(stack) == 0 {
				return fmt.Errorf("drop %s: there is no decision to take back; confirm or void it first", dropID)
			}
			last := stack[len(stack)-1]
			res.Undone = last.Value
			d := drop.Decision{Drop: dropID, Outcome: drop.Undecided}
			if n := len(stack); n > 1 {
				d = stack[n-2].Value
				res.Restored = &stack[n-2].Value
			}
			d.Undoes = last.Seq
			if by != "" {
				d.By = by
			}
			r, err := tx.Decide(ctx, d)
			res.Receipt = receipt(r)
			return err
		})
	})
}

// stillStanding replays decisions: each of its own is put on, each that takes one back takes the top off.
func stillStanding(hist []store.Revision[drop.Decision]) []store.Revision[drop.Decision] {
	var stack []store.Revision[drop.Decision]
	for _, h := range hist {
		switch {
		case h.Value.Undoes == 0:
			stack = append(stack, h)
		case len(stack) > 0:
			stack = stack[:len(stack)-1]
		}
	}
	return stack
}

// said is the reason of a decision, with what it takes back.
func said(d drop.Decision) string {
	switch {
	case d.Undoes == 0:
		return d.Reason
	case d.Outcome == drop.Undecided:
		return fmt.Sprintf("entry %d taken back", d.Undoes)
	}
	return fmt.Sprintf("entry %d taken back; as before: %s", d.Undoes, d.Reason)
}
