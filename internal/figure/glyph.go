package figure

import (
	"fmt"
	"strings"

	"github.com/hardcatch/hardcatch/internal/drop"
)

// direction is the way in which force rises on a plot.
type direction point

var (
	upward    = direction{0, -1}
	rightward = direction{1, 0}
)

// The shapes of the signs, in a square of 12 whose centre is the value and whose first direction is towards more force. They are drawn here
// once; drawings, legends, lists, pages and print take them from here, and a terminal has the characters that come nearest (drop.Outcome.Sign).
//
// What held is a closed eye on its standing part, as at the end of a sling. What broke is a torn end: the standing part up to a bar at the
// value, and strands that part beyond it towards more force, for the whole arrest would have asked for more. What slipped is an open
// diamond, a void drop a cross, and one not yet decided an open ring.
type sign struct {
	ring   float64   // radius of a ring about the value, 0 = none
	stroke float64   // of the ring
	closed bool      // the first run is an outline that is filled with paper
	runs   [][]point // along (towards more force) and across
	widths []float64 // of the strokes of each run
}

func signOf(o drop.Outcome) sign {
	switch o {
	case drop.Held:
		return sign{ring: 2.5, stroke: 1.7, runs: [][]point{{{-2.5, 0}, {-5.6, 0}}}, widths: []float64{1.3}}
	case drop.Broke:
		return sign{runs: [][]point{
			{{0, -3.2}, {0, 3.2}}, {{-3.4, 0}, {0, 0}}, {{0, -1.9}, {4.6, -3.6}}, {{0, 0}, {6, 0.3}}, {{0, 1.9}, {4.2, 3.5}},
		}, widths: []float64{1.4, 1.3, 1, 1, 1}}
	case drop.Slipped:
		return sign{closed: true, runs: [][]point{{{-3.6, 0}, {0, -3.2}, {3.6, 0}, {0, 3.2}}}, widths: []float64{1.1}}
	case drop.Void:
		return sign{runs: [][]point{{{-2.6, -2.6}, {2.6, 2.6}}, {{-2.6, 2.6}, {2.6, -2.6}}}, widths: []float64{1.2, 1.2}}
	}
	return sign{ring: 2.6, stroke: 1.1}
}

// glyph draws the sign of an outcome with its value at p.
func glyph(g *group, p point, o drop.Outcome, color string, to direction) {
	s := signOf(o)
	for i, run := range s.runs {
		pts := make([]point, len(run))
		for k, q := range run {
			pts[k] = point{p.x + q.x*to.x - q.y*to.y, p.y + q.x*to.y + q.y*to.x}
		}
		out := outline{runs: [][]point{pts}, pen: pen{color: color, width: s.widths[i]}}
		if s.closed {
			out.closed, out.fill = true, paper
		}
		g.add(out)
	}
	if s.ring > 0 {
		g.add(disc{p, s.ring, pen{color: color, width: s.stroke}, paper})
	}
}

// onText is by how much strokes are wider, and rings larger, in a line of text.
const onText = 0.3

// SignSVG is the sign of an outcome for a line of text, in the colour of the text. Its word stands beside it.
func SignSVG(o drop.Outcome) string {
	s := signOf(o)
	var b strings.Builder
	b.WriteString(`<svg class="signed" viewBox="-6 -7 12 14" aria-hidden="true" focusable="false" fill="none" stroke="currentColor">`)
	for i, run := range s.runs {
		fmt.Fprintf(&b, `<path stroke-width="%.3g" d="`, s.widths[i]+onText)
		for k, q := range run {
			fmt.Fprintf(&b, "%c%g %g", "ML"[min(k, 1)], -q.y, -q.x)
		}
		if s.closed {
			b.WriteString("Z")
		}
		b.WriteString(`"/>`)
	}
	if s.ring > 0 {
		fmt.Fprintf(&b, `<circle r="%g" stroke-width="%.3g"/>`, s.ring+onText, s.stroke+onText)
	}
	b.WriteString("</svg>")
	return b.String()
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
