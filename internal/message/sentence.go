package message

import (
	"html"
	"regexp"
	"strings"
)

// A sentence of the layers below comes filled and in English, and some come from campaign files that an earlier
// program wrote. It is recognised by the formats that the catalogue holds, and said again in the language with what
// stood in its blanks. Note: typed messages with arguments were weighed; they would have changed what reductions keep,
// and campaigns written before would have stayed English.

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
}

const (
	deepest   = 8 // how far sentences may stand inside sentences
	mostSteps = 400
)

// Find gives a word or sentence of the program's in the language, and whether the catalogue holds it whole; English
// always does.
func (l Locale) Find(english string) (string, bool) {
	text, ok := l.find(english)
	if !ok {
		return english, false
	}
	return strings.NewReplacer(englishFrom, "", englishTo, "").Replace(text), !strings.Contains(text, englishFrom)
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
	return strings.NewReplacer(englishFrom, `<span lang="en">`, englishTo, `</span>`).Replace(html.EscapeString(text))
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
	s := &search{l, mostSteps}
	return s.sentence(english, 0)
}

// sentence recognises a text as one format, as a format with others after it, or as several sentences.
func (s *search) sentence(text string, depth int) (string, bool) {
	trimmed := strings.TrimSpace(text)
	if t, ok := s.bare[trimmed]; ok {
		return t, true
	}
	if s.left--; depth > deepest || s.left < 0 {
		return text, false
	}
	partly := "" // the first that leaves a part English; one that leaves none is better
	for i := range s.patterns {
		p := &s.patterns[i]
		if !strings.Contains(trimmed, strings.TrimSpace(p.anchor)) {
			continue
		}
		said := ""
		if m := p.whole.FindStringSubmatch(trimmed); m != nil {
			said = p.fill(s.slots(m[1:], depth))
		} else if m := p.head.FindStringSubmatch(trimmed); m != nil {
			n := len(m)
			if rest, ok := s.sentence(m[n-1], depth+1); ok {
				said = p.fill(s.slots(m[1:n-2], depth)) + m[n-2] + rest
			}
		}
		if said != "" && !strings.Contains(said, englishFrom) {
			return said, true
		}
		if partly == "" {
			partly = said
		}
	}
	if t, ok := s.parts(trimmed, depth); ok {
		return t, true
	}
	return partly, partly != ""
}

// parts recognises sentences that stand one after the other.
func (s *search) parts(text string, depth int) (string, bool) {
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
				if t, ok := s.sentence(text[:at], depth+1); ok {
					return t + sign, true
				}
				continue
			}
			b, ok := s.sentence(text[from:], depth+1)
			if !ok {
				continue
			}
			if a, ok := s.bare[text[:at]+":"]; ok && sign == ": " {
				return a + " " + b, true
			}
			if a, ok := s.sentence(left, depth+1); ok {
				return a + gap + b, true
			}
			if sign == ": " { // a name, and what is said of it
				if a := s.slot(left, depth+1); !strings.Contains(a, englishFrom) {
					return a + gap + b, true
				}
			}
		}
	}
	return text, false
}

func (s *search) slots(in []string, depth int) []string {
	out := make([]string, len(in))
	for i, text := range in {
		bare := strings.TrimSpace(text)
		at := strings.Index(text, bare)
		out[i] = text[:at] + s.slot(bare, depth+1) + text[at+len(bare):]
	}
	return out
}

// prose is how many words in a row, none of them known, are taken for a sentence and not for a name.
const prose = 4

var (
	letters = regexp.MustCompile(`\p{L}{2,}`)
	words   = regexp.MustCompile(`\p{L}{3,}`)
)

// slot says what stands in a blank: a number with its unit, a word, a name, a list of these, or a sentence.
func (s *search) slot(text string, depth int) string {
	if t, ok := s.text[text]; ok || text == "" {
		return t
	}
	if !letters.MatchString(text) {
		return s.Number(text)
	}
	if t, ok := s.known(text); ok {
		return t
	}
	if t, ok := s.sentence(text, depth); ok {
		return t
	}
	for _, sign := range []string{"; ", ", ", " and ", " with ", " to "} {
		if a, b, ok := strings.Cut(text, sign); ok {
			between := sign
			if sign[0] == ' ' {
				t, ok := s.text[strings.TrimSpace(sign)]
				if !ok {
					continue
				}
				between = " " + t + " "
			}
			return s.slot(a, depth) + between + s.slot(b, depth)
		}
	}
	if len(words.FindAllString(text, -1)) >= prose {
		return englishFrom + text + englishTo
	}
	return s.Number(text)
}

// known says a row of words that are all in the catalogue, "knot sewn eyes", the longest first.
func (l Locale) known(text string) (string, bool) {
	fields := strings.Fields(text)
	if len(fields) < 2 || len(fields) > 6 {
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
