package sqlstore

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"time"

	"github.com/hardcatch/hardcatch/internal/store"
)

// Options of a store.
type Options struct {
	// Clock gives the times of the history. nil is time.Now.
	Clock func() time.Time
	// Patience is how long a writer waits for another one that has the file. 0 is 30 s; below 0 it does not wait.
	Patience time.Duration
}

// patience is how long a writer waits when nothing else is asked: longer than any change but the entry of very many records takes.
const patience = 30 * time.Second

func (o Options) patience() time.Duration {
	if o.Patience == 0 {
		return patience
	}
	return max(0, o.Patience)
}

func (o Options) clock() func() time.Time {
	if o.Clock == nil {
		return time.Now
	}
	return o.Clock
}

// readerConns is how many reads of one store run at once.
const readerConns = 4

// Create makes the file name with campaign c as its first entry and opens it for writing. It refuses
// to touch a file that exists. A zero c.Created is the clock's time.
func Create(ctx context.Context, name string, c store.Campaign, o Options) (*Store, error) {
	s, err := currentSchema()
	if err != nil {
		return nil, err
	}
	return create(ctx, name, c, o, s)
}

// Open opens a campaign for reading and writing and brings it to the current schema. It refuses, and
// then leaves untouched, what is not a campaign, is newer than this program, or cannot be written. While another writer has
// it, it waits as o.Patience says, and then says who has it.
func Open(ctx context.Context, name string, o Options) (*Store, error) {
	s, err := currentSchema()
	if err != nil {
		return nil, err
	}
	return open(ctx, name, o, s)
}

// OpenReadOnly opens a campaign for reading, beside a writer if there is one, and in a folder that
// cannot be written if need be. A file of an earlier version is read as it is: what came later is not in it.
func OpenReadOnly(ctx context.Context, name string) (*Store, error) {
	s, err := currentSchema()
	if err != nil {
		return nil, err
	}
	return openReadOnly(ctx, name, s)
}

func create(ctx context.Context, name string, c store.Campaign, o Options, s schema) (*Store, error) {
	t, err := vacant(name)
	if err != nil {
		return nil, err
	}
	clock := o.clock()
	lock, err := waitWriter(ctx, t.path, t.place, o.patience())
	if err != nil {
		return nil, err
	}
	if err := build(ctx, t, c, clock, s); err != nil {
		return nil, errors.Join(explain(ctx, t.place, err), lock.release())
	}
	st, err := attach(ctx, t, lock, clock, s)
	if err != nil {
		return nil, errors.Join(err, removeFile(t.path))
	}
	return st, nil
}

// vacant resolves a file that is to be made.
func vacant(name string) (target, error) {
	t := target{place: name}
	switch _, err := os.Lstat(name); {
	case err == nil:
		return t, exists(name)
	case !errors.Is(err, fs.ErrNotExist):
		return t, unreachable(name, err)
	}
	abs, err := filepath.Abs(name)
	if err != nil {
		return t, unreachable(name, err)
	}
	folder, err := filepath.EvalSymlinks(filepath.Dir(abs))
	if err != nil {
		return t, notWritable(name, filepath.Dir(name), err)
	}
	t.path = filepath.Join(folder, filepath.Base(abs))
	return t, nil
}

func exists(name string) error {
	return &store.Problem{
		Reason: store.ErrExists, Place: name, Fact: "there is a file of this name already",
		WayOut: "choose another name, or go on with that campaign without hardcatch begin; nothing was overwritten",
	}
}

// build makes the whole file under another name and moves it into place, so that a kill leaves
// nothing under the name, an empty file that reserves it, or a campaign.
func build(ctx context.Context, t target, c store.Campaign, clock func() time.Time, s schema) (err error) {
	draft := t.path + "-new"
	defer func() {
		if err != nil {
			err = errors.Join(err, removeFile(draft))
		}
	}()
	if err := removeFile(draft); err != nil {
		return err
	}
	if err := fill(ctx, draft, t, c, clock, s); err != nil {
		return err
	}
	if err := reserve(t); err != nil {
		return err
	}
	if err := os.Rename(draft, t.path); err != nil {
		return errors.Join(writeFailed(t.place, err), os.Remove(t.path))
	}
	if err := syncFolder(filepath.Dir(t.path)); err != nil {
		return errors.Join(writeFailed(t.place, err), os.Remove(t.path))
	}
	return nil
}

// reserve takes the name, so that no file that comes up meanwhile is overwritten.
func reserve(t target) error {
	f, err := os.OpenFile(t.path, os.O_CREATE|os.O_EXCL, 0o666)
	if errors.Is(err, fs.ErrExist) {
		return exists(t.place)
	}
	if err != nil {
		return writeFailed(t.place, err)
	}
	if err := f.Close(); err != nil {
		return errors.Join(writeFailed(t.place, err), os.Remove(t.path))
	}
	return nil
}

// removeFile removes an SQLite file of which nothing is to stay, with what SQLite put beside it.
func removeFile(path string) error {
	var errs []error
	for _, side := range []string{"", "-journal", "-wal", "-shm"} {
		if err := os.Remove(path + side); err != nil && !errors.Is(err, fs.ErrNotExist) {
			errs = append(errs, err)
		}
	}
	return errors.Join(errs...)
}

// fill writes schema, identity and first entry. WAL comes last: the file is whole without one.
func fill(ctx context.Context, draft string, t target, c store.Campaign, clock func() time.Time, s schema) (err error) {
	db, err := openDB(draft, "mode=rwc", writerPragmas, 1)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	conn, err := db.Conn(ctx)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, conn.Close()) }()
	if err := s.migrate(ctx, conn); err != nil {
		return err
	}
	err = inTransaction(ctx, conn, "BEGIN IMMEDIATE", func() error {
		_, err := newTx(conn, t.place, s.version(), clock).SetCampaign(ctx, c)
		return err
	})
	if err != nil {
		return err
	}
	return setWAL(ctx, conn)
}

// setWAL makes sure of the journal mode, which SQLite may decline without an error.
func setWAL(ctx context.Context, conn *sql.Conn) error {
	var mode string
	if err := conn.QueryRowContext(ctx, "PRAGMA journal_mode = wal").Scan(&mode); err != nil {
		return err
	}
	if mode != "wal" {
		return fmt.Errorf("the file system does not allow WAL (journal mode stays %s); copy the campaign to a local disk and work there", mode)
	}
	return nil
}

func open(ctx context.Context, name string, o Options, s schema) (_ *Store, err error) {
	t, err := locate(name)
	if err != nil {
		return nil, err
	}
	if _, err := t.admit(ctx, s.version()); err != nil {
		return nil, err
	}
	if !mayWrite(t.path) {
		return nil, &store.Problem{
			Reason: store.ErrReadOnly, Place: t.place, Fact: "the file is write-protected",
			WayOut: "copy the campaign to a folder of your own, or open it for reading only",
		}
	}
	lock, err := waitWriter(ctx, t.path, t.place, o.patience())
	if err != nil {
		return nil, err
	}
	return attach(ctx, t, lock, o.clock(), s)
}

// attach opens the connections of a writer that holds the lock; on failure it gives the lock up.
func attach(ctx context.Context, t target, lock *writerLock, clock func() time.Time, s schema) (_ *Store, err error) {
	st := newStore(t, s)
	st.clock, st.lock = clock, lock
	defer func() {
		if err != nil {
			err = errors.Join(explain(ctx, t.place, err), st.Close())
		}
	}()
	if st.writer, err = openDB(t.path, "mode=rw", writerPragmas, 1); err != nil {
		return nil, err
	}
	if err := st.prepareWriter(ctx); err != nil {
		return nil, err
	}
	if st.readers, err = openDB(t.path, "mode=rw", readerPragmas, readerConns); err != nil {
		return nil, err
	}
	return st, nil
}

func (s *Store) prepareWriter(ctx context.Context) (err error) {
	conn, err := s.writer.Conn(ctx)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, conn.Close()) }()
	if err := setWAL(ctx, conn); err != nil {
		return err
	}
	var have int
	if err := conn.QueryRowContext(ctx, "PRAGMA user_version").Scan(&have); err != nil {
		return err
	}
	if known := s.schema.version(); have > known { // a newer program had the file while this one waited for it
		return newer(s.target.place, have, known)
	}
	return s.schema.migrate(ctx, conn)
}

func openReadOnly(ctx context.Context, name string, s schema) (*Store, error) {
	t, err := locate(name)
	if err != nil {
		return nil, err
	}
	id, err := t.admit(ctx, s.version())
	if err != nil {
		return nil, err
	}
	s, err = s.at(id.version)
	if err != nil {
		return nil, err
	}
	var st *Store
	err = t.settled(ctx, func() error {
		st, err = t.read(ctx, s)
		return err
	})
	if err == nil || !cannotOpen(err) {
		return st, err
	}
	if t.hasWAL() {
		return nil, t.unmerged(err)
	}
	return nil, err
}

// read opens the file in the first way that serves.
func (t target) read(ctx context.Context, s schema) (_ *Store, err error) {
	for _, mode := range t.readModes() {
		st := newStore(t, s)
		if st.readers, err = openDB(t.path, mode, readerPragmas, readerConns); err != nil {
			return nil, explain(ctx, t.place, err)
		}
		if _, err = st.Head(ctx); err == nil {
			return st, nil
		}
		err = errors.Join(err, st.Close())
		if !cannotOpen(err) {
			return nil, err
		}
	}
	return nil, err
}

// readModes are the ways for a reader to open the file, to be tried in order; see the package
// comment. That a folder cannot be written may show only in trying, as on Windows.
func (t target) readModes() []string {
	if _, err := os.Stat(t.path + "-shm"); err == nil || t.hasWAL() {
		if t.mayWriteAll() {
			return []string{"mode=rw", "mode=ro"}
		}
		return []string{"mode=ro"}
	}
	if t.mayWriteAll() {
		return []string{"mode=rw", "immutable=1"}
	}
	return []string{"immutable=1"}
}

func (t target) mayWriteAll() bool {
	return mayWrite(t.path) && mayWrite(filepath.Dir(t.path))
}
