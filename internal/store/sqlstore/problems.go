package sqlstore

import (
	"context"
	"errors"
	"fmt"

	"modernc.org/sqlite"
	sqlite3 "modernc.org/sqlite/lib"

	"github.com/hardcatch/hardcatch/internal/store"
)

// explain turns what SQLite said into place, fact, way out. Problems and the end of a context pass.
func explain(ctx context.Context, place string, err error) error {
	if err == nil {
		return nil
	}
	var known *store.Problem
	if errors.As(err, &known) {
		return err
	}
	if ended := ctx.Err(); ended != nil {
		return fmt.Errorf("%s: %w", place, ended)
	}
	var e *sqlite.Error
	if !errors.As(err, &e) {
		return fmt.Errorf("%s: %w", place, err)
	}
	switch code := e.Code(); code & 0xff {
	case sqlite3.SQLITE_FULL:
		return diskFull(place, err)
	case sqlite3.SQLITE_READONLY:
		return &store.Problem{
			Reason: store.ErrReadOnly, Place: place, Fact: "it is open for reading only, or its file or folder cannot be written",
			WayOut: "copy the campaign to a folder of your own and open it for writing", Cause: err,
		}
	case sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED:
		return &store.Problem{
			Reason: store.ErrBusy, Place: place, Fact: "another program holds the file and did not let go",
			WayOut: "close it there and repeat; nothing of this change was stored", Cause: err,
		}
	case sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB:
		return damaged(place, err)
	case sqlite3.SQLITE_TOOBIG:
		return &store.Problem{
			Reason: store.ErrTooLarge, Place: place, Fact: "a value is larger than SQLite takes (1 GB when compressed)",
			WayOut: "cut the record to the stretch about the drop and add that", Cause: err,
		}
	case sqlite3.SQLITE_IOERR:
		// What a full disk gives when the shared-memory file cannot grow.
		if code == sqlite3.SQLITE_IOERR_SHMSIZE {
			return diskFull(place, err)
		}
		return unreachable(place, err)
	case sqlite3.SQLITE_CANTOPEN:
		return unreachable(place, err)
	}
	return fmt.Errorf("%s: %w", place, err)
}

func diskFull(place string, cause error) error {
	return &store.Problem{
		Reason: store.ErrFull, Place: place, Fact: "the disk is full; nothing of this change was stored, and all that was stored before is safe",
		WayOut: "free some space on that disk and repeat", Cause: cause,
	}
}

func damaged(place string, cause error) error {
	return &store.Problem{
		Reason: store.ErrDamaged, Place: place, Fact: "the file is damaged: " + cause.Error(),
		WayOut: "keep it, go back to a copy that hardcatch prove finds whole, and enter what came later again", Cause: cause,
	}
}

func unreachable(place string, cause error) error {
	return &store.Problem{
		Reason: store.ErrUnreachable, Place: place, Fact: "the file cannot be read or written: " + cause.Error(),
		WayOut: "check that the disk is connected and the folder may be written, then repeat", Cause: cause,
	}
}
