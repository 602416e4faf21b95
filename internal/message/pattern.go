package message

import (
	"regexp"
	"sort"
	"strconv"
	"strings"
)

// pattern is a sentence with blanks, as the code formats it, ready to recognise a filled one.
type pattern struct {
	english     string
	translation string
	anchor      string // longest text between the blanks
	fixed       int    // letters outside the blanks
	open        bool   // ends in a blank
	whole, head *regexp.Regexp
}

// blank is a verb of package fmt, with an argument's number or without, or the sign that stands for a per cent.
var blank = regexp.MustCompile(`%%|%(?:\[(\d+)\])?[-+#0]*\d*(?:\.\d+)?([a-zA-Z])`)

// Blanks are the verbs of a sentence in their order, without per cent signs.
func Blanks(text string) []string {
	var out []string
	for _, m := range blank.FindAllStringSubmatch(text, -1) {
		if m[2] != "" {
			out = append(out, m[2])
		}
	}
	return out
}

// What a blank holds, by its verb.
const (
	wholeNumber = `([-+\x{2212}]?\d+)`
	anyNumber   = `([-+\x{2212}]?(?:\d[\d.]*(?:e[-+]?\d+)?|Inf|NaN))`
	quoted      = `("[^"]*")`
	anyText     = `(.*?)`
)

func newPattern(english, translation string) pattern {
	p := pattern{english: english, translation: strings.Trim(translation, " ")}
	var re strings.Builder
	rest := strings.TrimSpace(english)
	literal := ""
	either := func(one, many string) {
		re.WriteString("(?:" + regexp.QuoteMeta(one) + "|" + regexp.QuoteMeta(many) + ")")
		p.fixed += len(letters.FindString(many))
	}
	flush := func() {
		re.WriteString(regexp.QuoteMeta(literal))
		for _, r := range literal {
			if r >= 'A' && r <= 'z' {
				p.fixed++
			}
		}
		if len(literal) > len(p.anchor) {
			p.anchor = literal
		}
		literal = ""
	}
	for {
		at := blank.FindStringSubmatchIndex(rest)
		if m := forms.FindStringSubmatchIndex(rest); m != nil && (at == nil || m[0] < at[0]) {
			literal += rest[:m[0]]
			flush()
			either(rest[m[4]:m[5]], rest[m[6]:m[7]])
			rest = rest[m[1]:]
			continue
		}
		if at == nil {
			literal += rest
			break
		}
		literal += rest[:at[0]]
		if at[4] < 0 {
			literal += "%"
		} else {
			flush()
			switch rest[at[4]:at[5]] {
			case "d":
				re.WriteString(wholeNumber)
			case "e", "f", "g":
				re.WriteString(anyNumber)
			case "q":
				re.WriteString(quoted)
			default:
				re.WriteString(anyText)
			}
		}
		rest = rest[at[1]:]
	}
	p.open = literal == ""
	flush()
	p.whole = regexp.MustCompile(`(?s)^` + re.String() + `$`)
	p.head = regexp.MustCompile(`(?s)^` + re.String() + `(\s*)(.+)$`)
	return p
}

// fill puts what stands in the blanks into a translation, in the forms that its counts ask for.
func (l Locale) fill(translation string, slots []string) string {
	translation = l.countedSlots(translation, slots)
	next := 0
	return blank.ReplaceAllStringFunc(translation, func(verb string) string {
		m := blank.FindStringSubmatch(verb)
		if m[2] == "" {
			return "%"
		}
		i := next
		next++
		if m[1] != "" {
			n, err := strconv.Atoi(m[1])
			if err != nil || n < 1 {
				return verb
			}
			i = n - 1
		}
		if i >= len(slots) {
			return verb
		}
		return slots[i]
	})
}

// least is how many letters a pattern needs outside its blanks to recognise a sentence by them.
const least = 4

// patternsOf compiles the sentences with blanks, those that say most first.
func patternsOf(text map[string]string) []pattern {
	var out []pattern
	for english, translation := range text {
		if len(Blanks(english)) == 0 {
			continue
		}
		if p := newPattern(english, translation); p.fixed >= least {
			out = append(out, p)
		}
	}
	sort.Slice(out, func(i, j int) bool {
		a, b := out[i], out[j]
		if a.fixed != b.fixed {
			return a.fixed > b.fixed
		}
		if len(a.english) != len(b.english) {
			return len(a.english) > len(b.english)
		}
		return out[i].english < out[j].english
	})
	return out
}
