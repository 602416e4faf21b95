package probit

import (
	"cmp"
	"fmt"
	"math"
	"math/big"
	"slices"
)

// digits is to how many figures of the greatest level levels are told apart. Heights are written with fewer, and what
// arithmetic leaves behind them (1.2 - 0.1 - 0.1 is 0.9999999999999999) lies beyond.
const digits = 12

// step is a level as a whole number of units in the last of those figures, so that order and slope are decided without rounding.
type step struct {
	Level
	n int64
}

// gather sorts the levels, puts those of one height together and leaves out those without a result.
func gather(levels []Level) []step {
	most := 0.0
	for _, l := range levels {
		most = math.Max(most, math.Abs(l.X))
	}
	up := 0
	if most > 0 {
		up = digits - 1 - int(math.Floor(math.Log10(most)))
	}
	first, second := math.Pow10(up/2), math.Pow10(up-up/2) // one power would overflow for tiny levels
	steps := make([]step, 0, len(levels))
	for _, l := range levels {
		if l.Broke+l.Held > 0 {
			steps = append(steps, step{l, int64(math.Round(l.X * first * second))})
		}
	}
	slices.SortStableFunc(steps, func(a, b step) int { return cmp.Compare(a.n, b.n) })
	merged := steps[:0]
	for _, s := range steps {
		if k := len(merged) - 1; k >= 0 && merged[k].n == s.n {
			merged[k].Broke += s.Broke
			merged[k].Held += s.Held
			continue
		}
		merged = append(merged, s)
	}
	return merged
}

// weigh gives each level its weight in the slope, broke * all held - held * all broken. The weights sum to 0.
func weigh(steps []step) []big.Int {
	var broke, held int64
	for _, s := range steps {
		broke += int64(s.Broke)
		held += int64(s.Held)
	}
	w := make([]big.Int, len(steps))
	var lost, won big.Int
	for i, s := range steps {
		won.Mul(won.SetInt64(int64(s.Broke)), lost.SetInt64(held))
		lost.Mul(lost.SetInt64(int64(s.Held)), w[i].SetInt64(broke))
		w[i].Sub(&won, &lost)
	}
	return w
}

// rises tells whether the greatest likelihood lies at a slope 1/Sigma above 0. l being concave, it does where the score
// of the slope is above 0 at slope 0 and the best constant probability:
//
//	dl/db = c sum (broke_i H - held_i B) x_i, c > 0, B and H all broken and all held
//
// that is, where the mean level of the broken is above the mean level of the held. In whole numbers, without rounding.
func rises(steps []step) bool {
	var sum, term big.Int
	for i, w := range weigh(steps) {
		sum.Add(&sum, term.Mul(&w, term.SetInt64(steps[i].n)))
	}
	return sum.Sign() > 0
}

// risesLog is rises for the logarithms of the levels, which no whole number holds. The sum counts as above 0 only where it is
// by more than its own rounding: below that, the height at which half break would lie some 1e12 spans of the series away.
func risesLog(steps []step) bool {
	const unit = 1.0 / (1 << 52)
	sum, doubt := 0.0, 0.0
	for i, w := range weigh(steps) {
		x := math.Log(float64(steps[i].n) / float64(steps[0].n))
		weight, _ := new(big.Float).SetInt(&w).Float64()
		sum += weight * x
		doubt += math.Abs(weight) * (1 + float64(len(steps)+3)*x) * unit
	}
	return sum > doubt
}

// fault says which level is no count at a place.
func fault(levels []Level, logarithms bool) error {
	for _, l := range levels {
		if math.IsNaN(l.X) || math.IsInf(l.X, 0) || l.Broke < 0 || l.Held < 0 {
			return fmt.Errorf("%d broken and %d held at %g: a level is a finite number with counts from 0", l.Broke, l.Held, l.X)
		}
		if logarithms && l.X <= 0 {
			return fmt.Errorf("%d broken and %d held at %g: a level with a logarithm lies above 0", l.Broke, l.Held, l.X)
		}
	}
	return nil
}
