package csvtrace

import (
	"bytes"
	"fmt"
	"slices"
	"strings"

	"github.com/hardcatch/hardcatch/internal/traceio"
)

// dialect is how the rows of a file are written, found from its head.
type dialect struct {
	old       bool // the rules of csv/1 count
	sep, mark byte
	cols      int    // fields of a row, with an empty one behind a trailing separator
	text      []bool // the column holds words
	trailing  bool   // an empty column stands behind the last separator
	first     int    // index of the first row among the lines of the head
}

// candidates stand in the order of preference when several read the rows equally well.
var candidates = []dialect{
	{sep: '\t', mark: '.'}, {sep: '\t', mark: ','}, {sep: ';', mark: '.'}, {sep: ';', mark: ','},
	{sep: ',', mark: '.'}, {sep: ',', mark: ','}, {sep: ' ', mark: '.'}, {sep: ' ', mark: ','},
}

// splitLines cuts at line feeds, up to mostHeadLines; the last line is left out unless whole says that it is complete.
func splitLines(text []byte, whole bool) [][]byte {
	var lines [][]byte
	for len(text) > 0 && len(lines) < mostHeadLines {
		end := bytes.IndexByte(text, '\n')
		if end < 0 {
			if whole {
				lines = append(lines, bytes.TrimSuffix(text, []byte{'\r'}))
			}
			break
		}
		lines = append(lines, bytes.TrimSuffix(text[:end], []byte{'\r'}))
		text = text[end+1:]
	}
	return lines
}

// findDialect looks for the separator and decimal sign under which most lines of the head are rows: fields
// of one pattern of numbers and words, at least one of them a number. ok is false when no line is.
func findDialect(lines [][]byte, old bool, o traceio.Options) (best dialect, ok bool) {
	// The one that could be worth most is tried first, and one that could not be worth more is not tried.
	most, at := 0, len(candidates)
	for _, c := range promising(lines) {
		if c.most < most || c.most == most && c.rank > at {
			continue
		}
		d := candidates[c.rank]
		d.old = old
		d, rows := tryDialect(lines, d)
		if score := d.worth(rows); score > most || score == most && score > 0 && c.rank < at {
			best, most, at, ok = d, score, c.rank, true
		}
	}
	if !ok {
		return dialect{}, false
	}
	if best.sep == ',' && best.mark == '.' && best.cols == 2 && oneColumn(lines, best, o) {
		if d, rows := tryDialect(lines, dialect{old: old, sep: ';', mark: ','}); rows > 0 {
			best = d
		}
	}
	if o.DecimalComma && best.mark == '.' && best.sep != ',' && best.cols > 0 && !pointInRows(lines, best) {
		if d, rows := tryDialect(lines, dialect{old: old, sep: best.sep, mark: ','}); rows > 0 {
			best = d
		}
	}
	return best, true
}

// worth is how well a dialect reads lines of which so many are rows of it.
func (d dialect) worth(rows int) int {
	if rows == 0 {
		return 0
	}
	texts := 0
	for _, t := range d.text {
		if t {
			texts++
		}
	}
	score := rows * 100
	if texts > 0 {
		score = rows * 10
	}
	if d.sep != ' ' { // spaces and tabs part dates from times too
		score += min(d.cols-texts, 8)
	}
	return score
}

// promise is what a candidate could be worth at most.
type promise struct{ rank, most int }

// promising are the candidates whose separator appears, with what each could be worth, the most first. A row has a digit and is no comment,
// and no more fields than its separators part; a field with a semicolon is words, so that rows with one are worth a tenth to all other
// separators.
func promising(lines [][]byte) []promise {
	rows, pure := 0, 0
	fields := map[byte]int{}
	for _, line := range lines {
		semicolon := false
		for _, sep := range []byte{'\t', ';', ','} {
			if n := bytes.Count(line, []byte{sep}); n > 0 {
				fields[sep] = max(fields[sep], n)
				semicolon = semicolon || sep == ';'
			}
		}
		if text := bytes.TrimSpace(line); bytes.ContainsAny(text, "0123456789") && text[0] != '%' && !bytes.HasPrefix(text, []byte("//")) && (text[0] != '#' || isMissing(text)) {
			rows++
			if !semicolon {
				pure++
			}
		}
	}
	var out []promise
	for i, c := range candidates {
		most := max(100*pure, 10*rows)
		if c.sep == ';' {
			most = 100 * rows
		}
		if c.sep == ' ' {
			out = append(out, promise{i, most})
		} else if n := fields[c.sep]; n > 0 || c.sep == '\t' {
			out = append(out, promise{i, most + min(n+1, 8)})
		}
	}
	slices.SortStableFunc(out, func(a, b promise) int { return b.most - a.most })
	return out
}

// anyDialect tells that findDialect finds one, without asking which is the best.
func anyDialect(lines [][]byte, old bool) bool {
	var try []dialect
	for _, c := range candidates {
		if c.sep == ' ' || c.sep == '\t' || appears(lines, c.sep) {
			c.old = old
			try = append(try, c)
		}
	}
	var row rowPattern
	for _, line := range lines {
		if isBlank(line) {
			continue
		}
		for _, c := range try {
			if row.of(line, c) {
				return true
			}
		}
	}
	return false
}

// rowPattern is the pattern of a line, with the memory that it is found in.
type rowPattern struct {
	fields  [][]byte
	pattern []byte
}

// of finds the pattern of a line that is not blank; false when it is no row.
func (p *rowPattern) of(line []byte, d dialect) bool {
	if _, is := commentText(line, d.sep); is {
		return false
	}
	if p.fields = splitFields(p.fields, line, d.sep); len(p.fields) > mostColumns {
		return false
	}
	p.pattern = patternOf(p.pattern[:0], p.fields, d)
	return len(p.pattern) > 0
}

// allNumbers tells that a line is so many numbers with a separator between them and nothing else, which needs no parting of fields. The
// separator is none that a number may hold.
func (d dialect) allNumbers(line []byte, fields int) bool {
	for k := range fields {
		if k > 0 {
			if len(line) == 0 || line[0] != d.sep {
				return false
			}
			line = line[1:]
		}
		end, _ := grammar(line, d.mark)
		if end == 0 {
			return false
		}
		line = line[end:]
	}
	return len(line) == 0
}

func appears(lines [][]byte, sep byte) bool {
	for _, l := range lines {
		if bytes.IndexByte(l, sep) >= 0 {
			return true
		}
	}
	return false
}

// tryDialect finds the most frequent pattern of rows and the first row of it.
func tryDialect(lines [][]byte, d dialect) (dialect, int) {
	patterns := make([]string, len(lines))
	count := map[string]int{}
	top := ""
	var row rowPattern
	same := "" // pattern of the rows just before, which most rows share
	n := 0     // of them so far
	plain := 0 // fields of those, when all are numbers
	for i, line := range lines {
		if plain == 0 || !d.allNumbers(line, plain) {
			if isBlank(line) || !row.of(line, d) {
				continue
			}
			if string(row.pattern) != same {
				count[same] = n
				same = string(row.pattern)
				n = count[same]
				plain = 0
				if d.sep != ' ' && d.sep != d.mark && strings.Trim(same, "n") == "" {
					plain = len(same)
				}
			}
		}
		patterns[i] = same
		n++
		most := n
		if top != same {
			most = count[top]
		}
		if better(same, n, top, most) {
			top = same
		}
	}
	count[same] = n
	if top == "" {
		return d, 0
	}
	d.cols, d.text = len(top), make([]bool, len(top))
	for k := range top {
		d.text[k] = top[k] == 'w'
	}
	d.trailing = top[len(top)-1] == 'e'
	d.first = -1
	last := -1
	for i, p := range patterns {
		if p != top {
			if p == "" && (isBlank(lines[i]) || isComment(lines[i], d.sep)) {
				continue
			}
			last = -1
			continue
		}
		if last >= 0 || count[top] == 1 {
			d.first = max(last, 0)
			if last < 0 {
				d.first = i
			}
			break
		}
		last = i
	}
	if d.first < 0 { // rows never stand side by side
		for i, p := range patterns {
			if p == top {
				d.first = i
				break
			}
		}
	}
	return d, count[top]
}

// better ranks patterns of rows: eight rows of numbers alone go before any with words, as the lines of a
// preamble are; else the more frequent goes first.
func better(p string, n int, top string, m int) bool {
	plain, topPlain := n >= fewest && !strings.Contains(p, "w"), m >= fewest && !strings.Contains(top, "w")
	if plain != topPlain {
		return plain
	}
	return n > m
}

// endsInRow tells that the last line that says anything is a row, so that the rows have begun.
func endsInRow(lines [][]byte, d dialect) bool {
	for i := len(lines) - 1; i >= 0; i-- {
		if !isBlank(lines[i]) && !isComment(lines[i], d.sep) {
			return len(splitFields(nil, lines[i], d.sep)) == d.cols
		}
	}
	return false
}

func isComment(line []byte, sep byte) bool {
	_, is := commentText(line, sep)
	return is
}

// patternOf adds 'w' to p for words, 'e' for an empty last field and 'n' for all else; nothing when no field is a number.
func patternOf(p []byte, fields [][]byte, d dialect) []byte {
	numbers := false
	for _, f := range fields {
		is := byte('n')
		switch d.kindOf(f) {
		case kindNumber:
			numbers = true
		case kindWords:
			is = 'w'
		}
		p = append(p, is)
	}
	if !numbers {
		return p[:0]
	}
	if k := len(p) - 1; k > 0 && len(fields[k]) == 0 {
		p[k] = 'e'
	}
	return p
}

// oneColumn tells that rows such as "12,5" are one number with a decimal comma, not two integers: the line of
// names holds no comma, or nobody named two columns and the first does not count upward.
func oneColumn(lines [][]byte, d dialect, o traceio.Options) bool {
	var fields [][]byte
	rising, n, last := 0, 0, 0.0
	for _, line := range lines[d.first:] {
		fields = splitFields(fields, line, ',')
		if len(fields) != 2 {
			continue
		}
		if bytes.ContainsAny(line, ".\"eE") {
			return false
		}
		a, b := parse(fields[0], '.', 0), parse(fields[1], '.', 0)
		if !a.ok || !b.ok || len(fields[1]) > 0 && fields[1][0] == '-' {
			return false
		}
		if n > 0 && a.value > last {
			rising++
		}
		last = a.value
		n++
	}
	if o.DecimalComma {
		return true
	}
	for i := d.first - 1; i >= 0; i-- {
		if !isBlank(lines[i]) {
			return bytes.IndexByte(lines[i], ',') < 0
		}
	}
	return rising < (n-1)*9/10
}

func pointInRows(lines [][]byte, d dialect) bool {
	for _, line := range lines[d.first:] {
		if bytes.IndexByte(line, '.') >= 0 {
			return true
		}
	}
	return false
}

// noRows is the error for a head without any row.
func noRows(name string, lines [][]byte, old bool) error {
	var fields [][]byte
	for i, line := range lines {
		for _, sep := range []byte{'\t', ';', ',', ' '} {
			fields = splitFields(fields, line, sep)
			for _, f := range fields {
				if hasThousands(f, old) {
					return thousandsError(name, i+1, f)
				}
			}
		}
	}
	for i, line := range lines {
		if !isBlank(line) {
			return fmt.Errorf("%s:%d: no rows of numbers are found (the text begins %q); export the record as text with one line per sample", name, i+1, sample(line))
		}
	}
	return fmt.Errorf("%s: the file is empty; export the record again", name)
}

func thousandsError(name string, line int, f []byte) error {
	return fmt.Errorf("%s:%d: the number %s has thousands separators, which cannot be told from decimal signs; export the record without them", name, line, sample(f))
}
