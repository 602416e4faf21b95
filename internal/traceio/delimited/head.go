package delimited

import (
	"bytes"
	"fmt"
	"regexp"
	"strconv"
	"strings"
)

// layout is how a file is written, found from its head.
type layout struct {
	sep, mark byte
	cols      int
	names     []string // "" without a header
	units     []string // "" where none is named
	header    bool
	offset    int // of the first row
	line      int // its number, from 1
	preamble  []string
	rateHz    float64 // named in the preamble, 0 = not
	rateFrom  string
	comment   byte // of lines between rows that are passed over, 0 = none seen
}

// candidates in order of preference when several read the rows equally well.
var candidates = []struct{ sep, mark byte }{
	{'\t', '.'}, {'\t', ','}, {';', '.'}, {';', ','}, {',', '.'}, {' ', '.'}, {' ', ','},
}

// findLayout looks for the way of reading under which the longest run of lines up to the end of the head
// are rows of one width whose fields are numbers, clock times or empty. whole tells that the head is the
// whole file, so that its last line is complete.
func findLayout(name string, head []byte, whole bool) (*layout, error) {
	lines, offsets := splitLines(head, whole)
	best, bestScore := -1, 0
	var bestRun run
	for k, c := range candidates {
		r := rowRun(lines, c.sep, c.mark)
		if r.rows == 0 {
			continue
		}
		score := r.rows*10 + min(r.cols, 8)
		// One column under two separators, or integers split at decimal commas: see singleComma.
		if c.sep == ',' && singleComma(lines, r) {
			continue
		}
		if score > bestScore {
			best, bestScore, bestRun = k, score, r
		}
	}
	if best < 0 {
		return nil, noRows(name, lines)
	}
	c := candidates[best]
	l := &layout{sep: c.sep, mark: c.mark, cols: bestRun.cols, offset: offsets[bestRun.from], line: bestRun.from + 1}
	if l.cols == 1 && c.sep == '\t' {
		l.sep = ';' // any separator will do, and a space may trail
	}
	l.readPreamble(lines[:bestRun.from])
	return l, nil
}

func noRows(name string, lines [][]byte) error {
	for i, line := range lines {
		if n := bytes.Count(line, []byte(".")); n > 1 && thousands.Match(line) || thousandsUS.Match(line) {
			return fmt.Errorf("%s:%d: numbers with thousands separators (%s) cannot be told from decimals; export without them", name, i+1, clip(string(line)))
		}
	}
	first := ""
	if len(lines) > 0 {
		first = clip(string(lines[0]))
	}
	return fmt.Errorf("%s:1: no rows of numbers are found (the file begins %q); export the record as delimited text with one sample a line", name, first)
}

var (
	thousands   = regexp.MustCompile(`\d{1,3}\.\d{3}(\.\d{3})+|\d{1,3}\.\d{3},\d`)
	thousandsUS = regexp.MustCompile(`"\d{1,3}(,\d{3})+(\.\d+)?"`)
)

func clip(s string) string {
	if r := []rune(s); len(r) > 60 {
		return string(r[:60]) + "..."
	}
	return s
}

// splitLines cuts at LF, CRLF or CR. The last line is left out unless it is complete.
func splitLines(b []byte, whole bool) (lines [][]byte, offsets []int) {
	start := 0
	for i := 0; i < len(b); i++ {
		if b[i] != '\n' && b[i] != '\r' {
			continue
		}
		lines, offsets = append(lines, b[start:i]), append(offsets, start)
		if b[i] == '\r' && i+1 < len(b) && b[i+1] == '\n' {
			i++
		}
		start = i + 1
	}
	if whole && start < len(b) {
		lines, offsets = append(lines, b[start:]), append(offsets, start)
	}
	return lines, offsets
}

type run struct{ from, rows, cols int }

// rowRun finds the first line of a block of rows of one width. The block may be interrupted by comments,
// blank lines and a few odd lines; it starts after the last header-like line.
func rowRun(lines [][]byte, sep, mark byte) run {
	var best, now run
	odd := 0
	for i, line := range lines {
		if blank(line) || commentMark(line) != 0 {
			continue
		}
		cols, ok := rowWidth(line, sep, mark)
		switch {
		case ok && now.rows > 0 && cols == now.cols:
			now.rows++
			odd = 0
		case ok && (now.rows == 0 || odd > 3 || now.rows < 4):
			if now.rows > best.rows {
				best = now
			}
			now, odd = run{i, 1, cols}, 0
		case now.rows > 0:
			odd++
			if odd > 3 {
				if now.rows > best.rows {
					best = now
				}
				now = run{}
				odd = 0
			}
		}
	}
	if now.rows > best.rows {
		best = now
	}
	return best
}

// rowWidth is the number of fields of a line, at least one of them a number and all of them numbers, clock
// times, not-a-number words or empty. A trailing separator adds no field.
func rowWidth(line []byte, sep, mark byte) (cols int, ok bool) {
	numbers := 0
	for _, f := range fields(line, sep) {
		cols++
		f = unquote(bytes.TrimSpace(f))
		if len(f) == 0 || isNaNWord(f) {
			continue
		}
		if _, n, good := number(f, 0, mark); good && n == len(f) {
			numbers++
			continue
		}
		if _, good := clock(f); good {
			continue
		}
		return 0, false
	}
	return cols, numbers > 0
}

// fields cuts a line; runs of spaces count as one separator, and a trailing separator adds no field.
func fields(line []byte, sep byte) [][]byte {
	if sep == ' ' {
		return bytes.Fields(line)
	}
	line = bytes.TrimRight(line, " \r")
	line = bytes.TrimSuffix(line, []byte{sep})
	return bytes.Split(line, []byte{sep})
}

func unquote(f []byte) []byte {
	if len(f) >= 2 && f[0] == '"' && f[len(f)-1] == '"' {
		return f[1 : len(f)-1]
	}
	return f
}

func blank(line []byte) bool { return len(bytes.TrimSpace(line)) == 0 }

func commentMark(line []byte) byte {
	line = bytes.TrimSpace(line)
	switch {
	case len(line) == 0:
		return 0
	case line[0] == '#' || line[0] == '%' || line[0] == '!':
		return line[0]
	case bytes.HasPrefix(line, []byte("//")):
		return '/'
	}
	return 0
}

func isNaNWord(f []byte) bool {
	switch strings.ToLower(string(f)) {
	case "nan", "-nan", "nan(ind)", "-nan(ind)", "inf", "+inf", "-inf", "infinity", "-infinity", "#n/a", "n/a", "na", "null", "none", "---", "--", "overload", "ovl", "ol", "#num!", "1.#qnan", "-1.#ind":
		return true
	}
	return false
}

// singleComma tells that a file with one comma in each line is one column with decimal commas: the lines
// before the rows hold no comma, and the part before it does not count steadily upward.
func singleComma(lines [][]byte, r run) bool {
	if r.cols != 2 {
		return false
	}
	for i := r.from - 1; i >= 0; i-- {
		if !blank(lines[i]) && commentMark(lines[i]) == 0 {
			if bytes.IndexByte(lines[i], ',') >= 0 {
				return false
			}
			break
		}
	}
	last, rises, n := 0.0, 0, 0
	for _, line := range lines[r.from:min(len(lines), r.from+200)] {
		f := fields(line, ',')
		if len(f) != 2 || bytes.ContainsAny(line, ".") {
			return false
		}
		v, _, ok := number(bytes.TrimSpace(f[0]), 0, '.')
		if !ok {
			return false
		}
		if n > 0 && v > last {
			rises++
		}
		last = v
		n++
	}
	return rises < (n-1)*9/10
}

// readPreamble finds names, units and what the lines before the rows say of the rate.
func (l *layout) readPreamble(lines [][]byte) {
	var candidates [][]string
	for _, raw := range lines {
		if blank(raw) {
			continue
		}
		text := string(bytes.TrimSpace(raw))
		if c := commentMark(raw); c != 0 {
			l.comment = c
			text = strings.TrimSpace(strings.TrimLeft(text, "#%!/"))
		}
		l.preamble = append(l.preamble, text)
		l.rateOf(text)
		candidates = append(candidates, l.cells(text))
	}
	k := len(candidates) - 1
	if k < 0 || len(candidates[k]) != l.cols || !wordy(candidates[k]) {
		return
	}
	last := candidates[k]
	if unitsOnly(last) && k > 0 && len(candidates[k-1]) == l.cols && wordy(candidates[k-1]) && !unitsOnly(candidates[k-1]) {
		l.names, l.units = make([]string, l.cols), make([]string, l.cols)
		for i := range last {
			l.names[i], _ = splitUnit(candidates[k-1][i])
			l.units[i] = strings.Trim(last[i], "[]()")
		}
	} else {
		l.names, l.units = make([]string, l.cols), make([]string, l.cols)
		for i, c := range last {
			l.names[i], l.units[i] = splitUnit(c)
		}
	}
	l.header = true
	l.preamble = l.preamble[:k]
}

func (l *layout) cells(text string) []string {
	var out []string
	if l.cols == 1 {
		return []string{strings.Trim(strings.TrimSpace(text), `";,`)}
	}
	for _, f := range fields([]byte(text), l.sep) {
		out = append(out, strings.TrimSpace(string(unquote(bytes.TrimSpace(f)))))
	}
	return out
}

// wordy tells that at least one cell is not a number.
func wordy(cells []string) bool {
	for _, c := range cells {
		if c == "" {
			continue
		}
		if _, err := strconv.ParseFloat(strings.Replace(c, ",", ".", 1), 64); err != nil {
			return true
		}
	}
	return false
}

func unitsOnly(cells []string) bool {
	n := 0
	for _, c := range cells {
		c = strings.Trim(c, "[]()")
		if c == "" || c == "-" {
			continue
		}
		if _, ok := unitOf(c); !ok {
			return false
		}
		n++
	}
	return n > 0
}

var (
	rateKey     = regexp.MustCompile(`(?i)^\W*(sample[ _-]?rate|sampling[ _-]?(rate|freq\w*)|sample[ _-]?freq\w*|frequency|rate|abtastrate|fs)\b[^0-9.]*?([:=;,\t ]+)\s*"?([0-9][0-9.,eE+]*)\s*(k|M)?(Hz|S/s|sps|1/s)?`)
	intervalKey = regexp.MustCompile(`(?i)^\W*(sampl\w*[ _-]?(interval|period|time)|interval|time[ _-]?step|delta[ _-]?t|dt)\b[^0-9.]*?([:=;,\t ]+)\s*"?([0-9][0-9.,eE+-]*)\s*(ms|us|µs|ns|s)?`)
)

func (l *layout) rateOf(text string) {
	if l.rateHz > 0 {
		return
	}
	if m := rateKey.FindStringSubmatch(text); m != nil {
		v, err := strconv.ParseFloat(strings.TrimRight(strings.Replace(m[4], ",", ".", 1), ".,"), 64)
		if err == nil && v > 0 {
			switch m[5] {
			case "k", "K":
				v *= 1e3
			case "M":
				v *= 1e6
			}
			l.rateHz, l.rateFrom = v, text
		}
		return
	}
	if m := intervalKey.FindStringSubmatch(text); m != nil {
		v, err := strconv.ParseFloat(strings.TrimRight(strings.Replace(m[4], ",", ".", 1), ".,"), 64)
		scale := map[string]float64{"": 1, "s": 1, "ms": 1e-3, "us": 1e-6, "µs": 1e-6, "ns": 1e-9}[strings.ToLower(m[5])]
		if err == nil && v > 0 && scale > 0 {
			l.rateHz, l.rateFrom = 1/(v*scale), text
		}
	}
}
