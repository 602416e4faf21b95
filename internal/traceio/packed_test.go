package traceio_test

import (
	"archive/zip"
	"bytes"
	"compress/gzip"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"io"
	"strings"
	"testing"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/traceio"
)

// whole is a format that keeps what it is given, for names that end in .rec.
type whole struct {
	fake
	got *[]byte
}

func (w whole) Read(_ context.Context, name string, r io.Reader, _ traceio.Options) (*drop.Trace, error) {
	b, err := io.ReadAll(r)
	if err != nil {
		return nil, err
	}
	*w.got = b
	return &drop.Trace{Name: name}, nil
}

func gzipped(text string) []byte {
	var b bytes.Buffer
	w := gzip.NewWriter(&b)
	_, _ = w.Write([]byte(text))
	_ = w.Close()
	return b.Bytes()
}

func zipped(members ...string) []byte {
	var b bytes.Buffer
	w := zip.NewWriter(&b)
	for i := 0; i < len(members); i += 2 {
		f, err := w.Create(members[i])
		if err != nil {
			panic(err)
		}
		_, _ = f.Write([]byte(members[i+1]))
	}
	_ = w.Close()
	return b.Bytes()
}

func openPacked(name string, data []byte, o traceio.Options) (*drop.Trace, string, error) {
	var got []byte
	t, err := traceio.NewRegistry(whole{fake{name: "a/1", score: 10}, &got}).Open(context.Background(), name, bytes.NewReader(data), o)
	return t, string(got), err
}

// What is packed is read, and what is kept and hashed is the file as it is.
func TestPackedRecords(t *testing.T) {
	text := strings.Repeat("0123456789abcdefghijklmnopqrstuvwxyz", 5000)
	for name, data := range map[string][]byte{"x.rec.gz": gzipped(text), "x.zip": zipped("folder/", "", "folder/x.rec", text), "x.rec": []byte(text)} {
		var kept bytes.Buffer
		tr, got, err := openPacked(name, data, traceio.Options{Original: &kept})
		if err != nil || got != text {
			t.Errorf("%s: %d bytes, %v", name, len(got), err)
			continue
		}
		sum := sha256.Sum256(data)
		if tr.SHA256 != hex.EncodeToString(sum[:]) || tr.Bytes != int64(len(data)) || !bytes.Equal(kept.Bytes(), data) || tr.Name != name {
			t.Errorf("%s: %+v, %d bytes kept", name, tr, kept.Len())
		}
	}
	broken := gzipped(text)
	broken[len(broken)-6] ^= 1 // of the checksum
	many := make([]string, 0, 8)
	for _, n := range []string{"a.rec", "b.rec"} {
		many = append(many, n, text)
	}
	for _, c := range []struct {
		name string
		data []byte
		want string
	}{
		{"x.rec.gz", broken, "the packed file is damaged or cut off: gzip: invalid checksum; copy it again"},
		{"x.rec.gz", gzipped(text)[:200], "damaged or cut off: unexpected EOF; copy it again"},
		{"x.rec.gz", []byte("\x1f\x8b\x08"), "x.rec.gz: the gzip file is damaged"},
		{"x.rec.gz.gz", gzipped(string(gzipped(text))), "x.rec.gz.gz: a gzip file stands inside another; unpack it first"},
		{"x.zip", zipped("x.rec.gz", string(gzipped(text))), "x.zip: a gzip file stands inside another"},
		{"x.zip", zipped(many...), "x.zip: the zip file holds 2 files, and which is the record cannot be told; unpack it and give the record"},
		{"x.zip", zipped(), "x.zip: the zip file holds 0 files"},
		{"x.zip", zipped("folder/", ""), "x.zip: the zip file holds 0 files"},
		{"x.zip", zipped("x.rec", text)[:200], "x.zip: the zip file is damaged"},
		{"x.zip", zipped("x.wav", text), "x.zip: no reader knows this kind of file"},
		{"x.rec.gz", gzipped(strings.Repeat("0", 3<<20)), "it grows to more than 20 times its size, which no record does; unpack it first if it is one"},
		{"x.zip", zipped("x.rec", strings.Repeat("0", 3<<20)), "it grows to more than 20 times its size"},
	} {
		tr, _, err := openPacked(c.name, c.data, traceio.Options{})
		if err == nil || tr != nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v, want %q", c.name, err, c.want)
		}
	}
	// What grows less than the bound, or to less than is free, is read.
	for _, text := range []string{strings.Repeat("0", 2<<20), strings.Repeat(text[:36*100], 20)} {
		if _, got, err := openPacked("x.rec.gz", gzipped(text), traceio.Options{}); err != nil || got != text {
			t.Errorf("%d bytes: %v", len(text), err)
		}
	}
}

// FuzzPacked: whatever the bytes, there is an error that begins with the place, or all of them are hashed and what they hold is no
// more than the bound.
func FuzzPacked(f *testing.F) {
	f.Add(gzipped("1\n2\n3\n"))
	f.Add(zipped("x.rec", "1\n2\n3\n"))
	f.Add(zipped("x.rec", "1", "y.rec", "2"))
	f.Add([]byte("PK\x05\x06" + strings.Repeat("\x00", 18)))
	f.Add(gzipped(strings.Repeat("0", 3<<20)))
	f.Fuzz(func(t *testing.T, data []byte) {
		tr, got, err := openPacked("x.rec", data, traceio.Options{})
		if err != nil {
			if tr != nil {
				t.Fatal(tr, err)
			}
			return
		}
		if tr.Bytes != int64(len(data)) || len(got) > max(2<<20, 20*len(data))+1<<16 {
			t.Fatalf("%d of %d bytes, which hold %d", tr.Bytes, len(data), len(got))
		}
	})
}
