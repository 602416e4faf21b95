package look

import (
	"context"

	"github.com/hardcatch/hardcatch/internal/store"
)

// Logbook lists every entry of a campaign, oldest first.
func (a *Access) Logbook(ctx context.Context, path string) (out []store.Entry, err error) {
	s, err := a.Files.OpenReadOnly(ctx, path)
	err = Within(s, err, func(s store.Store) error {
		out, err = s.History(ctx)
		return err
	})
	return out, err
}
