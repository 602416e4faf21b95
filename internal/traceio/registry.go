package traceio

import (
	"bufio"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"hash"
	"io"
	"io/fs"
	"slices"
	"strings"

	"github.com/hardcatch/hardcatch/internal/drop"
)

// Format reads one kind of record file.
type Format interface {
	// Name is the reader and its version, "csv/1". The version rises when the same bytes would give
	// other samples, and the version before stays registered behind it, for the records that it has read.
	Name() string
	// Sniff says how well the format knows a file from its first bytes (up to SniffLen, fewer for a
	// shorter file) and its name: 0 = not mine, 100 = certainly mine.
	Sniff(head []byte, name string) int
	// Read reads the whole record. What is wrong with the record but can be worked with is a finding of
	// the trace; an error means that there is no trace. Both say place, fact and way out. Read fills every
	// field of the trace but SHA256 and Bytes. It obeys ctx between chunks.
	Read(ctx context.Context, name string, r io.Reader, o Options) (*drop.Trace, error)
}

// SniffLen is how many bytes of a file Sniff is shown.
const SniffLen = 64 << 10

// Registry is a set of formats.
type Registry struct {
	formats []Format
}

// NewRegistry makes a registry of the formats given.
func NewRegistry(formats ...Format) *Registry {
	g := &Registry{}
	for _, f := range formats {
		g.Register(f)
	}
	return g
}

// Register adds a format. It panics when a format of that name is there already.
func (g *Registry) Register(f Format) {
	for _, have := range g.formats {
		if have.Name() == f.Name() {
			panic("traceio: format " + f.Name() + " is registered twice")
		}
	}
	g.formats = append(g.formats, f)
}

// Names lists the formats in the order of registration.
func (g *Registry) Names() []string {
	names := make([]string, len(g.formats))
	for i, f := range g.formats {
		names[i] = f.Name()
	}
	return names
}

// Need gives an error when no reader of this name is registered: what follows the name of what was read.
func (g *Registry) Need(by string) error {
	if g.named(by) != nil {
		return nil
	}
	return fmt.Errorf("was read by %s, which this program does not have; use the version of the program that made it", by)
}

func (g *Registry) named(by string) Format {
	for _, f := range g.formats {
		if f.Name() == by {
			return f
		}
	}
	return nil
}

// Among is the registry of those of its formats that have one of these names.
func (g *Registry) Among(names ...string) *Registry {
	some := &Registry{}
	for _, f := range g.formats {
		if slices.Contains(names, f.Name()) {
			some.formats = append(some.formats, f)
		}
	}
	return some
}

// Best is the name of the reader that knows a file best from its first bytes, up to SniffLen, and its name; "" when none
// does. Of two that know it equally well it is the one registered first.
func (g *Registry) Best(head []byte, name string) string {
	best, score := "", 0
	for _, f := range g.formats {
		if s := f.Sniff(head, name); s > score {
			best, score = f.Name(), s
		}
	}
	return best
}

// Open reads a record with the reader that o.By names, or with the one that knows the file best. The trace says which
// it was and carries the SHA-256 and the size of the original bytes; o.Original receives those bytes.
func (g *Registry) Open(ctx context.Context, name string, r io.Reader, o Options) (*drop.Trace, error) {
	if o.Size == 0 {
		o.Size = sizeOf(r)
	}
	pass := &passage{r: r, keep: o.Original}
	if o.Checked == "" {
		pass.hash = sha256.New()
	}
	buffered := bufio.NewReaderSize(pass, SniffLen)
	head, err := buffered.Peek(SniffLen)
	if err != nil && !errors.Is(err, io.EOF) {
		return nil, fmt.Errorf("%s: reading the record: %w", name, err)
	}
	inside, packed, err := unpacked(name, head, buffered)
	if err != nil {
		return nil, err
	}
	content := buffered
	if packed {
		o.Size = 0
		content = bufio.NewReaderSize(inside.r, SniffLen)
		if head, err = content.Peek(SniffLen); err != nil && !errors.Is(err, io.EOF) {
			return nil, fmt.Errorf("%s: unpacking the record: %w", name, err)
		}
		if n := kindOfPack(head); n != "" {
			return nil, fmt.Errorf("%s: a %s file stands inside another; unpack it first", name, n)
		}
	}
	by := o.By
	if by == "" {
		if by = g.Best(head, inside.name); by == "" {
			return nil, fmt.Errorf("%s: no reader knows this kind of file (readers: %s); export the record as text with one line per sample",
				name, strings.Join(g.Names(), ", "))
		}
	} else if err := g.Need(by); err != nil {
		return nil, fmt.Errorf("%s: the record %w", name, err)
	}
	t, err := g.named(by).Read(ctx, name, content, o)
	if err != nil {
		return nil, err
	}
	if packed {
		if _, err := io.Copy(io.Discard, content); err != nil { // up to the checksum
			return nil, fmt.Errorf("%s: unpacking the record: %w; copy it again", name, err)
		}
	}
	if _, err := io.Copy(io.Discard, buffered); err != nil {
		return nil, fmt.Errorf("%s: reading the record: %w", name, err)
	}
	t.Format, t.SHA256, t.Bytes = by, o.Checked, pass.n
	if pass.hash != nil {
		t.SHA256 = hex.EncodeToString(pass.hash.Sum(nil))
	}
	return t, nil
}

// passage hashes, where asked to, and copies what is read through it.
type passage struct {
	r    io.Reader
	keep io.Writer
	hash hash.Hash // nil = the hash is known
	n    int64
}

func (p *passage) Read(b []byte) (int, error) {
	n, err := p.r.Read(b)
	if n > 0 {
		p.n += int64(n)
		if p.hash != nil {
			if _, werr := p.hash.Write(b[:n]); werr != nil {
				return n, fmt.Errorf("hashing the original: %w", werr)
			}
		}
		if p.keep != nil {
			if _, werr := p.keep.Write(b[:n]); werr != nil {
				return n, fmt.Errorf("keeping the original: %w", werr)
			}
		}
	}
	return n, err
}

// sizeOf asks a reader for the bytes it still holds; 0 when it does not know.
func sizeOf(r io.Reader) int64 {
	if l, ok := r.(interface{ Len() int }); ok {
		return int64(l.Len())
	}
	if s, ok := r.(interface{ Size() int64 }); ok {
		return s.Size()
	}
	if f, ok := r.(interface{ Stat() (fs.FileInfo, error) }); ok {
		if st, err := f.Stat(); err == nil && st.Mode().IsRegular() {
			return st.Size()
		}
	}
	return 0
}
