// Package spool keeps frames of bytes in append-only segment files that survive a loss of power.
//
// A segment begins with a mark and a header frame. A frame is its kind (1 byte), the length of its payload (4
// bytes, little-endian), a CRC-32C of both and the payload (4 bytes), and the payload. What Commit has
// returned from is on the disk; a frame torn by a crash is the last one, fails its CRC, and is left out when the
// segment is read.
package spool

import (
	"encoding/binary"
	"errors"
	"fmt"
	"hash/crc32"
	"os"
	"path/filepath"
	"sort"
	"strconv"
	"strings"
)

const (
	mark      = "hcspool1"
	extension = ".spool"
	// HeaderKind is the kind of the first frame of a segment; others may not use it.
	HeaderKind = 0
	frameHead  = 9
	// MaxPayload bounds a frame.
	MaxPayload = 16 << 20
)

var castagnoli = crc32.MakeTable(crc32.Castagnoli)

// Writer appends frames to the segments of one folder. It is not safe for use by several goroutines.
type Writer struct {
	dir    string
	lock   *os.File
	f      *os.File
	number int
	size   int64
	buf    []byte
	err    error
}

// Open locks a folder, making it when it is not there, so that no other process spools to it. Begin starts the
// first segment.
func Open(dir string) (*Writer, error) {
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return nil, fmt.Errorf("spool %s cannot be made: %w; choose a folder that can be written", dir, err)
	}
	lock, err := os.OpenFile(filepath.Join(dir, "lock"), os.O_CREATE|os.O_RDWR, 0o644)
	if err != nil {
		return nil, fmt.Errorf("spool %s cannot be used: %w; choose a folder that can be written", dir, err)
	}
	if err := lockFile(lock); err != nil {
		return nil, errors.Join(fmt.Errorf("spool %s is in use by another capture: %w; end that one, or choose another folder", dir, err), lock.Close())
	}
	return &Writer{dir: dir, lock: lock}, nil
}

// Begin ends the present segment, if any, and starts the next one with a header. When it returns, the new segment
// and its header are on the disk.
func (w *Writer) Begin(header []byte) error {
	if err := w.end(); err != nil {
		return err
	}
	last, err := Segments(w.dir)
	if err != nil {
		return err
	}
	n := w.number + 1
	if len(last) > 0 {
		n = max(n, last[len(last)-1].Number+1)
	}
	name := filepath.Join(w.dir, fmt.Sprintf("%08d%s", n, extension))
	f, err := os.OpenFile(name, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o644)
	if err != nil {
		return fmt.Errorf("spool: a segment cannot be made: %w; look for room on the disk", err)
	}
	w.f, w.number, w.size, w.buf = f, n, 0, append(w.buf[:0], mark...)
	w.Append(HeaderKind, header)
	if err := w.Commit(); err != nil {
		return err
	}
	return syncFolder(w.dir)
}

// Append adds a frame whose payload is the parts one after another. It is kept in memory until Commit.
func (w *Writer) Append(kind byte, parts ...[]byte) {
	at := len(w.buf)
	w.buf = append(w.buf, kind, 0, 0, 0, 0, 0, 0, 0, 0)
	for _, p := range parts {
		w.buf = append(w.buf, p...)
	}
	n := len(w.buf) - at - frameHead
	if n > MaxPayload {
		panic("spool: a frame of " + strconv.Itoa(n) + " bytes")
	}
	binary.LittleEndian.PutUint32(w.buf[at+1:], uint32(n))
	binary.LittleEndian.PutUint32(w.buf[at+5:], sum(w.buf[at:at+5], w.buf[at+frameHead:]))
}

func sum(head, payload []byte) uint32 {
	return crc32.Update(crc32.Update(0, castagnoli, head), castagnoli, payload)
}

// Pending is how many bytes wait for Commit.
func (w *Writer) Pending() int { return len(w.buf) }

// Size is the length of the present segment with what is pending.
func (w *Writer) Size() int64 { return w.size + int64(len(w.buf)) }

// Number is that of the present segment.
func (w *Writer) Number() int { return w.number }

// Commit brings the frames to the disk itself. After an error nothing more is written: what is on the disk is no
// longer known.
func (w *Writer) Commit() error {
	if w.err != nil || len(w.buf) == 0 {
		return w.err
	}
	if _, err := w.f.Write(w.buf); err != nil {
		w.err = fmt.Errorf("spool %s: %w; look for room on the disk", w.f.Name(), err)
		return w.err
	}
	if err := w.f.Sync(); err != nil {
		w.err = fmt.Errorf("spool %s: the disk did not confirm: %w; use another disk", w.f.Name(), err)
		return w.err
	}
	w.size += int64(len(w.buf))
	w.buf = w.buf[:0]
	return nil
}

func (w *Writer) end() error {
	if w.f == nil {
		return nil
	}
	err := w.Commit()
	if cerr := w.f.Close(); err == nil && cerr != nil {
		err = fmt.Errorf("spool %s: %w", w.f.Name(), cerr)
	}
	w.f = nil
	return err
}

// Close commits and gives the folder free.
func (w *Writer) Close() error {
	err := w.end()
	if cerr := w.lock.Close(); err == nil && cerr != nil {
		err = fmt.Errorf("spool %s: %w", w.dir, cerr)
	}
	return err
}

// Remove deletes segments other than the present one.
func (w *Writer) Remove(list ...Segment) error {
	for _, s := range list {
		if w.f != nil && s.Number == w.number {
			continue
		}
		if err := os.Remove(s.Path); err != nil && !errors.Is(err, os.ErrNotExist) {
			return fmt.Errorf("spool: a segment that is no longer needed cannot be deleted: %w", err)
		}
	}
	return nil
}

// Segment is a file of a spool.
type Segment struct {
	Number int
	Path   string
}

// Segments lists the segments of a folder in the order in which they were made.
func Segments(dir string) ([]Segment, error) {
	entries, err := os.ReadDir(dir)
	if err != nil {
		return nil, fmt.Errorf("spool %s cannot be read: %w", dir, err)
	}
	var list []Segment
	for _, e := range entries {
		text, ok := strings.CutSuffix(e.Name(), extension)
		if n, err := strconv.Atoi(text); ok && err == nil {
			list = append(list, Segment{n, filepath.Join(dir, e.Name())})
		}
	}
	sort.Slice(list, func(i, j int) bool { return list[i].Number < list[j].Number })
	return list, nil
}
