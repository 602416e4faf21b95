package app

import (
	"context"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/store"
)

// Decide enters what a person settled about a drop. Earlier decisions are kept.
func Decide(ctx context.Context, a *look.Access, path string, d drop.Decision) (out look.Receipt, err error) {
	if err := d.Check(); err != nil {
		return out, err
	}
	s, err := a.Files.Open(ctx, path)
	err = look.Within(s, err, func(s store.Store) error {
		r, err := s.Decide(ctx, d)
		out = look.ReceiptOf(r)
		return err
	})
	return out, err
}
