package droplist

import (
	"bytes"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"github.com/hardcatch/hardcatch/internal/drop"
)

func TestWriteReadsBack(t *testing.T) {
	want := []drop.Drop{
		{ID: "d1", Order: 1, Role: drop.Trial, Fall: 1.0 / 3, Mass: 80.5, Record: "r, 1.csv", Taken: "2026-12-01", Operator: "ab", Scenario: "invented",
			Specimen: drop.Specimen{ID: "s1", Material: "HMPE", Construction: "sling", Length: 0.6, Knot: "overhand", Batch: "A", Conditioning: "20 degC, 65 % humidity", Rating: 22000, Diameter: 0.0085, Standard: "none"},
			Factors:  map[string]string{"wax": "yes", "day sun": "2 \"h\""}, Entered: drop.Decision{Drop: "d1", Outcome: drop.Broke, Place: drop.Knot, Reason: "seen"}},
		{ID: "c1", Order: 2, Role: drop.Check, Prior: 3, Record: "r2.csv", Specimen: drop.Specimen{ID: "link"}},
	}
	var b bytes.Buffer
	if err := Write(&b, want, "a remark, with a comma"); err != nil {
		t.Fatal(err)
	}
	got, err := Read("drops.csv", bytes.NewReader(b.Bytes()))
	if err != nil {
		t.Fatal(err)
	}
	if len(got.Warnings) != 0 {
		t.Errorf("warnings %v", got.Warnings)
	}
	for i := range got.Drops {
		got.Drops[i].ListLine = 0
	}
	// What is written with nine digits differs by less than one in the ninth.
	if d := got.Drops[0].Fall - want[0].Fall; d > 1e-9 || d < -1e-9 {
		t.Errorf("fall %v", got.Drops[0].Fall)
	}
	got.Drops[0].Fall = want[0].Fall
	if d := got.Drops[0].Specimen.Diameter - want[0].Specimen.Diameter; d > 1e-15 || d < -1e-15 {
		t.Errorf("diameter %v", got.Drops[0].Specimen.Diameter)
	}
	got.Drops[0].Specimen.Diameter = want[0].Specimen.Diameter
	if d := cmp.Diff(want, got.Drops); d != "" {
		t.Error(d)
	}
}

// A planned list is filled in as the days go: what has nothing in record, taken and outcome is to come.
func TestNotTakenYet(t *testing.T) {
	const head = "drop,specimen,fall,record,taken,outcome\n"
	l, err := Read("drops.csv", strings.NewReader(head+"d1,s1,1 m,r1.csv,2026-12-01,\nd2,s2,1 m,,,\nd3,s3,1 m,,,\n"))
	if err != nil || len(l.Drops) != 1 || len(l.Warnings) != 1 || !strings.Contains(l.Warnings[0], "2 of 3 drops have neither record, date nor outcome") {
		t.Errorf("%+v, %v", l, err)
	}
	for text, want := range map[string]string{
		head + "d1,s1,1 m,,,\n":                       "none of the 1 drops has a record",
		head + "d1,s1,1 m,,2026-12-01,\n":             "drop d1 has no record",
		head + "d1,s1,1 m,,,held\n":                   "drop d1 has no record",
		"drop,specimen,fall,record\nd1,s1,1 m,\n":     "drop d1 has no record",
		head + "d1,s1,1 m,r.csv,,\nd2,s2,1 m,,,,,x\n": "8 fields where the header has 6",
	} {
		if _, err := Read("drops.csv", strings.NewReader(text)); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v, want %q", text, err, want)
		}
	}
}
