package message

import (
	"html"
	"regexp"
	"strings"
)

// A told sentence comes filled and in English: from a campaign file, or from numerical code that knows no Sentence. It is
// recognised by the formats that the catalogue holds, and said again in the language with what stood in its blanks.

// English text inside a translated one stands between these marks until it is written.
const (
	englishFrom = "\ue000"
	englishTo   = "\ue001"
)

// search is the recognising of one text. It gives up after so many steps, so that a text made to mislead it costs no more
// than an honest one.
type search struct {
	Locale
	left int
	done map[string]found
}

type found struct {
	text string
	ok   bool
}

func (l Locale) search() *search { return &search{l, mostSteps, map[string]found{}} }

// mostSteps bounds the search of one text; each step is on a shorter text than the one before.
const mostSteps = 400

// Find gives a word or sentence of the program's in the language, and whether the catalogue holds it whole; English
// always does.
func (l Locale) Find(english string) (string, bool) {
	text, ok := l.find(english)
	if !ok {
		return english, false
	}
	return strings.NewReplacer(englishFrom, "", englishTo, "").Replace(text), !strings.Contains(text, englishFrom)
}

// Word is what Find gives, for places that hold only text: what the catalogue does not hold stays.
func (l Locale) Word(english string) string {
	text, _ := l.Find(english)
	return text
}

// Names says a list of names, parted by commas: levels, materials. Those that the catalogue does not hold stay, with the
// decimal sign of the language.
func (l Locale) Names(list string) string {
	parts := strings.Split(list, ", ")
	for i := range parts {
		parts[i] = l.Name(parts[i])
	}
	return strings.Join(parts, ", ")
}

// Name is one name; see Names.
func (l Locale) Name(english string) string {
	if t, ok := l.Find(english); ok {
		return t
	}
	return l.Number(english)
}

// HTML gives a word or sentence in the language, escaped; what the catalogue does not hold stays and is marked as
// English.
func (l Locale) HTML(english string) string {
	if l.Is("en") {
		return html.EscapeString(english)
	}
	text, ok := l.find(english)
	if !ok {
		text = l.unknown(english)
	}
	return marked(text)
}

// unknown is a text that the catalogue does not hold: signs and numbers need no language, names stay.
func (l Locale) unknown(text string) string {
	if letters.MatchString(text) {
		return englishFrom + text + englishTo
	}
	return l.Number(text)
}

func (l Locale) find(english string) (string, bool) {
	if l.Is("en") {
		return english, true
	}
	if t, ok := l.text[english]; ok {
		return t, true
	}
	if strings.TrimSpace(english) == "" || strings.Contains(english, englishFrom) {
		return english, false
	}
	if t, ok := l.known(english); ok {
		return t, true
	}
	return l.search().sentence(english)
}

// sentence recognises a text as one format, as a format with others after it, or as several sentences.
func (s *search) sentence(text string) (string, bool) {
	trimmed := strings.TrimSpace(text)
	if t, ok := s.bare[trimmed]; ok {
		return t, true
	}
	if f, ok := s.done[trimmed]; ok {
		return f.text, f.ok
	}
	if s.left--; s.left < 0 {
		return text, false
	}
	said, ok := s.formats(trimmed)
	s.done[trimmed] = found{said, ok}
	return said, ok
}

func (s *search) formats(trimmed string) (string, bool) {
	partly := "" // the first that leaves a part open; one that leaves none is better
	for i := range s.patterns {
		p := &s.patterns[i]
		if !strings.Contains(trimmed, strings.TrimSpace(p.anchor)) {
			continue
		}
		said, sure := s.as(p, trimmed)
		if sure {
			return said, true
		}
		if partly == "" {
			partly = said
		}
	}
	if t, ok := s.parts(trimmed); ok {
		return t, true
	}
	return partly, partly != ""
}

// as reads a text as a format, alone or with others after it. It is sure when nothing in the blanks is left open.
func (s *search) as(p *pattern, text string) (string, bool) {
	partly := ""
	if m := p.whole.FindStringSubmatch(text); m != nil {
		slots, sure := s.slots(m[1:])
		if partly = s.fill(p.translation, slots); sure {
			return partly, true
		}
		if said, ok := s.tail(p, m[1:]); ok {
			return said, true
		}
	}
	if m := p.head.FindStringSubmatch(text); m != nil {
		n := len(m)
		if rest, ok := s.sentence(m[n-1]); ok && !strings.Contains(rest, englishFrom) {
			slots, sure := s.slots(m[1 : n-2])
			if said := s.fill(p.translation, slots) + m[n-2] + rest; sure || partly == "" {
				return said, sure
			}
		}
	}
	return partly, false
}

// ends are the signs at which another format may begin after a blank.
var ends = regexp.MustCompile(`; |, | \(|\. |: `)

// tail reads the last blank of a format as what stands in it with other formats after it.
func (s *search) tail(p *pattern, slots []string) (string, bool) {
	if len(slots) == 0 || !p.open {
		return "", false
	}
	last := slots[len(slots)-1]
	for _, at := range ends.FindAllStringIndex(last, -1) {
		from, gap := at[0], ""
		switch last[at[0]] {
		case '.', ':':
			from, gap = at[1], last[at[0]:at[1]]
		case ' ':
			gap = " "
		}
		rest, ok := s.sentence(last[from:])
		if !ok || strings.Contains(rest, englishFrom) {
			continue
		}
		said, sure := s.slots(append(append([]string(nil), slots[:len(slots)-1]...), last[:at[0]]))
		if sure {
			return s.fill(p.translation, said) + s.spaced(gap) + rest, true
		}
	}
	return "", false
}

// parts recognises sentences that stand one after the other.
func (s *search) parts(text string) (string, bool) {
	for _, sign := range []string{". ", "; ", ": ", ".", ";"} {
		for from := 0; ; {
			at := strings.Index(text[from:], sign)
			if at < 0 {
				break
			}
			at += from
			from = at + len(sign)
			left, gap := text[:at], sign
			if sign[0] == '.' {
				left, gap = text[:at+1], sign[1:]
			}
			if strings.TrimSpace(text[from:]) == "" {
				if sign != "." && sign != ";" {
					continue
				}
				if t, ok := s.sentence(text[:at]); ok {
					return t + sign, true
				}
				continue
			}
			b, ok := s.sentence(text[from:])
			if !ok {
				continue
			}
			if a, ok := s.bare[text[:at]+":"]; ok && sign == ": " {
				return a + " " + b, true
			}
			if strings.Count(left, "(") != strings.Count(left, ")") {
				continue
			}
			if a, ok := s.sentence(left); ok {
				return a + s.spaced(gap) + b, true
			}
			if sign == ": " { // a name, and what is said of it
				if a, ok := s.slot(left); ok {
					return a + s.spaced(gap) + b, true
				}
			}
		}
	}
	return text, false
}

func (s *search) slots(in []string) ([]string, bool) {
	out, sure := make([]string, len(in)), true
	for i, text := range in {
		bare := strings.TrimSpace(text)
		at := strings.Index(text, bare)
		said, ok := s.slot(bare)
		out[i] = text[:at] + said + text[at+len(bare):]
		// A blank does not end within brackets.
		sure = sure && ok && strings.Count(text, "(") == strings.Count(text, ")")
	}
	return out, sure
}

// spaced puts the space before a colon or semicolon that French sets there.
func (l Locale) spaced(sign string) string {
	if l.Is("fr") && (sign[:min(1, len(sign))] == ":" || sign[:min(1, len(sign))] == ";") {
		return "\u00a0" + sign
	}
	return sign
}

// What stands in a blank and is not known is a name up to so many words, and a sentence from so many on.
const (
	mostOfAName = 2
	prose       = 4
)

var (
	letters = regexp.MustCompile(`\p{L}{2,}`)
	words   = regexp.MustCompile(`\p{L}{3,}`)
)

// slot says what stands in a blank: a number with its unit, a word, a name, a list of these, or a sentence. It is not sure of
// several words that it does not know.
func (s *search) slot(text string) (string, bool) {
	if t, ok := s.text[text]; ok || text == "" {
		return t, true
	}
	if !letters.MatchString(text) {
		return s.Number(text), true
	}
	if t, ok := s.known(text); ok {
		return t, true
	}
	if t, ok := s.sentence(text); ok {
		return t, !strings.Contains(t, englishFrom)
	}
	for _, sign := range []string{"; ", ", "} {
		if a, b, ok := strings.Cut(text, sign); ok {
			first, sureOfFirst := s.slot(a)
			rest, sureOfRest := s.slot(b)
			return first + s.spaced(sign) + rest, sureOfFirst && sureOfRest
		}
	}
	n := len(words.FindAllString(text, -1))
	if n >= prose {
		return englishFrom + text + englishTo, false
	}
	return s.Number(text), n <= mostOfAName && !strings.Contains(text, ": ")
}

// mostInARow bounds a row of words.
const mostInARow = 10

// span is what a format says, and no row of words: "from" is said otherwise before a "to".
var span = regexp.MustCompile(`\bfrom .* to\b`)

// known says a row of words that are all in the catalogue, "knot sewn eyes", the longest first.
func (l Locale) known(text string) (string, bool) {
	fields := strings.Fields(text)
	if len(fields) < 2 || len(fields) > mostInARow || strings.Contains(text, ":") || span.MatchString(text) {
		return "", false
	}
	var out []string
	for len(fields) > 0 {
		n := len(fields)
		for ; n > 0; n-- {
			if t, ok := l.text[strings.Join(fields[:n], " ")]; ok {
				out = append(out, t)
				break
			}
		}
		if n == 0 {
			if words.MatchString(fields[0]) {
				return "", false
			}
			out = append(out, l.Number(fields[0])) // a number, a unit
			n = 1
		}
		fields = fields[n:]
	}
	return strings.Join(out, " "), true
}
