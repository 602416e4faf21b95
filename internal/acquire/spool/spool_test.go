package spool

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"pgregory.net/rapid"
)

func must(t interface {
	Helper()
	Fatal(...any)
}, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

type frameOf struct {
	kind    byte
	payload string
}

func readAll(path string) (list []frameOf, torn int64, err error) {
	torn, err = Read(path, func(kind byte, payload []byte) error {
		list = append(list, frameOf{kind, string(payload)})
		return nil
	})
	return list, torn, err
}

// A loss of power leaves any number of the bytes that were not committed, and may leave rubbish behind them: every
// complete frame comes back, and nothing else.
func TestTruncatedAnywhere(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		dir, err := os.MkdirTemp(t.TempDir(), "")
		must(rt, err)
		w, err := Open(dir)
		must(rt, err)
		must(rt, w.Begin([]byte(`{"run":"a"}`)))
		want := []frameOf{{HeaderKind, `{"run":"a"}`}}
		ends := []int64{w.Size()}
		for i := range rapid.IntRange(0, 30).Draw(rt, "frames") {
			f := frameOf{byte(1 + i%4), string(rapid.SliceOfN(rapid.Byte(), 0, 200).Draw(rt, "payload"))}
			w.Append(f.kind, []byte(f.payload[:len(f.payload)/2]), []byte(f.payload[len(f.payload)/2:]))
			want, ends = append(want, f), append(ends, w.Size())
			if rapid.Bool().Draw(rt, "commit") {
				must(rt, w.Commit())
			}
		}
		must(rt, w.Close())
		list, err := Segments(dir)
		must(rt, err)
		path := list[0].Path
		whole, err := os.ReadFile(path)
		must(rt, err)
		if int64(len(whole)) != ends[len(ends)-1] {
			rt.Fatalf("%d bytes, want %d", len(whole), ends[len(ends)-1])
		}
		cut := rapid.IntRange(0, len(whole)).Draw(rt, "cut")
		rubbish := rapid.SliceOfN(rapid.Byte(), 0, 40).Draw(rt, "rubbish")
		must(rt, os.WriteFile(path, append(bytes.Clone(whole[:cut]), rubbish...), 0o644))
		keep := 0
		for keep < len(ends) && ends[keep] <= int64(cut) {
			keep++
		}
		got, torn, err := readAll(path)
		if keep == 0 {
			// What is left may by chance be what was cut off.
			if !errors.Is(err, ErrNoHeader) && !bytes.HasPrefix(whole, append(bytes.Clone(whole[:cut]), rubbish...)[:min(cut+len(rubbish), int(ends[0]))]) {
				rt.Fatalf("a segment cut inside its header gives %v, %v", got, err)
			}
			return
		}
		must(rt, err)
		if len(got) < keep || len(got) == keep && torn != int64(cut+len(rubbish))-ends[keep-1] {
			rt.Fatalf("%d of %d frames, %d torn bytes", len(got), keep, torn)
		}
		for i := range min(len(got), len(want)) {
			if i < keep && got[i] != want[i] {
				rt.Fatalf("frame %d differs", i)
			}
		}
	})
}

// A changed bit ends the reading there.
func TestChangedBit(t *testing.T) {
	dir := t.TempDir()
	w, err := Open(dir)
	must(t, err)
	must(t, w.Begin(nil))
	for i := range 5 {
		w.Append(1, fmt.Appendf(nil, "payload %d", i))
	}
	must(t, w.Close())
	list, err := Segments(dir)
	must(t, err)
	whole, err := os.ReadFile(list[0].Path)
	must(t, err)
	const frame = frameHead + 9
	for at := len(mark) + frameHead; at < len(whole); at++ {
		bad := bytes.Clone(whole)
		bad[at] ^= 0x10
		must(t, os.WriteFile(list[0].Path, bad, 0o644))
		got, torn, err := readAll(list[0].Path)
		must(t, err)
		if k := (at - len(mark) - frameHead) / frame; len(got) != 1+k || torn != int64(len(whole)-len(mark)-frameHead-k*frame) {
			t.Fatalf("bit at %d: %d frames, %d torn", at, len(got), torn)
		}
	}
}

func TestSegments(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "new")
	w, err := Open(dir)
	must(t, err)
	if _, err := Open(dir); err == nil {
		t.Error("two captures have one spool")
	}
	for i := range 3 {
		must(t, w.Begin(fmt.Appendf(nil, "%d", i)))
		w.Append(9, []byte{byte(i)})
	}
	list, err := Segments(dir)
	must(t, err)
	if len(list) != 3 || list[2].Number != 3 {
		t.Fatalf("%v", list)
	}
	must(t, w.Remove(list...))
	must(t, w.Close())
	if list, err = Segments(dir); err != nil || len(list) != 1 || list[0].Number != 3 {
		t.Fatalf("%v %v", list, err)
	}
	w, err = Open(dir)
	must(t, err)
	must(t, w.Begin(nil))
	if w.Number() != 4 {
		t.Errorf("segment %d follows 3", w.Number())
	}
	must(t, w.Close())
}

func BenchmarkCommit(b *testing.B) {
	w, err := Open(b.TempDir())
	must(b, err)
	must(b, w.Begin(nil))
	payload := make([]byte, 32000) // 20 ms of four channels at 50 kHz
	b.SetBytes(int64(len(payload)))
	for b.Loop() {
		w.Append(1, payload)
		must(b, w.Commit())
	}
	must(b, w.Close())
}
