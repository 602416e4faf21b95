package folder

import (
	"errors"
	"io"
	"os"

	"golang.org/x/sys/unix"
)

var errWriting = errors.New("somebody has the file open for writing")

// complete reads a file that nobody has open for writing: only then the kernel grants a read lease on it
// (fcntl(2), F_SETLEASE). On files of other owners it may not tell; then the quiet time must do.
func complete(path string) (data []byte, err error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer func() { err = errors.Join(err, f.Close()) }()
	if _, lerr := unix.FcntlInt(f.Fd(), unix.F_SETLEASE, unix.F_RDLCK); errors.Is(lerr, unix.EAGAIN) {
		return nil, errWriting
	} else if lerr == nil {
		_, lerr = unix.FcntlInt(f.Fd(), unix.F_SETLEASE, unix.F_UNLCK)
		if lerr != nil {
			return nil, lerr
		}
	}
	return io.ReadAll(f)
}
