package look

import (
	"context"

	"github.com/hardcatch/hardcatch/internal/store"
)

// Record gives back the original bytes of a drop's record, checked against their SHA-256.
func (a *Access) Record(ctx context.Context, path, dropID string) (t store.Trace, original []byte, err error) {
	s, err := a.Files.OpenReadOnly(ctx, path)
	err = Within(s, err, func(s store.Store) error {
		r, b, err := s.Trace(ctx, dropID)
		t, original = r.Value, b
		return err
	})
	return t, original, err
}
