package pty

import (
	"errors"
	"fmt"
	"os"

	"golang.org/x/sys/unix"
)

type port struct {
	*os.File
	other *os.File // kept open, so that the pair lives while nobody has opened the other end
	name  string
}

// Open makes a pair of ports that pass bytes on unchanged.
func Open() (Port, error) {
	m, err := os.OpenFile("/dev/ptmx", os.O_RDWR|unix.O_NOCTTY|unix.O_NONBLOCK|unix.O_CLOEXEC, 0)
	if err != nil {
		return nil, fmt.Errorf("no pair of serial ports can be made: %w", err)
	}
	p, err := pair(m)
	if err != nil {
		return nil, errors.Join(fmt.Errorf("no pair of serial ports can be made: %w", err), m.Close())
	}
	return p, nil
}

func pair(m *os.File) (*port, error) {
	raw, err := m.SyscallConn()
	if err != nil {
		return nil, err
	}
	var number int
	var ioErr error
	err = raw.Control(func(fd uintptr) {
		if ioErr = unix.IoctlSetPointerInt(int(fd), unix.TIOCSPTLCK, 0); ioErr == nil {
			number, ioErr = unix.IoctlGetInt(int(fd), unix.TIOCGPTN)
		}
	})
	if err = errors.Join(err, ioErr); err != nil {
		return nil, err
	}
	name := fmt.Sprintf("/dev/pts/%d", number)
	s, err := os.OpenFile(name, os.O_RDWR|unix.O_NOCTTY|unix.O_CLOEXEC, 0)
	if err != nil {
		return nil, err
	}
	if err := unchanged(int(s.Fd())); err != nil {
		return nil, errors.Join(err, s.Close())
	}
	return &port{m, s, name}, nil
}

// unchanged turns off echo, line editing and the translation of line ends.
func unchanged(fd int) error {
	t, err := unix.IoctlGetTermios(fd, unix.TCGETS)
	if err != nil {
		return err
	}
	t.Iflag &^= unix.IGNBRK | unix.BRKINT | unix.PARMRK | unix.ISTRIP | unix.INLCR | unix.IGNCR | unix.ICRNL | unix.IXON
	t.Oflag &^= unix.OPOST
	t.Lflag &^= unix.ECHO | unix.ECHONL | unix.ICANON | unix.ISIG | unix.IEXTEN
	t.Cflag = t.Cflag&^(unix.CSIZE|unix.PARENB) | unix.CS8
	return unix.IoctlSetTermios(fd, unix.TCSETS, t)
}

// Name is part of Port.
func (p *port) Name() string { return p.name }

// Close ends both sides.
func (p *port) Close() error { return errors.Join(p.other.Close(), p.File.Close()) }
