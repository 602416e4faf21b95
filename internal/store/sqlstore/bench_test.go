package sqlstore

import (
	"fmt"
	"path/filepath"
	"strings"
	"testing"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/store"
	"github.com/hardcatch/hardcatch/internal/store/storetest"
)

func benchStore(b *testing.B) *Store {
	b.Helper()
	s := created(b, filepath.Join(b.TempDir(), "bench.hardcatch"))
	if _, err := s.AddDrop(b.Context(), storetest.Drop("1")); err != nil {
		b.Fatal(err)
	}
	return s
}

func BenchmarkDecide(b *testing.B) {
	s := benchStore(b)
	d := drop.Decision{Drop: "1", Outcome: drop.Held, Reason: "tail at rest"}
	for b.Loop() {
		if _, err := s.Decide(b.Context(), d); err != nil {
			b.Fatal(err)
		}
	}
}

// csvLike is a record of n bytes that compresses as loggers' text does.
func csvLike(n int) []byte {
	var t strings.Builder
	for i, v := range noise(n/8, 5) {
		fmt.Fprintf(&t, "%.4f;%d.%03d\n", float64(i)/1e4, i%20, v)
	}
	return []byte(t.String()[:n])
}

func benchTrace(b *testing.B, original []byte) {
	s := benchStore(b)
	b.SetBytes(int64(len(original)))
	i := 0
	for b.Loop() {
		i++
		copy(original, fmt.Sprintf("%015d\n", i)) // new bytes each time
		if _, err := s.AddTrace(b.Context(), "1", "1.csv", store.Bytes(original)); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkAddTrace(b *testing.B) {
	for _, kib := range []int{64, 1024} {
		b.Run(fmt.Sprintf("text=%dKiB", kib), func(b *testing.B) { benchTrace(b, csvLike(kib<<10)) })
		b.Run(fmt.Sprintf("noise=%dKiB", kib), func(b *testing.B) { benchTrace(b, noise(kib<<10, 6)) })
	}
}

// BenchmarkAddCampaign adds 70 drops with records of 150 kB in one batch.
func BenchmarkAddCampaign(b *testing.B) {
	originals := make([][]byte, 70)
	for i := range originals {
		originals[i] = csvLike(150e3)
		copy(originals[i], fmt.Sprintf("%015d\n", i))
	}
	b.SetBytes(70 * 150e3)
	for b.Loop() {
		b.StopTimer()
		s := created(b, filepath.Join(b.TempDir(), "bench.hardcatch"))
		b.StartTimer()
		err := s.Update(b.Context(), func(tx store.Tx) error {
			for i, original := range originals {
				id := fmt.Sprint(i)
				if _, err := tx.AddDrop(b.Context(), storetest.Drop(id)); err != nil {
					return err
				}
				if _, err := tx.AddTrace(b.Context(), id, id+".csv", store.Bytes(original)); err != nil {
					return err
				}
			}
			return nil
		})
		if err != nil {
			b.Fatal(err)
		}
		b.StopTimer()
		if err := s.Close(); err != nil {
			b.Fatal(err)
		}
		b.StartTimer()
	}
}

func BenchmarkReadTrace(b *testing.B) {
	s := benchStore(b)
	original := csvLike(1 << 20)
	if _, err := s.AddTrace(b.Context(), "1", "1.csv", store.Bytes(original)); err != nil {
		b.Fatal(err)
	}
	b.SetBytes(1 << 20)
	for b.Loop() {
		if _, _, err := s.Trace(b.Context(), "1"); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkVerify checks 70 drops with traces of 150 kB and 2000 decisions.
func BenchmarkVerify(b *testing.B) {
	s := benchStore(b)
	err := s.Update(b.Context(), func(tx store.Tx) error {
		original := csvLike(150e3)
		for i := range 70 {
			id := fmt.Sprint(i)
			copy(original, fmt.Sprintf("%015d\n", i))
			if _, err := tx.AddDrop(b.Context(), storetest.Drop(id)); err != nil {
				return err
			}
			if _, err := tx.AddTrace(b.Context(), id, id+".csv", store.Bytes(original)); err != nil {
				return err
			}
		}
		for range 2000 {
			if _, err := tx.Decide(b.Context(), drop.Decision{Drop: "1", Outcome: drop.Held}); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		b.Fatal(err)
	}
	b.SetBytes(70 * 150e3)
	for b.Loop() {
		if v, err := s.Verify(b.Context()); err != nil || v.Break != nil {
			b.Fatal(v.Break, err)
		}
	}
}
