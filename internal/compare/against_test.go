package compare

import (
	"slices"
	"strings"
	"testing"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/message"
)

// What stands for nothing done is the reference, then the smallest quantity, then what was entered first; a name given goes before all, unless there is no such level.
func TestReferenceOfAFactor(t *testing.T) {
	for _, c := range []struct {
		factor  string
		levels  []string
		entered map[string]int
		named   string
		want    string
	}{
		{"knot", []string{"bowline", "overhand", "sewn"}, nil, "", "sewn"},
		{"knot", []string{"bowline", "overhand", "sewn"}, nil, "overhand", "overhand"},
		{"knot", []string{"bowline", "overhand", "sewn"}, nil, "reef", "sewn"},
		{"knot", []string{"", "overhand"}, nil, "", ""},
		{"age", []string{"four winters", "new"}, nil, "", "new"},
		{"age", []string{"four winters", "newish", "two winters"}, map[string]int{"four winters": 2, "newish": 1, "two winters": 0}, "", "two winters"},
		{"material", []string{"aramid", "open weave"}, map[string]int{"aramid": 1, "open weave": 0}, "", "open weave"},
		{"material", []string{"aramid", "polyester"}, nil, "", "aramid"},
		{"length", []string{"600 mm", "1.2 m"}, map[string]int{"600 mm": 7, "1.2 m": 0}, "", "600 mm"},
		{"length", []string{"600 mm", "1.2 m"}, nil, "1200 mm", "1.2 m"},
		{"length", []string{"600 mm", "1.2 m"}, nil, "0.7 m", "600 mm"},
		{"construction", []string{"knotted sling", "sewn sling"}, nil, "", "sewn sling"},
		{"knot", []string{"bowline", "none", "sewn"}, map[string]int{"bowline": 0, "none": 2, "sewn": 1}, "", "sewn"},
	} {
		a := Against{}
		if c.named != "" {
			a.Reference = map[string]string{c.factor: c.named}
		}
		if got := a.reference(c.factor, c.levels, c.entered); got != c.want {
			t.Errorf("%s of %q entered %v: %q, want %q", c.factor, c.levels, c.entered, got, c.want)
		}
	}
}

func knots(names ...string) []Entry {
	var in []Entry
	for k, name := range names {
		for i := range 4 {
			e := entry(name+string(rune('a'+i)), name, drop.Broke, 9000+float64(700*k+100*i+i*i))
			in = append(in, e)
		}
	}
	return in
}

// Three knots against the sewn sling are three tests, all pairs six; each p stays what it was when a level has another name.
func TestEveryLevelIsSetAgainstTheReference(t *testing.T) {
	family := func(against Against, names ...string) (pairs []string, holm []float64) {
		t.Helper()
		cells, err := Cells(knots(names...), 0.95)
		if err != nil {
			t.Fatal(err)
		}
		all, err := Contrasts(cells, against, 1)
		if err != nil {
			t.Fatal(err)
		}
		for _, k := range all {
			pairs = append(pairs, k.A+" over "+k.B)
			if k.Strength == nil || k.Strength.Tests != len(all) {
				t.Fatalf("%+v", k)
			}
			holm = append(holm, k.Strength.PHolm)
		}
		return pairs, holm
	}
	pairs, holm := family(Against{}, "sewn", "bowline", "overhand", "reef")
	if want := []string{"bowline over sewn", "overhand over sewn", "reef over sewn"}; !slices.Equal(pairs, want) {
		t.Errorf("%q", pairs)
	}
	_, renamed := family(Against{}, "sewn", "zeppelin", "alpine", "clove")
	slices.Sort(holm)
	slices.Sort(renamed)
	if !slices.Equal(holm, renamed) {
		t.Errorf("renamed: %v instead of %v", renamed, holm)
	}
	if pairs, _ = family(Against{AllPairs: true}, "sewn", "bowline", "overhand", "reef"); len(pairs) != 6 || pairs[0] != "bowline over sewn" || !slices.Contains(pairs, "reef over bowline") {
		t.Errorf("%q", pairs)
	}
	if pairs, _ = family(Against{Reference: map[string]string{"knot": "reef"}}, "sewn", "bowline", "reef"); !slices.Equal(pairs, []string{"bowline over reef", "sewn over reef"}) {
		t.Errorf("%q", pairs)
	}
}

// A knot that was dropped from another height only, than the sewn sling, is tested against nothing; set against the other knot, it is.
func TestLevelsWithoutAPartnerAreNamed(t *testing.T) {
	in := knots("sewn", "bowline", "overhand")
	for i := range in {
		in[i].Drop.Fall = 0.45
		if in[i].Drop.Specimen.Knot == "overhand" {
			in[i].Drop.Fall = 0.9
		}
	}
	more := knots("bowline")
	for i := range more {
		more[i].Drop.Fall = 0.9
		more[i].Drop.ID += "x"
		more[i].Drop.Specimen.ID += "x"
	}
	cells, err := Cells(append(in, more...), 0.95)
	if err != nil {
		t.Fatal(err)
	}
	if got := strings.Join(message.Texts(Against{}.Unpaired(cells)), "|"); got != "knot overhand: no cell with it differs from one with sewn in that alone" {
		t.Error(got)
	}
	if got := (Against{Reference: map[string]string{"knot": "bowline"}}).Unpaired(cells); len(got) != 0 {
		t.Errorf("%q", message.Texts(got))
	}
	if got := (Against{AllPairs: true}).Unpaired(cells); len(got) != 0 {
		t.Errorf("all pairs: %q", message.Texts(got))
	}
}
