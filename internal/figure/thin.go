package figure

import "math"

// columnWidth is the width of a column in which a curve is reduced to its first, least, largest and last
// sample: 0.4 pt is a printer's dot at 180 dots per inch.
const columnWidth = 0.4

// tolerance is how far, in pt, the drawn line may run from a sample that is left out of a smooth stretch.
const tolerance = 0.05

// thinColumns places values v[from:to] (place x0 + dx*i, y by the scale) and thins them for drawing. In
// each column of columnWidth the first, least, largest and last value are kept, in order of time, so that
// no peak is lost however many samples fall into it; then points that lie within tolerance of the line
// between their neighbours go. A value that is not finite breaks the line.
func thinColumns(v []float64, from, to int, x0, dx float64, y scale) [][]point {
	var runs [][]point
	var run []point
	end := func() {
		if len(run) > 0 {
			runs = append(runs, simplify(run))
			run = nil
		}
	}
	for i := from; i < to; {
		if !drawable(v[i]) {
			end()
			i++
			continue
		}
		column := math.Floor((x0 + dx*float64(i)) / columnWidth)
		first, low, high, last := i, i, i, i
		for i++; i < to && drawable(v[i]) && math.Floor((x0+dx*float64(i))/columnWidth) == column; i++ {
			last = i
			if v[i] < v[low] {
				low = i
			}
			if v[i] > v[high] {
				high = i
			}
		}
		a, b := min(low, high), max(low, high)
		keep := [4]int{first, a, b, last}
		for k, at := range keep {
			if k == 0 || at != keep[k-1] {
				run = append(run, point{x0 + dx*float64(at), y.at(v[at])})
			}
		}
	}
	end()
	return runs
}

// thinPath places the pairs (x[i], y[i]) of a curve that may turn back, and thins them: a point is kept
// when it lies half a column away from the last one kept, and so are the points of largest and least y and
// x; then as thinColumns. A pair with a value that is not finite breaks the line.
func thinPath(xs, ys []float64, x, y scale) [][]point {
	n := min(len(xs), len(ys))
	extreme := extremes(xs[:n], ys[:n])
	var runs [][]point
	var run []point
	var skipped *point
	end := func() {
		if skipped != nil {
			run = append(run, *skipped)
		}
		if len(run) > 0 {
			runs = append(runs, simplify(run))
		}
		run, skipped = nil, nil
	}
	for i := range n {
		if !drawable(xs[i]) || !drawable(ys[i]) {
			end()
			continue
		}
		p := point{x.at(xs[i]), y.at(ys[i])}
		if len(run) > 0 && !extreme[i] {
			if q := run[len(run)-1]; math.Hypot(p.x-q.x, p.y-q.y) < columnWidth/2 {
				skipped = &p
				continue
			}
		}
		run, skipped = append(run, p), nil
	}
	end()
	return runs
}

func extremes(xs, ys []float64) map[int]bool {
	out := map[int]bool{}
	for _, v := range [][]float64{xs, ys} {
		low, high := -1, -1
		for i := range v {
			if !drawable(xs[i]) || !drawable(ys[i]) {
				continue
			}
			if low < 0 || v[i] < v[low] {
				low = i
			}
			if high < 0 || v[i] > v[high] {
				high = i
			}
		}
		out[low], out[high] = true, true
	}
	return out
}

// simplify is the method of Ramer (1972) and Douglas and Peucker (1973), begun from the ends and the
// highest and lowest points of the run, which therefore always stay.
func simplify(p []point) []point {
	if len(p) < 3 {
		return p
	}
	keep := make([]bool, len(p))
	hi, lo := 0, 0
	for i := range p {
		if p[i].y < p[hi].y {
			hi = i
		}
		if p[i].y > p[lo].y {
			lo = i
		}
	}
	fixedAt := []int{0, min(hi, lo), max(hi, lo), len(p) - 1}
	type span struct{ a, b int }
	var todo []span
	for k, i := range fixedAt {
		keep[i] = true
		if k > 0 {
			todo = append(todo, span{fixedAt[k-1], i})
		}
	}
	for len(todo) > 0 {
		s := todo[len(todo)-1]
		todo = todo[:len(todo)-1]
		far, at := tolerance, -1
		for i := s.a + 1; i < s.b; i++ {
			if d := distance(p[i], p[s.a], p[s.b]); d > far {
				far, at = d, i
			}
		}
		if at >= 0 {
			keep[at] = true
			todo = append(todo, span{s.a, at}, span{at, s.b})
		}
	}
	out := p[:0:0]
	for i := range p {
		if keep[i] {
			out = append(out, p[i])
		}
	}
	return out
}

// distance of p from the stretch between a and b.
func distance(p, a, b point) float64 {
	dx, dy := b.x-a.x, b.y-a.y
	l2 := dx*dx + dy*dy
	if l2 == 0 {
		return math.Hypot(p.x-a.x, p.y-a.y)
	}
	t := math.Min(1, math.Max(0, ((p.x-a.x)*dx+(p.y-a.y)*dy)/l2))
	return math.Hypot(p.x-a.x-t*dx, p.y-a.y-t*dy)
}
