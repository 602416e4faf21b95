package figure

import (
	"math"

	"github.com/hardcatch/hardcatch/internal/message"
)

// point is a place on the drawing: pt from its left and upper edge.
type point struct{ x, y float64 }

// pen is how a line is drawn. A zero width draws none.
type pen struct {
	color string
	width float64
	dash  []float64
}

// mark is one thing on a drawing. Everything is made of a few kinds, so that a second writer (for
// another format) has little to learn.
type mark interface{ isMark() }

// outline is one or more runs of straight lines; a closed one may be filled.
type outline struct {
	runs   [][]point
	pen    pen
	fill   string // "" = none
	closed bool
	tint   float64 // opacity of the fill, 0 = full
}

// disc is a circle.
type disc struct {
	at   point
	r    float64
	pen  pen
	fill string
}

// label is a line of text; at is on its base line.
type label struct {
	at     point
	text   string
	size   float64
	anchor anchor
	bold   bool
	color  string
}

// group holds marks that belong together. name is read out and shown by a viewer that can.
type group struct {
	name  string
	clip  *box // nil = none
	marks []mark
}

func (outline) isMark() {}
func (disc) isMark()    {}
func (*label) isMark()  {}
func (*group) isMark()  {}

type anchor int

const (
	left anchor = iota
	middle
	right
)

// box is a rectangle with x0 <= x1 and y0 <= y1.
type box struct{ x0, y0, x1, y1 float64 }

func (b box) w() float64 { return b.x1 - b.x0 }
func (b box) h() float64 { return b.y1 - b.y0 }

// scene is a drawing before it is written.
type scene struct {
	in            message.Locale
	title, desc   string
	width, height float64
	root          group
}

func (g *group) add(m ...mark) { g.marks = append(g.marks, m...) }

// sub opens a group inside.
func (g *group) sub(name string) *group {
	s := &group{name: name}
	g.add(s)
	return s
}

func (g *group) line(p pen, pts ...point) { g.add(outline{runs: [][]point{pts}, pen: p}) }

func (g *group) text(x, y float64, s string, size float64, a anchor) *label {
	l := &label{at: point{x, y}, text: s, size: size, anchor: a, color: ink}
	g.add(l)
	return l
}

// Shares of the size of text that stand above and below the base line.
const (
	ascent  = 0.76
	descent = 0.24
)

func round2(v float64) int64 { return int64(math.Round(v * 100)) }

func abs(v float64) float64 { return math.Abs(v) }
