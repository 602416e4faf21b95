package app

import (
	"context"
	"slices"
	"strings"

	"github.com/hardcatch/hardcatch/internal/doctor"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/store"
)

// Settle enters why a finding may be passed over, or with reopen that it may not any more. It needs a name and a reason, as results change.
func Settle(ctx context.Context, a *look.Access, path, finding, by, reason string, reopen bool) (out look.Receipt, err error) {
	if unsigned(by, reason) {
		return out, message.Say("finding %s: to settle it, say who you are and why", message.Own(finding)).Error()
	}
	err = a.View(ctx, path, func(c *look.Entered, _ store.Reader) error {
		i := slices.IndexFunc(c.Findings, func(f doctor.Finding) bool { return f.Key == finding })
		switch {
		case i < 0:
			return message.Say("there is no finding %s; hardcatch doctor %s lists them", message.Own(finding), message.Own(path)).Error()
		case reopen && c.Findings[i].Settled == nil:
			return message.Say("finding %s is open", message.Own(finding)).Error()
		}
		return nil
	})
	if err != nil {
		return out, err
	}
	err = a.Change(ctx, path, func(tx store.Tx) error {
		r, err := tx.AddNote(ctx, store.Note{Text: strings.TrimSpace(reason), By: by, Settles: finding, Reopens: reopen})
		out = look.ReceiptOf(r)
		return err
	})
	return out, err
}
