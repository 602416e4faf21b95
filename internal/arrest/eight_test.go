package arrest

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/hardcatch/hardcatch/internal/num/ode"
)

// Eight values or slopes at a time are those of Horner's rule one after another, at every order,
// whether vector instructions do it or not.
func TestEightAtATime(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 8))
	for n := 1; n <= maxOrder; n++ {
		var c series
		for k := range c {
			c[k] = r.NormFloat64() // beyond order n too: it must not be read
		}
		var times, values, slopes [8]float64
		for i := range times {
			times[i] = r.Float64()
		}
		eightValues(&c, n, &times, &values)
		eightSlopes(&c, n, &times, &slopes)
		for i, at := range times {
			within(t, "value", values[i], ode.Value(c[:], n, at), 1e-13, 1e-13)
			within(t, "slope", slopes[i], ode.Slope(c[:], n, at), 1e-13, 1e-12)
		}
	}
}

// Sums with the powers of the step are Horner's rule and the bound that it gives, at every order.
func TestSumsWithPowers(t *testing.T) {
	r := rand.New(rand.NewPCG(9, 10))
	for n := 1; n <= maxOrder; n++ {
		var c series
		for k := range c {
			c[k] = r.NormFloat64()
		}
		h := 2 * r.Float64()
		var p series
		p.fill(n, h)
		size := 0.0 // the sum of |c[k]| h^k, k >= 1
		for k := n; k >= 1; k-- {
			size = (size + math.Abs(c[k])) * h
		}
		within(t, "dot", dot(&c, &p, n), ode.Value(c[:], n, h), 0, 1e-14*size)
		within(t, "spread", spread(&c, &p, n), size, 1e-14, 0)
	}
}

// The mean of t^(2k) over 0 to h is h^(2k)/(2k + 1), exact by Gauss's rule of eight points while
// 2k <= 15.
func TestMeanSquareOfMonomials(t *testing.T) {
	const h = 0.7
	var times [8]float64
	for i, x := range gaussNodes {
		times[i] = x * h
	}
	for k := 1; k <= 7; k++ {
		var c series
		c[k] = 1
		within(t, "mean square", meanSquare(&c, 18, &times), math.Pow(h, float64(2*k))/float64(2*k+1), 1e-14, 0)
	}
}

// passage finds zeros to the last figures: of a line at once, of 2 - t^2 at the root of 2, of
// (1 - t)^3, where it creeps, to the cube root of the last bit.
func TestPassage(t *testing.T) {
	for i, c := range []struct {
		coefficients []float64
		lo, hi       float64
		want, tol    float64
	}{
		{[]float64{1, -4}, 0, 3, 0.25, 1e-15},
		{[]float64{2, 0, -1}, 0, 2, math.Sqrt2, 1e-15},
		{[]float64{2, 0, -1}, 1.25, 4, math.Sqrt2, 1e-15},
		{[]float64{1, -3, 3, -1}, 0, 1.9, 1, 1e-5},
	} {
		var s series
		copy(s[:], c.coefficients)
		n := len(c.coefficients) - 1
		if got := passage(&s, n, c.lo, c.hi, ode.Value(s[:], n, c.lo)); math.Abs(got-c.want) > c.tol {
			t.Errorf("case %d: %.17g, want %.17g", i+1, got, c.want)
		}
	}
}
