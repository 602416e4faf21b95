package censor

import (
	"math"
	"math/big"
	"testing"
)

// mills is the continued fraction of (1 - Phi(z))/phi(z) = 1/(z + 1/(z + 2/(z + ...))) with many terms, in 200 bits.
func mills(z float64) float64 {
	r := big.NewFloat(z).SetPrec(200)
	for k := 4000; k > 0; k-- {
		r.Quo(new(big.Float).SetPrec(200).SetInt64(int64(k)), r)
		r.Add(r, big.NewFloat(z))
	}
	x, _ := new(big.Float).SetPrec(200).Quo(big.NewFloat(1), r).Float64()
	return x
}

// Abramowitz and Stegun 26.2.14 (the continued fraction), for tails far beyond where 1 - Phi underflows.
func TestNormalTail(t *testing.T) {
	for _, z := range []float64{1, 3, 8, 20, 29.9, 30.1, 37, 39, 60, 1e3, 1e6} {
		m := mills(z)
		near(t, "log tail", logNormalTail(z), -z*z/2-logRoot2Pi+math.Log(m), 1e-13, 0)
		h, slope := normalHazard(z)
		near(t, "hazard", h, 1/m, 1e-12, 0)
		if z > farTail {
			// h (h - z) -> 1 - 1/z^2 + 6/z^4, by the series.
			near(t, "slope", slope, 1-1/(z*z)+6/(z*z*z*z), 1e-6, 0)
		}
	}
	near(t, "log tail at -10", logNormalTail(-10), -math.Erfc(10/math.Sqrt2)/2, 1e-12, 0)
	for _, p := range []float64{1e-300, 1e-15, .05, .5} {
		near(t, "quantile and back", logNormalTail(-normalQuantile(p)), math.Log(p), 1e-12, 0)
	}
}

func TestProbabilityBetween(t *testing.T) {
	for _, c := range [][2]float64{{-1, 2}, {3, 3.001}, {-40, -39}, {38, 38.5}, {50, 60}, {-.0001, .0001}} {
		want := math.Log(-math.Expm1(logNormalTail(c[1])-logNormalTail(c[0]))) + logNormalTail(c[0])
		if c[1] <= 0 {
			want = math.Log(-math.Expm1(logNormalTail(-c[0])-logNormalTail(-c[1]))) + logNormalTail(-c[1])
		}
		near(t, "normal", logNormalBetween(c[0], c[1]), want, 1e-9, 1e-9)
	}
	// exp(-w) (1 - exp(-d)): both ends far down the lower tail leave e^b - e^a.
	near(t, "extreme, low", logExtremeBetween(-750, -749), -749+math.Log(-math.Expm1(-1)), 1e-14, 0)
	near(t, "extreme, middle", logExtremeBetween(0, 1), math.Log(math.Exp(-1)-math.Exp(-math.E)), 1e-14, 0)
	near(t, "extreme, high", logExtremeBetween(6, 7), -math.Exp(6), 1e-14, 0)
}

// The slopes of each term agree with differences of its value, and an interval goes over into the density at
// its middle.
func TestTermSlopes(t *testing.T) {
	for _, extreme := range []bool{false, true} {
		for name, term := range map[string]func(bool, float64) slopes1{"density": densityTerm, "above": aboveTerm, "below": belowTerm, "bend": bendTerm} {
			for _, z := range []float64{-35, -6, -1, .3, 2, 4} {
				const d = 1e-5
				s, up, down := term(extreme, z), term(extreme, z+d), term(extreme, z-d)
				near(t, name+" d1", s.d1, (up.l-down.l)/(2*d), 1e-7, 1e-6*(1+math.Abs(s.l)*1e-4))
				near(t, name+" d2", s.d2, (up.d1-down.d1)/(2*d), 1e-7, 1e-6)
			}
		}
		for _, a := range []float64{-5, -1, 0, 1.2} {
			const d = 1e-5
			w := .7
			s := betweenTerm(extreme, a, w)
			near(t, "db", s.db, (betweenTerm(extreme, a, w+d).l-betweenTerm(extreme, a, w-d).l)/(2*d), 1e-7, 1e-7)
			near(t, "da", s.da, (betweenTerm(extreme, a+d, w-d).l-betweenTerm(extreme, a-d, w+d).l)/(2*d), 1e-7, 1e-7)
			near(t, "dbb", s.dbb, (betweenTerm(extreme, a, w+d).db-betweenTerm(extreme, a, w-d).db)/(2*d), 1e-6, 1e-6)
			near(t, "dab", s.dab, (betweenTerm(extreme, a, w+d).da-betweenTerm(extreme, a, w-d).da)/(2*d), 1e-6, 1e-6)
			w = 1e-3
			mid := densityTerm(extreme, a+w/2)
			near(t, "narrow", betweenTerm(extreme, a, w).l, mid.l+math.Log(w)+w*w/24*bendTerm(extreme, a+w/2).l, 1e-12, 1e-11)
		}
	}
}
