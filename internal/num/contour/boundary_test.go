package contour

import (
	"math"
	"testing"
)

// Differences of second order are exact for squares, those of third and fourth for cubes: x^2 + 2 x has the slopes 2 x + 2, x^3/10 + x has 1 + 0.3 x^2; falling data and data read backwards the same.
func TestSlopesOfPolynomials(t *testing.T) {
	for n := 3; n <= 7; n++ {
		for _, sign := range []float64{1, -1} {
			for _, back := range []bool{false, true} {
				v, want := make([]float64, n), make([]float64, n)
				for i := range n {
					x, at, turn := float64(i), i, sign
					if back {
						at, turn = n-1-i, -sign
					}
					v[at], want[at] = sign*(x*x*x/10+x), turn*(1+0.3*x*x)
					if n == 3 {
						v[at], want[at] = sign*(x*x+2*x), turn*(2*x+2)
					}
				}
				for i, m := range slopes(v) {
					if math.Abs(m-want[i]) > 1e-12 {
						t.Errorf("%d values, sign %g, backwards %v: slope %g at %d, want %g", n, sign, back, m, i, want[i])
					}
				}
			}
		}
	}
}

// A slope is held to three times the flatter stretch beside it, to 0 on a hill, in a dip and against the data; at an end the one stretch counts.
func TestHeldSlopes(t *testing.T) {
	for _, c := range []struct {
		m    float64
		v    []float64
		i    int
		want float64
	}{
		{2, []float64{0, 1, 3}, 1, 2}, {9, []float64{0, 1, 3}, 1, 3}, {9, []float64{0, 2, 3}, 1, 3}, {-9, []float64{3, 2, 0}, 1, -3}, {-9, []float64{3, 1, 0}, 1, -3}, {-2, []float64{3, 2, 0}, 1, -2},
		{1, []float64{0, 2, 1}, 1, 0}, {1, []float64{2, 0, 1}, 1, 0}, {-1, []float64{0, 1, 3}, 1, 0}, {1, []float64{3, 2, 0}, 1, 0}, {1, []float64{0, 0, 3}, 1, 0}, {1, []float64{0, 3, 3}, 1, 0},
		{9, []float64{0, 1, 8}, 0, 3}, {99, []float64{0, 1, 8}, 2, 21}, {-1, []float64{0, 1, 8}, 0, 0}, {-1, []float64{0, 1, 8}, 2, 0}, {-9, []float64{8, 7, 0}, 0, -3},
	} {
		if got := held(c.m, c.v, c.i); got != c.want {
			t.Errorf("%+v: %g", c, got)
		}
	}
}

// The bilinear surface at its saddle is (a c - b d)/(a + c - b - d), counted from the level: with a and c above and b and d below, joined where a c reaches b d; with a and c below, where b d reaches a c.
func TestSaddles(t *testing.T) {
	for _, c := range []struct {
		a, b, c, d float64
		joined     bool
	}{
		{3, -1, 1, -1, true}, {1, -3, 1, -1, false}, {1, -1, 1, -1, true}, {1, -1, 1, -5, false}, {1, -5, 1, -1, false}, {5, -1, 1, -4, true}, {1, -4, 5, -1, true}, {1, -1.5, 1, -1, false},
		{-1, 3, -1, 1, true}, {-3, 1, -1, 1, false}, {-1, 1, -5, 1, false}, {-5, 1, -1, 1, false}, {-1, 5, -4, 1, true}, {-4, 1, -1, 5, true},
	} {
		const level = 10
		g := Grid{X: []float64{0, 1, 2, 3}, Y: []float64{0, 1, 2, 3}, V: make([]float64, 16)}
		for i := range g.V {
			g.V[i] = level + float64(i%3) - 0.7
		}
		set := func(i, j int, v float64) { g.V[j*4+i] = level + v }
		set(2, 2, c.a)
		set(3, 2, c.b)
		set(3, 3, c.c)
		set(2, 3, c.d)
		tr := tracer{g: g, level: level}
		if got := tr.joined(2, 2); got != c.joined {
			t.Errorf("%+v: joined %v", c, got)
		}
	}
}

// Each part of a grid that does not fit is refused.
func TestGridsRefused(t *testing.T) {
	refused := func(name string, f func()) {
		defer func() {
			if recover() == nil {
				t.Errorf("%s was taken", name)
			}
		}()
		f()
	}
	two, one := []float64{0, 1}, []float64{0}
	refused("one column", func() { Grid{X: one, Y: two, V: two}.Lines(0) })
	refused("one row", func() { Grid{X: two, Y: one, V: two}.Lines(0) })
	refused("a value too many", func() { Grid{X: two, Y: two, V: make([]float64, 5)}.Lines(0) })
	refused("one row to refine", func() { Refine(two, 2, 1, 2) })
	refused("one column to refine", func() { Refine(two, 1, 2, 2) })
	refused("a value too many to refine", func() { Refine(make([]float64, 5), 2, 2, 2) })
	refused("no parts", func() { Refine(make([]float64, 4), 2, 2, 0) })
	if got := Refine([]float64{0, 1, 2, 3}, 2, 2, 1); len(got) != 4 || got[3] != 3 {
		t.Errorf("one part: %v", got)
	}
}
