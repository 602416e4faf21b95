package figure

type keyKind int

const (
	keyGlyph keyKind = iota
	keyWhisker
	keyMean
	keyLeast
)

// keyItem is a sign with its meaning.
type keyItem struct {
	text    string
	outcome Outcome
	kind    keyKind
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
	case keyWhisker:
		thin := pen{color: navy, width: 0.7}
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
	}
}
