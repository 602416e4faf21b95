package app

import (
	"context"
	"fmt"
	"strings"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/store"
)

// Withdraw takes the last decision on a drop back by a new one: what stood before it stands again, and where nothing
// stood the decision is withdrawn. Withdrawn twice, the decision stands again. Nothing is deleted.
// It needs a name and a reason, as a result changes.
func Withdraw(ctx context.Context, a *look.Access, path, id, by, reason string) (out look.Receipt, d drop.Decision, err error) {
	err = a.Change(ctx, path, func(tx store.Tx) error {
		hist, err := tx.DecisionHistory(ctx, id)
		if err != nil {
			return err
		}
		n := len(hist)
		if n == 0 {
			if _, err := tx.Drop(ctx, id); err != nil {
				return err
			}
			return message.Say("drop %s: there is no decision to withdraw", message.Own(id)).Error()
		}
		if unsigned(by, reason) {
			return message.Say("drop %s: to take a decision back, say who you are and why", message.Own(id)).Error()
		}
		reason = strings.TrimSpace(reason)
		d = drop.Decision{Drop: id, By: by, Withdrawn: true, Reason: fmt.Sprintf("withdrawn: %q; %s", hist[n-1].Value.Reason, reason)}
		if n > 1 && !hist[n-2].Value.Withdrawn {
			d = hist[n-2].Value
			d.By, d.Again = by, reason
		}
		r, err := tx.Decide(ctx, d)
		out = look.ReceiptOf(r)
		return err
	})
	return out, d, err
}
