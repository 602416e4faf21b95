package web

import (
	"fmt"
	"net/http"
	"strings"

	"golang.org/x/text/language"

	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/quantity"
	"github.com/hardcatch/hardcatch/internal/reduce"
)

var matcher = language.NewMatcher([]language.Tag{language.English, language.German, language.French})

// locale is the language of a page.
type locale struct {
	message.Locale
	lang string
}

// localeIn is the language of a code; one that is not known is an error.
func localeIn(lang string) (locale, error) {
	l, err := message.In(lang)
	return locale{l, lang}, err
}

// localeOf is the language that the reader chose, else the one that the browser asks for.
func localeOf(r *http.Request) locale {
	if c, err := r.Cookie(langCookie); err == nil {
		if l, err := localeIn(c.Value); err == nil {
			return l
		}
	}
	english := locale{message.English(), "en"}
	tags, _, err := language.ParseAcceptLanguage(r.Header.Get("Accept-Language"))
	if err != nil {
		return english
	}
	_, i, _ := matcher.Match(tags...)
	l, err := localeIn(message.Languages[i])
	if err != nil {
		return english
	}
	return l
}

func (l locale) say(english string, args ...any) string { return l.Say(english, args...) }
func (l locale) count(n int, one, many string) string   { return l.Count(n, one, many) }
func (l locale) number(v any) string                    { return l.Number(v) }

// readInto reads a quantity typed into a field; an empty field leaves it.
func readInto[Q interface{ UnmarshalText([]byte) error }](l locale, field, text string, q Q) error {
	if strings.TrimSpace(text) == "" {
		return nil
	}
	t, err := l.Read(text)
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

// rebuilt is the interval of a peak that was rebuilt from the motion of the mass.
func (l locale) rebuilt(i *[2]quantity.Force) string {
	lo, hi := reduce.Outward(*i)
	return l.say("%s to %s, rebuilt from momentum", l.number(lo), l.number(hi))
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

// bound prints an estimate (side 0), a lower bound (-1) rounded down or an upper bound (1) rounded up; forces in kN.
func (l locale) bound(v *float64, force bool, side int) string {
	if v == nil {
		return "–"
	}
	x, digits := *v, 3
	if force {
		x, digits = x/1000, 4
	}
	switch side {
	case -1:
		return l.number(quantity.Below(x, digits))
	case 1:
		return l.number(quantity.Above(x, digits))
	}
	return l.number(quantity.Significant(x, digits))
}
