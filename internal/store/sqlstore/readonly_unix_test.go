//go:build unix

package sqlstore

import (
	"errors"
	"io"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"github.com/hardcatch/hardcatch/internal/store"
)

// asOrdinaryUser runs reportOpening as a user whom permissions bind: oneself, or, as root, the user
// id 65534. It returns the two lines.
// binary is one that such a user may run.
func asOrdinaryUser(t *testing.T, binary, path string) (write, read string) {
	t.Helper()
	cmd := child(t, binary, "report", path)
	if os.Geteuid() == 0 {
		cmd.SysProcAttr = &syscall.SysProcAttr{Credential: &syscall.Credential{Uid: 65534, Gid: 65534}}
	}
	cmd.Dir = "/"
	out, err := cmd.Output()
	if err != nil {
		t.Fatal(err)
	}
	lines := strings.Split(string(out), "\n")
	if len(lines) < 2 {
		t.Fatalf("the other user's process said %q", out)
	}
	t.Logf("%s", out)
	return strings.TrimPrefix(lines[0], "write: "), strings.TrimPrefix(lines[1], "read: ")
}

// copyBinary puts the test binary where every user may run it.
func copyBinary(t *testing.T, binary string) string {
	t.Helper()
	in, err := os.Open(binary)
	mustDo(t, err)
	to := filepath.Join(openFolder(t), "child")
	out, err := os.OpenFile(to, os.O_CREATE|os.O_WRONLY, 0o755)
	mustDo(t, err)
	_, err = io.Copy(out, in)
	mustDo(t, err)
	mustDo(t, out.Close())
	mustDo(t, in.Close())
	mustDo(t, os.Chmod(to, 0o755))
	return to
}

// openFolder is a temporary folder that every user may enter and write.
func openFolder(t *testing.T) string {
	t.Helper()
	folder := t.TempDir()
	mustDo(t, os.Chmod(filepath.Dir(folder), 0o755))
	chmod(t, folder, 0o777)
	return folder
}

// chmod sets a mode and lifts it at the end so that the folder can be removed.
func chmod(t *testing.T, path string, mode os.FileMode) {
	t.Helper()
	mustDo(t, os.Chmod(path, mode))
	t.Cleanup(func() {
		if err := os.Chmod(path, 0o777); err != nil && !errors.Is(err, os.ErrNotExist) {
			t.Error(err)
		}
	})
}

func TestWithoutPermissionToWrite(t *testing.T) {
	binary := copyBinary(t, self(t))
	for name, c := range map[string]struct {
		file, folder os.FileMode
		sides        []string // of a file in use, as a killed writer leaves them
		write, read  string
	}{
		"all may be written":        {file: 0o666, folder: 0o777, write: "<nil>", read: "12 <nil>"},
		"folder read-only":          {file: 0o666, folder: 0o555, write: "cannot be written (permission denied)", read: "12 <nil>"},
		"file read-only":            {file: 0o444, folder: 0o777, write: "write-protected", read: "12 <nil>"},
		"both read-only":            {file: 0o444, folder: 0o555, write: "write-protected", read: "12 <nil>"},
		"WAL left, folder open":     {file: 0o666, folder: 0o777, sides: []string{"-wal"}, write: "<nil>", read: "13 <nil>"},
		"WAL left, both read-only":  {file: 0o444, folder: 0o555, sides: []string{"-wal"}, write: "trial.hardcatch-wal together", read: "trial.hardcatch-wal together"},
		"all left, both read-only":  {file: 0o444, folder: 0o555, sides: []string{"-wal", "-shm"}, write: "write-protected", read: "13 <nil>"},
		"may not be read":           {file: 0o000, folder: 0o555, write: "may not be read", read: "may not be read"},
		"folder may not be entered": {file: 0o666, folder: 0o000, write: "may not be looked at", read: "may not be looked at"},
	} {
		t.Run(name, func(t *testing.T) {
			path := filepath.Join(openFolder(t), "trial.hardcatch")
			if c.sides == nil {
				atRest(t, path)
			} else {
				leftBehind(t, path, c.sides)
			}
			before := listing(t, filepath.Dir(path))
			for _, side := range append([]string{""}, c.sides...) {
				chmod(t, path+side, c.file)
			}
			chmod(t, filepath.Dir(path), c.folder)
			write, read := asOrdinaryUser(t, binary, path)
			if !strings.Contains(write, c.write) {
				t.Errorf("opening for writing: %q, want %q", write, c.write)
			}
			if !strings.Contains(read, c.read) {
				t.Errorf("opening for reading: %q, want %q", read, c.read)
			}
			mustDo(t, os.Chmod(filepath.Dir(path), 0o777))
			if after := listing(t, filepath.Dir(path)); after != before && c.write != "<nil>" {
				t.Errorf("the folder went from %q to %q", before, after)
			}
		})
	}
}

// leftBehind makes what a killed writer leaves at path: the scenario with one more entry, in the WAL.
func leftBehind(t *testing.T, path string, sides []string) {
	t.Helper()
	livePath := newPath(t)
	atRest(t, livePath)
	s, err := Open(t.Context(), livePath, Options{})
	mustDo(t, err)
	closeLater(t, s)
	_, err = s.AddNote(t.Context(), store.Note{Text: "in the WAL"})
	mustDo(t, err)
	for _, side := range append([]string{""}, sides...) {
		b, err := os.ReadFile(livePath + side)
		mustDo(t, err)
		mustDo(t, os.WriteFile(path+side, b, 0o666))
	}
}
