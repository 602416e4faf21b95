package csvtrace

import (
	"regexp"
	"strings"
	"unicode/utf8"

	"github.com/hardcatch/hardcatch/internal/traceio"
)

// header is what stands before the rows.
type header struct {
	names  []string // of the columns, nil without a line of names
	units  []string // as written, "" where none is
	firm   []bool   // the unit stands in brackets or in a line of units
	line   int      // number of the line of names, 0 without one
	before []remark // preamble and comments
}

// remark is a line of preamble.
type remark struct {
	line int
	text string
}

// readHeader finds the line of names, a line of units under it, and the preamble before them.
func readHeader(lines [][]byte, d dialect) header {
	var h header
	type candidate struct {
		remark
		fields []string
	}
	var seen []candidate
	for i, line := range lines[:d.first] {
		if isBlank(line) {
			continue
		}
		if text, is := commentText(line, d.sep); is {
			line = text
			if len(line) == 0 {
				continue
			}
		}
		seen = append(seen, candidate{remark{i + 1, strings.TrimSpace(plainText(line))}, cells(line, d)})
	}
	k := len(seen) - 1
	if k >= 0 {
		f := fitCells(seen[k].fields, d)
		switch {
		case f == nil || !namesIn(f):
			k++
		case k > 0 && onlyUnits(f) && namesIn(fitCells(seen[k-1].fields, d)):
			h.line = seen[k-1].line
			h.take(fitCells(seen[k-1].fields, d))
			for i, u := range f {
				h.units[i], h.firm[i] = strings.Trim(u, "[](){}<> "), true
			}
			k--
		default:
			h.line = seen[k].line
			h.take(f)
		}
		for _, c := range seen[:k] {
			h.before = append(h.before, c.remark)
		}
	}
	return h
}

// cells cuts a line of names at the separator of the rows, or, where that gives another number of columns, at
// another one or at wide blanks.
func cells(line []byte, d dialect) []string {
	cut := func(sep byte) (cells []string) {
		for _, f := range splitFields(nil, line, sep) {
			cells = append(cells, plainText(f))
		}
		return cells
	}
	own := cut(d.sep)
	if fitCells(own, d) != nil {
		return own
	}
	for _, sep := range []byte{'\t', ';', ','} {
		if c := cut(sep); fitCells(c, d) != nil {
			return c
		}
	}
	if c := wideBlank.Split(strings.TrimSpace(plainText(line)), -1); fitCells(c, d) != nil {
		return c
	}
	return own
}

var wideBlank = regexp.MustCompile(`\s{2,}|\t`)

// fitCells brings the cells of a line of names to the number of columns: an empty cell behind the last may be
// missing or too many, and names and units may alternate. nil when they do not fit.
func fitCells(cells []string, d dialect) []string {
	n := d.cols
	for len(cells) > n && cells[len(cells)-1] == "" {
		cells = cells[:len(cells)-1]
	}
	if len(cells) == n-1 && d.trailing {
		return append(cells[:len(cells):len(cells)], "")
	}
	if len(cells) == 2*n {
		var pairs []string
		for i := 0; i < len(cells); i += 2 {
			u := strings.Trim(cells[i+1], "[](){}<> ")
			_, isTime := timeUnit(u)
			if _, known := anyUnit(u); !known && !isTime {
				return nil
			}
			pairs = append(pairs, cells[i]+" ["+u+"]")
		}
		return pairs
	}
	if n == 1 && len(cells) > 1 && d.sep == ' ' {
		return []string{strings.Join(cells, " ")}
	}
	if len(cells) != n {
		return nil
	}
	return cells
}

// namesIn tells that at least one cell is a word.
func namesIn(cells []string) bool {
	for _, c := range cells {
		if k := (dialect{mark: '.', old: true}).kindOf([]byte(c)); k == kindWords && (dialect{mark: ',', old: true}).kindOf([]byte(c)) == kindWords {
			return true
		}
	}
	return false
}

func onlyUnits(cells []string) bool {
	known := 0
	for _, c := range cells {
		c = strings.Trim(c, "[](){}<> ")
		_, isTime := timeUnit(c)
		if _, ok := anyUnit(c); !ok && !isTime {
			return false
		}
		if c != "" && c != "-" {
			known++
		}
	}
	return known > 0
}

func (h *header) take(cells []string) {
	n := len(cells)
	h.names, h.units, h.firm = make([]string, n), make([]string, n), make([]bool, n)
	for i, c := range cells {
		h.names[i], h.units[i], h.firm[i] = splitName(c)
	}
}

// splitName parts "Force [kN]", "F_kN", "time/s", "Load kgf" and "Load;kgf" into name and unit. firm tells that
// brackets say which part is the unit.
func splitName(text string) (name, unitText string, firm bool) {
	for _, b := range []string{"[]", "()", "{}", "<>"} {
		open, end := strings.LastIndexByte(text, b[0]), strings.LastIndexByte(text, b[1])
		if open >= 0 && end > open {
			u := strings.TrimSpace(text[open+1 : end])
			rest := strings.Trim(text[:open]+text[end+1:], " _/")
			if rest == "" {
				rest = u
			}
			return rest, u, true
		}
	}
	for _, mark := range []string{";", ",", " ", "_", "/"} {
		at := strings.LastIndex(text, mark)
		if mark == "/" {
			at = strings.Index(text, mark)
		}
		if at <= 0 {
			continue
		}
		u := strings.TrimSpace(text[at+1:])
		if rest := strings.Trim(text[:at], " _;,/"); unitWord(u, rest) {
			return rest, u, false
		}
	}
	if unitWord(text, "") {
		return text, text, false
	}
	return text, "", false
}

// unitWord tells that a word without brackets is a unit. After another word, min and h are taken as units of
// time only where that word speaks of time.
func unitWord(u, name string) bool {
	t, isTime := timeUnit(u)
	if isTime && t.scale != 1 && name != "" && !timeName(name) {
		return false
	}
	_, isUnit := traceio.PlainUnit(u)
	return isTime || isUnit
}

// plainText makes a header field valid UTF-8: what is not is Latin-1.
func plainText(f []byte) string {
	if utf8.Valid(f) {
		return strings.ReplaceAll(string(f), `""`, `"`)
	}
	r := make([]rune, len(f))
	for i, c := range f {
		r[i] = rune(c)
	}
	return strings.ReplaceAll(string(r), `""`, `"`)
}
