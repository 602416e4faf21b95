package lsq

import (
	"math"
	"sort"

	"github.com/hardcatch/hardcatch/internal/num/uncert"
)

// LackOfFit tells whether a polynomial is the wrong model.
type LackOfFit struct {
	// NextDegree is the p-value of the extra-sum-of-squares F test against one degree more.
	NextDegree float64
	// NextResidualSD is the residual standard deviation with one degree more.
	NextResidualSD float64
	// PureError is the p-value of the F test against the scatter of repeated readings at one x, NaN
	// without repeats.
	PureError float64
	// Significant is set when either p-value is below Level.
	Significant bool
	Level       float64
}

// TestLackOfFit holds a fitted polynomial against one of a degree more and, where x repeats, against
// the scatter of the repeats, at the level given (0.01 usual). Both p-values are NaN when there are
// too few points. Source: Draper and Smith, Applied Regression Analysis, 3rd ed., 2.1 and 6.1
// (recalled).
func TestLackOfFit(p *Polynomial, x, y []float64, level float64) LackOfFit {
	t := LackOfFit{NextDegree: math.NaN(), NextResidualSD: math.NaN(), PureError: math.NaN(), Level: level}
	if more, err := FitPolynomial(x, y, len(p.C)); err == nil {
		t.NextResidualSD = more.ResidualSD
		floor := rounding(y)
		if extra := p.RSS - more.RSS; p.RSS > floor {
			if more.RSS <= floor {
				t.NextDegree = 0
			} else {
				t.NextDegree = uncert.FTail(extra/(more.RSS/float64(more.DoF)), 1, float64(more.DoF))
			}
		}
	}
	t.PureError = pureError(p, x, y)
	t.Significant = t.NextDegree < level || t.PureError < level
	return t
}

// rounding is the residual sum of squares that arithmetic alone may leave.
func rounding(y []float64) float64 {
	ss := 0.0
	for _, v := range y {
		ss += v * v
	}
	return ss * 1e-28
}

func pureError(p *Polynomial, x, y []float64) float64 {
	order := make([]int, len(x))
	for i := range order {
		order[i] = i
	}
	sort.SliceStable(order, func(a, b int) bool { return x[order[a]] < x[order[b]] })
	var ss float64
	groups, dof := 0, 0
	for i := 0; i < len(order); {
		j, mean := i, 0.0
		for j < len(order) && x[order[j]] == x[order[i]] {
			mean += y[order[j]]
			j++
		}
		mean /= float64(j - i)
		for _, k := range order[i:j] {
			ss += (y[k] - mean) * (y[k] - mean)
		}
		groups++
		dof += j - i - 1
		i = j
	}
	lack := groups - len(p.C)
	if dof < 1 || lack < 1 || ss <= rounding(y) {
		return math.NaN()
	}
	return uncert.FTail((p.RSS-ss)/float64(lack)/(ss/float64(dof)), float64(lack), float64(dof))
}
