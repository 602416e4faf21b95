package csvtrace

import (
	"bytes"
	"strings"
)

// fieldKind is what a field looks like.
type fieldKind byte

const (
	kindEmpty   fieldKind = iota
	kindNumber            // a number
	kindMissing           // a word for no number: NaN, inf, ---, OVL
	kindClock             // a time of day
	kindDate              // a date without a time of day
	kindWords
)

func (d dialect) kindOf(f []byte) fieldKind {
	if len(f) == 0 {
		return kindEmpty
	}
	if end, _ := grammar(f, d.mark); end == len(f) {
		return kindNumber
	}
	if isMissing(f) {
		return kindMissing
	}
	if bytes.IndexByte(f, ':') >= 0 { // every clock time has one
		if _, ok := clockField(f, d.old); ok {
			return kindClock
		}
	}
	if _, n := dateAt(f); n == len(f) {
		return kindDate
	}
	return kindWords
}

var missingWords = map[string]bool{
	"nan": true, "-nan": true, "+nan": true, "nan(ind)": true, "-nan(ind)": true, "inf": true, "+inf": true, "-inf": true, "infinity": true, "-infinity": true,
	"+infinity": true, "1.#qnan": true, "-1.#ind": true, "1.#inf": true, "-1.#inf": true, "#n/a": true, "n/a": true, "na": true, "#num!": true, "null": true,
	"none": true, "-": true, "--": true, "---": true, "ovl": true, "ol": true, "over": true, "overload": true, "overflow": true, "#div/0!": true,
}

func isMissing(f []byte) bool {
	return len(f) <= 10 && missingWords[strings.ToLower(string(f))]
}

// splitFields cuts a line at sep and takes blanks and quotes off; runs of spaces and tabs are one separator
// when sep is a space. A doubled quote inside quotes stays as it is written. What stands behind mostColumns fields is one more.
func splitFields(dst [][]byte, line []byte, sep byte) [][]byte {
	dst = dst[:0]
	if sep == ' ' {
		return splitSpaces(dst, line)
	}
	for {
		if len(dst) == mostColumns {
			return append(dst, line)
		}
		end := -1
		rest := line
		for len(rest) > 0 && rest[0] == ' ' {
			rest = rest[1:]
		}
		if len(rest) > 0 && rest[0] == '"' {
			if q := closingQuote(rest); q > 0 {
				if k := bytes.IndexByte(rest[q:], sep); k >= 0 {
					end = len(line) - len(rest) + q + k
				}
			} else {
				end = bytes.IndexByte(line, sep)
			}
		} else {
			end = bytes.IndexByte(line, sep)
		}
		if end < 0 {
			return append(dst, tidy(line))
		}
		dst = append(dst, tidy(line[:end]))
		line = line[end+1:]
	}
}

func splitSpaces(dst [][]byte, line []byte) [][]byte {
	for {
		line = bytes.TrimLeft(line, " \t")
		if len(line) == 0 {
			return dst
		}
		if len(dst) == mostColumns {
			return append(dst, line)
		}
		end := bytes.IndexAny(line, " \t")
		if line[0] == '"' {
			if q := closingQuote(line); q > 0 {
				end = q + 1
				if end == len(line) {
					end = -1
				}
			}
		}
		if end < 0 {
			return append(dst, tidy(line))
		}
		dst = append(dst, tidy(line[:end]))
		line = line[end:]
	}
}

// closingQuote is the index of the quote that closes the one at f[0], 0 when none does.
func closingQuote(f []byte) int {
	for i := 1; i < len(f); i++ {
		if f[i] != '"' {
			continue
		}
		if i+1 < len(f) && f[i+1] == '"' {
			i++
			continue
		}
		return i
	}
	return 0
}

func tidy(f []byte) []byte {
	if n := len(f); n == 0 || f[0] > ' ' && f[0] != '"' && f[n-1] > ' ' {
		return f // nothing to take off
	}
	f = bytes.Trim(f, " \t\r\f\v")
	if len(f) >= 2 && f[0] == '"' && f[len(f)-1] == '"' {
		f = bytes.TrimSpace(f[1 : len(f)-1])
	}
	return f
}

func isBlank(line []byte) bool { return len(bytes.TrimSpace(line)) == 0 }

// commentText is what stands behind a comment mark. A semicolon marks a comment only where it does not part
// the fields.
func commentText(line []byte, sep byte) (text []byte, ok bool) {
	line = bytes.TrimSpace(line)
	switch {
	case len(line) == 0:
	case line[0] == '#' && !isMissing(line) || line[0] == '%' || line[0] == ';' && sep != ';':
		return bytes.TrimSpace(bytes.TrimLeft(line, "#%;")), true
	case bytes.HasPrefix(line, []byte("//")):
		return bytes.TrimSpace(bytes.TrimLeft(line, "/")), true
	}
	return nil, false
}

// groupMarks part digits by threes: besides the signs of a keyboard the no-break space, the narrow and the thin space (U+00A0, U+202F,
// U+2009), the no-break space of Latin-1, and the right quotation mark (U+2019).
var groupMarks = [][]byte{{','}, {'.'}, {'\''}, {' '}, []byte("\u00a0"), []byte("\u202f"), []byte("\u2009"), {0xa0}, []byte("\u2019")}

// oldMarks is how many of them csv/1 knew.
const oldMarks = 4

// hasThousands tells that a field that is no number in the dialect would be one with the digits before the
// decimal sign grouped by threes: 1,234.5 or 1.234,5 or 1'234.
func hasThousands(f []byte, old bool) bool {
	i := 0
	if len(f) > 0 && (f[0] == '-' || f[0] == '+') {
		i = 1
	}
	run := func() int {
		from := i
		for i < len(f) && f[i]-'0' <= 9 {
			i++
		}
		return i - from
	}
	if n := run(); n < 1 || n > 3 {
		return false
	}
	var group []byte
	for k, m := range groupMarks {
		if bytes.HasPrefix(f[i:], m) && (k < oldMarks || !old) {
			group = m
			break
		}
	}
	if group == nil {
		return false
	}
	groups := 0
	for bytes.HasPrefix(f[i:], group) {
		i += len(group)
		if run() != 3 {
			return false
		}
		groups++
	}
	if i < len(f) && (f[i] == '.' || f[i] == ',') && f[i] != group[0] {
		i++
		run()
	}
	return groups > 0 && i == len(f)
}

// sample shortens text for a message.
func sample(text []byte) string {
	s := strings.ToValidUTF8(string(text), "�")
	if r := []rune(s); len(r) > 48 {
		return string(r[:48]) + "..."
	}
	return s
}
