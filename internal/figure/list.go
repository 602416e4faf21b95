package figure

import "github.com/hardcatch/hardcatch/internal/drop"

// entry is a line of the list below a plot of curves.
type entry struct {
	letter, name, amount string
	outcome              drop.Outcome
	color                string
}

const (
	sampleWidth = 24.0
	columnGap   = 12.0
)

// list sets entries in as many columns as have room, read down and then across.
func (p *page) list(entries []entry) {
	if len(entries) == 0 {
		return
	}
	letter, text, amount := 0.0, 0.0, 0.0
	for _, e := range entries {
		letter = max(letter, textWidth(e.letter, bodySize, true)+4)
		text = max(text, textWidth(e.name, bodySize, false)+6)
		amount = max(amount, textWidth(e.amount, bodySize, false))
	}
	lead := letter + sampleWidth + 6
	amount = min(amount, (p.width-lead)*0.6)
	text = min(text, p.width-lead-amount)
	each := lead + text + amount
	columns := max(1, int((p.width+columnGap)/(each+columnGap)))
	rows := (len(entries) + columns - 1) / columns
	line := bodySize*leading + 1.2
	for i, e := range entries {
		x := float64(i/rows) * (each + columnGap)
		y := p.y + float64(i%rows)*line
		base := y + ascent*bodySize + 1
		l := p.root.text(x, base, e.letter, bodySize, left)
		l.bold, l.color = true, e.color
		mid := base - 0.35*bodySize
		_, dash := lookOf(e.outcome)
		p.root.line(pen{e.color, 1.15, dash}, point{x + letter, mid}, point{x + letter + sampleWidth, mid})
		at := point{x + letter + sampleWidth/2, mid}
		if e.outcome == drop.Broke {
			at.y += 3
		}
		glyph(&p.root, at, e.outcome, e.color, upward)
		p.root.text(x+lead, base, fit(e.name, bodySize, false, text), bodySize, left)
		p.root.text(x+lead+text, base, fit(e.amount, bodySize, false, amount), bodySize, left)
	}
	p.y += float64(rows) * line
}
