// Package variation tells apart spread within groups, between groups and over time.
package variation

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mathext"

	"github.com/hardcatch/hardcatch/internal/num/uncert"
)

// Group is what one day, operator, rig or laboratory measured.
type Group struct {
	Name   string
	Values []float64
}

// OneWay is a one-way analysis of variance, with the groups taken as a sample of all such groups.
type OneWay struct {
	Groups, N int
	Mean      float64 // of all values

	BetweenSS, WithinSS   float64
	BetweenDoF, WithinDoF int
	BetweenMS, WithinMS   float64
	F, P                  float64 // P: chance of an F so high where groups do not differ

	// WithinVariance and BetweenVariance are the components. Where the groups differ less than their own
	// spread explains, BetweenRaw is negative and BetweenVariance is 0, with a warning.
	WithinVariance, BetweenVariance, BetweenRaw float64
	// Size is the group size that a balanced plan of the same worth would have: (N - sum n^2/N)/(groups - 1).
	Size float64

	Warnings []string
}

// AnalyseOneWay splits the sum of squares of groups, which need not be equally large:
//
//	between = sum n_i (mean_i - mean)^2, within = sum (x - mean_i)^2
//	variance between = (MS between - MS within)/Size
//
// At least two groups, no group empty, at least one with two values, and values finite that are not all
// equal; otherwise an error says which group is at fault. Where every group agrees in itself F is +Inf and P 0, with a
// warning. Source: ISO 5725-2:2019, 7.4; NIST/SEMATECH e-Handbook 7.4.3.
func AnalyseOneWay(groups []Group) (OneWay, error) {
	s, err := summarise(groups)
	if err != nil {
		return OneWay{}, err
	}
	a := OneWay{Groups: len(groups), N: s.n, Mean: s.mean, BetweenDoF: len(groups) - 1, WithinDoF: s.n - len(groups)}
	squares := 0.0
	for _, g := range s.groups {
		a.WithinSS += g.ss
		a.BetweenSS += float64(g.n) * (g.mean - s.mean) * (g.mean - s.mean)
		squares += float64(g.n) * float64(g.n)
	}
	a.BetweenMS, a.WithinMS = a.BetweenSS/float64(a.BetweenDoF), a.WithinSS/float64(a.WithinDoF)
	a.Size = (float64(s.n) - squares/float64(s.n)) / float64(a.BetweenDoF)
	a.WithinVariance = a.WithinMS
	a.BetweenRaw = (a.BetweenMS - a.WithinMS) / a.Size
	a.BetweenVariance = a.BetweenRaw
	if a.BetweenRaw < 0 {
		a.BetweenVariance = 0
		a.Warnings = append(a.Warnings, fmt.Sprintf("the groups differ less than their own spread explains: the variance between them comes out as %.3g and is taken as 0", a.BetweenRaw))
	}
	if a.WithinSS == 0 {
		a.F = math.Inf(1)
		a.Warnings = append(a.Warnings, "within every group all values are equal: they were read too coarsely to show a spread")
		return a, nil
	}
	a.F = a.BetweenMS / a.WithinMS
	a.P = uncert.FTail(a.F, float64(a.BetweenDoF), float64(a.WithinDoF))
	return a, nil
}

// groupSummary is what one group says by itself.
type groupSummary struct {
	n        int
	mean, ss float64
}

type summary struct {
	groups []groupSummary
	n      int
	mean   float64 // of all values
}

func summarise(groups []Group) (summary, error) {
	if len(groups) < 2 {
		return summary{}, fmt.Errorf("%d groups: at least two are needed to tell what lies between them", len(groups))
	}
	s := summary{}
	lowest, highest := math.Inf(1), math.Inf(-1)
	for i, g := range groups {
		if len(g.Values) == 0 {
			return summary{}, fmt.Errorf("group %s has no value; leave it out", name(g, i))
		}
		q := groupSummary{n: len(g.Values)}
		for j, v := range g.Values {
			if math.IsNaN(v) || math.IsInf(v, 0) {
				return summary{}, fmt.Errorf("group %s: value %d is %g; leave out what was not measured", name(g, i), j+1, v)
			}
			q.mean += (v - q.mean) / float64(j+1)
			s.n++
			s.mean += (v - s.mean) / float64(s.n)
			lowest, highest = math.Min(lowest, v), math.Max(highest, v)
		}
		if allEqual(g.Values) {
			q.mean = g.Values[0]
		}
		for _, v := range g.Values {
			q.ss += (v - q.mean) * (v - q.mean)
		}
		s.groups = append(s.groups, q)
	}
	if s.n == len(groups) {
		return summary{}, fmt.Errorf("every group has one value only: the spread within groups is not known; repeat at least one")
	}
	if lowest == highest {
		return summary{}, fmt.Errorf("all %d values are equal (%g): they show no spread; read them to more digits", s.n, lowest)
	}
	return s, nil
}

func allEqual(x []float64) bool {
	for _, v := range x {
		if v != x[0] {
			return false
		}
	}
	return true
}

// name is what a group is called in a sentence: its name, else its place from 1.
func name(g Group, i int) string {
	if g.Name != "" {
		return g.Name
	}
	return fmt.Sprint(i + 1)
}

// fUpper is the value that an F variable with d1 and d2 degrees of freedom exceeds with probability p.
// Source: Abramowitz and Stegun, 26.6.2, inverted on the side where the digits are kept.
func fUpper(p, d1, d2 float64) float64 {
	x := mathext.InvRegIncBeta(d2/2, d1/2, p)
	return d2 * (1 - x) / (d1 * x)
}
