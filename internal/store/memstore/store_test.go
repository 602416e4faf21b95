// Package memstore keeps a campaign in memory. It is the plain model that tests hold the file against, and nothing else.
package memstore

import (
	"context"
	"maps"
	"sync"
	"sync/atomic"
	"time"

	"github.com/hardcatch/hardcatch/internal/store"
)

// Store is a campaign in memory. It holds every value in the form in which it was entered, so that
// nothing that a caller keeps a pointer to can change it.
type Store struct {
	reads        // each on the state of its own moment
	store.Single // each a commit of its own

	clock  func() time.Time
	writer chan struct{} // holds one token: the right to write

	mu     sync.RWMutex
	now    snapshot
	closed atomic.Bool
}

var _ store.Store = (*Store)(nil)

// row is a history entry with the value that it entered.
type row struct {
	entry     store.Entry
	body      []byte           // canonical JSON
	reduction *store.Reduction // of a reduction
}

// snapshot is one moment of a campaign. Rows are only ever appended, so that a copy of the slice header
// stays as it is.
type snapshot struct {
	rows      []row
	drops     []string // ids in the order added
	originals map[string][]byte
	photos    map[string][]byte // kept bytes by SHA-256
}

func (s snapshot) head() store.Head {
	if len(s.rows) == 0 {
		return store.Head{}
	}
	e := s.rows[len(s.rows)-1].entry
	return store.Head{Seq: e.Seq, Hash: e.Hash}
}

// New makes a store with campaign c as its first entry. clock gives the times of the history; nil is
// time.Now.
func New(ctx context.Context, c store.Campaign, clock func() time.Time) (*Store, error) {
	if clock == nil {
		clock = time.Now
	}
	s := &Store{clock: clock, writer: make(chan struct{}, 1), now: snapshot{originals: map[string][]byte{}, photos: map[string][]byte{}}}
	s.reads = reads{moment: s.moment}
	s.Single = store.Single{Commit: s.Update}
	s.writer <- struct{}{}
	if _, err := s.SetCampaign(ctx, c); err != nil {
		return nil, err
	}
	return s, nil
}

// moment is the state that stands.
func (s *Store) moment(ctx context.Context) (snapshot, error) {
	if err := s.usable(ctx); err != nil {
		return snapshot{}, err
	}
	s.mu.RLock()
	defer s.mu.RUnlock()
	return s.now, nil
}

func (s *Store) usable(ctx context.Context) error {
	if s.closed.Load() {
		return store.Closed("campaign in memory")
	}
	return ctx.Err()
}

// Close implements store.Store.
func (s *Store) Close() error {
	s.closed.Store(true)
	return nil
}

// Update implements store.Store.
func (s *Store) Update(ctx context.Context, fn func(store.Tx) error) error {
	if err := s.usable(ctx); err != nil {
		return err
	}
	select {
	case <-s.writer:
	case <-ctx.Done():
		return ctx.Err()
	}
	defer func() { s.writer <- struct{}{} }()

	before, err := s.moment(ctx)
	if err != nil {
		return err
	}
	// Originals and photos are maps and would be shared with readers; rows and drops are not, because a
	// reader does not see behind its own length.
	before.originals, before.photos = maps.Clone(before.originals), maps.Clone(before.photos)
	t := newTx(before, s.clock)
	defer t.end()
	if err := fn(t); err != nil {
		return err
	}
	if err := s.usable(ctx); err != nil {
		return err
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	s.now = t.state
	return nil
}

// View implements store.Store.
func (s *Store) View(ctx context.Context, fn func(store.Reader) error) error {
	at, err := s.moment(ctx)
	if err != nil {
		return err
	}
	return fn(reads{moment: func(ctx context.Context) (snapshot, error) { return at, ctx.Err() }})
}
