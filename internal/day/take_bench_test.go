package day_test

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"testing"

	"github.com/hardcatch/hardcatch/internal/day"
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/store"
	"github.com/hardcatch/hardcatch/internal/store/sqlstore"
)

// fourChannels is 4 s at 50 kS/s: time, force of a real shape, and three channels beside it.
func fourChannels(b *testing.B) []byte {
	force := bytes.Split(bytes.TrimSpace(record(b, 7, 1, 0)), []byte("\n"))[1:]
	var out []byte
	out = append(out, "t [s],F [N],A [m/s2],X [V],Y [V]\n"...)
	value := func(i int) float64 {
		_, f, _ := bytes.Cut(force[min(i, len(force)-1)], []byte(","))
		v, err := strconv.ParseFloat(string(f), 64)
		if err != nil {
			b.Fatal(err)
		}
		return v
	}
	for i := range 200_000 {
		a, z := value(i/10), value(i/10+1)
		f := a + (z-a)*float64(i%10)/10
		out = fmt.Appendf(out, "%.5f,%.2f,%.3f,%.5f,%.5f\n", float64(i)/50000, f, f/100, float64((i*7919)%20000)/1e4-1, float64((i*104729)%20000)/1e4-1)
	}
	return out
}

// BenchmarkTake is from the bytes of a record of 4 channels x 50 kS/s x 4 s to the answer, on a campaign of 500 drops
// in 50 cells.
func BenchmarkTake(b *testing.B) {
	d := newDay(b, "")
	ctx := b.Context()
	small := record(b, 1, 1, 0)
	first := d.take(drop.Drop{ID: "first", Fall: 0.9, Specimen: drop.Specimen{ID: "first", Length: 0.9}}, small)
	s, err := sqlstore.Open(ctx, d.path, sqlstore.Options{})
	if err != nil {
		b.Fatal(err)
	}
	red, err := s.Reduction(ctx, first.Drop.ID)
	if err != nil {
		b.Fatal(err)
	}
	err = s.Update(ctx, func(tx store.Tx) error {
		for i := range 500 {
			x := benchDrop(i, fmt.Sprint("d", i))
			x.Record = x.ID + ".csv"
			if _, err := tx.AddDrop(ctx, x); err != nil {
				return err
			}
			if _, err := tx.AddTrace(ctx, x.ID, x.Record, store.Bytes(small)); err != nil {
				return err
			}
			r := red.Value
			r.Drop = x.ID
			if _, err := tx.AddReduction(ctx, r); err != nil {
				return err
			}
			if _, err := tx.Decide(ctx, drop.Decision{Drop: x.ID, Outcome: drop.Held, Reason: "looked at"}); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		b.Fatal(err)
	}
	if err := s.Close(); err != nil {
		b.Fatal(err)
	}
	base, err := os.ReadFile(d.path)
	if err != nil {
		b.Fatal(err)
	}
	big := fourChannels(b)
	b.SetBytes(int64(len(big)))
	i := 0
	for b.Loop() {
		b.StopTimer()
		i++
		path := filepath.Join(b.TempDir(), fmt.Sprint(i))
		if err := os.WriteFile(path, base, 0o666); err != nil {
			b.Fatal(err)
		}
		b.StartTimer()
		r, err := day.Take(ctx, d.Access, path, day.TakeInput{Drop: benchDrop(3, "new"), Name: "new.csv", Original: store.Bytes(big)})
		if err != nil || r.Problem != nil || r.Cell.N != 11 {
			b.Fatalf("%+v %v", r, err)
		}
	}
}

func benchDrop(i int, id string) drop.Drop {
	return drop.Drop{
		ID: id, Fall: 0.9, Role: drop.Trial, Channel: "F",
		Specimen: drop.Specimen{ID: "s" + id, Material: []string{"polyester", "aramid", "polyamide", "HMPE", "steel"}[i%5], Length: 0.9, Batch: fmt.Sprint(i)},
		Factors:  map[string]string{"age": fmt.Sprint(i / 5 % 10)},
	}
}
