package message

import (
	"encoding/json"
	"errors"
	"fmt"
	"strings"
	"testing"

	"github.com/hardcatch/hardcatch/internal/quantity"
)

// A sentence reads in English as package fmt would have written it, and in the other languages as its translation, whatever
// its blanks hold.
func TestSentenceIsToldByItsFormat(t *testing.T) {
	none := Say("None of %d broke: a break probability of up to %s %% is still possible (%s %% confidence).", 4, "60.5", "95")
	mean := none.Say(" The %d that held peaked at %s on average (%s to %s, %s %% t interval).", 4, quantity.Force(16940), quantity.Force(12380), quantity.Force(21500), "95")
	effect := Say("%s %s against %s: %s %s times as high", Names("material"), Names("polyester"), Names("aramid"), "strength", "1.08").
		Say(" (%s to %s, %g %% confidence)", "1.03", "1.13", 95.0).Say("; more than chance would explain (p = %s, adjusted).", "0.0018")
	warned := Say("drop %s: %s", Own("d07"), Say("the zero moves by %s within the quiet stretch", quantity.Force(12.5)))
	for _, c := range []struct {
		s          Sentence
		en, de, fr string
	}{
		{none, "None of 4 broke: a break probability of up to 60.5 % is still possible (95 % confidence).",
			"Von 4 riss keine: Eine Bruchwahrscheinlichkeit bis 60,5 % ist noch möglich (95 % Sicherheit).", ""},
		{mean, "None of 4 broke: a break probability of up to 60.5 % is still possible (95 % confidence). The 4 that held peaked at 16.94 kN on average (12.38 kN to 21.50 kN, 95 % t interval).",
			"Von 4 riss keine: Eine Bruchwahrscheinlichkeit bis 60,5 % ist noch möglich (95 % Sicherheit). Die 4, die hielten, hatten im Mittel die Spitze 16,94 kN (12,38 kN bis 21,50 kN, 95-%-t-Intervall).", ""},
		{effect, "material polyester against aramid: strength 1.08 times as high (1.03 to 1.13, 95 % confidence); more than chance would explain (p = 0.0018, adjusted).",
			"Material Polyester gegen Aramid: Festigkeit 1,08-mal so hoch (1,03 bis 1,13, 95 % Sicherheit); mehr als der Zufall erklären würde (p = 0,0018, angepasst).", ""},
		{warned, "drop d07: the zero moves by 12.50 N within the quiet stretch", "Sturz d07: der Nullpunkt wandert im ruhigen Abschnitt um 12,50 N", "chute d07\u00a0: le zéro bouge de 12,50 N pendant le palier calme"},
		// A name with a point in it, and a person's own word that is one of the catalogue, stay.
		{Say("drop %s: %s", Own("d1.5"), Own("material")), "drop d1.5: material", "Sturz d1.5: material", "chute d1.5\u00a0: material"},
		{Say("drop %s: %s", Own("d1.5"), "material"), "drop d1.5: material", "Sturz d1.5: Material", ""},
		{Say("%s: %s.", Names("polyester, knot sewn eyes, 0.5 m"), Say("no specimen broke")), "polyester, knot sewn eyes, 0.5 m: no specimen broke.",
			"Polyester, Knoten genähte Schlaufen, 0,5 m: keine Probe riss.", "polyester, nœud boucles cousues, 0,5 m\u00a0: aucune éprouvette n'a rompu."},
		// told texts and errors are recognised, joined ones too
		{Join("; ", Told("no specimen broke"), Say("peaks: ").Say("%s", errors.New("no specimen broke"))), "no specimen broke; peaks: no specimen broke",
			"keine Probe riss; Spitzen: keine Probe riss", "aucune éprouvette n'a rompu\u00a0; pointes\u00a0: aucune éprouvette n'a rompu"}, //nolint:misspell // French
		{Sentence(nil), "", "", ""},
	} {
		if got := c.s.String(); got != c.en {
			t.Errorf("English: %q\nwant     %q", got, c.en)
		}
		for lang, want := range map[string]string{"en": c.en, "de": c.de, "fr": c.fr} {
			if got := locales[lang].Tell(c.s); got != want && (want != "" || c.en == "") {
				t.Errorf("%s: %q\nwant %q", lang, got, want)
			}
		}
	}
}

// Every format of the catalogue, filled, is told with all that it was filled with.
func TestEveryFormatIsTold(t *testing.T) {
	for _, lang := range Languages[1:] {
		l := locales[lang]
		for english := range l.text {
			var args []any
			var want []string
			for i, b := range Blanks(english) {
				n := 700 + i
				switch b {
				case "d":
					args, want = append(args, n), append(want, fmt.Sprint(n))
				case "e", "f", "g":
					args, want = append(args, float64(1+i)), append(want, fmt.Sprint(1+i))
				default:
					args, want = append(args, fmt.Sprintf("%d.5", n)), append(want, fmt.Sprintf("%d,5", n))
				}
			}
			got := l.Tell(Say(english, args...))
			for _, w := range want {
				if !strings.Contains(got, w) {
					t.Errorf("%s: %q is told as %q, without %s", lang, english, got, w)
				}
			}
			if strings.Contains(got, "%!") {
				t.Errorf("%s: %q", lang, got)
			}
		}
	}
}

// What nobody translated stays English and is marked so; what stands in it is escaped.
func TestSentenceInHTML(t *testing.T) {
	de := locales["de"]
	for _, c := range []struct {
		s    Sentence
		want string
	}{
		{Say("drop %s: %s", Own("<d01>"), Told("the cat sat on the mat")), `Sturz &lt;d01&gt;: <span lang="en">the cat sat on the mat</span>`},
		{Say("the cat sat on %d mats", 2), `<span lang="en">the cat sat on 2 mats</span>`},
		{Say("drop %s: %s", Own(englishFrom+"d01"), "1.5"), "Sturz d01: 1,5"},
	} {
		if got := de.TellHTML(c.s); got != c.want {
			t.Errorf("%s\nwant %s", got, c.want)
		}
	}
	if got := English().TellHTML(Told("a < b")); got != "a &lt; b" {
		t.Error(got)
	}
}

// In JSON a sentence is its English text, with signs as the encoder writes those of any text; read back it is told.
func TestSentenceInJSON(t *testing.T) {
	type kept struct {
		One   Sentence   `json:"one"`
		None  Sentence   `json:"none"`
		Left  Sentence   `json:"left,omitempty"`
		Lists []Sentence `json:"lists"`
	}
	type plain struct {
		One   string   `json:"one"`
		None  string   `json:"none"`
		Left  string   `json:"left,omitempty"`
		Lists []string `json:"lists"`
	}
	s := Say("drop %s: %s", Own("d<1>&\u2028"), quantity.Force(1500))
	for _, escape := range []bool{true, false} {
		var a, b strings.Builder
		for w, v := range map[*strings.Builder]any{&a: kept{One: s, Lists: []Sentence{s, nil}}, &b: plain{One: s.String(), Lists: []string{s.String(), ""}}} {
			e := json.NewEncoder(w)
			e.SetEscapeHTML(escape)
			if err := e.Encode(v); err != nil {
				t.Fatal(err)
			}
		}
		if a.String() != b.String() {
			t.Errorf("%s\nwant %s", a.String(), b.String())
		}
		var back kept
		if err := json.Unmarshal([]byte(a.String()), &back); err != nil {
			t.Fatal(err)
		}
		if back.One.String() != s.String() || back.One.Equal(s) || !back.One.Equal(Told(s.String())) || len(back.None) != 0 || len(back.Lists) != 2 {
			t.Errorf("%#v", back)
		}
	}
}

func TestSentencesAreEqual(t *testing.T) {
	a, b := Say("drop %s: %d", Own("d01"), 1), Say("drop %s: %d", Own("d01"), 1)
	if !a.Equal(b) || a.Equal(a.Say("no specimen broke")) || a.Equal(Say("drop %s: %d", "d01", 1)) || a.Equal(Told(a.String())) || !Told("").Equal(nil) || !Say("").Equal(Join("; ")) {
		t.Error("equal sentences differ, or others do not")
	}
	// What is put after a sentence leaves it, and what stands after it elsewhere, as they were.
	one, two := a.Say(" x"), a.Say(" y")
	if one.String() != "drop d01: 1 x" || two.String() != "drop d01: 1 y" || a.String() != "drop d01: 1" {
		t.Error(one, two, a)
	}
}

func TestErrorsThatAreSentences(t *testing.T) {
	cause := errors.New("cause")
	err := Say("drop %s: %s", Own("d01"), cause).Error(cause)
	if !errors.Is(err, cause) || err.Error() != "drop d01: cause" || !Why(err).Equal(Say("drop %s: %s", Own("d01"), cause)) {
		t.Error(err)
	}
	if got := Why(fmt.Errorf("file: %w", err)); !got.Equal(Told("file: drop d01: cause")) {
		t.Errorf("what stands before an error is lost: %q", got)
	}
	if len(Why(nil)) != 0 {
		t.Error("no error says something")
	}
}

func BenchmarkTell(b *testing.B) {
	l := locales["de"]
	s := Say("None of %d broke: a break probability of up to %s %% is still possible (%s %% confidence).", 4, "61", "95").
		Say(" The %d that held peaked at %s on average (%s to %s, %s %% t interval).", 2, quantity.Force(16940), quantity.Force(12380), quantity.Force(21500), "95").
		Say(" Two specimens hardly bound a mean.")
	for b.Loop() {
		l.Tell(s)
	}
}
