package delimited

import (
	"bytes"
	"context"
	"encoding/csv"
	"errors"
	"io"
	"strconv"
	"testing"

	"hardcatch/internal/traceio"
)

// twoColumns is a record of n rows: time in s to five decimals, force in N to two.
func twoColumns(n int) []byte {
	b := make([]byte, 0, n*17)
	b = append(b, "time [s],force [N]\n"...)
	for i := range n {
		b = strconv.AppendFloat(b, float64(i)*1e-4, 'f', 5, 64)
		b = append(b, ',')
		b = strconv.AppendFloat(b, float64((i*7919)%2000000)/100, 'f', 2, 64)
		b = append(b, '\n')
	}
	return b
}

func BenchmarkRead5e6(b *testing.B) {
	data := twoColumns(5_000_000)
	b.SetBytes(int64(len(data)))
	b.ReportAllocs()
	for b.Loop() {
		t, err := Format{}.Read(context.Background(), "bench.csv", bytes.NewReader(data), traceio.Options{Size: int64(len(data))})
		if err != nil || t.Len() != 5_000_000 || t.Rate != 10000 {
			b.Fatal(err, t.Len(), t.Rate)
		}
	}
}

// BenchmarkStandardLibrary5e5 is the same by encoding/csv and strconv, for comparison.
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
