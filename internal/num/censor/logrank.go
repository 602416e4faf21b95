package censor

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
)

// LogRankTest tells whether groups differ in their survival.
type LogRankTest struct {
	Chi2     float64
	DF       int
	P        float64   // by chi-squared: rough when few values were seen
	Observed []float64 // seen, by group
	Expected []float64 // if there were no difference
}

// LogRank tests that all groups have one survival curve, from exact and right-censored values. Source: Mantel,
// Cancer Chemother. Rep. 50 (1966) 163-170; variance with ties as hypergeometric.
func LogRank(groups [][]Value) (LogRankTest, error) {
	k := len(groups)
	if k < 2 {
		return LogRankTest{}, failf(ErrArgument, "a log-rank test compares at least two groups")
	}
	t := LogRankTest{Observed: make([]float64, k), Expected: make([]float64, k), DF: k - 1}
	each := make([][]step, k)
	risk := make([]float64, k)
	var places []float64
	for g, values := range groups {
		s, c, err := steps(values, "the log-rank test", "use a regression")
		if err != nil {
			return LogRankTest{}, err
		}
		if c.N == 0 {
			return LogRankTest{}, failf(ErrNotIdentified, "group %d of the log-rank test has no value", g+1)
		}
		each[g], risk[g] = s, float64(c.N)
		for _, e := range s {
			if e.events > 0 {
				places = append(places, e.x)
			}
		}
	}
	slices.Sort(places)
	places = slices.Compact(places)
	v := mat.NewSymDense(k-1, nil)
	next := make([]int, k)
	events := make([]float64, k)
	for _, x := range places {
		d, n := 0.0, 0.0
		for g := range k {
			events[g] = 0
			for ; next[g] < len(each[g]) && each[g][next[g]].x < x; next[g]++ {
				risk[g] -= each[g][next[g]].events + each[g][next[g]].censored
			}
			if next[g] < len(each[g]) && each[g][next[g]].x == x {
				events[g] = each[g][next[g]].events
			}
			d += events[g]
			n += risk[g]
		}
		spread := 0.0
		if n > 1 {
			spread = d * (n - d) / (n - 1)
		}
		for g := range k {
			t.Observed[g] += events[g]
			t.Expected[g] += d * risk[g] / n
			for h := 0; h <= g && g < k-1; h++ {
				c := -risk[g] / n * risk[h] / n
				if g == h {
					c += risk[g] / n
				}
				v.SetSym(g, h, v.At(g, h)+spread*c)
			}
		}
	}
	u := mat.NewVecDense(k-1, nil)
	for g := range k - 1 {
		u.SetVec(g, t.Observed[g]-t.Expected[g])
	}
	var f mat.Cholesky
	if !f.Factorize(v) || f.Cond() > 1e12 {
		return LogRankTest{}, failf(ErrNotIdentified, "the log-rank test cannot tell the groups apart: too few values were seen while more than one group was at risk")
	}
	var w mat.VecDense
	if err := f.SolveVecTo(&w, u); err != nil {
		return LogRankTest{}, failf(ErrNotIdentified, "the log-rank test cannot be computed: %v", err)
	}
	t.Chi2 = math.Max(0, mat.Dot(u, &w))
	t.P = chi2Tail(t.Chi2, float64(t.DF))
	return t, nil
}
