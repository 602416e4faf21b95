package exact

import (
	"fmt"
	"math"

	"github.com/hardcatch/hardcatch/internal/num/uncert"
)

// Side says where a value would have to lie to be suspect.
type Side int

// The sides.
const (
	Either Side = iota
	High
	Low
)

// Outlier is the most suspect of some values, flagged or not. It is never dropped: a flag asks for a
// look at the record, and only a cause found there is a reason to leave a value out.
type Outlier struct {
	Index               int // in the input
	Value               float64
	Test                string  // "Grubbs" or "Dixon r10" ...
	Statistic, Critical float64 // flagged when Statistic exceeds Critical
	P                   float64 // chance of a statistic so high where nothing is wrong
	PIsBound            bool    // P is not the chance itself but no less than it
	Flagged             bool
	N                   int
	Level               float64
	Warnings            []string
}

// Grubbs tests whether the value farthest from the mean (on the side given) belongs to the same normal
// population:
//
//	G = |x - mean|/sd, P = m P(t(n-2) > t), t^2 = n (n-2) G^2/((n-1)^2 - n G^2)
//
// with m = n for one side and 2n for either. P is exact where no two values can be so far out at once, and an
// upper bound below that (PIsBound). At least 3 values, finite and not all equal, and a level between 0 and
// 1; else an error. Source: Grubbs, Ann. Math. Stat. 21 (1950) 27-58; Pearson and Chandra Sekar,
// Biometrika 28 (1936) 308-320.
func Grubbs(x []float64, side Side, level float64) (Outlier, error) {
	mean, sd, err := moments(x, 3)
	if err != nil {
		return Outlier{}, fmt.Errorf("outlier test: %w", err)
	}
	n := len(x)
	critical, err := GrubbsCritical(n, side, level)
	if err != nil {
		return Outlier{}, err
	}
	o := Outlier{Test: "Grubbs", N: n, Level: level, Critical: critical, Statistic: math.Inf(-1)}
	for i, v := range x {
		g := (v - mean) / sd
		switch side {
		case Low:
			g = -g
		case Either:
			g = math.Abs(g)
		}
		if g > o.Statistic {
			o.Statistic, o.Index, o.Value = g, i, v
		}
	}
	o.P = grubbsP(o.Statistic, n, side)
	o.PIsBound = o.Statistic < aloneFrom(n, side)
	o.Flagged = o.Statistic > o.Critical
	if othersEqual(x, o.Index) {
		o.Warnings = append(o.Warnings, "all other values are equal: they were read too coarsely for this test")
	}
	return o, nil
}

// GrubbsCritical is the statistic that is exceeded with probability level (at most, where P is a bound).
func GrubbsCritical(n int, side Side, level float64) (float64, error) {
	if n < 3 {
		return math.NaN(), fmt.Errorf("outlier test: %d values; among fewer than 3 none can be told to lie apart", n)
	}
	if err := checkSide(side, level); err != nil {
		return math.NaN(), err
	}
	f := float64(n)
	t := -uncert.StudentQuantile(level/grubbsFamily(n, side), f-2)
	return (f - 1) / math.Sqrt(f) * math.Sqrt(t*t/(f-2+t*t)), nil
}

func checkSide(side Side, level float64) error {
	if side != Either && side != High && side != Low {
		return fmt.Errorf("outlier test: side %d is not known; either, high or low", side)
	}
	if !(level > 0 && level < 1) {
		return fmt.Errorf("outlier test: level %g does not lie between 0 and 1", level)
	}
	return nil
}

func grubbsFamily(n int, side Side) float64 {
	if side == Either {
		return 2 * float64(n)
	}
	return float64(n)
}

func grubbsP(g float64, n int, side Side) float64 {
	f := float64(n)
	room := (f-1)*(f-1) - f*g*g
	if room <= 0 {
		return 0
	}
	t := math.Sqrt(f * (f - 2) * g * g / room)
	return math.Min(1, grubbsFamily(n, side)*uncert.StudentTail(t, f-2)/2)
}

// aloneFrom is the statistic from which on no second value can be as far out: sums of squares leave no
// room for two.
func aloneFrom(n int, side Side) float64 {
	f := float64(n)
	if side == Either {
		return math.Sqrt((f - 1) / 2)
	}
	return math.Sqrt((f - 1) * (f - 2) / (2 * f))
}

// othersEqual tells that all values but one are the same.
func othersEqual(x []float64, but int) bool {
	first := 0
	if but == 0 {
		first = 1
	}
	for i, v := range x {
		if i != but && v != x[first] {
			return false
		}
	}
	return true
}
