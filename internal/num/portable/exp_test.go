package portable

import (
	"math"
	"math/big"
	"math/rand/v2"
	"testing"
)

// reference is e^x from its series with 200 bits: e^(x/2^10) squared ten times.
func reference(x float64) float64 {
	prec := func() *big.Float { return new(big.Float).SetPrec(240) }
	r := prec().SetMantExp(prec().SetFloat64(x), -10)
	sum, term := prec().SetInt64(1), prec().SetInt64(1)
	for n := int64(1); n < 60; n++ {
		term.Mul(term, r)
		term.Quo(term, prec().SetInt64(n))
		sum.Add(sum, term)
	}
	for range 10 {
		sum.Mul(sum, sum)
	}
	v, _ := sum.Float64()
	return v
}

func TestExp(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 8))
	for range 4000 {
		x := 3 * rng.NormFloat64()
		if got, want := Exp(x), reference(x); math.Abs(got-want) > 1e-15*want {
			t.Errorf("e^%v: %v, want %v", x, got, want)
		}
	}
	for _, x := range []float64{0, 700, -700, 1e-300} {
		if got, want := Exp(x), reference(x); math.Abs(got-want) > 1e-15*want {
			t.Errorf("e^%v: %v, want %v", x, got, want)
		}
	}
	for _, x := range []float64{701, -701, math.NaN(), math.Inf(1), math.Inf(-1)} {
		if got := Exp(x); !math.IsNaN(got) {
			t.Errorf("e^%v: %v", x, got)
		}
	}
}

// The bits are these on every processor (recorded on amd64 with fused multiply-add, where the standard library gives them too).
func TestExpBits(t *testing.T) {
	sum := uint64(0)
	for i := range 100000 {
		sum = sum*31 + math.Float64bits(Exp(float64(i-50000)/7001))
	}
	if sum != 0xcf0764c19fd3687c {
		t.Errorf("the bits add up to %#x", sum)
	}
}
