// Package message says the program's sentences in the reader's language.
package message

import (
	"embed"
	"encoding/json"
	"fmt"
	"regexp"
	"sort"
	"strings"
	"sync"
)

//go:embed messages
var files embed.FS

// Languages are those that pages and reports speak, the first when the reader asks for none of them.
var Languages = []string{"en", "de", "fr"}

// Locale is one language: its sentences, by the English ones, and its decimal sign.
type Locale struct {
	lang string
	*catalogue
}

// catalogue is the sentences of a language.
type catalogue struct {
	text     map[string]string
	bare     map[string]string // the same without spaces at the ends: parts of sentences carry them
	patterns []pattern
}

// parts are the files that a language's catalogue is kept in: what pages say, what reports say, and what the layers
// below say.
var parts = []string{"", ".report", ".sentences"}

// catalogues give what a language needs, read when it is first spoken: that takes a while. English needs nothing.
var catalogues = map[string]func() *catalogue{
	"en": func() *catalogue { return nil },
	"de": sync.OnceValue(func() *catalogue { return load("de") }),
	"fr": sync.OnceValue(func() *catalogue { return load("fr") }),
}

func load(lang string) *catalogue {
	c := &catalogue{text: map[string]string{}, bare: map[string]string{}}
	for _, part := range parts {
		data, err := files.ReadFile("messages/" + lang + part + ".json")
		if err != nil {
			panic(fmt.Sprintf("message: %v", err)) // embedded
		}
		if err := json.Unmarshal(data, &c.text); err != nil {
			panic(fmt.Sprintf("message: %s%s: %v", lang, part, err)) // embedded
		}
	}
	for english, t := range c.text {
		c.bare[strings.TrimSpace(english)] = strings.Trim(t, " ")
	}
	c.patterns = patternsOf(c.text)
	return c
}

// Sentences are the English sentences that the catalogue of a language holds.
func (l Locale) Sentences() []string {
	if l.catalogue == nil {
		return nil
	}
	out := make([]string, 0, len(l.text))
	for english := range l.text {
		out = append(out, english)
	}
	sort.Strings(out)
	return out
}

// In gives a language by its code.
func In(lang string) (Locale, error) {
	c, ok := catalogues[lang]
	if !ok {
		return Locale{}, fmt.Errorf("language %q is not known; choose one of %s", lang, strings.Join(Languages, ", "))
	}
	return Locale{lang, c()}, nil
}

// English is the language that the sentences are written in.
func English() Locale { return Locale{lang: "en"} }

// Lang is the code of the language.
func (l Locale) Lang() string {
	if l.lang == "" {
		return "en"
	}
	return l.lang
}

// Is tells whether the language is that of the code. The zero Locale is English.
func (l Locale) Is(lang string) bool { return l.Lang() == lang }

// Say gives a sentence in the language, filled with the arguments. A sentence that is not in the catalogue is an
// error of the program, found by a test.
func (l Locale) Say(english string, args ...any) string {
	text := english
	if !l.Is("en") {
		var ok bool
		if text, ok = l.text[english]; !ok {
			panic(fmt.Sprintf("message: %q is not in the catalogue of %s", english, l.Lang()))
		}
	}
	if len(args) == 0 {
		return text
	}
	slots := make([]string, len(args))
	for i, a := range args {
		slots[i] = fmt.Sprint(a)
	}
	return fmt.Sprintf(l.countedSlots(text, slots), args...)
}

// Count chooses the sentence for one or for many. French counts nothing as one.
func (l Locale) Count(n int, one, many string) string {
	if n == 1 || n == 0 && l.Is("fr") {
		return l.Say(one, n)
	}
	return l.Say(many, n)
}

var decimalPoint = regexp.MustCompile(`(\d)\.(\d)`)

// Number writes a number, with or without a unit, with the decimal sign of the language.
func (l Locale) Number(v any) string {
	text := fmt.Sprint(v)
	if l.Is("en") {
		return text
	}
	return decimalPoint.ReplaceAllString(text, "$1,$2")
}

// Read turns a number as it is typed in the language into the form that quantity reads. Where the comma is the
// decimal sign it may stand before any number of digits.
func (l Locale) Read(text string) (string, error) {
	text = strings.TrimSpace(text)
	if l.Is("en") {
		return text, nil
	}
	if groupedPoint.MatchString(text) {
		return "", fmt.Errorf("%q: %s", text, l.Say("it is not clear whether the point parts thousands; write the number with a decimal comma"))
	}
	if i := strings.IndexByte(text, ','); i >= 0 && strings.Count(text, ",") == 1 {
		text = text[:i] + "." + text[i+1:]
	}
	return text, nil
}

// groupedPoint is a number whose point may part thousands as well as decimals.
var groupedPoint = regexp.MustCompile(`^[+-]?[1-9]\d{0,2}\.\d{3}(\D|$)`)
