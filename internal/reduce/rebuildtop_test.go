package reduce

import (
	"math"
	"testing"
)

// Without a force or a slope at its edges the impulse E over T is 30 E/T s^2 (1-s)^2, 1.875 E/T at its top. 6 N s over 11 ms: 1022.7 N.
func TestBendOfATop(t *testing.T) {
	u := lost(150, 160)
	u.left, u.right = edge{at: 149}, edge{at: 160}
	fill := make([]float64, 10)
	top := u.bend(1e-3, 6, fill)
	near(t, "top", top, 1.875*6/0.011, 1e-9, 0)
	for i, f := range fill {
		s := float64(i+1) / 11
		near(t, "fill", f, 30*6/0.011*sq(s*(1-s)), 1e-9, 1e-9)
	}
	// Slopes of 60 and -20 N a sample about a line from 100 to 320 N, 20 N a sample, over 11 samples: a = 440, G'(1) = -440, and an impulse of
	// 440/6 N * 11 ms is a parabola, 440 s (1-s) over the line.
	u.left, u.right = edge{at: 149, force: 100, slope: 6e4}, edge{at: 160, force: 320, slope: -2e4}
	top = u.bend(1e-3, 440.0/6*0.011, fill)
	for i, f := range fill {
		s := float64(i+1) / 11
		near(t, "parabola", f, 100+220*s+440*s*(1-s), 1e-9, 0)
	}
	near(t, "its top", top, 100+220*0.75+440*0.75*0.25, 1e-9, 0) // s = 1/2 + 220/880
	// A fall all along has its largest at the left edge, a rise at the right.
	u.left, u.right = edge{at: 149, force: 500, slope: -1e4}, edge{at: 160, force: 390, slope: -1e4}
	near(t, "falling", u.bend(1e-3, 0, fill), 500, 1e-9, 0)
	u.left, u.right = edge{at: 149, force: 390, slope: 1e4}, edge{at: 160, force: 500, slope: 1e4}
	near(t, "rising", u.bend(1e-3, 0, fill), 500, 1e-9, 0)
}

// y” + 2 z w y' + w^2 y = w^2 f(t), and the load cell shows y + 2 z/w y'. Runge and Kutta's fourth order over 2000 steps is good to 1e-9 here.
func TestTermsOfANode(t *testing.T) {
	n := node{omega: 0.3, zeta: 0.1}
	const until, scale = 25.0, 10.0
	for j, f := range []func(s float64) float64{
		func(s float64) float64 { return s },
		func(s float64) float64 { return s * s },
		func(s float64) float64 { return s * s * s },
		func(float64) float64 { return 1 },
	} {
		y, v := 0.0, 0.0
		const steps = 2000
		h := until / steps
		slope := func(t, y, v float64) (float64, float64) {
			return v, n.omega*n.omega*(f(t/scale)-y) - 2*n.zeta*n.omega*v
		}
		for i := range steps {
			at := float64(i) * h
			y1, v1 := slope(at, y, v)
			y2, v2 := slope(at+h/2, y+h/2*y1, v+h/2*v1)
			y3, v3 := slope(at+h/2, y+h/2*y2, v+h/2*v2)
			y4, v4 := slope(at+h, y+h*y3, v+h*v3)
			y, v = y+h/6*(y1+2*y2+2*y3+y4), v+h/6*(v1+2*v2+2*v3+v4)
		}
		near(t, "term", n.terms(until, scale)[j], y+2*n.zeta/n.omega*v, 1e-8, 1e-9)
	}
	if got := (node{}).terms(20, 10); got != [4]float64{2, 4, 8, 1} {
		t.Errorf("at once: %v", got)
	}
}

// What three terms from the right place on describe is described; from a sample too late, 10 t at t = 1 is not: 2 terms on 10, 20, 30, 40 shifted by one.
func TestSquaresOfAFlank(t *testing.T) {
	f := flankPoints{}
	for i := range 12 {
		s := math.Max(float64(i)-4, 0)
		f.t, f.y = append(f.t, float64(i)), append(f.y, 10*s+2*s*s+s*s*s)
	}
	total := 0.0
	for _, y := range f.y {
		total += y * y
	}
	near(t, "cubic", f.squares(4, 3)/total, 0, 0, 1e-12)
	near(t, "nothing after it", f.squares(11, 3), total, 1e-12, 0)
	at, ss, bend := f.best(0, 8, 3)
	if math.Abs(at-4) > 1e-3 || ss > 1e-6*total || !(bend > 0) {
		t.Errorf("at %g, %g left, bend %g", at, ss, bend)
	}
	// One term through (1, 1), (2, 1): b = 3/5, left over 2 - 9/5 = 1/5; with t^2 as well nothing.
	two := flankPoints{t: []float64{0, 1, 2}, y: []float64{0, 1, 1}}
	near(t, "a line", two.squares(0, 1), 0.2, 1e-12, 0)
	near(t, "a parabola", two.squares(0, 2), 0, 0, 1e-12)
	// Of two terms with one point beyond t0 one is determined; the other is left out.
	near(t, "one point", flankPoints{t: []float64{0, 1, 2}, y: []float64{3, 4, 5}}.squares(1, 2), 25, 1e-12, 0)
}
