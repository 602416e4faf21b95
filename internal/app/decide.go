package app

import (
	"context"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/store"
)

// Decide enters what a person settled about a drop. Earlier decisions are kept.
func (a *App) Decide(ctx context.Context, path string, d drop.Decision) (out Receipt, err error) {
	if err := d.Check(); err != nil {
		return out, err
	}
	s, err := a.Files.Open(ctx, path)
	err = within(s, err, func(s store.Store) error {
		r, err := s.Decide(ctx, d)
		out = receipt(r)
		return err
	})
	return out, err
}
