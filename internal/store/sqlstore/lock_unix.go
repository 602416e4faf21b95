//go:build unix

package sqlstore

import (
	"errors"
	"os"
	"syscall"

	"golang.org/x/sys/unix"
)

// tryLock takes an exclusive flock, which belongs to the open file and goes with it.
func tryLock(f *os.File) error {
	for {
		err := unix.Flock(int(f.Fd()), unix.LOCK_EX|unix.LOCK_NB)
		switch {
		case errors.Is(err, syscall.EINTR):
			continue
		case errors.Is(err, syscall.EWOULDBLOCK):
			return errLocked
		}
		return err
	}
}

// release gives the lock up. The file is removed while it is still locked, so that whoever opens it
// by name afterwards makes a new one.
func (l *writerLock) release() error {
	err := os.Remove(l.path)
	if errors.Is(err, os.ErrNotExist) {
		err = nil
	}
	return errors.Join(err, l.file.Close())
}

func isDiskFull(err error) bool {
	return errors.Is(err, syscall.ENOSPC) || errors.Is(err, syscall.EDQUOT)
}

// mayWrite asks the operating system without opening the file.
func mayWrite(path string) bool {
	return unix.Access(path, unix.W_OK) == nil
}

// syncFolder makes a rename in folder durable.
func syncFolder(folder string) error {
	d, err := os.Open(folder)
	if err != nil {
		return err
	}
	return errors.Join(d.Sync(), d.Close())
}
