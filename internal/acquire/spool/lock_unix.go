//go:build unix

package spool

import (
	"errors"
	"os"
	"syscall"

	"golang.org/x/sys/unix"
)

// lockFile takes an exclusive lock that goes with the open file, so that a crash gives it free.
func lockFile(f *os.File) error {
	for {
		err := unix.Flock(int(f.Fd()), unix.LOCK_EX|unix.LOCK_NB)
		if !errors.Is(err, syscall.EINTR) {
			return err
		}
	}
}

// syncFolder makes a new name in a folder durable.
func syncFolder(folder string) error {
	d, err := os.Open(folder)
	if err != nil {
		return err
	}
	return errors.Join(d.Sync(), d.Close())
}
