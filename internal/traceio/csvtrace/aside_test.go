package csvtrace

import (
	"bytes"
	"fmt"
	"os"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/traceio"
)

// Of which channel the values are kept changes neither them nor what is found in the others.
func TestChannelsAside(t *testing.T) {
	before := asideRows
	asideRows = 16
	t.Cleanup(func() { asideRows = before })
	t.Setenv("TMPDIR", t.TempDir())
	rapid.Check(t, func(t *rapid.T) {
		var b bytes.Buffer
		b.WriteString("t [s],F [N],A [m/s2],X [V]\n")
		limit := rapid.IntRange(3, 9).Draw(t, "limit")
		n := rapid.IntRange(10, 9000).Draw(t, "rows")
		for i := range n {
			v := func(k int) string {
				x := (i*k*7919)%97 - 20
				if x > 10*limit-20 {
					x = 10*limit - 20
				}
				if (i*k)%89 == 88 {
					return "NaN"
				}
				return fmt.Sprint(x)
			}
			at := float64(i) / 1000
			if rapid.IntRange(0, 400).Draw(t, "odd") == 0 {
				at += 0.0003
			}
			fmt.Fprintf(&b, "%.4f,%s,%s,%s\n", at, v(1), v(2), v(3))
		}
		all, err := Format{}.Read(t.Context(), "x.csv", bytes.NewReader(b.Bytes()), traceio.Options{})
		if err != nil {
			return // as with Keep, below the reader's least
		}
		keep := rapid.IntRange(-1, 2).Draw(t, "keep")
		some, err := Format{}.Read(t.Context(), "x.csv", bytes.NewReader(b.Bytes()), traceio.Options{Keep: func(list []drop.Channel) int {
			for i, c := range list {
				if c.Name != all.Channels[i].Name || c.Dim != all.Channels[i].Dim || c.Kind != all.Channels[i].Kind {
					t.Fatalf("%+v", c)
				}
			}
			return keep
		}})
		if err != nil {
			t.Fatal(err)
		}
		if some.Len() != all.Len() || some.Rate != all.Rate || fmt.Sprint(some.Findings) != fmt.Sprint(all.Findings) {
			t.Fatalf("%d samples at %v, %v;\nwant %d at %v, %v", some.Len(), some.Rate, some.Findings, all.Len(), all.Rate, all.Findings)
		}
		for i, c := range some.Channels {
			switch {
			case keep < 0 || i == keep:
				same := slices.EqualFunc(c.Values, all.Channels[i].Values, func(a, b float64) bool { return a == b || a != a && b != b })
				if !same {
					t.Fatalf("channel %s differs", c.Name)
				}
			case c.Values != nil:
				t.Fatalf("channel %s has %d values", c.Name, len(c.Values))
			}
		}
	})
	left, err := os.ReadDir(os.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range left {
		if bytes.HasPrefix([]byte(f.Name()), []byte("hardcatch-channel-")) {
			t.Errorf("%s was left", f.Name())
		}
	}
}

// Where no file can be made, everything stays in memory.
func TestNoRoomAside(t *testing.T) {
	before := asideRows
	asideRows = 16
	t.Cleanup(func() { asideRows = before })
	t.Setenv("TMPDIR", t.TempDir()+"/nowhere")
	var b bytes.Buffer
	b.WriteString("t [s],F [N],X [V]\n")
	for i := range 5000 {
		fmt.Fprintf(&b, "%.4f,%d,%d\n", float64(i)/1000, i%7, i%5)
	}
	some, err := Format{}.Read(t.Context(), "x.csv", bytes.NewReader(b.Bytes()), traceio.Options{Keep: func([]drop.Channel) int { return 0 }})
	if err != nil || len(some.Channels[0].Values) != 5000 {
		t.Errorf("%+v %v", some, err)
	}
}
