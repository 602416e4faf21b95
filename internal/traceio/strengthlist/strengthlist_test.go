package strengthlist

import (
	"math"
	"strings"
	"testing"

	"github.com/hardcatch/hardcatch/internal/num/censor"
)

func TestReadUnitsAndOutcomes(t *testing.T) {
	l, err := Read("s.csv", strings.NewReader("specimen;strength [kN];outcome\na;21,5;broke\nb;19.0 kN;held\nc;;void\nd;20;slipped\n"))
	if err != nil {
		t.Fatal(err)
	}
	want := []censor.Value{censor.Exact(21500), censor.AtLeast(19000), censor.AtLeast(20000)}
	if len(l.Values) != 3 || l.Void != 1 || !l.IsForce || l.Unit != "N" || l.Lines[2] != 5 {
		t.Fatalf("%+v", l)
	}
	for i := range want {
		if l.Values[i] != want[i] {
			t.Errorf("value %d: %+v", i, l.Values[i])
		}
	}
}

func TestReadBareNumbersAndIntervals(t *testing.T) {
	l, err := Read("s.csv", strings.NewReader("at least,at most,count\n54,54,\n,100,2\n500,,10\n100,200,1\n"))
	if err != nil {
		t.Fatal(err)
	}
	want := []censor.Value{{Lo: 54, Hi: 54}, {Lo: math.Inf(-1), Hi: 100, Count: 2}, {Lo: 500, Hi: math.Inf(1), Count: 10}, {Lo: 100, Hi: 200, Count: 1}}
	for i := range want {
		if l.Values[i] != want[i] {
			t.Errorf("value %d: %+v", i, l.Values[i])
		}
	}
	if l.Unit != "" || l.IsForce {
		t.Errorf("%+v", l)
	}
}

func TestReadSaysPlaceFactWayOut(t *testing.T) {
	for in, want := range map[string]string{
		"value,outcome\n1,maybe\n":            `s.csv:2: the outcome "maybe" is not known; write held or broke`,
		"value,outcome\n,held\n":              "s.csv:2: column value is empty",
		"value,outcome\n1 kN,held\n2,broke\n": `s.csv:3: column value: "2" does not go with the unit of the lines above (N)`,
		"value,outcome\n1,held\n2 kg,broke\n": "s.csv:3: column value",
		"at least,at most\n,\n":               "s.csv:2: without any bound nothing is known",
		"at least,at most\n2,1\n":             "s.csv:2: the lower bound 2 lies above",
		"value,outcome,count\n1,held,x\n":     "s.csv:2: column count",
		"force,note\n1,x\n":                   "s.csv:1: the columns must be value and outcome",
		"value,outcome\n":                     "s.csv: there is a header but no value",
		"value,outcome\nNaN,held\n":           "s.csv:2: ",
		"value,outcome,at most\n1,held,2\n":   "s.csv:1: the columns must be",
	} {
		_, err := Read("s.csv", strings.NewReader(in))
		if err == nil || !strings.HasPrefix(err.Error(), want) {
			t.Errorf("%q: %v", in, err)
		}
	}
}

func FuzzRead(f *testing.F) {
	f.Add("value,outcome\n1,held\n")
	f.Add("at least;at most\n1,5;2\n")
	f.Fuzz(func(t *testing.T, in string) {
		l, err := Read("x", strings.NewReader(in))
		if err != nil {
			return
		}
		for _, v := range l.Values {
			if err := v.Check(); err != nil {
				t.Errorf("%q gives %+v: %v", in, v, err)
			}
		}
	})
}

// Two specimens in seven lines are two strengths: the first line of each that is not void counts.
func TestASpecimenHasOneStrength(t *testing.T) {
	l, err := Read("x.csv", strings.NewReader("specimen,strength [kN],outcome\na,1,void\na,10,held\nb,11,held\na,12,held\nb,13,held\na,14,broke\nb,15,broke\n,16,broke\n,17,broke\n"))
	if err != nil {
		t.Fatal(err)
	}
	if len(l.Values) != 4 || l.Values[0].Lo != 10000 || l.Values[1].Lo != 11000 || l.Again != 4 || l.Void != 1 || len(l.Warnings) != 4 || !strings.Contains(l.Warnings[0], "specimen a stands in line 3 already") {
		t.Errorf("%+v", l)
	}
}
