package figure

import (
	"sort"
	"strings"

	"github.com/hardcatch/hardcatch/internal/message"

	"github.com/hardcatch/hardcatch/internal/quantity"
)

// limitLine is one or more limits of the same value and kind, drawn as one line.
type limitLine struct {
	value  float64 // kN
	arrest bool
	text   string
}

// reach is how far above the data, as a share of them, a limit may stand and still stretch the axis.
const reach = 1.35

// sortLimits groups limits by value and kind in order of value, and parts those that a plot whose data end
// at top (kN) does not reach: they are named below the drawing instead of flattening the data.
func sortLimits(all []Limit, top float64) (shown, beyond []limitLine) {
	sorted := append([]Limit(nil), all...)
	sort.SliceStable(sorted, func(i, j int) bool {
		if sorted[i].Value != sorted[j].Value {
			return sorted[i].Value < sorted[j].Value
		}
		return !sorted[i].Arrest && sorted[j].Arrest
	})
	var lines []limitLine
	for _, l := range sorted {
		v := l.Value.SI() * kilo
		if !drawable(v) || v <= 0 {
			continue
		}
		if n := len(lines); n > 0 && lines[n-1].value == v && lines[n-1].arrest == l.Arrest {
			lines[n-1].text += "; " + l.Name
			continue
		}
		lines = append(lines, limitLine{v, l.Arrest, short(l.Value) + " kN " + l.Name})
	}
	for _, l := range lines {
		if l.value <= top*reach {
			shown = append(shown, l)
		} else {
			beyond = append(beyond, l)
		}
	}
	return shown, beyond
}

// limitsWithin parts limits into those that an axis from lo to hi shows and the others, and gives the end of the axis,
// which leaves room above the highest line by a factor.
func limitsWithin(all []Limit, lo, hi, room float64) (lines, beyond []limitLine, end float64) {
	lines, beyond = sortLimits(all, hi)
	for len(lines) > 0 && lines[0].value < lo {
		beyond, lines = append(beyond, lines[0]), lines[1:]
	}
	if n := len(lines); n > 0 {
		hi = max(hi, lines[n-1].value*room)
	}
	return lines, beyond, hi
}

func beyondNote(in message.Locale, lines []limitLine) string {
	if len(lines) == 0 {
		return ""
	}
	return in.Say("Beyond the scale: %s.", limitList(lines))
}

// limitList names limits, the lowest first.
func limitList(lines []limitLine) string {
	sort.SliceStable(lines, func(i, j int) bool { return lines[i].value < lines[j].value })
	var names []string
	for _, l := range lines {
		names = append(names, l.text)
	}
	return strings.Join(names, "; ")
}

// short prints a force in kN with no more decimals than it needs, at most two.
func short(f quantity.Force) string {
	s := fixed(f.SI()*kilo, 2)
	return minus(strings.TrimSuffix(strings.TrimRight(s, "0"), "."))
}

func (l limitLine) pen() pen {
	if l.arrest {
		return pen{slate, 0.9, []float64{1, 1.8}}
	}
	return pen{color: slate, width: 0.7}
}

// nameMargin is the width kept at the right of a plot for the names of limits.
const nameMargin = 122.0

// names says how the lines of a plot are named: in the margin where that has room for all, else by capital
// letters in the margin that lead to a list below.
type limitNames struct {
	lines  []limitLine
	text   [][]string // by line, as it stands in the margin
	half   []float64
	listed bool
	margin float64
}

func nameLimits(lines []limitLine, width, depth float64) limitNames {
	n := limitNames{lines: lines}
	if len(lines) == 0 {
		return n
	}
	tall := 0.0
	for _, l := range lines {
		t := wrap(l.text, small, false, nameMargin-12, 3)
		n.text = append(n.text, t)
		n.half = append(n.half, float64(len(t))*small*1.18/2)
		tall += float64(len(t))*small*1.18 + 2
	}
	n.margin = nameMargin
	if width >= 360 && tall <= depth {
		return n
	}
	n.listed, n.margin = true, 22
	for i := range lines {
		n.text[i] = []string{strings.ToUpper(letters(i))}
		n.half[i] = small * 1.1 / 2
	}
	return n
}

// across draws limits as lines over a plot with force upwards and their names in the margin at the right,
// clear of each other, each led to from its line.
func (n limitNames) across(g *group, plot box, y scale) {
	want := make([]float64, len(n.lines))
	for i, l := range n.lines {
		want[i] = y.at(l.value)
		g.line(l.pen(), point{plot.x0, want[i]}, point{plot.x1, want[i]})
	}
	for i, at := range spread(want, n.half, 1.5, plot.y0-4, plot.y1+4) {
		g.line(pen{color: slate, width: 0.5}, point{plot.x1, want[i]}, point{plot.x1 + 3, want[i]}, point{plot.x1 + 7, at}, point{plot.x1 + 9, at})
		first := at - n.half[i] + small*0.92
		for k, line := range n.text[i] {
			l := g.text(plot.x1+11, first+float64(k)*small*1.18, line, small, left)
			l.color, l.bold = soft, n.listed
		}
	}
}

// list sets the names below the drawing when the margin has letters only.
func (n limitNames) list(p *page) {
	if !n.listed {
		return
	}
	p.y += 2
	letter := 0.0
	for _, t := range n.text {
		letter = max(letter, textWidth(t[0], small, true)+4)
	}
	for i, l := range n.lines {
		at := p.y + small*leading - descent*small
		p.root.text(0, at, n.text[i][0], small, left).bold = true
		p.root.line(l.pen(), point{letter, at - 0.35*small}, point{letter + sampleWidth, at - 0.35*small})
		for _, line := range wrap(l.text, small, false, p.width-letter-sampleWidth-7, 0) {
			p.y += small * leading
			p.root.text(letter+sampleWidth+6, p.y-descent*small, line, small, left).color = soft
		}
	}
}
