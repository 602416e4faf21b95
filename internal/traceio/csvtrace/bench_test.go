package csvtrace

import (
	"bytes"
	"context"
	"encoding/csv"
	"errors"
	"io"
	"strconv"
	"testing"

	"github.com/hardcatch/hardcatch/internal/num/decimal"
	"github.com/hardcatch/hardcatch/internal/traceio"
)

// twoColumns is a record of n rows at 10 kHz: time in s to four decimals, force in N to two.
func twoColumns(n int) []byte {
	b := make([]byte, 0, n*18)
	b = append(b, "Time [s],Force [N]\n"...)
	for i := range n {
		b = strconv.AppendFloat(b, float64(i)/10000, 'f', 4, 64)
		b = append(b, ',')
		b = strconv.AppendFloat(b, float64((i*7919)%2000000)/100-100, 'f', 2, 64)
		b = append(b, '\n')
	}
	return b
}

func readBench(b *testing.B, data []byte, rows, channels int) {
	b.SetBytes(int64(len(data)))
	b.ReportAllocs()
	for b.Loop() {
		t, err := Format{}.Read(context.Background(), "bench.csv", bytes.NewReader(data), traceio.Options{Size: int64(len(data))})
		if err != nil || t.Len() != rows || t.Rate != 10000 || len(t.Channels) != channels {
			b.Fatal(err, t)
		}
	}
}

func BenchmarkRead5e6(b *testing.B) { readBench(b, twoColumns(5_000_000), 5_000_000, 1) }

func BenchmarkRead1e7(b *testing.B) { readBench(b, twoColumns(10_000_000), 10_000_000, 1) }

// Semicolons, decimal commas, CRLF, scientific values and a second channel.
func BenchmarkReadCommas1e6(b *testing.B) {
	var data []byte
	data = append(data, "Zeit [s];Kraft [kN];Spannung [mV]\r\n"...)
	for i := range 1_000_000 {
		row := strconv.AppendFloat(nil, float64(i)/10000, 'f', 6, 64)
		row = append(row, ';')
		row = strconv.AppendFloat(row, float64((i*7919)%2000000)/1e5, 'f', 5, 64)
		row = append(row, ';')
		row = strconv.AppendFloat(row, float64((i*104729)%2000000)/1e7, 'e', 6, 64)
		data = append(data, bytes.ReplaceAll(row, []byte{'.'}, []byte{','})...)
		data = append(data, "\r\n"...)
	}
	readBench(b, data, 1_000_000, 2)
}

// The whole way through the registry, with the hash of the original.
func BenchmarkOpen5e6(b *testing.B) {
	data := twoColumns(5_000_000)
	g := traceio.NewRegistry(Format{})
	b.SetBytes(int64(len(data)))
	for b.Loop() {
		t, err := g.Open(context.Background(), "bench.csv", bytes.NewReader(data), traceio.Options{})
		if err != nil || t.Len() != 5_000_000 {
			b.Fatal(err)
		}
	}
}

// encoding/csv and strconv.ParseFloat on the same text, for comparison.
func BenchmarkStandardLibrary5e5(b *testing.B) {
	data := twoColumns(500_000)
	b.SetBytes(int64(len(data)))
	for b.Loop() {
		r := csv.NewReader(bytes.NewReader(data))
		r.ReuseRecord = true
		sum := 0.0
		for {
			rec, err := r.Read()
			if errors.Is(err, io.EOF) {
				break
			}
			if err != nil {
				b.Fatal(err)
			}
			for _, f := range rec {
				if x, err := strconv.ParseFloat(f, 64); err == nil {
					sum += x
				}
			}
		}
		if sum == 0 {
			b.Fatal("nothing was read")
		}
	}
}

func BenchmarkScan(b *testing.B) {
	text := append([]byte("12345.678901,"), make([]byte, pad)...)
	b.SetBytes(13)
	sum := 0.0
	for b.Loop() {
		m, e, neg, _ := scan(text, 0, '.')
		v, _ := decimal.Exact(m, e, neg)
		sum += v
	}
	if sum == 0 {
		b.Fatal()
	}
}
