package traceio

import (
	"archive/zip"
	"bufio"
	"bytes"
	"compress/gzip"
	"errors"
	"fmt"
	"io"
	"path"
	"strings"
)

// Bounds of a packed record. What grows beyond freely is held against what was read of it: tables of samples shrink to a third or a
// tenth, and what shrinks more is made to fill a memory.
const (
	mostPacked = 256 << 20
	freely     = 2 << 20
	mostGrowth = 20
)

// content is what a packed file holds.
type content struct {
	name string // of the member, or of the file without its last ending
	r    io.Reader
}

// kindOfPack tells a packed file by its first bytes (RFC 1952, 2.3.1; APPNOTE.TXT, 4.3.7); "" when it is none.
func kindOfPack(head []byte) string {
	switch {
	case bytes.HasPrefix(head, []byte("\x1f\x8b\x08")):
		return "gzip"
	case bytes.HasPrefix(head, []byte("PK\x03\x04")), bytes.HasPrefix(head, []byte("PK\x05\x06")):
		return "zip"
	}
	return ""
}

// unpacked is what a file in gzip, or in zip with one member, holds. r is read to its end for a zip file, whose list stands there.
func unpacked(name string, head []byte, r *bufio.Reader) (c content, packed bool, err error) {
	c.name = name
	switch kindOfPack(head) {
	case "gzip":
		from := &counting{r: r}
		z, err := gzip.NewReader(from)
		if err != nil {
			return c, true, fmt.Errorf("%s: the gzip file is damaged: %w; copy it again", name, err)
		}
		return content{strings.TrimSuffix(strings.TrimSuffix(name, ".gz"), ".GZ"), &growing{r: z, packed: func() int64 { return from.n }}}, true, nil
	case "zip":
		data, err := io.ReadAll(io.LimitReader(r, mostPacked+1))
		if err != nil {
			return c, true, fmt.Errorf("%s: reading the record: %w", name, err)
		}
		if len(data) > mostPacked {
			return c, true, fmt.Errorf("%s: a zip file of more than %d MB is not unpacked here; unpack it first", name, mostPacked>>20)
		}
		m, err := onlyMember(name, data)
		if err != nil {
			return c, true, err
		}
		in, err := m.Open()
		if err != nil {
			return c, true, fmt.Errorf("%s: %s in it cannot be unpacked: %w; unpack it first", name, m.Name, err)
		}
		return content{path.Base(m.Name), &growing{r: in, packed: func() int64 { return int64(len(data)) }}}, true, nil
	}
	return c, false, nil
}

func onlyMember(name string, data []byte) (*zip.File, error) {
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		return nil, fmt.Errorf("%s: the zip file is damaged: %w; copy it again", name, err)
	}
	var only *zip.File
	n := 0
	for _, m := range z.File {
		if !m.FileInfo().IsDir() {
			only = m
			n++
		}
	}
	if n != 1 {
		return nil, fmt.Errorf("%s: the zip file holds %d files, and which is the record cannot be told; unpack it and give the record", name, n)
	}
	return only, nil
}

// counting counts what is read through it. It reads byte by byte where asked to, so that nothing is read ahead.
type counting struct {
	r *bufio.Reader
	n int64
}

func (c *counting) Read(b []byte) (int, error) {
	n, err := c.r.Read(b)
	c.n += int64(n)
	return n, err
}

func (c *counting) ReadByte() (byte, error) {
	b, err := c.r.ReadByte()
	if err == nil {
		c.n++
	}
	return b, err
}

// growing refuses what grows more than a record does.
type growing struct {
	r      io.Reader
	packed func() int64
	n      int64
}

func (g *growing) Read(b []byte) (int, error) {
	n, err := g.r.Read(b)
	if g.n += int64(n); g.n > freely && g.n > mostGrowth*g.packed() {
		return 0, fmt.Errorf("it grows to more than %d times its size, which no record does; unpack it first if it is one", mostGrowth)
	}
	if err != nil && !errors.Is(err, io.EOF) {
		err = fmt.Errorf("the packed file is damaged or cut off: %w; copy it again", err)
	}
	return n, err
}
