package staircasefile

import (
	"strings"
	"testing"

	"github.com/hardcatch/hardcatch/internal/traceio/tabular"
)

func TestRead(t *testing.T) {
	s, err := Read("s.csv", strings.NewReader("\xef\xbb\xbf# day 1\nSlack [mm];Outcome;specimen;colour\n200;held;a;red\n0,4 m;BROKE;b;\n300;void;c;\n300,5;held;;\n300;held;;\n"))
	if err != nil {
		t.Fatal(err)
	}
	if s.Axis != "slack" || len(s.Drops) != 4 || len(s.Warnings) != 2 {
		t.Fatalf("%+v", s)
	}
	for i, want := range []struct {
		height float64
		broke  bool
		line   int
	}{{0.2, false, 3}, {0.4, true, 4}, {0.3005, false, 6}, {0.3, false, 7}} {
		d := s.Drops[i]
		if diff := d.Height.SI() - want.height; diff > 1e-12 || diff < -1e-12 || d.Broke != want.broke || d.Line != want.line {
			t.Errorf("%+v, want %+v", d, want)
		}
	}
	if !strings.Contains(s.Warnings[1], "s.csv:5: the drop is void and left out") || !strings.Contains(s.Warnings[0], `column "colour" is not used`) {
		t.Error(s.Warnings)
	}
}

func TestRefusals(t *testing.T) {
	const head = "height,outcome\n"
	for text, want := range map[string]string{
		"":                          "the file is empty",
		head:                        "no drop below it that counts",
		head + "1 m,void\n":         "no drop below it that counts",
		"height\n1":                 "s.csv:1: the columns height (or slack) and outcome are needed",
		"height,slack,outcome\n":    "both height and slack are given",
		"height,outcome,result\n":   "stands twice",
		head + "1 kN,held":          `s.csv:2: column height: "1 kN" is a force, but a length is wanted here`,
		head + "1200,held":          "a height of 1200 m is not believed",
		head + "0,held":             "is not believed",
		head + ",held":              "the drop has no height",
		head + "1,":                 `outcome "" is not known`,
		head + "1,slipped":          "slipped is neither held nor broke",
		head + "1,2,held":           "3 fields where the header has 2",
		head + "x,held\n1,exploded": "s.csv:3: column outcome",
		head + "\"1":                "s.csv:",
		"specimen,height,outcome\na,1,held\na,2,broke": "s.csv:3: specimen a was dropped in line 2 already; a dropped specimen is no new one",
		strings.Repeat("x", tabular.MaxBytes+1):        "are no list",
	} {
		s, err := Read("s.csv", strings.NewReader(text))
		if err == nil || s != nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%.60q: %v %v, want %q", text, s, err, want)
		}
	}
}

func FuzzRead(f *testing.F) {
	for _, seed := range []string{"height [mm],outcome\n1000,held\n", "slack;outcome\n0,4 m;broke\n", "height\toutcome\n1e3\theld", "specimen,height,outcome\na,1,held\na,1,held\n"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		s, err := Read("f.csv", strings.NewReader(text))
		if (s == nil) == (err == nil) {
			t.Fatalf("%v %v", s, err)
		}
		if s == nil {
			return
		}
		for _, d := range s.Drops {
			if !(d.Height > 0 && d.Height <= mostBelieved) || d.Line < 1 {
				t.Fatalf("%+v", d)
			}
		}
	})
}
