package variation

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mat"
)

// Box, Hunter and Hunter, Statistics for Experimenters (1978), 7.1: yields of penicillin, five blends and four treatments; treatments are the cells here and
// blends the groups. Published table: blends 264 with 4 degrees, treatments 70 with 3, residuals 226 with 12; F of the blends 66/18.8 = 3.5 (recalled; the sums are
// whole numbers and follow from the data).
func TestTwoWayPublished(t *testing.T) {
	var v []Crossed
	for g, row := range [][]float64{{89, 88, 97, 94}, {84, 77, 92, 79}, {81, 87, 87, 85}, {87, 92, 89, 84}, {79, 81, 80, 88}} {
		for c, y := range row {
			v = append(v, Crossed{c, g, y})
		}
	}
	a, err := AnalyseTwoWay(v, 0.005)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "group SS", a.GroupSS, 264, 1e-12)
	near(t, "within SS", a.WithinSS, 226, 1e-12)
	near(t, "F", a.F, 66/(226./12), 1e-12)
	if a.GroupDoF != 4 || a.WithinDoF != 12 || a.Joined != 1 {
		t.Errorf("%+v", a)
	}
	// Balanced: (mean square of groups - within)/cells.
	near(t, "between", a.BetweenVariance, (66-226./12)/4, 1e-12)
	// Blend means 92, 83, 85, 88, 82 about 86.
	near(t, "effect", a.Effects[0], 6, 1e-12)
}

// One cell is the one-way analysis.
func TestTwoWayOfOneCellIsOneWay(t *testing.T) {
	g := groups([]float64{1, 2, 4}, []float64{3, 5}, []float64{9, 8, 7, 6})
	var v []Crossed
	for i, x := range g {
		for _, y := range x.Values {
			v = append(v, Crossed{0, i, y})
		}
	}
	want, err := AnalyseOneWay(g)
	if err != nil {
		t.Fatal(err)
	}
	a, err := AnalyseTwoWay(v, 0.005)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "F", a.F, want.F, 1e-12)
	near(t, "P", a.P, want.P, 1e-9)
	near(t, "between", a.BetweenRaw, want.BetweenRaw, 1e-12)
	near(t, "within", a.WithinVariance, want.WithinVariance, 1e-12)
}

// left is what least squares on columns of zeros and ones leaves, and the rank, by the singular values of gonum.
func left(v []Crossed, cells, groups int) (ss float64, rank int, hat *mat.Dense) {
	x := mat.NewDense(len(v), cells+groups, nil)
	y := mat.NewVecDense(len(v), nil)
	for i, w := range v {
		x.Set(i, w.Cell, 1)
		if groups > 0 {
			x.Set(i, cells+w.Group, 1)
		}
		y.SetVec(i, w.Value)
	}
	var s mat.SVD
	s.Factorize(x, mat.SVDThin)
	rank = s.Rank(1e-10)
	var u mat.Dense
	s.UTo(&u)
	part := u.Slice(0, len(v), 0, rank)
	hat = mat.NewDense(len(v), len(v), nil)
	hat.Mul(part, part.T())
	for i := range v {
		fit := 0.0
		for j := range v {
			fit += hat.At(i, j) * y.AtVec(j)
		}
		ss += (y.AtVec(i) - fit) * (y.AtVec(i) - fit)
	}
	return ss, rank, hat
}

// Designs without balance, and one that falls apart, against least squares by singular values (gonum); the coefficient of the variance between groups is the trace
// of Z'(I - H)Z with H of the cells.
func TestTwoWayUnbalanced(t *testing.T) {
	r := rand.New(rand.NewPCG(21, 22))
	for _, at := range [][][2]int{
		{{0, 0}, {0, 0}, {0, 1}, {1, 1}, {1, 2}, {1, 2}, {2, 0}, {2, 2}, {2, 3}, {3, 3}, {3, 0}},
		{{0, 0}, {0, 0}, {0, 1}, {0, 1}, {1, 2}, {1, 3}, {1, 3}, {1, 2}},
	} {
		var v []Crossed
		cells, groups := 0, 0
		for _, p := range at {
			v = append(v, Crossed{p[0], p[1], r.NormFloat64() + 100})
			cells, groups = max(cells, p[0]+1), max(groups, p[1]+1)
		}
		a, err := AnalyseTwoWay(v, 0.005)
		if err != nil {
			t.Fatal(err)
		}
		full, rank, _ := left(v, cells, groups)
		alone, _, hat := left(v, cells, 0)
		near(t, "within SS", a.WithinSS, full, 1e-9)
		near(t, "group SS", a.GroupSS, alone-full, 1e-9)
		if a.WithinDoF != len(v)-rank || a.GroupDoF != rank-cells || a.Joined != cells+groups-rank {
			t.Errorf("%+v, rank %d", a, rank)
		}
		trace := 0.0
		for i := range v {
			for j := range v {
				if v[i].Group == v[j].Group {
					trace -= hat.At(i, j)
					if i == j {
						trace++
					}
				}
			}
		}
		near(t, "between", a.BetweenRaw, (alone-full-float64(a.GroupDoF)*full/float64(a.WithinDoF))/trace, 1e-9)
	}
}

// Without any difference between groups the test at 5 % raises 5 % of false alarms and the scatter within is true on average, whatever the size of the cells.
func TestTwoWayKeepsItsLevel(t *testing.T) {
	r := rand.New(rand.NewPCG(23, 24))
	const series = 4000
	for _, d := range []struct{ cells, groups, repeats int }{{6, 2, 1}, {8, 3, 1}, {4, 4, 1}, {3, 2, 2}} {
		alarms, flags, within := 0, 0, 0.0
		for range series {
			var v []Crossed
			for c := range d.cells {
				for g := range d.groups {
					for range d.repeats {
						v = append(v, Crossed{c, g, float64(c) + r.NormFloat64()})
					}
				}
			}
			v = v[1:] // no balance
			a, err := AnalyseTwoWay(v, 0.005)
			if err != nil {
				t.Fatal(err)
			}
			if a.P <= 0.05 {
				alarms++
			}
			for _, g := range a.PerGroup {
				if g.KFlagged {
					flags++
				}
			}
			within += a.WithinVariance / series
		}
		share := float64(alarms) / series
		t.Logf("%+v: false alarms %.1f %%, s_r^2 %.3f of the true one, k flags %.2f %% of groups", d, 100*share, within, 100*float64(flags)/series/float64(d.groups))
		if math.Abs(share-0.05) > 3.5*math.Sqrt(0.05*0.95/series) || math.Abs(within-1) > 0.04 || float64(flags)/series/float64(d.groups) > 0.01 {
			t.Errorf("%+v: %.3f of false alarms, s_r^2 %.3f", d, share, within)
		}
	}
}

func TestTwoWaySaysWhy(t *testing.T) {
	_, err := AnalyseTwoWay([]Crossed{{0, 0, 1}, {1, 1, 2}, {1, 1, 3}}, 0.005)
	says(t, err, "no cell has values of two groups")
	_, err = AnalyseTwoWay([]Crossed{{0, 0, 1}, {0, 1, 2}}, 0.005)
	says(t, err, "no degree of freedom")
	_, err = AnalyseTwoWay([]Crossed{{0, 0, 1}, {0, 1, math.NaN()}}, 0.005)
	says(t, err, "value 2 is NaN")
}
