package app

import (
	"context"

	"github.com/hardcatch/hardcatch/internal/store"
)

// Files opens campaigns. It is given by the program's main, so that no use case knows the driver.
type Files interface {
	Create(ctx context.Context, path string, c store.Campaign) (store.Store, error)
	Open(ctx context.Context, path string) (store.Store, error)
	OpenReadOnly(ctx context.Context, path string) (store.Store, error)
}

// within opens a campaign, runs fn and closes it; the first error stands.
func within(s store.Store, err error, fn func(store.Store) error) error {
	if err != nil {
		return err
	}
	err = fn(s)
	if cerr := s.Close(); err == nil {
		err = cerr
	}
	return err
}

// Receipt tells what a change did and where the history now ends.
type Receipt struct {
	Effect string `json:"effect"`
	Seq    int64  `json:"seq"`
	Hash   string `json:"hash"`
}

func receipt(r store.Receipt) Receipt {
	return Receipt{Effect: r.Effect.String(), Seq: r.Seq, Hash: r.Hash.String()}
}
