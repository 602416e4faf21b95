package ensemble

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// The order statistics are those of a full sort, to the bit: ties, outliers that leave all else in one
// bin, peaks all alike, one peak.
func TestRanksAreThoseOfASort(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 1))
	draws := map[string]func() float64{
		"normal":  func() float64 { return 12e3 + 900*r.NormFloat64() },
		"ties":    func() float64 { return math.Floor(4 * r.Float64()) },
		"outlier": func() float64 { return math.Exp(40 * r.Float64()) },
		"alike":   func() float64 { return 4500 },
		"close":   func() float64 { return math.Nextafter(4500, 4501+float64(r.IntN(2))*-2) },
	}
	for name, draw := range draws {
		for _, n := range []int{1, 2, 3, 7, 100, 4097} {
			out, sorted := make([]Outcome, n), make([]float64, n)
			for i := range out {
				out[i].Peak = draw()
				sorted[i] = out[i].Peak
			}
			slices.Sort(sorted)
			places := []int{0, n / 20, n / 2, n * 19 / 20, n - 1}
			got := ranks(out, places)
			for _, k := range places {
				if got[k] != sorted[k] {
					t.Errorf("%s, %d peaks: place %d is %v, want %v", name, n, k, got[k], sorted[k])
				}
			}
		}
	}
}

// Six peaks by hand: 1 2 3 4 5 6 kN. The median takes place floor(6 x 0.5) = 3, its interval the
// places floor(3 - 1.96 sqrt(1.5)) = 0 and ceil(3 + 2.40) = 6, held to the largest.
func TestPercentileOfSix(t *testing.T) {
	var out []Outcome
	for _, v := range []float64{4e3, 1e3, 6e3, 3e3, 2e3, 5e3} {
		out = append(out, Outcome{Peak: v})
	}
	p := Percentiles(out, 0.5)[0]
	if p.Value != 4e3 || p.Lo != 1e3 || p.Hi != 6e3 || !p.FewerThan5 {
		t.Errorf("%+v", p)
	}
	if out[0].Peak != 4e3 || out[5].Peak != 5e3 {
		t.Error("the drops were put into another order")
	}
}

func BenchmarkPercentiles(b *testing.B) {
	r := rand.New(rand.NewPCG(1, 1))
	out := make([]Outcome, 1_000_000)
	for i := range out {
		out[i].Peak = 12e3 + 900*r.NormFloat64()
	}
	for b.Loop() {
		Percentiles(out, 0.01, 0.05, 0.25, 0.5, 0.75, 0.95, 0.99, 0.999)
	}
}
