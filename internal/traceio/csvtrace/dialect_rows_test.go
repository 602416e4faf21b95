package csvtrace

import (
	"bytes"
	"fmt"
	"strings"
	"testing"

	"github.com/hardcatch/hardcatch/internal/traceio"
	"pgregory.net/rapid"
)

// A file is sniffed by the first row that any dialect reads; that must be so exactly where a dialect is found.
func TestAnyDialectIsOneThatIsFound(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		cell := rapid.SampledFrom([]string{"1", "-2.5", "3,7", "1e-3", "NaN", "Force", "", "12:30:01.5", "2026-03-01", "\"4\"", "#", "// x", "%", " ", "x y", "OVL"})
		var b bytes.Buffer
		for range rapid.IntRange(0, 12).Draw(t, "lines") {
			sep := rapid.SampledFrom([]string{";", ",", "\t", " ", ""}).Draw(t, "sep")
			for i := range rapid.IntRange(0, 4).Draw(t, "cells") {
				if i > 0 {
					b.WriteString(sep)
				}
				b.WriteString(cell.Draw(t, "cell"))
			}
			b.WriteByte('\n')
		}
		lines := headLines(b.Bytes())
		for _, old := range []bool{false, true} {
			_, ok := findDialect(lines, old, traceio.Options{})
			if got := anyDialect(lines, old); got != ok {
				t.Fatalf("any %v, found %v in %q", got, ok, b.String())
			}
		}
	})
}

// By trying all candidates in their order, and taking the first of those worth most.
func fullSearch(lines [][]byte, old bool) (best dialect, ok bool) {
	most := 0
	for _, c := range candidates {
		c.old = old
		if c.sep != ' ' && c.sep != '\t' && !appears(lines, c.sep) {
			continue
		}
		d, rows := tryDialect(lines, c)
		if score := d.worth(rows); score > most {
			best, most, ok = d, score, true
		}
	}
	return best, ok
}

// What is left out of the search could not have won it.
func TestSearchLeavesOutNoBetterDialect(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		cell := rapid.SampledFrom([]string{"1", "-2.5", "3,7", "1e-3", "NaN", "Force", "", "12:30:01.5", "2026-03-01", "\"4\"", "x y", "OVL", "1 2"})
		seps := rapid.SliceOfN(rapid.SampledFrom([]string{";", ",", "\t", " "}), 1, 2).Draw(t, "separators")
		n := rapid.IntRange(1, 4).Draw(t, "columns")
		var b bytes.Buffer
		for range rapid.IntRange(0, 20).Draw(t, "lines") {
			if rapid.IntRange(0, 9).Draw(t, "odd") == 0 {
				b.WriteString(rapid.SampledFrom([]string{"# 1;2", "% 3", "// 4", "", "#n/a", "Rate, 100"}).Draw(t, "line") + "\n")
				continue
			}
			for i := range n {
				if i > 0 {
					b.WriteString(rapid.SampledFrom(seps).Draw(t, "sep"))
				}
				b.WriteString(cell.Draw(t, "cell"))
			}
			b.WriteByte('\n')
		}
		lines := headLines(b.Bytes())
		for _, old := range []bool{false, true} {
			want, wantOK := fullSearch(lines, old)
			// The last two rules of findDialect are about one column of decimal commas; they are asked for where they do not bear.
			got, ok := findDialect(lines, old, traceio.Options{})
			if ok && got.sep == ';' && want.sep == ',' {
				continue
			}
			if ok != wantOK || fmt.Sprint(got) != fmt.Sprint(want) {
				t.Fatalf("%v %v, by a full search %v %v in %q", got, ok, want, wantOK, b.String())
			}
		}
	})
}

// BenchmarkFindDialect is the head of a record of a small logger: 64 KiB of time and force.
func BenchmarkFindDialect(b *testing.B) {
	var text bytes.Buffer
	text.WriteString("# logger\ntime (s);force (kN)\n")
	for i := 0; text.Len() < headSize; i++ {
		text.WriteString("0.")
		text.WriteString([]string{"0001", "0002", "0003"}[i%3])
		text.WriteString(";-1.2345\n")
	}
	lines := headLines(text.Bytes())
	b.SetBytes(int64(text.Len()))
	b.ReportAllocs()
	for b.Loop() {
		if _, ok := findDialect(lines, false, traceio.Options{}); !ok {
			b.Fatal("no dialect")
		}
	}
}

// A line that is taken for numbers at a glance is one that parting its fields finds to be that; and one of plain numbers is.
func TestNumbersAtAGlance(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := dialect{sep: rapid.SampledFrom([]byte{';', ',', '\t'}).Draw(t, "sep"), mark: rapid.SampledFrom([]byte{'.', ','}).Draw(t, "mark")}
		if d.sep == d.mark {
			return
		}
		n := rapid.IntRange(1, 4).Draw(t, "columns")
		var b []byte
		plain := true
		for k := range n {
			if k > 0 {
				b = append(b, d.sep)
			}
			f := rapid.SampledFrom([]string{"1", "-2", "+3e5", "0" + string(d.mark) + "25", "4E-3", "", "x", "1e", " 5", "NaN", "--1", "1.2.3", "\"6\"", "#"}).Draw(t, "field")
			plain = plain && len(f) > 0 && (f[0] >= '0' && f[0] <= '9' || f == "-2" || f == "+3e5") && f != "1e" && f != "1.2.3"
			b = append(b, f...)
		}
		var row rowPattern
		isRow := row.of(b, d)
		if d.allNumbers(b, n) && (!isRow || string(row.pattern) != strings.Repeat("n", n)) {
			t.Fatalf("%q is %q", b, row.pattern)
		}
		if plain && !d.allNumbers(b, n) || d.allNumbers(b, n+1) {
			t.Fatalf("%q, %d numbers", b, n)
		}
	})
}
