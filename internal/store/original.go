package store

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"hash"
	"io"
	"io/fs"
)

// Original is the bytes of a record. They can be read again and again, the same each time.
type Original interface {
	Open() (io.ReadCloser, error)
}

// Bytes is an original in memory.
type Bytes []byte

// Open implements Original.
func (b Bytes) Open() (io.ReadCloser, error) { return inMemory{bytes.NewReader(b)}, nil }

// inMemory still tells how much there is to read.
type inMemory struct{ *bytes.Reader }

func (inMemory) Close() error { return nil }

// Summed is an original whose SHA-256 and size are known.
type Summed struct {
	Original
	SHA256 string // lower-case hex
	Bytes  int64
}

// Sum reads an original for its SHA-256 and size, unless they are known.
func Sum(o Original) (Summed, error) {
	if s, ok := o.(Summed); ok {
		return s, nil
	}
	h := sha256.New()
	n, err := Read(o, func(r io.Reader) (int64, error) { return io.Copy(h, r) })
	if err != nil {
		return Summed{}, err
	}
	return Summed{o, hex.EncodeToString(h.Sum(nil)), n}, nil
}

// Hashing is an original that is read for another purpose anyway: its SHA-256 is known when that was to the end.
type Hashing struct {
	Original
	sum *Summed
}

// Open implements Original.
func (h *Hashing) Open() (io.ReadCloser, error) {
	r, err := h.Original.Open()
	if err != nil {
		return nil, err
	}
	return &hashing{ReadCloser: r, to: h, hash: sha256.New()}, nil
}

// Sum is the original with its SHA-256; it is read once more when it was not read to the end.
func (h *Hashing) Sum() (Summed, error) {
	if h.sum != nil {
		return *h.sum, nil
	}
	return Sum(h.Original)
}

// Samples tells how many samples of each channel are in the original, 0 when it does not know.
func (h *Hashing) Samples() int {
	if s, ok := h.Original.(interface{ Samples() int }); ok {
		return s.Samples()
	}
	return 0
}

type hashing struct {
	io.ReadCloser
	to   *Hashing
	hash hash.Hash
	n    int64
}

func (h *hashing) Read(b []byte) (int, error) {
	n, err := h.ReadCloser.Read(b)
	h.n += int64(n)
	if _, werr := h.hash.Write(b[:n]); werr != nil {
		return n, werr
	}
	if errors.Is(err, io.EOF) {
		h.to.sum = &Summed{h.to.Original, hex.EncodeToString(h.hash.Sum(nil)), h.n}
	}
	return n, err
}

// Size tells how many bytes there are to read, 0 when that is not known.
func (h *hashing) Size() int64 {
	switch r := h.ReadCloser.(type) {
	case interface{ Len() int }:
		return int64(r.Len())
	case interface{ Stat() (fs.FileInfo, error) }:
		if st, err := r.Stat(); err == nil && st.Mode().IsRegular() {
			return st.Size()
		}
	}
	return 0
}

// Read opens an original and closes it when fn has read it.
func Read[T any](o Original, fn func(io.Reader) (T, error)) (T, error) {
	r, err := o.Open()
	if err != nil {
		var none T
		return none, fmt.Errorf("the record cannot be read: %w", err)
	}
	v, err := fn(r)
	if cerr := r.Close(); err == nil {
		err = cerr
	}
	return v, err
}
