package exact

import (
	"fmt"
	"math"
	"sort"

	"github.com/hardcatch/hardcatch/internal/num/censor"
)

// CensoredPair is two cells of which some values are only known to lie beyond a bound.
type CensoredPair struct{ A, B []censor.Value }

// Scores says how censored values are put in order.
type Scores int

// The scores. Both rise with the value: A above B gives a positive difference.
const (
	// Gehan counts the values surely below less the values surely above; any kind of censoring.
	Gehan Scores = iota
	// LogRank is the cumulative hazard at the value, less 1 if it was seen; exact and right-censored
	// values. Its sum over a group is expected less observed events.
	LogRank
)

// CensoredRanks is the permutation test of scores of censored values, within each pair; over several pairs
// Gehan's scores are divided by the number of values in the pair plus one. It is exact when what censors
// is alike on both sides of each pair, which a warning recalls where something is censored. Errors as MeanDifference, and for values that contradict
// themselves or that the scores cannot take.
//
// Sources: Gehan, Biometrika 52 (1965) 203-223; Peto and Peto, J. R. Stat. Soc. A 135 (1972) 185-207;
// stratified as van Elteren 1960 (recalled).
func CensoredRanks(pairs []CensoredPair, scores Scores, s Sampling) (Permutation, error) {
	var strata []stratum
	var warnings []string
	censored := false
	for i, p := range pairs {
		a, err := spread(p.A)
		if err != nil {
			return Permutation{}, fmt.Errorf("pair %d, A: %w", i+1, err)
		}
		b, err := spread(p.B)
		if err != nil {
			return Permutation{}, fmt.Errorf("pair %d, B: %w", i+1, err)
		}
		if len(a) == 0 || len(b) == 0 {
			warnings = append(warnings, fmt.Sprintf("pair %d has %d against %d values and says nothing about the difference; left out", i+1, len(a), len(b)))
			continue
		}
		all := append(append([]censor.Value{}, a...), b...)
		for _, v := range all {
			censored = censored || v.Kind() != censor.Observed
		}
		var c []float64
		switch scores {
		case Gehan:
			c = gehanScores(all)
		case LogRank:
			if c, err = logRankScores(all); err != nil {
				return Permutation{}, fmt.Errorf("pair %d: %w", i+1, err)
			}
		default:
			return Permutation{}, fmt.Errorf("scores %d are not known; Gehan or LogRank", scores)
		}
		strata = append(strata, centred(c, len(a)))
	}
	if len(strata) > 0 && noOrder(strata) {
		return Permutation{}, fmt.Errorf("no value is surely above another (all equal, or all censored): there is nothing to test")
	}
	if censored {
		warnings = append(warnings, "some values are bounds: the test is exact only if what censors them is alike on both sides")
	}
	t, err := test(strata, s)
	t.Warnings = append(warnings, t.Warnings...)
	return t, err
}

func noOrder(strata []stratum) bool {
	for _, d := range strata {
		for _, v := range d.dev {
			if v != 0 {
				return false
			}
		}
	}
	return true
}

// spread is one value for each observation.
func spread(v []censor.Value) ([]censor.Value, error) {
	var all []censor.Value
	for i, x := range v {
		if err := x.Check(); err != nil {
			return nil, fmt.Errorf("value %d: %w", i+1, err)
		}
		n := x.N()
		x.Count = 1
		for range n {
			all = append(all, x)
		}
	}
	return all, nil
}

// below tells that a cannot lie above b: a bound that touches counts as beyond, equal exact values do not.
func below(a, b censor.Value) bool {
	return a.Hi <= b.Lo && a.Lo < b.Hi
}

func gehanScores(v []censor.Value) []float64 {
	c := make([]float64, len(v))
	for i, x := range v {
		for _, y := range v {
			if below(y, x) {
				c[i]++
			} else if below(x, y) {
				c[i]--
			}
		}
		c[i] /= float64(len(v) + 1)
	}
	return c
}

func logRankScores(v []censor.Value) ([]float64, error) {
	order := make([]int, len(v))
	for i, x := range v {
		if k := x.Kind(); k != censor.Observed && k != censor.RightCensored {
			return nil, fmt.Errorf("log-rank scores take exact values and lower bounds, not [%g, %g]; use Gehan's", x.Lo, x.Hi)
		}
		order[i] = i
	}
	sort.SliceStable(order, func(a, b int) bool { return v[order[a]].Lo < v[order[b]].Lo })
	c := make([]float64, len(v))
	hazard := 0.0
	for i := 0; i < len(order); {
		j, events := i, 0
		for j < len(order) && v[order[j]].Lo == v[order[i]].Lo {
			if !math.IsInf(v[order[j]].Hi, 1) {
				events++
			}
			j++
		}
		hazard += float64(events) / float64(len(order)-i)
		for _, k := range order[i:j] {
			c[k] = hazard
			if !math.IsInf(v[k].Hi, 1) {
				c[k]--
			}
		}
		i = j
	}
	return c, nil
}
