// Package pty opens a pair of serial ports that are connected to each other inside the computer.
package pty

import (
	"io"
	"time"
)

// Port is the device's end of a pair.
type Port interface {
	io.ReadWriteCloser
	// SetWriteDeadline bounds how long Write waits for somebody to read.
	SetWriteDeadline(t time.Time) error
	// Name is the other end, to be opened as a serial port.
	Name() string
}
