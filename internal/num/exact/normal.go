package exact

import (
	"math"

	"gonum.org/v1/gonum/integrate/quad"
)

const logRoot2Pi = 0.91893853320467274178

// logPhi is the logarithm of the standard normal distribution function, with all digits in both tails:
// below -30 by the asymptotic series (Abramowitz and Stegun, 26.2.12).
func logPhi(x float64) float64 {
	switch {
	case x > 5:
		return math.Log1p(-phiTail(x))
	case x > -30:
		return math.Log(phiTail(-x))
	}
	y := 1 / (x * x)
	return -x*x/2 - math.Log(-x) - logRoot2Pi + math.Log1p(-y*(1-3*y*(1-5*y*(1-7*y*(1-9*y*(1-11*y))))))
}

// phiTail is the probability that a standard normal variable exceeds x.
func phiTail(x float64) float64 { return math.Erfc(x/math.Sqrt2) / 2 }

func density(x float64) float64 { return math.Exp(-x*x/2 - logRoot2Pi) }

// normalUpper is the value that a standard normal variable exceeds with probability p.
func normalUpper(p float64) float64 {
	if p > 0.5 {
		return -normalUpper(1 - p)
	}
	goal := math.Log(p)
	return root(func(x float64) float64 { return goal - logPhi(-x) }, -1e-9, 39)
}

// gauss holds panels of 20 Gauss-Legendre points each; within a panel the points are in no order.
type gauss struct{ x, w []float64 }

func newGauss(lo, hi float64, panels int) gauss {
	const points = 20
	g := gauss{x: make([]float64, points*panels), w: make([]float64, points*panels)}
	width := (hi - lo) / float64(panels)
	for i := range panels {
		from := lo + float64(i)*width
		quad.Legendre{}.FixedLocations(g.x[i*points:(i+1)*points], g.w[i*points:(i+1)*points], from, from+width)
	}
	return g
}
