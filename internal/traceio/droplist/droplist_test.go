package droplist

import (
	"math"
	"strings"
	"testing"

	"github.com/hardcatch/hardcatch/internal/drop"
)

func TestRead(t *testing.T) {
	l, err := Read("drops.csv", strings.NewReader("\xef\xbb\xbf# list of day 1\ndrop;specimen;Material;knot;length [mm];fall;record;mass;taken;order;outcome;place;reason;factor wax;colour;role\r\n"+
		"d1;s1;polyester;sewn;900;0,45 m;r1.csv;;2026-03-02;1;;;;yes;red;\r\n"+
		"d2;s2;aramid;figure-eight;900 mm;1.35;r2.csv;80 kg;2026-03-02;2;broke;knot;seen;no;blue;check\r\n"))
	if err != nil {
		t.Fatal(err)
	}
	if len(l.Drops) != 2 || len(l.Warnings) != 1 || !strings.Contains(l.Warnings[0], `column "colour" is not known and not used`) {
		t.Fatalf("%d drops, warnings %v", len(l.Drops), l.Warnings)
	}
	a, b := l.Drops[0], l.Drops[1]
	if math.Abs(a.Specimen.Length.SI()-0.9) > 1e-12 || a.Fall != 0.45 || a.Mass != 0 || a.Factors["wax"] != "yes" || a.Role != drop.Trial || a.ListLine != 3 || a.Order != 1 {
		t.Errorf("%+v", a)
	}
	if b.Mass != 80 || b.Entered.Outcome != drop.Broke || b.Entered.Place != drop.Knot || b.Role != drop.Check || b.Fall != 1.35 {
		t.Errorf("%+v", b)
	}
}

func TestRefusals(t *testing.T) {
	const head = "drop,specimen,fall,record\n"
	for text, want := range map[string]string{
		"":                                 "the file is empty",
		head:                               "no drop below it",
		"drop,specimen,fall\nd1,s1,1":      "drops.csv:1: column record is missing",
		"drop,drop,specimen,fall,record\n": "column drop stands twice",
		head + "d1,s1,5 kN,r.csv":          `drops.csv:2: column fall: "5 kN" is a force, but a length is wanted here`,
		head + "d1,s1,900,r.csv":           "a fall height of 900.0 m is not believed",
		head + "d1,s1,0,9,r.csv":           "5 fields where the header has 4",
		head + "d1,s1,1 m,r.csv\nd1,s2,1 m,r.csv":                     "drops.csv:3: drop d1 stands in line 2 already",
		head + "d1,s1,1 m,":                                           "has no record",
		head + ",s1,1 m,r.csv":                                        "the drop has no name",
		head + "d1,,1 m,r.csv":                                        "has no specimen",
		"drop,specimen,fall,record,outcome\nd1,s1,1 m,r.csv,void":     "a void drop needs a reason",
		"drop,specimen,fall,record,outcome\nd1,s1,1 m,r.csv,exploded": `outcome "exploded" is not known`,
		"drop,specimen,fall,record,reason\nd1,s1,1 m,r.csv,clip":      "has a reason or break place but no outcome",
		"drop,specimen,fall,record,taken\nd1,s1,1 m,r.csv,2.3.2026":   "is not a date",
		"drop,specimen,fall,record,role\nd1,s1,1 m,r.csv,spare":       "neither trial nor check",
		"drop,specimen,fall,record,order\nd1,s1,1 m,r.csv,first":      "is not a whole number",
		head + "d1,s1,1 m,r.csv\nd2,s2,-1 m,r.csv\nd3,s3,x,r.csv\n":   "drops.csv:4: column fall",
		head + "\"d1,s1": "drops.csv:",
	} {
		l, err := Read("drops.csv", strings.NewReader(text))
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v %v, want %q", text, l, err, want)
		}
	}
}

func TestReadPlanned(t *testing.T) {
	l, err := ReadPlanned("plan.csv", strings.NewReader("drop,specimen,fall,order\nd1,s1,0.9 m,2\nd2,s2,0.9 m,1\n"))
	if err != nil || len(l.Drops) != 2 || l.Drops[0].Record != "" || l.Drops[1].Order != 1 {
		t.Fatal(l, err)
	}
	l, err = ReadPlanned("plan.csv", strings.NewReader("drop,specimen,fall,record,outcome\nd1,s1,0.9 m,,\nd2,s2,0.9 m,r.csv,held\n"))
	if err != nil || len(l.Drops) != 2 || l.Drops[0].Record != "" || l.Drops[1].Record != "r.csv" {
		t.Fatal(l, err)
	}
	for text, want := range map[string]string{
		"drop,specimen,fall,record,outcome\nd1,s1,1 m,,held": "plan.csv:2: drop d1 has an outcome but no record",
		"drop,specimen\nd1,s1":                               "plan.csv:1: column fall is missing",
	} {
		if _, err := ReadPlanned("plan.csv", strings.NewReader(text)); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v, want %q", text, err, want)
		}
	}
}
