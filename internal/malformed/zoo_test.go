package malformed_test

import (
	"archive/zip"
	"bytes"
	"compress/gzip"
	"encoding/binary"
	"fmt"
	"hash/crc32"
	"math/rand"
	"strings"
	"testing"

	"github.com/hardcatch/hardcatch/internal/traceio/wav/wavtest"
)

// animal is made when its turn comes, so that what the others hold does not count as idle.
type animal struct {
	name  string
	make  func() []byte
	quick bool
}

// zoo is what no reader should choke on: each as long as is allowed.
func zoo() []animal {
	const n = largest - 1
	var all []animal
	add := func(name string, data func() []byte) {
		cut := func() []byte { b := data(); return bytes.Clone(b[:min(len(b), n)]) }
		all = append(all, animal{name: name, make: cut, quick: len(all)%5 == 0})
	}
	full := func(head, unit string) func() []byte {
		return func() []byte { return []byte(head + strings.Repeat(unit, (n-len(head))/len(unit))) }
	}
	for _, unit := range []string{
		"[", "{a: ", "- ", "? ", "&a ", "*a,", "!a ", "\"", "#\n", "a\n", "\r", " ", ",", ";", "1\n", "1 ", "1,", "a: 1\n", "---\n", "{a} ", "\x00", "\xff\xfe",
		"1\x00", "NaN\n", "1e9\n", "9",
	} {
		add(fmt.Sprintf("only %q", unit), full("", unit))
	}
	add("stretches of overload without end", func() []byte {
		return []byte("# saturated: channel 1, samples 0 to 1" + strings.Repeat(", 9 to 9", (n-200)/8) + "\nF [N]\n1\n2\n3\n4\n5\n6\n7\n8\n9\n")
	})
	add("brackets that close", func() []byte { return []byte("a: " + strings.Repeat("[", n/2-2) + strings.Repeat("]", n/2-2)) })
	add("aliases of aliases", laughs)
	add("many keys", func() []byte { return keys(n) })
	add("indented ever deeper", func() []byte { return deeper(n) })
	add("a header of many columns", full("", "c,"))
	add("a drop list of empty lines", full("drop,specimen,fall,record\n", ",,,\n"))
	add("a drop list of odd lines", full("drop,specimen,fall,record\n", "d,s,1e9 kN,x\n"))
	add("a drop list of wide lines", full("drop,specimen,fall,record\n", "d,s,1,x,,,,,,,,,,,,,\n"))
	add("strengths", full("value [kN],outcome\n", "1,\n"))
	add("staircase", full("height,outcome\n", "1,x\n"))
	for _, k := range []int{2, 30, 300} {
		add(fmt.Sprintf("%d columns of uneven times", k), func() []byte { return uneven(n, k) })
		add(fmt.Sprintf("%d columns with gaps", k), func() []byte { return gaps(n, k) })
		add(fmt.Sprintf("%d columns in bursts", k), func() []byte { return bursts(n, k) })
	}
	add("rows that the times do not fit", full("t [s],F [N]\n", "1e300,1\n-1e300,2\n"))
	add("every other value missing", full("F [N]\n", "1\nNaN\n"))
	add("every other value an overload", full("F [N]\n", "1\nOL\n"))
	add("times that leap", func() []byte { return leaps(n) })
	add("a preamble without end", full("", "# Sample rate: 1e300 Hz\n"))
	add("a number of a million digits", full("F [N]\n1.", "1"))
	add("noise", func() []byte { return noise(n) })
	add("UTF-16 noise", func() []byte { return append([]byte("\xff\xfe"), noise(n-2)...) })
	wave := func(name string, f wavtest.File, change func(b []byte)) {
		add(name, func() []byte {
			b := f.Bytes(make([]float64, n-200))
			change(b)
			return b
		})
	}
	for _, size := range []uint32{0, 1, 1 << 28, 1<<32 - 1, 1<<32 - 2, 1 << 31} {
		wave(fmt.Sprintf("WAV of %d bytes", size), wavtest.File{Channels: 1, Rate: 8000, Bits: 8}, func(b []byte) { binary.LittleEndian.PutUint32(b[40:], size) })
	}
	for _, rate := range []uint32{0, 1, 10_000_000, 1<<32 - 1} {
		wave(fmt.Sprintf("WAV of %d Hz", rate), wavtest.File{Channels: 1, Rate: 8000, Bits: 8}, func(b []byte) { binary.LittleEndian.PutUint32(b[24:], rate) })
	}
	wave("WAV of 64 channels", wavtest.File{Channels: 64, Rate: 8000, Bits: 8}, func([]byte) {})
	wave("WAV with a format of 4 GiB", wavtest.File{Channels: 1, Rate: 8000, Bits: 8}, func(b []byte) { binary.LittleEndian.PutUint32(b[16:], 1<<32-1) })
	for _, side := range []uint32{1000, 4000, 8000, 30000, 1 << 31} {
		add(fmt.Sprintf("PNG of %d pixels a side", side), func() []byte { return png(side, n) })
	}
	for _, side := range []uint16{1000, 4000, 8000, 30000, 65535} {
		add(fmt.Sprintf("JPEG of %d pixels a side", side), func() []byte { return jpeg(side, 0xc0) })
		add(fmt.Sprintf("progressive JPEG of %d pixels a side", side), func() []byte { return jpeg(side, 0xc2) })
	}
	add("gzip of zeros", func() []byte { return zipped(bytes.Repeat([]byte("0"), 1<<24)) })
	add("gzip of rows", func() []byte { return zipped(bytes.Repeat([]byte("1\n"), 1<<25)) })
	add("zip of zeros", func() []byte { return zippedAs("x.csv", bytes.Repeat([]byte("0"), 1<<24)) })
	add("spool of one long frame", func() []byte { return spooled(make([]byte, n-100)) })
	add("spool of empty frames", func() []byte { return spooled(make([][]byte, (n-100)/9)...) })
	add("spool whose frame claims 4 GiB", func() []byte {
		return append(spooled(nil), 1, 0xff, 0xff, 0xff, 0xff, 0, 0, 0, 0)
	})
	return all
}

// spooled is a segment with a header and frames, each with its checksum: mark, then kind, length, CRC-32C of both and the payload, payload.
func spooled(frames ...[]byte) []byte {
	b := []byte("hcspool1")
	for i, payload := range append([][]byte{[]byte(`{"run":"a"}`)}, frames...) {
		head := binary.LittleEndian.AppendUint32([]byte{byte(min(i, 1))}, uint32(len(payload)))
		sum := crc32.Update(crc32.Checksum(head, crc32.MakeTable(crc32.Castagnoli)), crc32.MakeTable(crc32.Castagnoli), payload)
		b = append(binary.LittleEndian.AppendUint32(append(b, head...), sum), payload...)
	}
	return b
}

func zippedAs(name string, data []byte) []byte {
	var b bytes.Buffer
	w := zip.NewWriter(&b)
	f, err := w.Create(name)
	if err == nil {
		_, _ = f.Write(data)
	}
	_ = w.Close()
	return b.Bytes()
}

// The segments of the zoo are such as the reader takes to their end.
func TestSpooled(t *testing.T) {
	if err := readSpool(spooled([]byte("x"), nil)); err != nil {
		t.Error(err)
	}
	if err := readSpool([]byte("hcspool1")); err == nil {
		t.Error("a segment without a header is read")
	}
}

func laughs() []byte {
	var b strings.Builder
	b.WriteString("a0: &a0 [x]\n")
	for i := 1; b.Len() < largest-200; i++ {
		fmt.Fprintf(&b, "a%d: &a%d [%s]\n", i, i, strings.TrimSuffix(strings.Repeat(fmt.Sprintf("*a%d,", i-1), 9), ","))
	}
	return []byte(b.String())
}

func keys(n int) []byte {
	var b bytes.Buffer
	for i := 0; b.Len() < n; i++ {
		fmt.Fprintf(&b, "k%d: 1\n", i)
	}
	return b.Bytes()
}

func deeper(n int) []byte {
	var b bytes.Buffer
	for i := 0; b.Len() < n; i++ {
		b.WriteString(strings.Repeat(" ", i) + "a:\n")
	}
	return b.Bytes()
}

// table is rows of columns of digits, the first of them the times that at gives.
func table(n, columns int, at func(i int) float64) []byte {
	var b bytes.Buffer
	b.WriteString("t [s]" + strings.Repeat(",F", columns) + "\n")
	for i := 0; b.Len() < n; i++ {
		fmt.Fprintf(&b, "%g%s\n", at(i), strings.Repeat(",1", columns))
	}
	return b.Bytes()[:bytes.LastIndexByte(b.Bytes()[:min(n, b.Len())], '\n')+1]
}

func uneven(n, columns int) []byte {
	r, t := rand.New(rand.NewSource(1)), 0.0
	return table(n, columns, func(int) float64 { t += 1e-6 + r.ExpFloat64(); return t })
}

// gaps are even times of which most are missing.
func gaps(n, columns int) []byte {
	return table(n, columns, func(i int) float64 { return float64(i + 14*(i/10)*10) })
}

// bursts are times of which every fifth follows the one before at once.
func bursts(n, columns int) []byte {
	return table(n, columns, func(i int) float64 { return float64(i/5) + 1e-7*float64(i%5/4) + 0.2*float64(i%5%4) })
}

func leaps(n int) []byte {
	return table(n, 1, func(i int) float64 { return float64(i%7) * 1e200 })
}

func noise(n int) []byte {
	b := make([]byte, n)
	rand.New(rand.NewSource(2)).Read(b)
	return b
}

// png is a picture that claims a size and ends within it.
func png(side uint32, n int) []byte {
	chunk := func(kind string, data []byte) []byte {
		b := append(binary.BigEndian.AppendUint32(nil, uint32(len(data))), kind...)
		b = append(b, data...)
		return binary.BigEndian.AppendUint32(b, crc32.ChecksumIEEE(b[4:]))
	}
	head := binary.BigEndian.AppendUint32(binary.BigEndian.AppendUint32(nil, side), side)
	b := append([]byte("\x89PNG\r\n\x1a\n"), chunk("IHDR", append(head, 16, 6, 0, 0, 0))...)
	b = append(b, chunk("IDAT", []byte("\x78\x9c\x00"))...)
	return append(b, make([]byte, n-len(b))...)
}

// jpeg is a picture that claims a size in the manner of a marker (ISO/IEC 10918-1, table B.1) and ends where its scan begins.
func jpeg(side uint16, marker byte) []byte {
	b := []byte{0xff, 0xd8, 0xff, marker, 0, 17, 8, byte(side >> 8), byte(side), byte(side >> 8), byte(side), 3, 1, 0x11, 0, 2, 0x11, 0, 3, 0x11, 0}
	b = append(b, 0xff, 0xda, 0, 12, 3, 1, 0, 2, 0, 3, 0, 0, 0, 0)
	return append(b, make([]byte, 1000)...)
}

func zipped(data []byte) []byte {
	var b bytes.Buffer
	w := gzip.NewWriter(&b)
	_, _ = w.Write(data)
	_ = w.Close()
	return b.Bytes()
}
