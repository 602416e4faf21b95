// Package delimited reads force records in delimited text, as loggers write it.
//
// Known dialects: comma, semicolon, tab or spaces between fields; decimal point or comma; UTF-8 or UTF-16 with
// byte-order mark; LF, CRLF or CR; any preamble; comment lines; units in brackets, after an underscore or
// slash, or in a line below the names; time as seconds (s, ms, us, min), sample index, clock time or not at
// all; several channels; quoted fields; trailing separators.
package delimited

import (
	"bytes"
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"unicode/utf16"

	"hardcatch/internal/drop"
	"hardcatch/internal/traceio"
)

// Format reads delimited text.
type Format struct{}

// Name is the format with the version of its reading rules.
func (Format) Name() string { return "csv/1" }

// Sniff looks for bytes that no text holds, and for rows.
func (Format) Sniff(head []byte, _ string) int {
	if bytes.HasPrefix(head, utf16LE) || bytes.HasPrefix(head, utf16BE) {
		return 60
	}
	control := 0
	for _, c := range head {
		if c == 0 {
			return 0
		}
		if c < 0x20 && c != '\n' && c != '\r' && c != '\t' && c != '\f' {
			control++
		}
	}
	if control > len(head)/100 {
		return 0
	}
	return 50
}

var (
	utf8BOM = []byte("\xef\xbb\xbf")
	utf16LE = []byte("\xff\xfe")
	utf16BE = []byte("\xfe\xff")
)

// bufferSize is how much text is looked at at once; a line must fit into it.
const bufferSize = 256 << 10

// Read reads a record.
func (f Format) Read(ctx context.Context, name string, r io.Reader, o traceio.Options) (*drop.Trace, error) {
	buf := make([]byte, bufferSize)
	n, err := io.ReadFull(r, buf)
	whole := ended(err)
	if err != nil && !whole {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	if bytes.HasPrefix(buf[:n], utf16LE) || bytes.HasPrefix(buf[:n], utf16BE) {
		rest, err := io.ReadAll(r)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", name, err)
		}
		return f.Read(ctx, name, bytes.NewReader(fromUTF16(append(buf[:n:n], rest...))), o)
	}
	skip := 0
	if bytes.HasPrefix(buf[:n], utf8BOM) {
		skip = len(utf8BOM)
	}
	head := buf[skip:min(n, 64<<10)]
	l, err := findLayout(name, head, whole && n <= 64<<10)
	if err != nil {
		return nil, err
	}
	s, err := newScan(name, l, o, head)
	if err != nil {
		return nil, err
	}
	if err := s.readAll(ctx, r, buf, skip+l.offset, n, whole); err != nil {
		return nil, err
	}
	return s.finish()
}

// fromUTF16 converts text with a byte-order mark to UTF-8.
func fromUTF16(b []byte) []byte {
	order := binary.ByteOrder(binary.LittleEndian)
	if bytes.HasPrefix(b, utf16BE) {
		order = binary.BigEndian
	}
	b = b[2:]
	u := make([]uint16, len(b)/2)
	for i := range u {
		u[i] = order.Uint16(b[2*i:])
	}
	return []byte(string(utf16.Decode(u)))
}

// ended tells that a read came to the end of the file.
func ended(err error) bool {
	return errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF)
}
