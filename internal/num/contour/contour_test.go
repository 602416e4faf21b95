package contour

import (
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"
)

func grid(nx, ny int, x0, x1, y0, y1 float64, f func(x, y float64) float64) Grid {
	g := Grid{}
	for i := range nx {
		g.X = append(g.X, x0+(x1-x0)*float64(i)/float64(nx-1))
	}
	for j := range ny {
		g.Y = append(g.Y, y0+(y1-y0)*float64(j)/float64(ny-1))
	}
	for _, y := range g.Y {
		for _, x := range g.X {
			g.V = append(g.V, f(x, y))
		}
	}
	return g
}

// area is signed: positive where the line runs counter-clockwise.
func area(l Line) float64 {
	a := 0.0
	for i := range l {
		p, q := l[i], l[(i+1)%len(l)]
		a += (p.X*q.Y - q.X*p.Y) / 2
	}
	return a
}

// One cell by hand: corners 0 0, 0 1 (upper right is above): the line at 0.5 goes from the middle of the right side to the middle of
// the top, with the corner on its left.
func TestOneCorner(t *testing.T) {
	g := Grid{X: []float64{0, 1}, Y: []float64{0, 1}, V: []float64{0, 0, 0, 1}}
	if got := fmt.Sprint(g.Lines(0.5)); got != "[[{0.5 1} {1 0.5}]]" {
		t.Error(got)
	}
	// With the border: half of the unit cell's corner triangle, 0.5 by 0.5.
	a := g.Above(0.5)
	if len(a) != 1 || math.Abs(area(a[0])-0.125) > 1e-15 {
		t.Error(a)
	}
}

// A saddle by hand: values 1 at two opposite corners and v at the others. The bilinear surface at the saddle is
// (1 - v^2)/(2 - 2v) = (1 + v)/2; above it the high corners stand alone, below they are joined.
func TestSaddle(t *testing.T) {
	for _, c := range []struct {
		v, level float64
		rings    int
	}{{0, 0.51, 2}, {0, 0.49, 1}, {-1, 0.01, 2}, {-1, -0.01, 1}, {0.8, 0.89, 1}, {0.8, 0.91, 2}} {
		for _, v := range [][]float64{{1, c.v, c.v, 1}, {c.v, 1, 1, c.v}} {
			g := Grid{X: []float64{0, 2}, Y: []float64{0, 1}, V: v}
			if got := g.Above(c.level); len(got) != c.rings {
				t.Errorf("%v at %g: %d rings, want %d", v, c.level, len(got), c.rings)
			}
			if got := g.Lines(c.level); len(got) != 2 {
				t.Errorf("%v at %g: %d lines, want 2", v, c.level, len(got))
			}
		}
	}
}

// The level lines of a plane are straight, and linear interpolation finds them exactly.
func TestPlane(t *testing.T) {
	g := grid(7, 5, 0, 3, -1, 1, func(x, y float64) float64 { return 2*x + y })
	for _, level := range []float64{0.37, 2, 5} {
		l := g.Lines(level)
		if len(l) != 1 {
			t.Fatal(level, l)
		}
		for _, p := range l[0] {
			if math.Abs(2*p.X+p.Y-level) > 1e-12 {
				t.Errorf("%g: %v", level, p)
			}
		}
	}
	for _, level := range []float64{-1.5, 8} {
		if l := g.Lines(level); l != nil {
			t.Error(level, l)
		}
	}
	// Everything is above -1.5: the border, 3 by 2.
	if a := g.Above(-1.5); len(a) != 1 || math.Abs(area(a[0])-6) > 1e-12 {
		t.Error(a)
	}
}

// Circles: a hill gives a closed line of known area, and a ring has a hole that runs clockwise.
func TestCircles(t *testing.T) {
	hill := grid(201, 201, -1, 1, -1, 1, func(x, y float64) float64 { return -math.Hypot(x, y) })
	l := hill.Lines(-0.5)
	if len(l) != 1 || l[0][0] != l[0][len(l[0])-1] {
		t.Fatal(len(l))
	}
	if got := area(l[0][1:]); math.Abs(got-math.Pi/4) > 2e-4 {
		t.Errorf("area %g, want pi/4", got)
	}
	ring := grid(201, 201, -1, 1, -1, 1, func(x, y float64) float64 { return -math.Abs(math.Hypot(x, y) - 0.6) })
	sum := 0.0
	rings := ring.Above(-0.2)
	if len(rings) != 2 {
		t.Fatal(len(rings))
	}
	for _, r := range rings {
		sum += area(r)
	}
	// pi (0.8^2 - 0.4^2)
	if math.Abs(sum-math.Pi*0.48) > 1e-3 {
		t.Errorf("area %g, want %g", sum, math.Pi*0.48)
	}
}

// Whatever the values, the regions are closed, the higher values lie on their left, and the region shrinks as the level rises.
func TestAnyValues(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		nx, ny := rapid.IntRange(2, 7).Draw(t, "nx"), rapid.IntRange(2, 7).Draw(t, "ny")
		// Small whole numbers, so that nodes stand exactly at a level.
		v := rapid.SliceOfN(rapid.IntRange(-3, 3), nx*ny, nx*ny).Draw(t, "v")
		k := 0
		g := grid(nx, ny, 0, float64(nx-1), 0, float64(ny-1), func(_, _ float64) float64 { k++; return float64(v[k-1]) })
		last := math.Inf(1)
		for _, level := range []float64{-4, -3, -1.5, -1, 0, 0.25, 1, 2.75, 3, 4} {
			sum := 0.0
			for _, l := range g.Above(level) {
				if l[0] != l[len(l)-1] {
					t.Fatalf("open at %g: %v", level, l)
				}
				sum += area(l)
			}
			if sum < -1e-12 || sum > last+1e-12 {
				t.Fatalf("area %g at %g after %g", sum, level, last)
			}
			last = sum
			for _, l := range g.Lines(level) {
				if a, b := l[0], l[len(l)-1]; a != b && !(border(a, nx, ny) && border(b, nx, ny)) {
					t.Fatalf("a line at %g ends inside: %v", level, l)
				}
			}
		}
		if whole := float64((nx - 1) * (ny - 1)); len(g.Above(-4)) != 1 || math.Abs(area(g.Above(-4)[0])-whole) > 1e-12 || g.Above(4) != nil {
			t.Fatalf("%v", g.Above(-4))
		}
	})
}

func border(p Point, nx, ny int) bool {
	return p.X == 0 || p.Y == 0 || p.X == float64(nx-1) || p.Y == float64(ny-1)
}

// The values given stay; cubics away from their turning points come out exactly; the order is the fourth.
func TestRefine(t *testing.T) {
	cubic := func(x, y float64) float64 { return 5*x + 0.1*x*x*x + 3*y + 0.05*y*y*y }
	g := grid(6, 5, 0, 5, 0, 4, cubic)
	fine := Refine(g.V, 6, 5, 4)
	want := grid(21, 17, 0, 5, 0, 4, cubic)
	for i := range fine {
		if math.Abs(fine[i]-want.V[i]) > 1e-12*(1+math.Abs(want.V[i])) {
			t.Fatalf("value %d: %g, want %g", i, fine[i], want.V[i])
		}
	}
	worst := func(n int) float64 {
		f := func(x, y float64) float64 { return math.Exp(0.7*x+0.4*y) - math.Exp(-x) }
		a, b := grid(n+1, n+1, 0, 1, 0, 1, f), grid(2*n+1, 2*n+1, 0, 1, 0, 1, f)
		w := 0.0
		for i, x := range Refine(a.V, n+1, n+1, 2) {
			w = math.Max(w, math.Abs(x-b.V[i]))
		}
		return w
	}
	if order := math.Log2(worst(8) / worst(16)); order < 3.5 {
		t.Errorf("order %g, want about 4", order)
	}
	// Two values by two: bilinear.
	if got := fmt.Sprint(Refine([]float64{0, 1, 2, 3}, 2, 2, 2)); got != "[0 0.5 1 1 1.5 2 2 2.5 3]" {
		t.Error(got)
	}
}

// Monotone values, with kinks and steps, give monotone curves within their range.
func TestRefineStaysMonotone(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := []float64{0}
		for _, step := range rapid.SliceOfN(rapid.SampledFrom([]float64{0, 0.001, 0.1, 1, 50}), 1, 9).Draw(t, "steps") {
			v = append(v, v[len(v)-1]+step)
		}
		two := append(append([]float64{}, v...), v...)
		fine := Refine(two, len(v), 2, 7)
		n := (len(v)-1)*7 + 1
		for i := 1; i < n; i++ {
			if fine[i] < fine[i-1]-1e-12*v[len(v)-1] {
				t.Fatalf("%v falls at %d: %v", v, i, fine[:n])
			}
		}
		if fine[n-1] != v[len(v)-1] {
			t.Fatalf("the end moved: %v", fine[:n])
		}
	})
}

func TestMisuse(t *testing.T) {
	for name, f := range map[string]func(){
		"too few values": func() { Grid{X: []float64{0, 1}, Y: []float64{0, 1}, V: []float64{1}}.Lines(0) }, "one column": func() { Refine([]float64{1, 2}, 1, 2, 2) },
	} {
		func() {
			defer func() {
				if recover() == nil {
					t.Errorf("%s was taken", name)
				}
			}()
			f()
		}()
	}
}

func BenchmarkAbove(b *testing.B) {
	g := grid(97, 73, 0, 2, 0.3, 3, func(x, y float64) float64 { return 1 + math.Sqrt(1+120*x) + 0.2*y })
	for b.Loop() {
		g.Above(9)
	}
}
