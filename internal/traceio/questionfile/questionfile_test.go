package questionfile

import (
	"strings"
	"testing"

	"github.com/hardcatch/hardcatch/internal/drop"
)

const good = `questions:
  - name: winters
    of: strength
    where: {age: four winters}
    at_least: 15 kN
  - name: knot
    of: strength ratio
    where: {knot: overhand}
    against: {knot: sewn}
    at_least: 50 %
    wrong_no: 10 %
`

func TestRead(t *testing.T) {
	all, err := Read("q.yaml", strings.NewReader(good))
	if err != nil {
		t.Fatal(err)
	}
	if len(all) != 2 || all[0].ID != "winters" || all[0].Bound != 15000 || all[1].Of != drop.AskStrengthRatio || all[1].WrongNo != 0.1 || all[1].Bound != 0.5 {
		t.Errorf("read %+v", all)
	}
}

func TestRefused(t *testing.T) {
	for _, c := range []struct{ from, to, want string }{
		{"15 kN", "15 kg", "q.yaml:5:5: \"15 kg\" is a mass"},
		{"name: knot", "name: winters", "q.yaml:6:5: two questions are named"},
		{"of: strength ratio", "of: colour", "q.yaml:7:5: of is \"colour\""},
		{"    against: {knot: sewn}\n", "", "a ratio sets two kinds against each other"},
		{"at_least: 15", "at_lest: 15", "at_lest"},
		{good, "questions: []\n", "no question is given"},
	} {
		_, err := Read("q.yaml", strings.NewReader(strings.Replace(good, c.from, c.to, 1)))
		if err == nil || !strings.HasPrefix(err.Error(), "q.yaml") || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%q to %q: %v", c.from, c.to, err)
		}
	}
}

// FuzzRead: whatever the bytes, there is an error that begins with the place, or questions that are valid.
func FuzzRead(f *testing.F) {
	f.Add(good)
	f.Add("questions: [{name: a, of: peak, at_most: 1e400 N}]")
	f.Add("questions: [{name: a, of: break probability, at_most: 5 %, confidence: .inf}]")
	f.Fuzz(func(t *testing.T, text string) {
		all, err := Read("q.yaml", strings.NewReader(text))
		if err != nil {
			if !strings.HasPrefix(err.Error(), "q.yaml") {
				t.Fatal(err)
			}
			return
		}
		for _, q := range all {
			if err := q.Validate(); err != nil {
				t.Fatal(err)
			}
		}
	})
}
