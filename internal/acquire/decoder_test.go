package acquire

import (
	"fmt"
	"math"
	"strings"
	"testing"
	"time"
)

// keep is a sink that keeps the samples of the first channel by number.
type keep struct {
	values map[int64]float64
	events []Event
	next   int64
}

func (k *keep) Samples(b *Block) error {
	for i, v := range b.Values[0] {
		k.values[b.First+int64(i)] = v
	}
	k.next = b.First + int64(b.Len())
	return nil
}
func (k *keep) Event(e Event) error       { k.events = append(k.events, e); return nil }
func (k *keep) Record(LoggerRecord) error { return nil }

func (k *keep) say() string {
	var s []string
	for _, e := range k.events {
		about := ""
		if e.Estimated {
			about = "~"
		}
		s = append(s, fmt.Sprintf("%s %d+%s%d", e.Kind, e.From, about, e.Count))
	}
	return strings.Join(s, ", ")
}

var began = time.Date(2026, 3, 2, 10, 0, 0, 0, time.UTC)

func decoder(t *testing.T, d Description) (*Decoder, *keep) {
	t.Helper()
	d.Kind, d.Address = TCP, "x"
	if d.Rate == 0 {
		d.Rate = 1000
	}
	if err := d.Complete(); err != nil {
		t.Fatal(err)
	}
	k := &keep{values: map[int64]float64{}}
	x, err := NewDecoder(&d, k)
	if err != nil {
		t.Fatal(err)
	}
	return x, k
}

// Each case is text that arrives, a piece each 10 ms unless "@MS " says when; what must be said; and the samples
// with their numbers.
func TestCounters(t *testing.T) {
	for _, c := range []struct {
		name   string
		d      Description
		pieces []string
		events string
		want   map[int64]float64
	}{
		{"in order", Description{Lines: "{counter},{a}"}, []string{"5,1\n6,2\n", "7,", "3\n8,4\n"}, "", map[int64]float64{0: 1, 1: 2, 2: 3, 3: 4}},
		{"two lost", Description{Lines: "{counter},{a}"}, []string{"5,1\n8,4\n9,5\n"}, "lost 1+2", map[int64]float64{0: 1, 3: 4, 4: 5}},
		{"the last line shows the loss only when the stream ends", Description{Lines: "{counter},{a}"}, []string{"5,1\n8,4\n"}, "lost 1+2", map[int64]float64{0: 1, 3: 4}},
		{"every other lost", Description{Lines: "{counter},{a}"}, []string{"1,1\n3,3\n5,5\n7,7\n8,8\n"}, "lost 1+1, lost 3+1, lost 5+1", map[int64]float64{0: 1, 2: 3, 4: 5, 6: 7, 7: 8}},
		{"a counter with a flipped bit", Description{Lines: "{counter},{a}"}, []string{"5,1\n6,2\n71,3\n8,4\n9,5\n"}, "lost 2+1, garbage 2+1", map[int64]float64{0: 1, 1: 2, 3: 4, 4: 5}},
		{"the same line twice", Description{Lines: "{counter},{a}"}, []string{"5,1\n5,1\n6,2\n"}, "garbage 1+1", map[int64]float64{0: 1, 1: 2}},
		{"round the modulus", Description{Lines: "{counter},{a}", Modulus: 256}, []string{"254,1\n255,2\n0,3\n1,4\n"}, "", map[int64]float64{0: 1, 1: 2, 2: 3, 3: 4}},
		{"lost round the modulus", Description{Lines: "{counter},{a}", Modulus: 256}, []string{"254,1\n3,6\n4,7\n"}, "lost 1+4", map[int64]float64{0: 1, 5: 6, 6: 7}},
		{"time with a loss", Description{Lines: "{time us} {a}"}, []string{"1000 1\n2000 2\n5003 5\n6001 6\n"}, "lost 2+2", map[int64]float64{0: 1, 1: 2, 4: 5, 5: 6}},
		{"time round 2^32 us", Description{Lines: "{time us} {a}", Modulus: 1 << 32}, []string{"4294966000 1\n4294967000 2\n704 3\n1704 4\n"}, "", map[int64]float64{0: 1, 1: 2, 2: 3, 3: 4}},
		{"garbage where nothing counts", Description{Lines: "{a}"}, []string{"1\n2\nx3\n\n4\n"}, "lost 2+~1, garbage 2+1", map[int64]float64{0: 1, 1: 2, 3: 4}},
		{"a heading before the first line", Description{Lines: "{a}"}, []string{"force\n1\n2\n"}, "garbage 0+1", map[int64]float64{0: 1, 1: 2}},
		{"a restart", Description{Lines: "{counter},{a}"}, []string{"5000,1\n5001,2\n", "@30 0,9\n1,8\n"}, "clock-slip 2+0, lost 2+~29", map[int64]float64{0: 1, 1: 2, 31: 9, 32: 8}},
		{"a wild jump that goes on", Description{Lines: "{counter},{a}"}, []string{"5,1\n6,2\n", "@10 900000000,3\n900000001,4\n"}, "clock-slip 2+0, lost 2+~9", map[int64]float64{0: 1, 1: 2, 11: 3, 12: 4}},
		{"overload", Description{Lines: "{counter},{a}", Channels: []Channel{{Name: "a", Limit: 100}}}, []string{"1,1\n2,100\n3,-120\n4,2\n"}, "overload 1+2", map[int64]float64{0: 1, 1: 100, 2: -120, 3: 2}},
		{"scale and offset", Description{Lines: "{counter},{a}", Channels: []Channel{{Name: "a", Unit: "N", Scale: 2, Offset: -3}}}, []string{"1,10\n"}, "", map[int64]float64{0: 17}},
		{"no number", Description{Lines: "{counter},{a}"}, []string{"1,1\n2,OL\n3,2\n"}, "overload 1+1", map[int64]float64{0: 1, 1: math.NaN(), 2: 2}},
		{"a line without end", Description{Lines: "{counter},{a}"}, []string{"1,1\n2,2\n", strings.Repeat("x", 5000), "yy\n3,3\n"}, "garbage 2+1", map[int64]float64{0: 1, 1: 2, 2: 3}},
		{"more lost than a block holds", Description{Lines: "{counter},{a}"}, []string{"1,1\n", "@1000 1000,5\n1001,6\n"}, "lost 1+998", map[int64]float64{0: 1, 999: 5, 1000: 6}},
	} {
		t.Run(c.name, func(t *testing.T) {
			x, k := decoder(t, c.d)
			at := began
			for i, p := range c.pieces {
				at = began.Add(time.Duration(i) * 10 * time.Millisecond)
				if rest, ok := strings.CutPrefix(p, "@"); ok {
					ms, text, _ := strings.Cut(rest, " ")
					var n int
					if _, err := fmt.Sscan(ms, &n); err != nil {
						t.Fatal(err)
					}
					at, p = began.Add(time.Duration(n)*time.Millisecond), text
				}
				if err := x.Write([]byte(p), at); err != nil {
					t.Fatal(err)
				}
			}
			if err := x.Close(at); err != nil {
				t.Fatal(err)
			}
			if got := k.say(); got != c.events {
				t.Errorf("said %q, want %q", got, c.events)
			}
			last := int64(0)
			for i, want := range c.want {
				last = max(last, i)
				if got, ok := k.values[i]; !ok || got != want && !(math.IsNaN(got) && math.IsNaN(want)) {
					t.Errorf("sample %d is %v (there: %v), want %v", i, got, ok, want)
				}
			}
			if k.next != last+1 {
				t.Errorf("%d samples, want %d", k.next, last+1)
			}
			for i, v := range k.values {
				if _, ok := c.want[i]; !ok && !math.IsNaN(v) {
					t.Errorf("sample %d is %v, want none", i, v)
				}
			}
		})
	}
}

// A source without counter that was cut off goes on after the time that passed: what came between is NaN.
func TestNoCounterGoesOnByTheClock(t *testing.T) {
	x, k := decoder(t, Description{Lines: "{a}"})
	for _, step := range []error{x.Write([]byte("1\n2\n3"), began), x.Interrupt(false), x.Write([]byte("7\n8\n"), began.Add(50*time.Millisecond))} {
		if step != nil {
			t.Fatal(step)
		}
	}
	if got, want := k.say(), "garbage 2+1, lost 2+~49"; got != want {
		t.Errorf("said %q, want %q", got, want)
	}
	if k.values[51] != 7 || k.values[52] != 8 || k.next != 53 {
		t.Errorf("%v", k.values)
	}
}

// A counter that goes round while nobody listens is unwound by the clock.
func TestModulusAcrossACut(t *testing.T) {
	x, k := decoder(t, Description{Lines: "{counter},{a}", Modulus: 256})
	for _, step := range []error{x.Write([]byte("10,1\n"), began), x.Interrupt(false), x.Write([]byte("20,2\n21,3\n"), began.Add(1040*time.Millisecond))} {
		if step != nil {
			t.Fatal(step)
		}
	}
	// 1040 samples passed: 10 + 4 x 256 = 1034 is the nearest the counter allows.
	if got, want := k.say(), "lost 1+1033"; got != want {
		t.Errorf("said %q, want %q", got, want)
	}
}

// A device that samples more slowly than stated is found by the computer's clock.
func TestWrongRateIsSaid(t *testing.T) {
	x, k := decoder(t, Description{Lines: "{a}"})
	for i := range 1000 {
		if err := x.Write([]byte("1\n2\n3\n4\n5\n6\n7\n8\n9\n"), began.Add(time.Duration(i)*10*time.Millisecond)); err != nil {
			t.Fatal(err)
		}
	}
	if len(k.events) != 0 { // 9 s: 1000 are missing, and a second of doubt is allowed
		t.Errorf("too early: %s", k.say())
	}
	for i := range 300 {
		if err := x.Write([]byte("1\n2\n3\n4\n5\n6\n7\n8\n9\n"), began.Add(time.Duration(1000+i)*10*time.Millisecond)); err != nil {
			t.Fatal(err)
		}
	}
	if len(k.events) != 1 || k.events[0].Kind != ClockSlip || !strings.Contains(k.events[0].Text, "900 samples a second arrive, 1000 are stated") {
		t.Errorf("%+v", k.events)
	}
}

func TestDecodingAllocatesNothing(t *testing.T) {
	x, _ := decoder(t, Description{Lines: "{counter},{a}", Modulus: 100})
	x.out = &drain{}
	var text []byte
	for i := range 100 {
		text = fmt.Appendf(text, "%d,%d.5\n", i, i)
	}
	if n := testing.AllocsPerRun(100, func() {
		if err := x.Write(text, began); err != nil {
			t.Fatal(err)
		}
	}); n != 0 {
		t.Errorf("%g allocations for 100 lines", n)
	}
}
