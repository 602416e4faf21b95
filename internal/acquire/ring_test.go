package acquire

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// The ring holds the last samples as a list of all samples does.
func TestRing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		room := rapid.IntRange(1, 20).Draw(t, "room")
		r := NewRing(1, room)
		var all []float64
		begun := false
		for range rapid.IntRange(0, 12).Draw(t, "steps") {
			gap, n := rapid.IntRange(0, 30).Draw(t, "gap"), rapid.IntRange(1, 45).Draw(t, "n")
			for range gap {
				all = append(all, math.NaN())
			}
			first := int64(len(all))
			v := make([]float64, n)
			for i := range v {
				v[i] = float64(first + int64(i))
			}
			cut := rapid.IntRange(0, n-1).Draw(t, "cut")
			r.Put(first, [][]float64{v}, 0, cut)
			if cut == 0 && !begun {
				r.Put(first, [][]float64{v}, 0, 1)
				cut = 1
			}
			r.Put(first, [][]float64{v}, cut, n)
			begun = true
			all = append(all, v...)
		}
		if r.Next() != int64(len(all)) || r.Next()-r.First() > int64(room) {
			t.Fatalf("holds %d to %d of %d in %d", r.First(), r.Next(), len(all), room)
		}
		if begun && r.Next()-r.First() < min(int64(room), 1) {
			t.Fatal("holds nothing")
		}
		got := r.Append(nil, 0, r.First(), r.Next())
		for i, v := range got {
			if want := all[r.First()+int64(i)]; v != want && !(math.IsNaN(v) && math.IsNaN(want)) {
				t.Fatalf("sample %d is %v, want %v", r.First()+int64(i), v, want)
			}
		}
	})
}
