package sqlstore

import (
	"errors"
	"os"

	"golang.org/x/sys/windows"
)

// tryLock locks one byte far behind the end: locks are mandatory on Windows, and the text at the
// front must stay readable for others.
func tryLock(f *os.File) error {
	const flags = windows.LOCKFILE_EXCLUSIVE_LOCK | windows.LOCKFILE_FAIL_IMMEDIATELY
	err := windows.LockFileEx(windows.Handle(f.Fd()), flags, 0, 1, 0, &windows.Overlapped{OffsetHigh: 0x4000_0000})
	if errors.Is(err, windows.ERROR_LOCK_VIOLATION) || errors.Is(err, windows.ERROR_IO_PENDING) {
		return errLocked
	}
	return err
}

// release gives the lock up. Windows does not remove a file that is open; when the next writer has
// it open already, it stays for that writer.
func (l *writerLock) release() error {
	err := l.file.Close()
	_ = os.Remove(l.path)
	return err
}

func isDiskFull(err error) bool {
	return errors.Is(err, windows.ERROR_DISK_FULL) || errors.Is(err, windows.ERROR_HANDLE_DISK_FULL)
}

// mayWrite looks at the read-only attribute. A folder's access list shows itself when it is used.
func mayWrite(path string) bool {
	info, err := os.Stat(path)
	return err == nil && (info.IsDir() || info.Mode().Perm()&0o200 != 0)
}

// syncFolder has nothing to do: NTFS journals the rename.
func syncFolder(string) error { return nil }
