package folder

import (
	"errors"
	"io"
	"os"

	"golang.org/x/sys/windows"
)

// complete reads a file that nobody has open for writing: opening it without sharing writes fails otherwise.
func complete(path string) (data []byte, err error) {
	name, err := windows.UTF16PtrFromString(path)
	if err != nil {
		return nil, err
	}
	h, err := windows.CreateFile(name, windows.GENERIC_READ, windows.FILE_SHARE_READ, nil, windows.OPEN_EXISTING, windows.FILE_ATTRIBUTE_NORMAL, 0)
	if err != nil {
		return nil, err
	}
	f := os.NewFile(uintptr(h), path)
	defer func() { err = errors.Join(err, f.Close()) }()
	return io.ReadAll(f)
}
