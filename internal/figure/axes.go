package figure

// page is a scene being laid out from the top down.
type page struct {
	scene
	y float64 // next free place
}

// open starts a figure with its title.
func (f Frame) open() *page {
	p := &page{scene: scene{title: f.Title, width: f.width(), in: f.In}}
	for _, line := range wrap(f.Title, titleSize, true, p.width-1, 3) {
		p.y += titleSize * leading
		p.root.text(0, p.y-descent*titleSize, line, titleSize, left).bold = true
	}
	return p
}

// lines writes wrapped text below what is there.
func (p *page) lines(text string, size float64, color string) {
	for _, line := range wrap(text, size, false, p.width-1, 0) {
		p.y += size * leading
		p.root.text(0, p.y-descent*size, line, size, left).color = color
	}
}

// close ends the figure with its small print.
func (p *page) close(f Frame, note, desc string) {
	if note != "" {
		p.y += 3
		p.lines(note, small, soft)
	}
	if f.Note != "" {
		p.y += 3
		p.lines(f.Note, small, ink)
	}
	p.height = p.y + 3
	if f.Desc != "" {
		desc = f.Desc + " " + desc
	}
	p.desc = desc
	if p.title == "" {
		p.title = f.In.Say("Figure without a title")
	}
}

const (
	tickLength = 3.0
	tickGap    = 3.0
)

// forceAxis draws a force axis at the left with its hair lines; the one at zero is inked.
func forceAxis(g *group, plot box, y scale, marks []tick) {
	for _, t := range marks {
		at := y.at(t.v)
		if t.v == 0 {
			g.line(pen{color: ink, width: 0.8}, point{plot.x0, at}, point{plot.x1, at})
		} else {
			g.line(pen{color: hair, width: 0.5}, point{plot.x0, at}, point{plot.x1, at})
		}
		g.text(plot.x0-tickGap-1, at+bodySize*0.35, t.text, bodySize, right)
	}
}

// flatAxis draws a horizontal axis below the plot with its title, and returns the lower edge of both.
func flatAxis(g *group, plot box, x scale, marks []tick, title string) float64 {
	base := plot.y1
	g.line(pen{color: ink, width: 0.8}, point{plot.x0, base}, point{plot.x1, base})
	for _, t := range marks {
		at := x.at(t.v)
		g.line(pen{color: ink, width: 0.8}, point{at, base}, point{at, base + tickLength})
		g.text(at, base+tickLength+tickGap+ascent*bodySize, t.text, bodySize, middle)
	}
	y := base + tickLength + tickGap + bodySize*leading
	// The middle of the plot need not be that of the drawing: a line is no longer than fits on both sides of it.
	for _, line := range wrap(title, bodySize, false, max(plot.w(), 60), 0) {
		g.text((plot.x0+plot.x1)/2, y+ascent*bodySize, line, bodySize, middle)
		y += bodySize * leading
	}
	if title == "" {
		y += bodySize * leading
	}
	return y
}

// widest is the width of the broadest tick label.
func widest(marks []tick) float64 {
	w := 0.0
	for _, t := range marks {
		w = max(w, textWidth(t.text, bodySize, false))
	}
	return w
}

// flatTicks chooses as many ticks as have room, at least two steps.
func flatTicks(lo, hi, width float64) []tick {
	for most := 10; most > 2; most-- {
		marks := ticks(lo, hi, most)
		if len(marks) > 1 && (widest(marks)+9)*float64(len(marks)) <= width {
			return marks
		}
	}
	return ticks(lo, hi, 2)
}
