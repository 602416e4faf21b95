package figure

// laidName is the name of a limit above a plot with force to the right: it ends at its line.
type laidName struct {
	at    float64 // of the line
	x0    float64 // left end of the text
	text  []string
	lane  int // lowest lane, 0 next to the plot
	width float64
}

// nameDown sets the names of limit lines (in order of value) in lanes above a plot and returns the height
// used. Each name runs to the left from the top of its line and stands above the lines it passes over, so
// that no line runs through a name.
func nameDown(g *group, x scale, lines []limitLine, y float64) float64 {
	var all []laidName
	lanes := 0
	for _, l := range lines {
		n := laidName{at: x.at(l.value)}
		n.text = wrap(l.text, small, false, n.at-6, 0)
		for _, t := range n.text {
			n.width = max(n.width, textWidth(t, small, false))
		}
		n.x0 = n.at - 4 - n.width
		for _, o := range all {
			if o.at >= n.x0-4 {
				n.lane = max(n.lane, o.lane+len(o.text))
			}
		}
		lanes = max(lanes, n.lane+len(n.text))
		all = append(all, n)
	}
	const line = small * 1.18
	height := float64(lanes) * line
	foot := y + height + small*leading + 2
	for _, n := range all {
		base := y + height - float64(n.lane)*line - descent*small
		for k, t := range n.text {
			g.text(n.at-4, base-line*float64(len(n.text)-1-k), t, small, right).color = soft
		}
		g.line(pen{color: slate, width: 0.6}, point{n.at, base - line*float64(len(n.text)-1) - ascent*small}, point{n.at, foot})
	}
	return height
}
