package acquire

import (
	"encoding/binary"
	"math"
	"os"
	"testing"
	"time"

	"github.com/hardcatch/hardcatch/internal/acquire/spool"
)

// FuzzRecover: whatever complete frames a spool holds, they are refused, or give drops of which none is longer than a drop can be.
func FuzzRecover(f *testing.F) {
	d := Description{Kind: Serial, Address: "x", Baud: 9600, Rate: 1000, Lines: "{counter},{force kN}"}
	if err := d.Complete(); err != nil {
		f.Fatal(err)
	}
	level := 5000.0
	frame := func(kind byte, payload []byte) []byte {
		b := append([]byte{kind}, 0, 0)
		binary.LittleEndian.PutUint16(b[1:], uint16(len(payload)))
		return append(b, payload...)
	}
	head := frame(spool.HeaderKind, asJSON(header{Version: spoolVersion, Run: "r", Source: d, Trigger: Trigger{Level: &level, Pre: 0.01, Post: 0.02}}))
	samples := func(first int64, v ...float64) []byte {
		b := NewBlock(1, len(v))
		b.First, b.Arrived = first, time.Unix(1e9, 0)
		b.Values[0] = append(b.Values[0], v...)
		return frame(frameSamples, payloadOf(b))
	}
	join := func(parts ...[]byte) (all []byte) {
		for _, p := range parts {
			all = append(all, p...)
		}
		return all
	}
	f.Add(join(head, samples(0, 1, 2, 9000, 9000, 3, 1), samples(6, 1, 1, 1)))
	f.Add(join(head, samples(0, 1, 9000), samples(1<<60, 1, 1), frame(frameTaken, []byte("a"))))
	f.Add(join(head, samples(0, 9000), frame(frameEvent, asJSON(Event{Kind: Lost, From: 1, Count: 1 << 62})), samples(3, 1), frame(frameOrder, []byte(`{"order":1}`))))
	f.Add(join(head, samples(-5, 1, 9000), head, samples(0, 1)))
	f.Fuzz(func(t *testing.T, b []byte) {
		dir, err := os.MkdirTemp(t.TempDir(), "")
		if err != nil {
			t.Fatal(err)
		}
		w, err := spool.Open(dir)
		if err != nil {
			t.Fatal(err)
		}
		begun := false
		for len(b) >= 3 {
			kind, n := b[0], min(int(binary.LittleEndian.Uint16(b[1:])), len(b)-3)
			if kind == spool.HeaderKind || !begun {
				if err := w.Begin(b[3 : 3+n]); err != nil {
					t.Fatal(err)
				}
				begun = true
			} else {
				w.Append(kind, b[3:3+n])
			}
			b = b[3+n:]
		}
		if err := w.Close(); err != nil {
			t.Fatal(err)
		}
		r, err := recoverSpool(dir)
		if err != nil {
			return
		}
		for _, d := range r.drops {
			if n := d.Len(); n < 0 || n > maxSamples {
				t.Fatalf("%d samples of %d spooled", n, r.samples)
			}
		}
	})
}

// payloadOf is a block as a frame of samples holds it.
func payloadOf(b *Block) []byte {
	p := binary.LittleEndian.AppendUint64(nil, uint64(b.First))
	p = binary.LittleEndian.AppendUint64(p, uint64(b.Arrived.UnixNano()))
	p = binary.LittleEndian.AppendUint16(p, uint16(len(b.Values)))
	p = binary.LittleEndian.AppendUint32(p, uint32(b.Len()))
	return append(p, floats(b)...)
}

func floats(b *Block) (p []byte) {
	for _, v := range b.Values {
		for _, x := range v {
			p = binary.LittleEndian.AppendUint64(p, math.Float64bits(x))
		}
	}
	return p
}
