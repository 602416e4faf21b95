package app

import (
	"context"
	"strings"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/store"
)

// Decide enters what a person settled about a drop. Earlier decisions are kept. What changes a decision that stands needs a name and
// a reason; to say where it broke, once it is decided that it broke, changes none.
func Decide(ctx context.Context, a *look.Access, path string, d drop.Decision) (out look.Receipt, err error) {
	if err := d.Check(); err != nil {
		return out, err
	}
	err = a.Change(ctx, path, func(tx store.Tx) error {
		hist, err := tx.DecisionHistory(ctx, d.Drop)
		if err != nil {
			return err
		}
		if n := len(hist); n > 0 && changes(hist[n-1].Value, d) && unsigned(d.By, d.Reason) {
			return message.Say("drop %s is decided (%s): to change that, say who you are and why", message.Own(d.Drop), hist[n-1].Value.Outcome).Error()
		}
		r, err := tx.Decide(ctx, d)
		out = look.ReceiptOf(r)
		return err
	})
	return out, err
}

// changes tells that a decision is other than the one that stands.
func changes(stands, d drop.Decision) bool {
	return !stands.Withdrawn && (stands.Outcome != d.Outcome || stands.Place != drop.Unsaid && stands.Place != d.Place)
}

func unsigned(by, reason string) bool {
	return strings.TrimSpace(by) == "" || strings.TrimSpace(reason) == ""
}
