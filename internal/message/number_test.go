package message

import (
	"regexp"
	"strings"
	"testing"
)

// A count of one takes the words for one, in every language, whether the sentence was made here or read back from a file; French counts nothing as one.
func TestWordsForOneAndForMany(t *testing.T) {
	both := func(one, many string, held, broke int) (string, string) {
		l := Locale{"fr", &catalogue{text: map[string]string{one: many}, bare: map[string]string{}}}
		l.patterns = patternsOf(l.text)
		s := Say(one, held, broke)
		found, _ := l.Find(s.String())
		if told := l.Tell(s); told != found {
			t.Errorf("%q is told %q and read back %q", s, told, found)
		}
		return s.String(), found
	}
	const english, french = "%d {specimen|specimens} held, %d broke (of {one|them})", "%[2]d {rompue|rompues}, %[1]d {éprouvette tenue|éprouvettes tenues} {[2]x|y}"
	for _, c := range []struct {
		held, broke         int
		english, translated string
	}{
		{1, 1, "1 specimen held, 1 broke (of one)", "1 rompue, 1 éprouvette tenue x"},
		{1, 2, "1 specimen held, 2 broke (of them)", "2 rompues, 1 éprouvette tenue y"},
		{2, 0, "2 specimens held, 0 broke (of them)", "0 rompue, 2 éprouvettes tenues x"},
		{11, 21, "11 specimens held, 21 broke (of them)", "21 rompues, 11 éprouvettes tenues y"},
	} {
		if a, b := both(english, french, c.held, c.broke); a != c.english || b != c.translated {
			t.Errorf("%q and %q, want %q and %q", a, b, c.english, c.translated)
		}
	}
	if got := Text("There {is|are} %d {drop|drops} of %s", 1, "5"); got != "There is 1 drop of 5" {
		t.Error(got)
	}
}

// pluralAfterCount is a count that is said of many things whatever it is.
var pluralAfterCount = regexp.MustCompile(`%(?:\[\d\])?d (?:(?:more|check|broken|planned|simulated|bootstrap|lower|whole|other|further) )*(specimens|drops|values|records|pairs|kinds|cells|groups|points|questions|reductions|outcomes|peaks|warnings|entries)\b`)

// manyOnly are formats that are never filled with one, or come filled from layers that know no sentences.
var manyOnly = regexp.MustCompile(`so few|than %d|all %d|^With %d|two parameters|so near|at least 3|of unlike drops|all the same|^all |so far apart|too many|too narrow|^the ripple|within reach|; of %d outcomes|^Only %[ds] of|that every|leave no degree`)

// No format says "1 specimens": a noun behind a count has both its forms.
func TestCountsHaveBothForms(t *testing.T) {
	for english := range locales["de"].text {
		m := pluralAfterCount.FindString(english)
		if m == "" || manyOnly.MatchString(english) {
			continue
		}
		_, drop := locales["de"].text[strings.Replace(strings.Replace(english, "drops were", "drop was", 1), "drops are", "drop is", 1)]
		if _, one := locales["de"].text[strings.Replace(english, m, strings.TrimSuffix(m, "s"), 1)]; !one && !drop {
			t.Errorf("%q: write {one|many} for what stands behind the count of %q", english, m)
		}
	}
	for _, l := range locales {
		if l.catalogue == nil {
			continue
		}
		for english, text := range l.text {
			if forms.MatchString(text) && !strings.Contains(english, "%") {
				t.Errorf("%s: %q has forms and no count", l.Lang(), text)
			}
		}
	}
}
