package variation

import (
	"fmt"
	"math"

	"github.com/hardcatch/hardcatch/internal/num/uncert"
)

// Crossed is one value of a cell (what was measured) in a group (the day or operator by which it was measured).
type Crossed struct {
	Cell, Group int // from 0, without gaps
	Value       float64
}

// TwoWay is a two-way analysis of variance without interaction: cells are fixed, groups a sample of all such groups.
type TwoWay struct {
	N, Cells, Groups int
	// GroupSS is what groups explain beyond the cells; WithinSS what neither explains.
	GroupSS, WithinSS   float64
	GroupDoF, WithinDoF int
	GroupMS, WithinMS   float64
	F, P                float64 // P: chance of an F so high where groups do not differ
	// WithinVariance and BetweenVariance are the components; where BetweenRaw is negative BetweenVariance is 0, with a warning.
	WithinVariance, BetweenVariance, BetweenRaw float64
	// Effects are those of the groups, adjusted for the cells, about their mean; they are comparable only where Joined is 1.
	Effects []float64
	// Joined is the number of parts of the design that share neither cell nor group.
	Joined int
	// PerGroup holds each group's effect (h) and scatter (k) against the others, for three joined groups or more; else it is empty.
	PerGroup  []Consistency
	HCritical float64
	Warnings  []string
}

// AnalyseTwoWay fits value = cell + group + error, which needs no balance, by fitting constants:
//
//	group SS = SS left by the cells alone - SS left by cells and groups
//	degrees of freedom: groups - parts, and N - cells - groups + parts
//	variance between = (group SS - group DoF x within MS)/(N - sum over cells and groups of n(c,g)^2/n(c))
//
// parts being 1 unless the design falls apart. The consistency statistics are h = (effect - mean)/SD of the effects, and k = sqrt((SS of the
// group's residuals/its degrees of freedom)/within MS) with the critical values of AnalysePrecision at the level given; the degrees of a group are its
// size less the leverages of its values, rounded up. Both are exact in balanced designs.
//
// It fails where values are not finite, where there are not two groups within any part, and where no degree of freedom is left for the scatter.
// Sources: Henderson, Biometrics 9 (1953) 226-252, method 3 (recalled); Searle, Casella and McCulloch, Variance Components (1992), 5.5 (recalled).
func AnalyseTwoWay(values []Crossed, level float64) (TwoWay, error) {
	t := &twoWay{values: values, TwoWay: TwoWay{N: len(values)}}
	for i, v := range values {
		if math.IsNaN(v.Value) || math.IsInf(v.Value, 0) {
			return TwoWay{}, fmt.Errorf("value %d is %g; leave out what was not measured", i+1, v.Value)
		}
		t.Cells, t.Groups = max(t.Cells, v.Cell+1), max(t.Groups, v.Group+1)
	}
	t.count()
	t.solve()
	if t.GroupDoF < 1 {
		return TwoWay{}, fmt.Errorf("no cell has values of two groups: what lies between groups cannot be told from what lies between cells")
	}
	t.WithinDoF = t.N - t.Cells - t.GroupDoF
	if t.WithinDoF < 1 {
		return TwoWay{}, fmt.Errorf("%d values for %d cells and %d groups leave no degree of freedom for the scatter; repeat some", t.N, t.Cells, t.Groups)
	}
	t.sums(level)
	return t.TwoWay, nil
}

type twoWay struct {
	TwoWay
	values []Crossed
	n      [][]float64 // of cell and group
	inCell []float64
	mean   []float64   // of cells
	c      [][]float64 // reduced normal matrix of the groups, reduced in place
	back   [][]float64 // its generalised inverse
	at     []float64   // effects, one of each part 0
}

func table(rows, columns int) [][]float64 {
	out, all := make([][]float64, rows), make([]float64, rows*columns)
	for i := range out {
		out[i] = all[i*columns : (i+1)*columns]
	}
	return out
}

func (t *twoWay) count() {
	t.n, t.inCell, t.mean = table(t.Cells, t.Groups), make([]float64, t.Cells), make([]float64, t.Cells)
	for _, v := range t.values {
		t.n[v.Cell][v.Group]++
		t.inCell[v.Cell]++
		t.mean[v.Cell] += (v.Value - t.mean[v.Cell]) / t.inCell[v.Cell]
	}
}

// solve finds the effects of the groups from the normal equations without the cells, C = diag(n(g)) - sum n(c,g) n(c,g')/n(c), by elimination with
// the generalised inverse beside it; a pivot that vanishes belongs to a group that the others of its part fix.
func (t *twoWay) solve() {
	g := t.Groups
	t.c, t.back = table(g, g), table(g, g)
	right := make([]float64, g)
	for c, n := range t.n {
		for i := range g {
			t.c[i][i] += n[i]
			for j := range g {
				t.c[i][j] -= n[i] * n[j] / t.inCell[c]
			}
		}
	}
	for _, v := range t.values {
		right[v.Group] += v.Value - t.mean[v.Cell]
	}
	for i := range g {
		t.back[i][i] = 1
	}
	used := make([]bool, g)
	for p := range g {
		total := 0.0
		for _, n := range t.n {
			total += n[p]
		}
		if t.c[p][p] <= 1e-10*total {
			continue
		}
		used[p] = true
		t.GroupDoF++
		by := 1 / t.c[p][p]
		for j := range g {
			t.c[p][j] *= by
			t.back[p][j] *= by
		}
		for i := range g {
			if f := t.c[i][p]; i != p && f != 0 {
				for j := range g {
					t.c[i][j] -= f * t.c[p][j]
					t.back[i][j] -= f * t.back[p][j]
				}
			}
		}
	}
	t.Joined = g - t.GroupDoF
	t.at = make([]float64, g)
	for i := range g {
		for j := range g {
			if !used[i] || !used[j] {
				t.back[i][j] = 0
			}
			t.at[i] += t.back[i][j] * right[j]
		}
	}
}

func (t *twoWay) sums(level float64) {
	cell := make([]float64, t.Cells) // constants beside the effects
	for _, v := range t.values {
		cell[v.Cell] += (v.Value - t.at[v.Group]) / t.inCell[v.Cell]
	}
	ss, dof, size := make([]float64, t.Groups), make([]float64, t.Groups), float64(t.N)
	alone := 0.0
	for _, v := range t.values {
		r := v.Value - t.at[v.Group] - cell[v.Cell]
		ss[v.Group] += r * r
		alone += (v.Value - t.mean[v.Cell]) * (v.Value - t.mean[v.Cell])
		dof[v.Group] += 1 - t.leverage(v)
		size -= t.n[v.Cell][v.Group] / t.inCell[v.Cell]
	}
	for _, s := range ss {
		t.WithinSS += s
	}
	t.GroupSS = math.Max(0, alone-t.WithinSS)
	t.GroupMS, t.WithinMS = t.GroupSS/float64(t.GroupDoF), t.WithinSS/float64(t.WithinDoF)
	t.WithinVariance = t.WithinMS
	t.BetweenRaw = (t.GroupSS - float64(t.GroupDoF)*t.WithinMS) / size
	t.BetweenVariance = math.Max(0, t.BetweenRaw)
	if t.BetweenRaw < 0 {
		t.Warnings = append(t.Warnings, fmt.Sprintf("the groups differ less than their own spread explains: the variance between them comes out as %.3g and is taken as 0", t.BetweenRaw))
	}
	mean := 0.0
	for _, a := range t.at {
		mean += a / float64(t.Groups)
	}
	for _, a := range t.at {
		t.Effects = append(t.Effects, a-mean)
	}
	switch {
	case t.WithinSS > 0:
		t.F = t.GroupMS / t.WithinMS
		t.P = uncert.FTail(t.F, float64(t.GroupDoF), float64(t.WithinDoF))
	case t.GroupSS > 0:
		t.F = math.Inf(1)
	default:
		t.P = 1
	}
	if t.WithinSS == 0 {
		t.Warnings = append(t.Warnings, "within every group all values are equal: they were read too coarsely to show a spread")
	}
	if t.Groups > 2 && t.Joined == 1 {
		t.consistency(ss, dof, level)
	}
}

// leverage of a value: 1/n of its cell and x'C^-1 x of the groups, x being its group less the shares of the groups in its cell.
func (t *twoWay) leverage(v Crossed) float64 {
	x := func(g int) float64 {
		s := -t.n[v.Cell][g] / t.inCell[v.Cell]
		if g == v.Group {
			s++
		}
		return s
	}
	h := 1 / t.inCell[v.Cell]
	for i := range t.Groups {
		for j := range t.Groups {
			h += x(i) * t.back[i][j] * x(j)
		}
	}
	return h
}

func (t *twoWay) consistency(ss, dof []float64, level float64) {
	t.HCritical = hCritical(t.Groups, level)
	sd := 0.0
	for _, e := range t.Effects {
		sd += e * e
	}
	sd = math.Sqrt(sd / float64(t.Groups-1))
	for g, e := range t.Effects {
		c := Consistency{Mean: e, K: math.NaN(), KCritical: math.NaN()}
		for _, n := range t.n {
			c.N += int(n[g])
		}
		if sd > 1e-9*math.Sqrt(t.WithinMS) { // more than rounding leaves
			c.H = e / sd
		}
		c.HFlagged = math.Abs(c.H) > t.HCritical
		if dof[g] > 1e-9 && t.WithinMS > 0 {
			c.SD = math.Sqrt(ss[g] / dof[g])
			c.K = c.SD / math.Sqrt(t.WithinMS)
			c.KCritical = kCritical(int(math.Ceil(dof[g]-1e-9)), t.WithinDoF, level)
			c.KFlagged = c.K > c.KCritical
		}
		t.PerGroup = append(t.PerGroup, c)
	}
}
