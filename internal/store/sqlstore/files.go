package sqlstore

import (
	"context"

	"github.com/hardcatch/hardcatch/internal/store"
)

// Files opens campaigns by the path of their file, as use cases want it: behind the interface of a store, and
// with a nil store beside an error.
type Files struct{ Options Options }

// Create makes a campaign file; see Create.
func (f Files) Create(ctx context.Context, path string, c store.Campaign) (store.Store, error) {
	return asStore(Create(ctx, path, c, f.Options))
}

// Open opens a campaign for reading and writing; see Open.
func (f Files) Open(ctx context.Context, path string) (store.Store, error) {
	return asStore(Open(ctx, path, f.Options))
}

// OpenReadOnly opens a campaign for reading; see OpenReadOnly.
func (f Files) OpenReadOnly(ctx context.Context, path string) (store.Store, error) {
	return asStore(OpenReadOnly(ctx, path))
}

// asStore keeps a nil *Store from becoming a store that is not nil.
func asStore(s *Store, err error) (store.Store, error) {
	if err != nil {
		return nil, err
	}
	return s, nil
}
