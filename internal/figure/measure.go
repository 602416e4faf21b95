package figure

import (
	"strings"
	"unicode"
)

// Advance widths in thousandths of the size, U+0020 to U+007E and U+00A0 to U+00FF, of DejaVu Sans: one
// of the broadest of the common sans faces, so that text set in another is not clipped.
var (
	regularASCII = [95]uint16{
		318, 401, 460, 838, 636, 950, 780, 275, 390, 390, 500, 838, 318, 361, 318, 337,
		636, 636, 636, 636, 636, 636, 636, 636, 636, 636, 337, 337, 838, 838, 838, 531,
		1000, 684, 686, 698, 770, 632, 575, 775, 752, 295, 295, 656, 557, 863, 748, 787,
		603, 787, 695, 635, 611, 732, 684, 989, 685, 611, 685, 390, 337, 390, 838, 500,
		500, 613, 635, 550, 635, 615, 352, 635, 634, 278, 278, 579, 278, 974, 634, 612,
		635, 635, 411, 521, 392, 634, 592, 818, 592, 592, 525, 636, 337, 636, 838,
	}
	regularLatin = [96]uint16{
		318, 401, 636, 636, 636, 636, 337, 500, 500, 1000, 471, 612, 838, 361, 1000, 500,
		500, 838, 401, 401, 500, 636, 636, 318, 500, 401, 471, 612, 969, 969, 969, 531,
		684, 684, 684, 684, 684, 684, 974, 698, 632, 632, 632, 632, 295, 295, 295, 295,
		775, 748, 787, 787, 787, 787, 787, 838, 787, 732, 732, 732, 732, 611, 605, 630,
		613, 613, 613, 613, 613, 613, 982, 550, 615, 615, 615, 615, 278, 278, 278, 278,
		612, 634, 612, 612, 612, 612, 612, 838, 612, 634, 634, 634, 634, 592, 635, 592,
	}
)

// boldFactor covers the broadening of every letter of the bold face but a few narrow ones, whose excess
// the other letters of a word make up for.
const boldFactor = 1.15

// textWidth is the width in pt that text of the given size may take.
func textWidth(s string, size float64, bold bool) float64 {
	sum := 0
	for _, r := range s {
		sum += advance(r)
	}
	w := float64(sum) / 1000 * size
	if bold {
		w *= boldFactor
	}
	return w
}

func advance(r rune) int {
	switch {
	case r >= 0x20 && r <= 0x7e:
		return int(regularASCII[r-0x20])
	case r >= 0xa0 && r <= 0xff:
		return int(regularLatin[r-0xa0])
	case unicode.Is(unicode.Mn, r), unicode.Is(unicode.Cf, r):
		return 0
	}
	switch r {
	case '\u2013':
		return 500
	case '\u2018', '\u2019':
		return 318
	case '\u201c', '\u201d':
		return 518
	case '\u2264', '\u2265', '\u2212', '\u2192':
		return 838
	}
	return 1000
}

// fit shortens text to the width, with an ellipsis where something is left out.
func fit(s string, size float64, bold bool, width float64) string {
	if textWidth(s, size, bold) <= width {
		return s
	}
	r := []rune(s)
	for len(r) > 0 {
		r = r[:len(r)-1]
		short := strings.TrimRight(string(r), " ,;") + "…"
		if textWidth(short, size, bold) <= width {
			return short
		}
	}
	return ""
}

// wrap breaks text at spaces into lines of at most the width. At most most lines are made (0 = any
// number); the last then ends in an ellipsis. A word broader than a line is shortened.
func wrap(s string, size float64, bold bool, width float64, most int) []string {
	var lines []string
	line := ""
	words := phrases(clean(s))
	for i, w := range words {
		longer := w
		if line != "" {
			longer = line + " " + w
		}
		if textWidth(longer, size, bold) <= width {
			line = longer
			continue
		}
		if most > 0 && len(lines) == most-1 {
			if line != "" {
				line += " "
			}
			return append(lines, fit(line+strings.Join(words[i:], " "), size, bold, width))
		}
		if line != "" {
			lines = append(lines, line)
		}
		line = fit(w, size, bold, width)
	}
	if line != "" {
		lines = append(lines, line)
	}
	return lines
}

// phrases parts text at the spaces where a line may end: not inside "EN 795:2012" or "25 mm".
func phrases(s string) []string {
	var out []string
	for _, w := range strings.Fields(s) {
		if n := len(out); n > 0 {
			last := out[n-1]
			last = last[strings.LastIndexByte(last, ' ')+1:]
			number := w[0] >= '0' && w[0] <= '9'
			counted := last[0] >= '0' && last[0] <= '9'
			if number && last == strings.ToUpper(last) && !counted && len(last) <= 4 || counted && !number && len(w) <= 2 {
				out[n-1] += " " + w
				continue
			}
		}
		out = append(out, w)
	}
	return out
}

// clean turns control characters and what XML forbids into spaces or the replacement character.
func clean(s string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case r == '\t' || r == '\n' || r == '\r':
			return ' '
		case r < 0x20, r >= 0x7f && r < 0xa0, r == 0xfffe, r == 0xffff, r >= 0x202a && r <= 0x202e, r >= 0x2066 && r <= 0x2069:
			return '\ufffd'
		}
		return r
	}, strings.ToValidUTF8(s, "\ufffd"))
}
