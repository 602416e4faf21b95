package message

import (
	"strings"
	"testing"
)

// locales are all languages by their codes.
var locales = func() map[string]Locale {
	out := map[string]Locale{}
	for _, lang := range Languages {
		l, err := In(lang)
		if err != nil {
			panic(err)
		}
		out[lang] = l
	}
	return out
}()

func TestLanguages(t *testing.T) {
	for _, lang := range Languages {
		l, err := In(lang)
		if err != nil || !l.Is(lang) {
			t.Errorf("%s: %v", lang, err)
		}
	}
	if _, err := In("it"); err == nil || !strings.Contains(err.Error(), "en, de, fr") {
		t.Error(err)
	}
	var zero Locale
	if zero.Say("Drops") != "Drops" || English().Say("Drop %s", "d01") != "Drop d01" || locales["de"].Say("Drop %s", "d01") != "Sturz d01" {
		t.Error("a sentence is not said in its language")
	}
	if text, ok := locales["fr"].Find("no such word"); ok || text != "no such word" {
		t.Error(text, ok)
	}
	defer func() {
		if recover() == nil {
			t.Error("a sentence that no catalogue holds is said in German")
		}
	}()
	locales["de"].Say("no such sentence")
}

// French counts nothing as one ("0 goutte"), German and English as many.
func TestCounts(t *testing.T) {
	for lang, want := range map[string]string{"en": "0 days left", "de": "noch 0 Tage", "fr": "0"} {
		got := locales[lang].Count(0, "%d day left", "%d days left")
		if lang == "fr" {
			want = locales[lang].Say("%d day left", 0)
		}
		if got != want {
			t.Errorf("%s: %q, want %q", lang, got, want)
		}
	}
}

func TestDecimalSign(t *testing.T) {
	for _, c := range []struct{ lang, out, typed, read string }{
		{"en", "12.5 ± 0.3 kN", "1.250 m", "1.250 m"}, {"de", "12,5 ± 0,3 kN", "1,250 m", "1.250 m"}, {"fr", "12,5 ± 0,3 kN", " 0.9 m ", "0.9 m"},
		{"de", "12,5 ± 0,3 kN", "1.250 m", ""}, {"fr", "12,5 ± 0,3 kN", "1,000,5 m", "1,000,5 m"},
	} {
		l := locales[c.lang]
		if got := l.Number("12.5 ± 0.3 kN"); got != c.out {
			t.Errorf("%s writes %q", c.lang, got)
		}
		got, err := l.Read(c.typed)
		if got != c.read || (err != nil) != (c.read == "") {
			t.Errorf("%s reads %q as %q, %v", c.lang, c.typed, got, err)
		}
	}
}
