// Package contour finds level lines and the regions above a level of values on a rectangular grid.
package contour

import "fmt"

// Grid is values over the places X[i], Y[j], both increasing: V[j*len(X)+i]. Every value is a finite number.
type Grid struct {
	X, Y []float64
	V    []float64
}

// Point is a place in the coordinates of the grid.
type Point struct{ X, Y float64 }

// Line is a run of straight stretches with the higher values on its left, where X points right and Y up. A closed line
// ends where it begins.
type Line []Point

// At is the value at node i, j.
func (g Grid) At(i, j int) float64 { return g.V[j*len(g.X)+i] }

func (g Grid) check() {
	if len(g.X) < 2 || len(g.Y) < 2 || len(g.V) != len(g.X)*len(g.Y) {
		panic(fmt.Sprintf("contour: %d values for %d by %d places", len(g.V), len(g.X), len(g.Y)))
	}
}

// Lines are the lines on which the value is the level, by marching squares: straight in each cell, with crossings by linear
// interpolation along its sides. A cell in which two opposite corners are above and two below is parted as the
// hyperbola of its bilinear interpolation is (the asymptotic decider of Nielson and Hamann, Proc. IEEE Visualization 1991).
// A node at the level counts as above. Lines end at the border of the grid or are closed.
func (g Grid) Lines(level float64) []Line {
	g.check()
	return (&tracer{g: g, level: level}).lines()
}

// Above is the region where the value is at or above the level, as closed lines: the outer ones run counter-clockwise,
// holes clockwise. Where the region reaches the border it ends there.
func (g Grid) Above(level float64) []Line {
	g.check()
	return (&tracer{g: g, level: level, fenced: true}).lines()
}

// tracer marches over the cells. Fenced, the grid has one more node all around, at the same places and below every level.
type tracer struct {
	g      Grid
	level  float64
	fenced bool
	next   map[edge]edge
	from   map[edge]bool // edges that a stretch ends on
	order  []edge        // edges that a stretch begins on, in the order met
}

// edge is the side of a cell that starts at node i, j and goes right or up.
type edge struct {
	i, j int
	up   bool
}

// Sides of a cell, counter-clockwise from the bottom; side k goes from corner k to corner k+1.
func side(i, j, k int) edge {
	switch k {
	case 0:
		return edge{i, j, false}
	case 1:
		return edge{i + 1, j, true}
	case 2:
		return edge{i, j + 1, false}
	}
	return edge{i, j, true}
}

func (t *tracer) ghost(i, j int) bool { return i < 0 || j < 0 || i >= len(t.g.X) || j >= len(t.g.Y) }

func (t *tracer) above(i, j int) bool { return !t.ghost(i, j) && t.g.At(i, j) >= t.level }

func (t *tracer) lines() []Line {
	t.next, t.from = map[edge]edge{}, map[edge]bool{}
	pad := 0
	if t.fenced {
		pad = 1
	}
	for j := -pad; j < len(t.g.Y)-1+pad; j++ {
		a, d := t.above(-pad, j), t.above(-pad, j+1)
		for i := -pad; i < len(t.g.X)-1+pad; i++ {
			b, c := t.above(i+1, j), t.above(i+1, j+1)
			if a != b || b != c || c != d { // else nothing crosses
				t.cell(i, j, [4]bool{a, b, c, d})
			}
			a, d = b, c
		}
	}
	var out []Line
	for _, ends := range []bool{true, false} {
		for _, e := range t.order {
			if _, left := t.next[e]; left && (!ends || !t.from[e]) {
				if l := t.follow(e); len(l) > 1 {
					out = append(out, l)
				}
			}
		}
	}
	return out
}

// cell joins the sides by which the way around the cell, counter-clockwise over its corners, leaves the region above to those by which
// it comes back.
func (t *tracer) cell(i, j int, up [4]bool) {
	var exits, entries [2]int
	n := 0
	for k, m := 0, 0; k < 4; k++ {
		switch {
		case up[k] && !up[(k+1)%4]:
			exits[n] = k
			n++
		case !up[k] && up[(k+1)%4]:
			entries[m] = k
			m++
		}
	}
	for _, x := range exits[:n] {
		to := entries[0]
		if n > 1 {
			// The corner before an exit stands alone, or is joined to the opposite one.
			to = (x + 3) % 4
			if t.joined(i, j) {
				to = (x + 1) % 4
			}
		}
		a, b := side(i, j, x), side(i, j, to)
		t.next[a], t.from[b] = b, true
		t.order = append(t.order, a)
	}
}

// joined tells whether the bilinear surface is above the level at its saddle. Only whole cells have one.
func (t *tracer) joined(i, j int) bool {
	a, b, c, d := t.g.At(i, j), t.g.At(i+1, j), t.g.At(i+1, j+1), t.g.At(i, j+1)
	// Of (a c - b d)/(a + c - b - d) against the level, with values counted from the level.
	a, b, c, d = a-t.level, b-t.level, c-t.level, d-t.level
	return (a*c-b*d)*(a+c-b-d) >= 0
}

func (t *tracer) follow(e edge) Line {
	l := Line{t.cross(e)}
	for {
		n, ok := t.next[e]
		if !ok {
			return l
		}
		delete(t.next, e)
		if p := t.cross(n); p != l[len(l)-1] {
			l = append(l, p)
		}
		e = n
	}
}

// cross is where the level crosses a side.
func (t *tracer) cross(e edge) Point {
	i, j := e.i, e.j
	k, m := i+1, j
	if e.up {
		k, m = i, j+1
	}
	if t.ghost(i, j) {
		i, j = k, m
	}
	if t.ghost(k, m) {
		k, m = i, j
	}
	a, b := t.g.At(i, j), t.g.At(k, m)
	s := 0.0
	if a != b {
		s = (t.level - a) / (b - a)
	}
	return Point{t.g.X[i] + s*(t.g.X[k]-t.g.X[i]), t.g.Y[j] + s*(t.g.Y[m]-t.g.Y[j])}
}
