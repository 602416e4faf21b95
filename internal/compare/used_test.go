package compare

import (
	"strings"
	"testing"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/num/censor"
)

func TestUsedSpecimensAreSaid(t *testing.T) {
	a, b, c, d := entry("1", "sewn", drop.Held, 9000), entry("2", "sewn", drop.Held, 9000), entry("3", "sewn", drop.Held, 9000), entry("4", "sewn", drop.Void, 9000)
	if w := UsedSpecimenWarnings([]Entry{a, b, c}); w != nil {
		t.Errorf("new specimens: %v", w)
	}
	b.Drop.Specimen.ID = a.Drop.Specimen.ID
	c.Drop.Prior = 1
	d.Drop.Specimen.ID = "s9"
	w := UsedSpecimenWarnings([]Entry{a, b, c, d})
	if len(w) != 2 || !strings.HasPrefix(w[0].String(), "1 drop is of a specimen of which an earlier drop counts, and is left out") || !strings.Contains(w[0].String(), "test: 2;") || !strings.Contains(w[1].String(), "(s3)") {
		t.Errorf("%v", w)
	}
	// A check drop falls on the same element every time, which is its purpose.
	a.Drop.Role, b.Drop.Role = drop.Check, drop.Check
	if w := UsedSpecimenWarnings([]Entry{a, b}); w != nil {
		t.Errorf("check drops: %v", w)
	}
}

// Two specimens, one dropped five times and one twice from different heights, are two specimens in every count, fit and test: the first drop of each counts, by day and place,
// not as entered; a void drop does not take the place of the first.
func TestASpecimenCountsOnce(t *testing.T) {
	var in []Entry
	for i := range 7 {
		e := entry(string(rune('a'+i)), "sewn", drop.Held, 9000+100*float64(i))
		e.Drop.Specimen.ID, e.Drop.Taken, e.Drop.Order = map[bool]string{true: "x", false: "y"}[i < 5], "2026-03-01", 20-i
		e.Drop.Fall = 1
		if i%2 == 1 {
			e.Drop.Fall = 2
		}
		if i == 4 || i == 6 {
			e.Outcome = drop.Broke
		}
		in = append(in, e)
	}
	in[4].Outcome = drop.Void // the first of x; d is next, g the first of y
	cells, err := Cells(in, 0.95)
	if err != nil {
		t.Fatal(err)
	}
	n, again, shown := 0, 0, 0
	for _, c := range cells {
		n, again, shown = n+c.N, again+c.Again, shown+len(c.Drops)
	}
	if n != 2 || again != 4 || shown != 7 {
		t.Errorf("%d count, %d again, %d shown", n, again, shown)
	}
	for _, c := range cells {
		if c.Again > 0 && !strings.Contains(c.Statement.String(), "not counted: an earlier drop of the same specimen counts.") {
			t.Error(c.Statement)
		}
		for _, r := range c.Drops {
			if want := r.Drop != "d" && r.Drop != "e" && r.Drop != "g"; r.Again != want {
				t.Errorf("%s: %v", r.Drop, r.Again)
			}
		}
		if len(strengths(c)) != c.N || len(logPeaks(c)) != c.Held {
			t.Errorf("%s: %v %v", c.Name(), strengths(c), logPeaks(c))
		}
		if m := MeasureCell(c, ReadPeak, 0.95); len(m.Values) != c.N {
			t.Errorf("%+v", m)
		}
	}
	kinds, err := SpecimenKinds(in, StrengthOptions{Family: censor.Weibull, Confidence: 0.95})
	if err != nil || len(kinds) != 1 || kinds[0].N != 2 || kinds[0].Broke != 1 {
		t.Errorf("%+v %v", kinds, err)
	}
	var s nextState
	s.out = &NextRanking{}
	s.read(in)
	if len(s.data) != 2 {
		t.Errorf("%d drops for the next", len(s.data))
	}
	// Asked about on purpose, each level counts.
	for i := range in {
		in[i].Drop.Factors = map[string]string{"drop of the specimen": string(rune('1' + i%2))}
	}
	n = 0
	if cells, err = Cells(in, 0.95); err != nil {
		t.Fatal(err)
	}
	for _, c := range cells {
		n += c.N
	}
	if n != 4 {
		t.Errorf("%d count with a factor of their own, want 4", n)
	}
}
