package sqlstore

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"time"

	"modernc.org/sqlite"
	sqlite3 "modernc.org/sqlite/lib"

	"github.com/hardcatch/hardcatch/internal/store"
)

// target is a campaign file: as the user wrote it, and as it is opened. The latter is absolute and
// without symbolic links, so that the files beside it are the same by whatever way it is reached.
type target struct {
	place string
	path  string
}

// locate resolves an existing file and refuses what cannot be a campaign, by its looks.
func locate(name string) (target, error) {
	t := target{place: name}
	info, err := os.Stat(name)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return t, &store.Problem{
			Reason: store.ErrMissing, Place: name, Fact: "there is no such file",
			WayOut: "check the path, or start a campaign there with: hardcatch begin", Cause: err,
		}
	case errors.Is(err, fs.ErrPermission):
		return t, &store.Problem{
			Reason: store.ErrUnreachable, Place: name, Fact: "it may not be looked at",
			WayOut: "ask the owner of the folder for permission, or work on a copy", Cause: err,
		}
	case err != nil:
		return t, unreachable(name, err)
	case info.IsDir():
		return t, &store.Problem{
			Reason: store.ErrNotFile, Place: name, Fact: "it is a folder, not a campaign file",
			WayOut: "name the campaign file within it",
		}
	case !info.Mode().IsRegular():
		return t, &store.Problem{
			Reason: store.ErrNotFile, Place: name, Fact: fmt.Sprintf("it is no regular file (%s)", info.Mode().Type()),
			WayOut: "name a campaign file",
		}
	case info.Size() == 0:
		return t, &store.Problem{
			Reason: store.ErrEmpty, Place: name, Fact: "the file is empty: nothing was ever stored in it, perhaps because its creation was cut short",
			WayOut: "delete it and start the campaign anew",
		}
	}
	if t.path, err = filepath.Abs(name); err != nil {
		return t, unreachable(name, err)
	}
	if t.path, err = filepath.EvalSymlinks(t.path); err != nil {
		return t, unreachable(name, err)
	}
	return t, nil
}

// hasWAL tells whether commits may stand beside the file.
func (t target) hasWAL() bool {
	info, err := os.Stat(t.path + "-wal")
	return err == nil && info.Size() > 0
}

// identity is what a SQLite file says it is.
type identity struct {
	application int
	version     int
}

// settled runs open again, at most five times within some 0.3 s, while it fails as it does when the WAL went between looking for it and
// opening it: another program has just closed the file. Where file or folder may not be written it fails for good.
func (t target) settled(ctx context.Context, open func() error) error {
	for try := 1; ; try++ {
		err := open()
		if err == nil || !cannotOpen(err) || !t.mayWriteAll() || try == 6 {
			return err
		}
		if rest(ctx, time.Duration(try)*20*time.Millisecond) != nil {
			return err
		}
	}
}

// identify reads the identity without changing the file or leaving one beside it. At rest the file
// is read as immutable; with a WAL beside it the WAL must be read too, and the files for that are
// there.
func (t target) identify(ctx context.Context) (id identity, err error) {
	err = t.settled(ctx, func() error {
		if !t.hasWAL() {
			id, err = t.identifyBy(ctx, "immutable=1")
			if err == nil || notSQLite(err) || !t.hasWAL() {
				return err
			}
		}
		id, err = t.identifyBy(ctx, "mode=ro")
		return err
	})
	return id, err
}

func (t target) identifyBy(ctx context.Context, mode string) (id identity, err error) {
	db, err := openDB(t.path, mode, []string{busyTimeout}, 1)
	if err != nil {
		return id, err
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	if err := db.QueryRowContext(ctx, "PRAGMA application_id").Scan(&id.application); err != nil {
		return id, err
	}
	return id, db.QueryRowContext(ctx, "PRAGMA user_version").Scan(&id.version)
}

func notSQLite(err error) bool {
	var e *sqlite.Error
	return errors.As(err, &e) && e.Code()&0xff == sqlite3.SQLITE_NOTADB
}

func cannotOpen(err error) bool {
	var e *sqlite.Error
	if !errors.As(err, &e) {
		return false
	}
	switch e.Code() & 0xff {
	case sqlite3.SQLITE_CANTOPEN, sqlite3.SQLITE_READONLY, sqlite3.SQLITE_PERM, sqlite3.SQLITE_AUTH:
		return true
	}
	return false
}

// admit refuses a file that is not a campaign of a version this program knows.
func (t target) admit(ctx context.Context, known int) (identity, error) {
	id, err := t.identify(ctx)
	switch {
	case err != nil && notSQLite(err):
		return id, &store.Problem{
			Reason: store.ErrNotSQLite, Place: t.place, Fact: "it is not a campaign file (not a SQLite file at all)",
			WayOut: "name the campaign file; force records and drop lists are added to one, not opened", Cause: err,
		}
	case err != nil && cannotOpen(err) && t.hasWAL():
		return id, t.unmerged(err)
	case err != nil && cannotOpen(err):
		return id, &store.Problem{
			Reason: store.ErrUnreachable, Place: t.place, Fact: "it may not be read",
			WayOut: "ask its owner for permission to read it, or for a copy", Cause: err,
		}
	case err != nil:
		return id, explain(ctx, t.place, err)
	case id.application != applicationID:
		return id, &store.Problem{
			Reason: store.ErrForeign, Place: t.place, Fact: fmt.Sprintf("it is a SQLite file of another program (application id %#x)", uint32(id.application)),
			WayOut: "leave it to that program and name a campaign file",
		}
	case id.version > known:
		return id, newer(t.place, id.version, known)
	case id.version < 1:
		return id, damaged(t.place, fmt.Errorf("schema version %d", id.version))
	}
	return id, nil
}

// newer is the Problem of a file whose schema this program does not know.
func newer(place string, version, known int) error {
	return &store.Problem{
		Reason: store.ErrNewer, Place: place, Fact: fmt.Sprintf("it was written by a newer version (schema %d; this program knows up to %d)", version, known),
		WayOut: "update this program; the file was not touched",
	}
}

// unmerged is the Problem of a file whose last commits stand in a WAL that cannot be read here.
func (t target) unmerged(cause error) error {
	base := filepath.Base(t.path)
	return &store.Problem{
		Reason: store.ErrUnmerged, Place: t.place,
		Fact:   fmt.Sprintf("its last changes stand beside it in %s-wal and cannot be merged in a folder that cannot be written", base),
		WayOut: fmt.Sprintf("copy %s and %s-wal together to a folder of your own and open it there", base, base),
		Cause:  cause,
	}
}
