package figure

import (
	"math"

	"github.com/hardcatch/hardcatch/internal/drop"
)

type keyKind int

const (
	keyGlyph keyKind = iota
	keyWhisker
	keyMean
	keyLeast
	keyCertainty
	keySeen
	keyLine
	keyLetter
	keyUp
	keyBand
	keyTick
	keyIso
	keyHatch
	keyDots
	keyCross
	keyHeldBound
	keyShade
	keyNothing // words only
)

// keyItem is a sign with its meaning.
type keyItem struct {
	text    string
	outcome drop.Outcome
	kind    keyKind

	certainty Certainty
	pen       pen
	letter    string
}

// key sets signs with their meanings, as many in a line as have room.
func (p *page) key(items []keyItem) {
	const sign = 20.0
	x, line := 0.0, small*leading+2.5
	if len(items) > 0 {
		p.y += line
	}
	for _, it := range items {
		text := fit(it.text, small, false, p.width-sign)
		w := sign + textWidth(text, small, false)
		if x > 0 && x+w > p.width {
			x = 0
			p.y += line
		}
		base := p.y - descent*small
		at := point{x + sign/2 - 2, base - 0.35*small}
		it.draw(&p.root, at)
		p.root.text(x+sign, base, text, small, left).color = soft
		x += w + 12
	}
	if len(items) > 0 {
		p.y += 2
	}
}

func (it keyItem) draw(g *group, at point) {
	line := pen{color: ink, width: 0.9}
	switch it.kind {
	case keyGlyph:
		color, _ := lookOf(it.outcome)
		glyph(g, at, it.outcome, color, rightward)
	case keyCertainty:
		Interval{Value: 0, Lo: -6, Hi: 6, Seen: math.NaN(), Certainty: it.certainty}.draw(g, scale{lo: -7, hi: 7, a: at.x - 7, b: at.x + 7}, box{at.x - 7, at.y - 6, at.x + 7, at.y + 6})
	case keySeen:
		g.add(disc{at, 2.4, pen{color: iron, width: 1.2}, paper})
	case keyUp:
		color, _ := lookOf(it.outcome)
		if it.outcome == drop.Broke {
			at.y += 2.4
		}
		glyph(g, at, it.outcome, color, upward)
	case keyBand:
		g.add(outline{runs: [][]point{{{at.x - 6, at.y - 4}, {at.x + 6, at.y - 4}, {at.x + 6, at.y + 4}, {at.x - 6, at.y + 4}}}, fill: slate, tint: 0.16, closed: true})
		g.line(pen{color: ink, width: 1.3}, point{at.x - 6, at.y}, point{at.x + 6, at.y})
	case keyTick:
		g.line(pen{color: ink, width: 0.9}, point{at.x - 6, at.y}, point{at.x + 6, at.y})
		g.line(pen{color: ink, width: 1.1}, point{at.x, at.y - 3}, point{at.x, at.y + 3})
	case keyLine:
		g.line(it.pen, point{at.x - 8, at.y}, point{at.x + 8, at.y})
	case keyLetter:
		l := g.text(at.x-2, at.y+0.35*small, it.letter, small, middle)
		l.bold, l.color = true, it.pen.color
	case keyWhisker:
		thin := pen{color: teal, width: 0.7}
		g.line(thin, point{at.x - 6, at.y}, point{at.x + 6, at.y})
		for _, s := range []float64{-6, 6} {
			g.line(thin, point{at.x + s, at.y - 1.4}, point{at.x + s, at.y + 1.4})
		}
	case keyMean:
		g.line(line, point{at.x - 7, at.y}, point{at.x + 7, at.y})
		for _, s := range []float64{-7, 7} {
			g.line(line, point{at.x + s, at.y - 2}, point{at.x + s, at.y + 2})
		}
		g.line(pen{color: ink, width: 2}, point{at.x, at.y - 3.4}, point{at.x, at.y + 3.4})
	case keyLeast:
		g.line(line, point{at.x - 5, at.y}, point{at.x + 5, at.y})
		g.line(line, point{at.x + 2, at.y - 2.4}, point{at.x + 5, at.y}, point{at.x + 2, at.y + 2.4})
	case keyIso:
		g.line(pen{color: ink, width: 0.55}, point{at.x - 7, at.y}, point{at.x + 7, at.y})
	case keyHatch:
		for _, s := range []float64{-5, 0, 5} {
			g.line(hatchPen, point{at.x + s - 2, at.y + 3}, point{at.x + s + 4, at.y - 3})
		}
		g.line(pen{partPen.color, partPen.width, nil}, point{at.x - 7, at.y + 3.5}, point{at.x + 8, at.y + 3.5})
	case keyDots:
		for _, s := range [][2]float64{{-6, -2}, {0, -2}, {6, -2}, {-3, 2}, {3, 2}} {
			g.line(pen{color: soft, width: 0.9}, point{at.x + s[0], at.y + s[1]}, point{at.x + s[0] + 0.9, at.y + s[1]})
		}
	case keyHeldBound:
		color, _ := lookOf(drop.Held)
		glyph(g, at, drop.Broke, color, rightward)
	case keyShade:
		g.add(outline{runs: [][]point{{{at.x - 5, at.y - 4}, {at.x + 5, at.y - 4}, {at.x + 5, at.y + 4}, {at.x - 5, at.y + 4}}}, fill: it.pen.color, tint: shadeTint, closed: true})
		g.line(it.pen, point{at.x - 5, at.y - 4}, point{at.x - 5, at.y + 4})
		g.line(it.pen, point{at.x + 5, at.y - 4}, point{at.x + 5, at.y + 4})
	case keyCross:
		for _, s := range [][2]float64{{1, 0}, {-1, 0}, {0, 1}, {0, -1}} {
			g.line(pen{color: ink, width: 1.1}, point{at.x + 1.5*s[0], at.y + 1.5*s[1]}, point{at.x + 4.5*s[0], at.y + 4.5*s[1]})
		}
	}
}
