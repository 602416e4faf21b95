package sqlstore

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"github.com/hardcatch/hardcatch/internal/store"
	"github.com/hardcatch/hardcatch/internal/store/storetest"
)

// childRole is the environment variable by which a test starts this binary again as another process.
const childRole = "HARDCATCH_STORE_TEST_ROLE"

// roles are what such a process can do. Each gets the arguments after the name of the binary.
var roles = map[string]func(args []string) error{
	"write":  writeUntilKilled,
	"create": createUntilKilled,
	"hold":   holdOpen,
	"decide": decideOften,
	"report": reportOpening,
}

func TestMain(m *testing.M) {
	role := os.Getenv(childRole)
	if role == "" {
		os.Exit(m.Run())
	}
	if err := roles[role](os.Args[1:]); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}

func child(t *testing.T, binary, role string, args ...string) *exec.Cmd {
	t.Helper()
	cmd := exec.CommandContext(t.Context(), binary, args...)
	cmd.Env = append(os.Environ(), childRole+"="+role)
	cmd.Stderr = os.Stderr
	return cmd
}

func self(t *testing.T) string {
	t.Helper()
	path, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	return path
}

func newPath(t *testing.T) string {
	t.Helper()
	return filepath.Join(t.TempDir(), "trial.hardcatch")
}

// created makes a campaign that is closed at the end of the test.
func created(t testing.TB, path string) *Store {
	t.Helper()
	s, err := Create(t.Context(), path, storetest.Question(), Options{Clock: storetest.Clock()})
	if err != nil {
		t.Fatal(err)
	}
	closeLater(t, s)
	return s
}

func closeLater(t testing.TB, s *Store) {
	t.Cleanup(func() {
		if err := s.Close(); err != nil {
			t.Errorf("Close: %v", err)
		}
	})
}

// scenario is the file of the scenario at rest and its head, made once.
var scenario = sync.OnceValues(func() (file []byte, head store.Head) {
	ctx := context.Background()
	folder, err := os.MkdirTemp("", "hardcatch-scenario")
	must(err)
	defer func() { must(os.RemoveAll(folder)) }()
	path := filepath.Join(folder, "scenario")
	s, err := Create(ctx, path, storetest.Question(), Options{Clock: storetest.Clock()})
	must(err)
	must(storetest.Scenario(ctx, s))
	head, err = s.Head(ctx)
	must(err)
	must(s.Close())
	file, err = os.ReadFile(path)
	must(err)
	return file, head
})

func must(err error) {
	if err != nil {
		panic(err)
	}
}

// atRest puts the scenario's file at path and returns its head.
func atRest(t *testing.T, path string) store.Head {
	t.Helper()
	file, head := scenario()
	mustDo(t, os.WriteFile(path, file, 0o666))
	return head
}

// raw opens a file behind the store's back.
func raw(t *testing.T, path string) *sql.DB {
	t.Helper()
	db, err := sql.Open("sqlite", fileURI(path)+"?mode=rw")
	if err != nil {
		t.Fatal(err)
	}
	db.SetMaxOpenConns(1)
	t.Cleanup(func() {
		if err := db.Close(); err != nil {
			t.Error(err)
		}
	})
	return db
}

func execRaw(t *testing.T, db *sql.DB, query string, args ...any) {
	t.Helper()
	if _, err := db.ExecContext(t.Context(), query, args...); err != nil {
		t.Fatalf("%s: %v", query, err)
	}
}

// listing is the names and sizes of the files in a folder.
func listing(t *testing.T, folder string) string {
	t.Helper()
	entries, err := os.ReadDir(folder)
	if err != nil {
		t.Fatal(err)
	}
	var out []string
	for _, e := range entries {
		info, err := e.Info()
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, fmt.Sprintf("%s %d", e.Name(), info.Size()))
	}
	return strings.Join(out, ", ")
}

// refused checks the reason of a Problem and that it names the place and a way out.
func refused(t *testing.T, err, reason error, place string) {
	t.Helper()
	if !errors.Is(err, reason) {
		t.Fatalf("error is %v, want one with the reason %q", err, reason)
	}
	var p *store.Problem
	if !errors.As(err, &p) || p.Fact == "" || p.WayOut == "" || !strings.HasPrefix(err.Error(), place) {
		t.Fatalf("the sentence %q lacks the place, the fact or the way out", err)
	}
	t.Log(err)
}

func verified(ctx context.Context, s *Store) error {
	v, err := s.Verify(ctx)
	if err == nil && v.Break != nil {
		err = errors.New(v.Break.String())
	}
	return err
}
