package spool

import (
	"os"

	"golang.org/x/sys/windows"
)

// lockFile takes an exclusive lock that goes with the open file, so that a crash gives it free.
func lockFile(f *os.File) error {
	const flags = windows.LOCKFILE_EXCLUSIVE_LOCK | windows.LOCKFILE_FAIL_IMMEDIATELY
	return windows.LockFileEx(windows.Handle(f.Fd()), flags, 0, 1, 0, &windows.Overlapped{})
}

// syncFolder has nothing to do: NTFS journals new names.
func syncFolder(string) error { return nil }
