package spool

import (
	"bytes"
	"errors"
	"os"
	"path/filepath"
	"testing"
)

// FuzzRead: whatever a segment holds, what is read of it is what stands there: the frames written out again are the bytes of before,
// up to those that are called torn.
func FuzzRead(f *testing.F) {
	w := &Writer{buf: []byte(mark)}
	w.Append(HeaderKind, []byte(`{"run":"a"}`))
	w.Append(1, []byte("payload"))
	w.Append(2)
	f.Add(w.buf)
	f.Add(w.buf[:len(w.buf)-3])
	f.Add(w.buf[:12])
	f.Add([]byte(mark + "\x00\xff\xff\xff\xff\x00\x00\x00\x00"))
	path := filepath.Join(f.TempDir(), "1"+extension)
	f.Fuzz(func(t *testing.T, b []byte) {
		if err := os.WriteFile(path, b, 0o644); err != nil {
			t.Fatal(err)
		}
		again := &Writer{buf: []byte(mark)}
		torn, err := Read(path, func(kind byte, payload []byte) error {
			again.Append(kind, payload)
			return nil
		})
		if errors.Is(err, ErrNoHeader) {
			return
		}
		if err != nil || torn < 0 || !bytes.Equal(again.buf, b[:len(b)-int(torn)]) {
			t.Fatalf("%q: torn %d, %v", b, torn, err)
		}
	})
}
