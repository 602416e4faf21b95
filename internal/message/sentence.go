package message

import (
	"errors"
	"fmt"
	"html"
	"html/template"
	"reflect"
	"strings"
)

// Sentence is what the program says: parts that stand one after the other, each a format of the catalogue with what
// fills its blanks. It keeps both, so that every language says it by its key and nothing has to be recognised. The empty
// sentence says nothing. In JSON and on paper it is its English text; read back from there it is a told one.
//
// What fills a blank is said by its type: a Sentence and an error in the language, Names word by word, Own as it is, all else
// as package fmt writes it, which is a word of the catalogue or has the decimal sign of the language.
type Sentence []part

type part struct {
	kind kind
	text string
	args []any
}

type kind uint8

const (
	said kind = iota // a format, the key into the catalogue
	told             // a text that came filled and in English
	sign             // what parts a list
)

// Own is a text that stays in every language: the name of a drop, a person's own words.
type Own string

// Names are names parted by commas, levels and materials: those that the catalogue holds are said, the others stay.
type Names string

// Say makes a sentence of a format and what fills its blanks. Without arguments the text stands as it is.
func Say(english string, args ...any) Sentence { return Sentence(nil).Say(english, args...) }

// Say gives the sentence with another format after it.
func (s Sentence) Say(english string, args ...any) Sentence {
	if english == "" {
		return s
	}
	return s.with(part{said, english, args})
}

// Told is a text that came filled and in English, from a file or from a layer that knows no sentences. Locale.Tell
// recognises it.
func Told(english string) Sentence { return Sentence(nil).Told(english) }

// Told gives the sentence with such a text after it.
func (s Sentence) Told(english string) Sentence {
	if english == "" {
		return s
	}
	return s.with(part{kind: told, text: english})
}

// TellAll is Told for a list; it is never nil.
func TellAll(english []string) []Sentence {
	out := make([]Sentence, 0, len(english))
	for _, text := range english {
		out = append(out, Told(text))
	}
	return out
}

// with never writes into what another sentence holds.
func (s Sentence) with(p ...part) Sentence { return append(s[:len(s):len(s)], p...) }

// And gives the sentence with another after it.
func (s Sentence) And(t Sentence) Sentence { return s.with(t...) }

// Join sets sentences one after the other with a sign between them, "; ". Empty ones are sentences, too.
func Join(between string, list ...Sentence) Sentence {
	var out Sentence
	for i, s := range list {
		if i > 0 {
			out = out.with(part{kind: sign, text: between})
		}
		out = out.And(s)
	}
	return out
}

// refusal is an error that is a sentence, with the errors it came from.
type refusal struct {
	says Sentence
	from []error
}

func (r refusal) Error() string   { return r.says.String() }
func (r refusal) Unwrap() []error { return r.from }

// Error gives the sentence as an error, from which Why gives it back, and errors.Is the errors that it came from.
func (s Sentence) Error(from ...error) error { return refusal{s, from} }

// Why says an error: the sentence that it is, else its text as told. No error gives the empty sentence.
func Why(err error) Sentence {
	if err == nil {
		return nil
	}
	if r, ok := errors.AsType[refusal](err); ok && r.Error() == err.Error() {
		return r.says
	}
	return Told(err.Error())
}

// String is the English text.
func (s Sentence) String() string {
	if len(s) == 1 {
		return s[0].String()
	}
	var b strings.Builder
	for _, p := range s {
		b.WriteString(p.String())
	}
	return b.String()
}

func (p part) String() string {
	if p.kind != said || len(p.args) == 0 {
		return p.text
	}
	return Text(p.text, p.args...)
}

// MarshalText gives the English text.
func (s Sentence) MarshalText() ([]byte, error) { return []byte(s.String()), nil }

// UnmarshalText takes a text as told.
func (s *Sentence) UnmarshalText(text []byte) error {
	*s = Told(string(text))
	return nil
}

// Equal tells that two sentences have the same formats and arguments, and so say the same in every language.
func (s Sentence) Equal(t Sentence) bool {
	return len(s) == len(t) && (len(s) == 0 || reflect.DeepEqual(s, t))
}

// Texts are the English texts of sentences.
func Texts(list []Sentence) []string {
	out := make([]string, len(list))
	for i, s := range list {
		out[i] = s.String()
	}
	return out
}

// Tell says a sentence in the language, for places that hold only text.
func (l Locale) Tell(s Sentence) string {
	if l.Is("en") {
		return s.String()
	}
	return strings.NewReplacer(englishFrom, "", englishTo, "").Replace(l.tell(s))
}

// TellHTML says a sentence in the language, escaped; what stays English is marked as English.
func (l Locale) TellHTML(s Sentence) string {
	if l.Is("en") {
		return html.EscapeString(s.String())
	}
	return marked(l.tell(s))
}

// marked escapes a text and marks what is English in it.
func marked(text string) string {
	return strings.NewReplacer(englishFrom, `<span lang="en">`, englishTo, `</span>`).Replace(html.EscapeString(text))
}

// Text says a sentence, a word or a name, for places that hold only text; what the catalogue does not hold stays.
func (l Locale) Text(english any) string {
	if said, ok := english.(Sentence); ok {
		return l.Tell(said)
	}
	return l.Word(fmt.Sprint(english))
}

// Markup is Text escaped; what stays English is marked as English.
func (l Locale) Markup(english any) template.HTML {
	if said, ok := english.(Sentence); ok {
		return template.HTML(l.TellHTML(said)) //nolint:gosec // escaped there
	}
	return template.HTML(l.HTML(fmt.Sprint(english))) //nolint:gosec // escaped there
}

func (l Locale) tell(s Sentence) string {
	var b strings.Builder
	for _, p := range s {
		switch p.kind {
		case sign:
			b.WriteString(l.spaced(p.text))
		case told:
			b.WriteString(l.tellTold(p.text))
		default:
			b.WriteString(l.tellSaid(p))
		}
	}
	return b.String()
}

func (l Locale) tellTold(text string) string {
	if t, ok := l.find(text); ok {
		return t
	}
	return l.unknown(text)
}

func (l Locale) tellSaid(p part) string {
	translation, ok := l.translation(p.text)
	switch {
	case !ok && letters.MatchString(blank.ReplaceAllString(p.text, "")): // an error of the program, found by a test
		return l.tellTold(p.String())
	case !ok && len(p.args) == 0:
		return l.Number(p.text)
	case !ok: // signs between blanks
		return l.fill(spacedSigns(l, p.text), l.blanksOf(p))
	case len(p.args) == 0:
		return translation
	}
	return l.fill(translation, l.blanksOf(p))
}

// translation is that of a format, with the spaces at its ends that part it from others.
func (l Locale) translation(english string) (string, bool) {
	t, ok := l.text[english]
	if !ok {
		if t, ok = l.bare[strings.TrimSpace(english)]; !ok {
			return "", false
		}
	}
	if english[0] == ' ' && strings.IndexAny(t, " \u00a0;,") != 0 {
		t = " " + t
	}
	if strings.HasSuffix(english, " ") && !strings.HasSuffix(t, " ") {
		t += " "
	}
	return t, true
}

// spacedSigns sets the space that French sets before a colon or semicolon.
func spacedSigns(l Locale, format string) string {
	if !l.Is("fr") {
		return format
	}
	return strings.NewReplacer(": ", l.spaced(": "), "; ", l.spaced("; ")).Replace(format)
}

// blanksOf says what fills the blanks of a format, in their order.
func (l Locale) blanksOf(p part) []string {
	var out []string
	next := 0
	for _, m := range blank.FindAllStringSubmatch(p.text, -1) {
		if m[2] == "" {
			continue
		}
		i, verb := next, m[0]
		if m[1] != "" {
			i = int(m[1][0] - '1')
			verb = strings.Replace(verb, "["+m[1]+"]", "", 1)
		}
		next = i + 1
		if i >= len(p.args) {
			out = append(out, "")
			continue
		}
		out = append(out, l.argument(verb, p.args[i]))
	}
	return out
}

func (l Locale) argument(verb string, arg any) string {
	var text string
	switch a := arg.(type) {
	case Sentence:
		text = l.tell(a)
	case error:
		text = l.tell(Why(a))
	case Own:
		text = strings.NewReplacer(englishFrom, "", englishTo, "").Replace(string(a))
	case Names:
		text = l.tellNames(string(a))
	default:
		text = fmt.Sprintf(verb, arg)
		if t, ok := l.text[text]; ok {
			return t
		}
		return l.Number(text)
	}
	return fmt.Sprintf(verb, text)
}

// tellNames says each of a list of names, where the catalogue holds it or all its words.
func (l Locale) tellNames(list string) string {
	parts := strings.Split(list, ", ")
	for i, name := range parts {
		if t, ok := l.text[name]; ok {
			parts[i] = t
		} else if t, ok := l.known(name); ok {
			parts[i] = t
		} else {
			parts[i] = l.Number(name)
		}
	}
	return strings.Join(parts, ", ")
}
