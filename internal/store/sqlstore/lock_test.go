package sqlstore

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/store"
	"github.com/hardcatch/hardcatch/internal/store/storetest"
)

// holdOpen is a writer that keeps the file open until its standard input ends.
func holdOpen(args []string) error {
	s, err := Open(context.Background(), args[0], Options{})
	if err != nil {
		return err
	}
	fmt.Println("ready")
	if _, err := io.Copy(io.Discard, os.Stdin); err != nil {
		return err
	}
	return s.Close()
}

func TestSecondWriter(t *testing.T) {
	path := newPath(t)
	atRest(t, path)
	first, err := Open(t.Context(), path, Options{})
	if err != nil {
		t.Fatal(err)
	}
	closeLater(t, first)
	_, err = Open(t.Context(), path, Options{Patience: -1})
	refused(t, err, store.ErrBusy, path)

	link := filepath.Join(t.TempDir(), "link")
	if err := os.Symlink(path, link); err == nil { // Windows may not allow it
		_, err = Open(t.Context(), link, Options{Patience: -1})
		refused(t, err, store.ErrBusy, link)
	}

	// The refusals have not weakened the first.
	if _, err := first.AddDrop(t.Context(), storetest.Drop("3")); err != nil {
		t.Error(err)
	}
	mustDo(t, first.Close())
	second, err := Open(t.Context(), path, Options{})
	if err != nil {
		t.Fatal(err)
	}
	mustDo(t, second.Close())
}

func TestSecondWriterInAnotherProcess(t *testing.T) {
	path := newPath(t)
	atRest(t, path)
	holder := child(t, self(t), "hold", path)
	if _, err := holder.StdinPipe(); err != nil { // open until the process is gone
		t.Fatal(err)
	}
	stdout, err := holder.StdoutPipe()
	mustDo(t, err)
	mustDo(t, holder.Start())
	if line, err := bufio.NewReader(stdout).ReadString('\n'); err != nil || line != "ready\n" {
		t.Fatalf("the other process said %q, %v", line, err)
	}

	_, err = Open(t.Context(), path, Options{Patience: -1})
	refused(t, err, store.ErrBusy, path)
	if want := fmt.Sprintf("process %d ", holder.Process.Pid); !strings.Contains(err.Error(), want) {
		t.Errorf("%q does not name the other process, %q", err, want)
	}
	reader, err := OpenReadOnly(t.Context(), path)
	if err != nil {
		t.Fatalf("reading beside a writer: %v", err)
	}
	if err := verified(t.Context(), reader); err != nil {
		t.Error(err)
	}
	mustDo(t, reader.Close())

	// The lock of a process that dies is free at once, though its file is still there.
	mustDo(t, holder.Process.Kill())
	if err := holder.Wait(); err == nil {
		t.Error("the killed process ended well")
	}
	if _, err := os.Stat(path + "-lock"); err != nil {
		t.Errorf("the killed process left no lock file: %v", err)
	}
	s, err := Open(t.Context(), path, Options{})
	if err != nil {
		t.Fatal(err)
	}
	mustDo(t, s.Close())
	if got := listing(t, filepath.Dir(path)); strings.Contains(got, ",") {
		t.Errorf("the folder holds %q, want the campaign alone", got)
	}
}

// decideOften decides on one drop again and again, each time opening the campaign anew as a command does.
func decideOften(args []string) error {
	ctx := context.Background()
	for i := range decisionsEach {
		s, err := Open(ctx, args[0], Options{})
		if err != nil {
			return err
		}
		_, err = s.Decide(ctx, drop.Decision{Drop: "1", Outcome: drop.Held, Reason: fmt.Sprintf("%s %d", args[1], i)})
		if err := errors.Join(err, s.Close()); err != nil {
			return err
		}
	}
	return nil
}

const decisionsEach = 25

// Three processes write into one campaign at once while readers open it: nobody is refused and nothing is lost.
func TestWritersWaitForEachOther(t *testing.T) {
	path := newPath(t)
	atRest(t, path)
	before := decisionsOn(t, path)
	var writers []*exec.Cmd
	for _, name := range []string{"a", "b", "c"} {
		w := child(t, self(t), "decide", path, name)
		mustDo(t, w.Start())
		writers = append(writers, w)
	}
	stop, reads := make(chan struct{}), make(chan int)
	go func() {
		n := 0
		for ; ; n++ {
			select {
			case <-stop:
				reads <- n
				return
			default:
			}
			r, err := OpenReadOnly(context.Background(), path)
			if err == nil {
				err = r.Close()
			}
			if err != nil {
				t.Errorf("a reader beside the writers: %v", err)
			}
		}
	}()
	for _, w := range writers {
		if err := w.Wait(); err != nil {
			t.Errorf("a writer failed: %v", err)
		}
	}
	close(stop)
	if n := <-reads; n == 0 {
		t.Error("no reader opened the file meanwhile")
	}
	after := decisionsOn(t, path)
	seen := map[string]bool{}
	for _, d := range after[len(before):] {
		seen[d.Value.Reason] = true
	}
	if want := 3 * decisionsEach; len(after)-len(before) != want || len(seen) != want {
		t.Errorf("%d decisions came in, %d of them different; want %d", len(after)-len(before), len(seen), want)
	}
	if got := listing(t, filepath.Dir(path)); strings.Contains(got, ",") {
		t.Errorf("the folder holds %q, want the campaign alone", got)
	}
}

func decisionsOn(t *testing.T, path string) []store.Revision[drop.Decision] {
	t.Helper()
	s, err := OpenReadOnly(t.Context(), path)
	if err != nil {
		t.Fatal(err)
	}
	defer func() { mustDo(t, s.Close()) }()
	if err := verified(t.Context(), s); err != nil {
		t.Error(err)
	}
	hist, err := s.DecisionHistory(t.Context(), "1")
	if err != nil {
		t.Fatal(err)
	}
	return hist
}

// Who waits gets the file as soon as it is free, may be stopped, and is told in the end who has it and how long was waited.
func TestWaitingEnds(t *testing.T) {
	path := newPath(t)
	atRest(t, path)
	first, err := Open(t.Context(), path, Options{})
	if err != nil {
		t.Fatal(err)
	}
	closeLater(t, first)
	_, err = Open(t.Context(), path, Options{Patience: 30 * time.Millisecond})
	refused(t, err, store.ErrBusy, path)
	for _, want := range []string{fmt.Sprintf("process %d ", os.Getpid()), "30ms", "nothing of this change was stored"} {
		if !strings.Contains(err.Error(), want) {
			t.Errorf("%q does not say %q", err, want)
		}
	}
	ctx, cancel := context.WithCancel(t.Context())
	ended := make(chan error)
	go func() {
		_, err := Open(ctx, path, Options{Patience: time.Hour})
		ended <- err
	}()
	cancel()
	if err := <-ended; !errors.Is(err, context.Canceled) {
		t.Errorf("stopped while it waited: %v", err)
	}
	go func() {
		second, err := Open(t.Context(), path, Options{Patience: time.Hour})
		if err == nil {
			err = second.Close()
		}
		ended <- err
	}()
	mustDo(t, first.Close())
	if err := <-ended; err != nil {
		t.Errorf("after the first had closed: %v", err)
	}
}

func TestForeignTransaction(t *testing.T) {
	path := newPath(t)
	s := created(t, path)
	if _, err := s.writer.ExecContext(t.Context(), "PRAGMA busy_timeout = 20"); err != nil {
		t.Fatal(err)
	}
	db := raw(t, path)
	execRaw(t, db, "BEGIN IMMEDIATE")
	_, err := s.AddDrop(t.Context(), storetest.Drop("1"))
	refused(t, err, store.ErrBusy, path)
	execRaw(t, db, "ROLLBACK")
	if _, err := s.AddDrop(t.Context(), storetest.Drop("1")); err != nil {
		t.Error(err)
	}
}

func TestLockIsExclusive(t *testing.T) {
	path := newPath(t)
	var inside, taken atomic.Int32
	var wg sync.WaitGroup
	for range 8 {
		wg.Go(func() {
			for range 300 {
				l, err := lockWriter(path, path)
				if err != nil {
					continue
				}
				if n := inside.Add(1); n != 1 {
					t.Errorf("%d writers at once", n)
				}
				taken.Add(1)
				inside.Add(-1)
				if err := l.release(); err != nil {
					t.Error(err)
				}
			}
		})
	}
	wg.Wait()
	if taken.Load() == 0 {
		t.Error("nobody got the lock")
	}
	if got := listing(t, filepath.Dir(path)); got != "" {
		t.Errorf("left %q", got)
	}
}

func TestReaderSeesCommitsOfTheWriter(t *testing.T) {
	path := newPath(t)
	s := created(t, path)
	r, err := OpenReadOnly(t.Context(), path)
	if err != nil {
		t.Fatal(err)
	}
	closeLater(t, r)
	for i := range 5 {
		if _, err := s.AddDrop(t.Context(), storetest.Drop(fmt.Sprint(i))); err != nil {
			t.Fatal(err)
		}
		if drops, err := r.Drops(t.Context()); err != nil || len(drops) != i+1 {
			t.Fatalf("the reader sees %d drops, %v; want %d", len(drops), err, i+1)
		}
	}
	mustDo(t, s.Close())
	if drops, err := r.Drops(t.Context()); err != nil || len(drops) != 5 {
		t.Errorf("after the writer closed the reader sees %d drops, %v", len(drops), err)
	}
}
