package figure

import "github.com/hardcatch/hardcatch/internal/drop"

// direction is the way in which force rises on a plot.
type direction point

var (
	upward    = direction{0, -1}
	rightward = direction{1, 0}
)

// glyph draws the mark of an outcome at p. A specimen that held is a filled disc. One that broke is a bar
// with an open arrow head beyond it, towards more force: the peak is the least that the arrest force could
// have been. One that slipped is an open diamond, a void drop a cross, and one not yet decided an open ring.
func glyph(g *group, p point, o drop.Outcome, color string, to direction) {
	thin := pen{color: color, width: 1.1}
	at := func(along, across float64) point {
		return point{p.x + along*to.x - across*to.y, p.y + along*to.y + across*to.x}
	}
	shape := func(fill string, closed bool, pts ...point) {
		g.add(outline{runs: [][]point{pts}, pen: thin, fill: fill, closed: closed})
	}
	switch o {
	case drop.Held:
		g.add(disc{p, 2.7, pen{paper, 0.7, nil}, color})
	case drop.Broke:
		shape(paper, true, at(1.4, -3), at(1.4, 3), at(7, 0))
		g.line(pen{color: color, width: 1.5}, at(0, -3.6), at(0, 3.6))
	case drop.Slipped:
		shape(paper, true, at(-3.6, 0), at(0, -3.2), at(3.6, 0), at(0, 3.2))
	case drop.Void:
		g.line(thin, at(-2.4, -2.4), at(2.4, 2.4))
		g.line(thin, at(-2.4, 2.4), at(2.4, -2.4))
	default:
		g.add(disc{p, 2.6, thin, paper})
	}
}

// ending marks where the arrest of a curve ends: a ring where the force comes back to zero, two strokes
// across (the drafter's sign for a part broken off) where it breaks.
func ending(g *group, p point, o drop.Outcome, color string) {
	if o == drop.Broke {
		for _, s := range []float64{-1.3, 1.3} {
			g.line(pen{color: color, width: 1.1}, point{p.x + s - 2, p.y + 3.4}, point{p.x + s + 2, p.y - 3.4})
		}
		return
	}
	g.add(disc{p, 1.9, pen{color: color, width: 0.9}, paper})
}

// letters names the curves of a plot: a, b, ... z, aa, ab, ...
func letters(i int) string {
	s := ""
	for i++; i > 0; i = (i - 1) / 26 {
		s = string(rune('a'+(i-1)%26)) + s
	}
	return s
}
