package sqlstore

import (
	"bytes"
	"context"
	"database/sql"
	"errors"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/hardcatch/hardcatch/internal/store"
	"github.com/hardcatch/hardcatch/internal/store/storetest"
)

// ways is every way to open a file that exists.
var ways = map[string]func(context.Context, string) (*Store, error){
	"open":           func(ctx context.Context, p string) (*Store, error) { return Open(ctx, p, Options{}) },
	"open read-only": OpenReadOnly,
}

func TestOpenRefusesAndLeavesUntouched(t *testing.T) {
	sqliteFile := func(statements ...string) func(*testing.T, string) {
		return func(t *testing.T, path string) {
			db, err := sql.Open("sqlite", fileURI(path))
			if err != nil {
				t.Fatal(err)
			}
			for _, q := range statements {
				execRaw(t, db, q)
			}
			if err := db.Close(); err != nil {
				t.Fatal(err)
			}
		}
	}
	bytesOf := func(b []byte) func(*testing.T, string) {
		return func(t *testing.T, path string) {
			if err := os.WriteFile(path, b, 0o666); err != nil {
				t.Fatal(err)
			}
		}
	}
	for name, c := range map[string]struct {
		make   func(t *testing.T, path string)
		reason error
	}{
		"nothing there":           {func(*testing.T, string) {}, store.ErrMissing},
		"empty":                   {bytesOf(nil), store.ErrEmpty},
		"force record":            {bytesOf([]byte("t_s,F_N\n0,0\n")), store.ErrNotSQLite},
		"large text":              {bytesOf(bytes.Repeat([]byte("t_s,F_N\n"), 4000)), store.ErrNotSQLite},
		"folder":                  {func(t *testing.T, p string) { mustDo(t, os.Mkdir(p, 0o777)) }, store.ErrNotFile},
		"foreign":                 {sqliteFile("CREATE TABLE song (title TEXT)"), store.ErrForeign},
		"foreign in WAL mode":     {sqliteFile("PRAGMA journal_mode = wal", "CREATE TABLE song (title TEXT)", "PRAGMA application_id = 7"), store.ErrForeign},
		"newer":                   {atRestThen("PRAGMA user_version = 99"), store.ErrNewer},
		"schema version 0":        {atRestThen("PRAGMA user_version = 0"), store.ErrDamaged},
		"cut short":               {func(t *testing.T, p string) { atRest(t, p); mustDo(t, os.Truncate(p, 6000)) }, store.ErrDamaged},
		"header alone, cut short": {func(t *testing.T, p string) { atRest(t, p); mustDo(t, os.Truncate(p, 100)) }, store.ErrDamaged},
	} {
		for way, open := range ways {
			t.Run(name+"/"+way, func(t *testing.T) {
				path := newPath(t)
				c.make(t, path)
				before, content := listing(t, filepath.Dir(path)), fileBytes(path)
				s, err := open(t.Context(), path)
				if err == nil {
					t.Fatal("was opened", s.Close())
				}
				refused(t, err, c.reason, path)
				if after := listing(t, filepath.Dir(path)); after != before {
					t.Errorf("the folder went from %q to %q", before, after)
				}
				if !bytes.Equal(content, fileBytes(path)) {
					t.Error("the file was changed")
				}
			})
		}
	}
}

// fileBytes is a file's content, nil for what is none. No store has the file open.
func fileBytes(path string) []byte {
	b, err := os.ReadFile(path)
	if err != nil {
		return nil
	}
	return b
}

func mustDo(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

func atRestThen(query string) func(*testing.T, string) {
	return func(t *testing.T, path string) {
		atRest(t, path)
		db := raw(t, path)
		execRaw(t, db, query)
		mustDo(t, db.Close())
	}
}

// A newer file whose version stands in a WAL that a killed writer left.
func TestOpenRefusesNewerInWAL(t *testing.T) {
	for way, open := range ways {
		t.Run(way, func(t *testing.T) {
			live := newPath(t)
			atRest(t, live)
			db := raw(t, live)
			execRaw(t, db, "PRAGMA user_version = 99")
			path := copyLive(t, live, "", "-wal", "-shm")
			content, wal := fileBytes(path), fileBytes(path+"-wal")
			_, err := open(t.Context(), path)
			refused(t, err, store.ErrNewer, path)
			if !bytes.Equal(content, fileBytes(path)) || !bytes.Equal(wal, fileBytes(path+"-wal")) {
				t.Error("the file or its WAL was changed")
			}
		})
	}
}

// copyLive copies a file in use, with the given files beside it: what a killed writer would leave.
func copyLive(t *testing.T, path string, sides ...string) string {
	t.Helper()
	to := newPath(t)
	for _, side := range sides {
		b, err := os.ReadFile(path + side)
		if err != nil {
			t.Fatal(err)
		}
		mustDo(t, os.WriteFile(to+side, b, 0o666))
	}
	return to
}

func TestCreateRefuses(t *testing.T) {
	folder := t.TempDir()
	taken := filepath.Join(folder, "taken")
	mustDo(t, os.WriteFile(taken, []byte("mine"), 0o666))
	for path, reason := range map[string]error{
		taken:                                    store.ErrExists,
		folder:                                   store.ErrExists,
		filepath.Join(folder, "no", "such", "x"): store.ErrMissing,
	} {
		_, err := Create(t.Context(), path, storetest.Question(), Options{})
		refused(t, err, reason, path)
	}
	_, err := Create(t.Context(), filepath.Join(folder, "new"), store.Campaign{Name: "no question"}, Options{})
	if !errors.Is(err, store.ErrInvalid) {
		t.Errorf("a campaign without a question gives %v", err)
	}
	if got := listing(t, folder); got != "taken 4" {
		t.Errorf("the folder holds %q, want the file that was there, unchanged", got)
	}
}

func TestFolderAtRestHoldsOneFile(t *testing.T) {
	path := newPath(t)
	atRest(t, path)
	for way, open := range ways {
		content := fileBytes(path)
		s, err := open(t.Context(), path)
		if err != nil {
			t.Fatal(err)
		}
		if err := verified(t.Context(), s); err != nil {
			t.Error(err)
		}
		mustDo(t, s.Close())
		if got := listing(t, filepath.Dir(path)); strings.Contains(got, ",") {
			t.Errorf("%s: left %q", way, got)
		}
		if !bytes.Equal(content, fileBytes(path)) {
			t.Errorf("%s: reading changed the file", way)
		}
	}
}

func TestReopenGoesOn(t *testing.T) {
	path := newPath(t)
	head := atRest(t, path)
	s, err := Open(t.Context(), path, Options{Clock: storetest.Clock()})
	if err != nil {
		t.Fatal(err)
	}
	closeLater(t, s)
	if h, err := s.Head(t.Context()); err != nil || h != head {
		t.Errorf("the head is %v, %v", h, err)
	}
	if _, err := s.AddDrop(t.Context(), storetest.Drop("3")); err != nil {
		t.Error(err)
	}
	if err := verified(t.Context(), s); err != nil {
		t.Error(err)
	}
}

func TestReadOnlyRefusesToWrite(t *testing.T) {
	path := newPath(t)
	atRest(t, path)
	s, err := OpenReadOnly(t.Context(), path)
	if err != nil {
		t.Fatal(err)
	}
	closeLater(t, s)
	_, err = s.AddDrop(t.Context(), storetest.Drop("3"))
	refused(t, err, store.ErrReadOnly, path)
	// Behind the store's own check SQLite refuses too.
	_, err = s.readers.ExecContext(t.Context(), "DELETE FROM history")
	refused(t, explain(t.Context(), path, err), store.ErrReadOnly, path)
}

func TestOddNames(t *testing.T) {
	names := []string{"two words", "100%41", "a#b", "ümlaut", "a&mode=memory", "plus+sign"}
	if runtime.GOOS != "windows" {
		names = append(names, "what?mode=memory", ":memory:", `back\slash`)
	}
	for _, name := range names {
		path := filepath.Join(t.TempDir(), name)
		atRest(t, path)
		if got := listing(t, filepath.Dir(path)); !strings.HasPrefix(got, name+" ") || strings.Contains(got, ",") {
			t.Errorf("%q: the folder holds %q", name, got)
		}
		s, err := Open(t.Context(), path, Options{})
		if err != nil {
			t.Errorf("%q: %v", name, err)
			continue
		}
		mustDo(t, s.Close())
	}
}

func TestOpenByRelativeName(t *testing.T) {
	t.Chdir(t.TempDir())
	atRest(t, "trial.hardcatch")
	s, err := OpenReadOnly(t.Context(), "trial.hardcatch")
	if err != nil {
		t.Fatal(err)
	}
	closeLater(t, s)
	if s.Path() != "trial.hardcatch" || !s.ReadOnly() {
		t.Errorf("path %q, read-only %v", s.Path(), s.ReadOnly())
	}
}

// later is the current schema with one more step.
func later(t *testing.T, step string) schema {
	t.Helper()
	now, err := currentSchema()
	if err != nil {
		t.Fatal(err)
	}
	return newSchema(append(now.steps[:len(now.steps):len(now.steps)], step))
}

func TestMigration(t *testing.T) {
	path := newPath(t)
	head := atRest(t, path)
	next := later(t, "CREATE TABLE weather (seq INTEGER PRIMARY KEY REFERENCES history (seq)) STRICT;")

	older, err := openReadOnly(t.Context(), path, next)
	if err != nil {
		t.Fatal(err)
	}
	if err := verified(t.Context(), older); err != nil {
		t.Error(err)
	}
	mustDo(t, older.Close())

	s, err := open(t.Context(), path, Options{}, next)
	if err != nil {
		t.Fatal(err)
	}
	if err := verified(t.Context(), s); err != nil {
		t.Error(err)
	}
	if h, err := s.Head(t.Context()); err != nil || h != head {
		t.Errorf("the head is %v, %v", h, err)
	}
	mustDo(t, s.Close())
	_, err = Open(t.Context(), path, Options{})
	refused(t, err, store.ErrNewer, path)
}

func TestMigrationThatFails(t *testing.T) {
	path := newPath(t)
	atRest(t, path)
	_, err := open(t.Context(), path, Options{}, later(t, "CREATE TABLE weather (seq INTEGER); CREATE TABLE note (seq INTEGER);"))
	if err == nil || !strings.Contains(err.Error(), "from schema 3 to 4") {
		t.Fatalf("error is %v", err)
	}
	s, err := Open(t.Context(), path, Options{})
	if err != nil {
		t.Fatal(err)
	}
	closeLater(t, s)
	if err := verified(t.Context(), s); err != nil {
		t.Errorf("after the failed step: %v", err)
	}
}

func TestSchemaFilesAreNumbered(t *testing.T) {
	for _, files := range []fstest.MapFS{
		{"0002_x.sql": {}},
		{"0001_x.sql": {}, "0003_x.sql": {}},
		{"0001_x.sql": {}, "0001_y.sql": {}},
		{"first.sql": {}},
	} {
		if _, err := readSchema(files); err == nil {
			t.Errorf("%v was taken", files)
		}
	}
}
