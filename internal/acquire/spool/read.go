package spool

import (
	"bufio"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"os"
)

// ErrNoHeader says that a segment was torn before its header was complete: it holds nothing.
var ErrNoHeader = errors.New("the segment has no complete header and holds nothing")

// Read gives the header and then every complete frame of a segment to fn, in order. The payload is fn's only
// during the call. torn is how many bytes at the end belong to no complete frame.
func Read(path string, fn func(kind byte, payload []byte) error) (torn int64, err error) {
	f, err := os.Open(path)
	if err != nil {
		return 0, fmt.Errorf("spool: %w", err)
	}
	torn, err = read(f, fn)
	if cerr := f.Close(); err == nil && cerr != nil {
		err = cerr
	}
	if err != nil {
		return torn, fmt.Errorf("spool %s: %w", path, err)
	}
	return torn, nil
}

func read(f *os.File, fn func(kind byte, payload []byte) error) (torn int64, err error) {
	st, err := f.Stat()
	if err != nil {
		return 0, err
	}
	size := st.Size()
	in := bufio.NewReaderSize(f, 1<<20)
	var first [len(mark)]byte
	if _, err := io.ReadFull(in, first[:]); err != nil || string(first[:]) != mark {
		return size, ErrNoHeader
	}
	at := int64(len(mark))
	var payload []byte
	for header := true; ; header = false {
		var kind byte
		kind, payload, err = frame(in, size-at, payload)
		ends := errors.Is(err, errTorn)
		switch {
		case err != nil && !ends:
			return 0, err
		case header && (ends || kind != HeaderKind):
			return size, ErrNoHeader
		case ends:
			return size - at, nil
		}
		if err := fn(kind, payload); err != nil {
			return 0, err
		}
		at += frameHead + int64(len(payload))
		if at == size {
			return 0, nil
		}
	}
}

var errTorn = errors.New("torn")

// frame reads one frame when left bytes remain in the file.
func frame(in io.Reader, left int64, room []byte) (kind byte, payload []byte, err error) {
	if left < frameHead {
		return 0, room, errTorn
	}
	var head [frameHead]byte
	if _, err := io.ReadFull(in, head[:]); err != nil {
		return 0, room, err
	}
	n := binary.LittleEndian.Uint32(head[1:])
	if n > MaxPayload || int64(n) > left-frameHead {
		return 0, room, errTorn
	}
	if cap(room) < int(n) {
		room = make([]byte, n)
	}
	room = room[:n]
	if _, err := io.ReadFull(in, room); err != nil {
		return 0, room, err
	}
	if sum(head[:5], room) != binary.LittleEndian.Uint32(head[5:]) {
		return 0, room, errTorn
	}
	return head[0], room, nil
}
