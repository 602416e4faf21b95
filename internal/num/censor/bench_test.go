package censor

import (
	"math"
	"math/rand/v2"
	"testing"
)

// draws are n Weibull values of shape 8 and scale 22, those above the bound being right-censored.
func draws(n int, bound float64, r *rand.Rand) []Value {
	v := make([]Value, n)
	for i := range v {
		x := 22 * math.Pow(-math.Log1p(-r.Float64()), 1.0/8)
		if v[i] = Exact(x); x > bound {
			v[i] = AtLeast(bound)
		}
	}
	return v
}

func benchmarkFit(b *testing.B, n int) {
	v := draws(n, 22, rand.New(rand.NewPCG(1, 2)))
	b.ReportAllocs()
	for b.Loop() {
		m, err := Fit(v, Weibull)
		if err != nil {
			b.Fatal(err)
		}
		if _, err := m.QuantileInterval(.05, .95); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkFit20(b *testing.B)   { benchmarkFit(b, 20) }
func BenchmarkFit1000(b *testing.B) { benchmarkFit(b, 1000) }
