package sqlstore

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"time"

	"github.com/hardcatch/hardcatch/internal/store"
)

// errLocked is what tryLock returns when another holder has the lock.
var errLocked = errors.New("locked by another holder")

// writerLock is the exclusive right to write a campaign, held until release or the end of the process.
type writerLock struct {
	file *os.File
	path string
}

// waitWriter takes the lock of the campaign as lockWriter does. While another writer holds it, it tries again until patience has
// passed; the pauses grow from 2 ms to 50 ms and are spread at random, so that several who wait do not meet at every try.
func waitWriter(ctx context.Context, path, place string, patience time.Duration) (*writerLock, error) {
	began, pause := time.Now(), 2*time.Millisecond
	for {
		l, err := lockWriter(path, place)
		if err == nil || !errors.Is(err, errLocked) {
			return l, err
		}
		left := patience - time.Since(began)
		if left <= 0 {
			var p *store.Problem
			if patience > 0 && errors.As(err, &p) {
				p.Fact += fmt.Sprintf(", and has been for the %s that were waited", patience)
			}
			return nil, err
		}
		if err := rest(ctx, min(left, pause/2+rand.N(pause))); err != nil {
			return nil, fmt.Errorf("%s: stopped while another program was writing to it, before anything was changed: %w", place, err)
		}
		pause = min(2*pause, 50*time.Millisecond)
	}
}

// rest waits, or ends early with the context.
func rest(ctx context.Context, d time.Duration) error {
	t := time.NewTimer(d)
	defer t.Stop()
	select {
	case <-ctx.Done():
		return ctx.Err()
	case <-t.C:
		return nil
	}
}

// lockWriter takes the lock of the campaign at path, shown to the user as place, or says who has it.
func lockWriter(path, place string) (*writerLock, error) {
	lockPath := path + "-lock"
	for {
		f, err := os.OpenFile(lockPath, os.O_RDWR|os.O_CREATE, 0o666)
		if err != nil {
			return nil, notWritable(place, filepath.Dir(path), err)
		}
		l := &writerLock{file: f, path: lockPath}
		if err := tryLock(f); err != nil {
			who := owner(f)
			return nil, errors.Join(l.refuse(place, who, err), f.Close())
		}
		// A holder removes the file as it releases. Whoever opened it before that and locked it
		// after holds a file that nobody else will find, and must start again.
		mine, err := f.Stat()
		if err != nil {
			return nil, errors.Join(unreachable(place, err), f.Close())
		}
		there, err := os.Stat(lockPath)
		if err != nil && !errors.Is(err, os.ErrNotExist) {
			return nil, errors.Join(unreachable(place, err), f.Close())
		}
		if err != nil || !os.SameFile(mine, there) {
			if err := f.Close(); err != nil {
				return nil, unreachable(place, err)
			}
			continue
		}
		if err := l.sign(); err != nil {
			return nil, errors.Join(writeFailed(place, err), l.release())
		}
		return l, nil
	}
}

// sign writes who holds the lock, for the message of whoever comes second.
func (l *writerLock) sign() error {
	host, err := os.Hostname()
	if err != nil {
		host = "this machine"
	}
	if err := l.file.Truncate(0); err != nil {
		return err
	}
	_, err = l.file.WriteAt(fmt.Appendf(nil, "process %d on %s\n", os.Getpid(), host), 0)
	return err
}

// owner reads what the holder wrote; "" when it has not yet.
func owner(f *os.File) string {
	text, err := io.ReadAll(io.NewSectionReader(f, 0, 400))
	if err != nil {
		return ""
	}
	return strings.TrimSpace(string(text))
}

func (l *writerLock) refuse(place, who string, cause error) error {
	if !errors.Is(cause, errLocked) {
		return &store.Problem{
			Reason: store.ErrUnreachable, Place: place, Fact: "the file system does not grant a lock: " + cause.Error(),
			WayOut: "copy the campaign to a local disk and work there", Cause: cause,
		}
	}
	fact := "another program is writing to it"
	if who != "" {
		fact += " (" + who + ")"
	}
	return &store.Problem{
		Reason: store.ErrBusy, Place: place, Fact: fact,
		WayOut: "nothing of this change was stored: let it finish or close it there, and repeat; reading is possible meanwhile", Cause: cause,
	}
}

// notWritable is the Problem of a folder in which the lock could not be made.
func notWritable(place, folder string, err error) error {
	switch {
	case errors.Is(err, os.ErrNotExist):
		return &store.Problem{
			Reason: store.ErrMissing, Place: place, Fact: fmt.Sprintf("the folder %s does not exist", folder),
			WayOut: "make the folder first, or check the path", Cause: err,
		}
	case isReadOnly(err):
		return &store.Problem{
			Reason: store.ErrReadOnly, Place: place, Fact: fmt.Sprintf("the folder %s cannot be written (%s)", folder, plainCause(err)),
			WayOut: "copy the campaign to a folder of your own, or open it for reading only", Cause: err,
		}
	}
	return writeFailed(place, err)
}

// writeFailed is the Problem of a file operation beside SQLite.
func writeFailed(place string, err error) error {
	if isDiskFull(err) {
		return diskFull(place, err)
	}
	return unreachable(place, err)
}

func isReadOnly(err error) bool {
	return errors.Is(err, os.ErrPermission) || errors.Is(err, syscall.EROFS)
}

// plainCause is the operating system's words without the path, which the sentence has already.
func plainCause(err error) string {
	var p *os.PathError
	if errors.As(err, &p) {
		return p.Err.Error()
	}
	return err.Error()
}
