package web

import (
	"embed"
	"encoding/json"
	"fmt"
	"html/template"
	"net/http"
	"regexp"
	"strings"

	"golang.org/x/text/language"

	"hardcatch/internal/quantity"
)

//go:embed messages
var messageFiles embed.FS

// languages that pages speak, the first when the browser asks for none of them.
var languages = []string{"en", "de", "fr"}

var matcher = language.NewMatcher([]language.Tag{language.English, language.German, language.French})

// locale is one language: its sentences, by the English ones, and its decimal sign.
type locale struct {
	lang string
	text map[string]string
}

var locales = loadLocales()

func loadLocales() map[string]locale {
	out := map[string]locale{"en": {lang: "en"}}
	for _, l := range languages[1:] {
		data, err := messageFiles.ReadFile("messages/" + l + ".json")
		if err != nil {
			panic(fmt.Sprintf("web: %v", err)) // embedded
		}
		loc := locale{lang: l}
		if err := json.Unmarshal(data, &loc.text); err != nil {
			panic(fmt.Sprintf("web: messages %s: %v", l, err)) // embedded
		}
		out[l] = loc
	}
	return out
}

// localeOf is the language that the reader chose, else the one that the browser asks for.
func localeOf(r *http.Request) locale {
	if c, err := r.Cookie(langCookie); err == nil {
		if l, ok := locales[c.Value]; ok {
			return l
		}
	}
	tags, _, err := language.ParseAcceptLanguage(r.Header.Get("Accept-Language"))
	if err != nil {
		return locales["en"]
	}
	_, i, _ := matcher.Match(tags...)
	return locales[languages[i]]
}

// say gives a sentence in the language, filled with the arguments. A sentence that is not in the catalogue is an
// error of the program, found by a test.
func (l locale) say(english string, args ...any) string {
	text := english
	if l.lang != "en" {
		var ok bool
		if text, ok = l.text[english]; !ok {
			panic(fmt.Sprintf("web: %q is not in the catalogue of %s", english, l.lang))
		}
	}
	if len(args) == 0 {
		return text
	}
	return fmt.Sprintf(text, args...)
}

// word gives a word of the program's in the language; what the catalogue does not hold stays and is marked as
// English.
func (l locale) word(english any) template.HTML {
	text := fmt.Sprint(english)
	if l.lang == "en" {
		return template.HTML(template.HTMLEscapeString(text))
	}
	if t, ok := l.text[text]; ok {
		return template.HTML(template.HTMLEscapeString(t))
	}
	return template.HTML(`<span lang="en">` + template.HTMLEscapeString(text) + `</span>`)
}

// plain is word without marks, for places that hold only text.
func (l locale) plain(english any) string {
	text := fmt.Sprint(english)
	if t, ok := l.text[text]; ok {
		return t
	}
	return text
}

// count chooses the sentence for one or for many. French counts nothing as one.
func (l locale) count(n int, one, many string) string {
	if n == 1 || n == 0 && l.lang == "fr" {
		return l.say(one, n)
	}
	return l.say(many, n)
}

var decimalPoint = regexp.MustCompile(`(\d)\.(\d)`)

// number writes a number, with or without a unit, with the decimal sign of the language.
func (l locale) number(v any) string {
	text := fmt.Sprint(v)
	if l.lang == "en" {
		return text
	}
	return decimalPoint.ReplaceAllString(text, "$1,$2")
}

// read turns a number as it is typed in the language into the form that quantity reads. Where the comma is the
// decimal sign it may stand before any number of digits.
func (l locale) read(text string) (string, error) {
	text = strings.TrimSpace(text)
	if l.lang == "en" {
		return text, nil
	}
	if groupedPoint.MatchString(text) {
		return "", fmt.Errorf("%q: %s", text, l.say("it is not clear whether the point parts thousands; write the number with a decimal comma"))
	}
	if i := strings.IndexByte(text, ','); i >= 0 && strings.Count(text, ",") == 1 {
		text = text[:i] + "." + text[i+1:]
	}
	return text, nil
}

// groupedPoint is a number whose point may part thousands as well as decimals.
var groupedPoint = regexp.MustCompile(`^[+-]?[1-9]\d{0,2}\.\d{3}(\D|$)`)

// readInto reads a quantity typed into a field; an empty field leaves it.
func readInto[Q interface{ UnmarshalText([]byte) error }](l locale, field, text string, q Q) error {
	if strings.TrimSpace(text) == "" {
		return nil
	}
	t, err := l.read(text)
	if err == nil {
		err = q.UnmarshalText([]byte(t))
	}
	if err != nil {
		return fmt.Errorf("%s: %w", field, err)
	}
	return nil
}

// kN is a force in kilonewtons without its unit, which stands in the head of the column.
func (l locale) kN(f *quantity.Force) string {
	if f == nil {
		return "–"
	}
	return l.number(fmt.Sprintf("%.2f", f.SI()/1000))
}

// peak is a peak with its expanded uncertainty, marked where it is a lower bound.
func (l locale) peak(p, u *quantity.Force, lower bool) string {
	if p == nil {
		return "–"
	}
	text := p.Text(4)
	if u != nil && *u > 0 {
		text = quantity.WithU(*p, *u)
	}
	if lower {
		text = "≥ " + text
	}
	return l.number(strings.ReplaceAll(text, " ", "\u00a0"))
}
