package acquire

import (
	"math"
	"testing"
	"time"
)

// counted checks what a decoder delivers.
type counted struct {
	t    *testing.T
	next int64
}

func (c *counted) Samples(b *Block) error {
	for k, v := range b.Values {
		if len(v) != b.Len() {
			c.t.Fatalf("channel %d has %d samples of %d", k, len(v), b.Len())
		}
		for _, x := range v {
			if math.IsInf(x, 0) {
				c.t.Fatal("infinite")
			}
		}
	}
	if b.First < c.next {
		c.t.Fatalf("samples from %d after %d", b.First, c.next)
	}
	c.next = b.First + int64(b.Len())
	return nil
}

func (c *counted) Event(e Event) error {
	if e.Count < 0 {
		c.t.Fatalf("%+v", e)
	}
	return nil
}

func (c *counted) Record(LoggerRecord) error { return nil }

// FuzzStream: whatever bytes a line brings, in whatever parts and with whatever interruptions, samples come in order, are numbers or
// NaN, and nothing that was not sent is made up but the gaps.
func FuzzStream(f *testing.F) {
	for _, s := range []string{"0,1.5\n1,1.6\n2,OL\n", "65534,1\n65535,1\n0,1\n1,1\n", "1,1\n\n\x00\xff\n2,1e400\n3,", "9007199254740993,1\n1,1\n18446744073709551616,1\n", "1,1\r\n1,1\r\n3,1\r\n"} {
		for pattern := range byte(4) {
			f.Add([]byte(s), pattern, byte(3))
		}
	}
	lines := []string{"{counter},{force kN}", "{time us},{force kN}", "{skip},{force kN}", "{counter hex},{force mV/V},{b}"}
	f.Fuzz(func(t *testing.T, b []byte, pattern, step byte) {
		d := &Description{Kind: Serial, Address: "x", Baud: 9600, Rate: 1e4, Lines: lines[pattern%4]}
		if pattern&4 != 0 && pattern%4 != 2 {
			d.Modulus = 65536
		}
		if err := d.Complete(); err != nil {
			t.Skip(err)
		}
		x, err := NewDecoder(d, &counted{t: t})
		if err != nil {
			t.Fatal(err)
		}
		at := time.Unix(1e9, 0)
		for i := 0; len(b) > 0; i++ {
			n := min(int(step)%64+1, len(b))
			at = at.Add(time.Duration(n) * time.Millisecond)
			switch {
			case pattern&8 != 0:
				err = x.Message(b[:n], at)
			default:
				err = x.Write(b[:n], at)
			}
			if err == nil && pattern&16 != 0 && i%5 == 4 {
				err = x.Interrupt(pattern&32 != 0)
			}
			if err != nil {
				t.Fatal(err)
			}
			b = b[n:]
		}
		if err := x.Close(at); err != nil {
			t.Fatal(err)
		}
	})
}
