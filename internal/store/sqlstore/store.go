package sqlstore

import (
	"context"
	"database/sql"
	"errors"
	"sync"
	"time"

	"github.com/hardcatch/hardcatch/internal/store"
)

// Store is a campaign in a SQLite file.
type Store struct {
	reads        // each on a connection of its own
	store.Single // each a commit of its own

	target  target
	schema  schema
	clock   func() time.Time
	writer  *sql.DB // one connection; nil when open for reading only
	readers *sql.DB
	lock    *writerLock

	closing sync.Mutex
	closed  bool
}

var _ store.Store = (*Store)(nil)

func newStore(t target, s schema) *Store {
	st := &Store{target: t, schema: s}
	st.reads = reads{q: poolQuerier{st}, place: t.place, version: s.version()}
	st.Single = store.Single{Commit: st.Update}
	return st
}

// poolQuerier reads from the pool of readers while the store is open.
type poolQuerier struct{ s *Store }

func (p poolQuerier) QueryContext(ctx context.Context, query string, args ...any) (*sql.Rows, error) {
	if err := p.s.checkOpen(); err != nil {
		return nil, err
	}
	return p.s.readers.QueryContext(ctx, query, args...)
}

// Path is the file as it was named.
func (s *Store) Path() string { return s.target.place }

// ReadOnly tells whether the store was opened for reading only.
func (s *Store) ReadOnly() bool { return s.writer == nil }

// Close closes the file. The last program to close it merges the WAL into it.
func (s *Store) Close() error {
	s.closing.Lock()
	defer s.closing.Unlock()
	if s.closed {
		return nil
	}
	s.closed = true
	var errs []error
	if s.readers != nil {
		errs = append(errs, s.readers.Close())
	}
	if s.writer != nil {
		errs = append(errs, s.writer.Close())
	}
	if s.lock != nil {
		errs = append(errs, s.lock.release())
	}
	return explain(context.Background(), s.target.place, errors.Join(errs...))
}

func (s *Store) checkOpen() error {
	s.closing.Lock()
	defer s.closing.Unlock()
	if s.closed {
		return store.Closed(s.target.place)
	}
	return nil
}

// Update implements store.Store.
func (s *Store) Update(ctx context.Context, fn func(store.Tx) error) error {
	if err := s.checkOpen(); err != nil {
		return err
	}
	if s.writer == nil {
		return &store.Problem{
			Reason: store.ErrReadOnly, Place: s.target.place, Fact: "it is open for reading only",
			WayOut: "open it for writing to change it",
		}
	}
	return s.within(ctx, s.writer, "BEGIN IMMEDIATE", func(conn *sql.Conn) error {
		t := newTx(conn, s.target.place, s.version, s.clock)
		defer t.end()
		if err := fn(t); err != nil {
			return err
		}
		return t.broken
	})
}

// View implements store.Store.
func (s *Store) View(ctx context.Context, fn func(store.Reader) error) error {
	if err := s.checkOpen(); err != nil {
		return err
	}
	return s.within(ctx, s.readers, "BEGIN", func(conn *sql.Conn) error {
		return fn(reads{q: conn, place: s.target.place, version: s.version})
	})
}

// within runs fn in a transaction on a connection of db. What fn returns comes back unchanged.
func (s *Store) within(ctx context.Context, db *sql.DB, begin string, fn func(*sql.Conn) error) (err error) {
	conn, err := db.Conn(ctx)
	if err != nil {
		return explain(ctx, s.target.place, err)
	}
	defer func() {
		// A connection that was discarded is closed already.
		if e := conn.Close(); e != nil && !errors.Is(e, sql.ErrConnDone) && err == nil {
			err = explain(ctx, s.target.place, e)
		}
	}()
	var own error
	err = inTransaction(ctx, conn, begin, func() error {
		own = fn(conn)
		return own
	})
	if own != nil {
		return own
	}
	return explain(ctx, s.target.place, err)
}
