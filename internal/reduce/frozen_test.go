package reduce_test

import (
	"encoding/json"
	"slices"
	"strings"
	"testing"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/reduce"
	"github.com/hardcatch/hardcatch/internal/reduce/frozen"
	"github.com/hardcatch/hardcatch/internal/same"
)

// Every generation gives for its frozen records what it always gave, whether the record's memory is worked in or not.
func TestFrozenRecords(t *testing.T) {
	if same.Tolerance() > 0 {
		t.Logf("this compiler fuses multiplications and additions: numbers are held to %g relative, not to the bit", same.Tolerance())
	}
	for _, g := range reduce.KnownGenerations() {
		records, err := frozen.Records(g.Version)
		if err != nil {
			t.Fatal(err)
		}
		if len(records) < 12 {
			t.Errorf("%s has %d frozen records", g.Version, len(records))
		}
		again, err := frozen.Records(g.Version)
		if err != nil {
			t.Fatal(err)
		}
		for i, r := range records {
			report, err := r.Check(g)
			if err != nil {
				t.Fatal(err)
			}
			if report.Numbers < 100 {
				t.Errorf("%s: only %d numbers were compared", r.Name, report.Numbers)
			}
			for i, d := range report.Differ {
				if i == 3 {
					t.Errorf("%s of %s: %d more differ", r.Name, g.Version, len(report.Differ)-3)
					break
				}
				t.Errorf("%s of %s: %s", r.Name, g.Version, d)
			}
			if report, err := again[i].Check(reduce.Generation{Reduce: g.ReduceInPlace}); err != nil || len(report.Differ) > 0 {
				t.Errorf("%s of %s, worked in its own memory: %v %v", r.Name, g.Version, report.Differ, err)
			}
		}
	}
	if !slices.Equal(frozen.Versions(), reduce.KnownGenerations().Versions()) {
		t.Errorf("frozen are %v, known are %v", frozen.Versions(), reduce.KnownGenerations().Versions())
	}
}

// A second generation stands beside the first: each repeats what it made, and neither the other's.
func TestGenerationsSideBySide(t *testing.T) {
	first := reduce.KnownGenerations().Latest()
	second := reduce.Generation{Version: "reduce/test", ForceChannel: first.ForceChannel, ReduceWhole: first.ReduceWhole, Reduce: func(tr *drop.Trace, s reduce.Settings) (*reduce.Reduction, error) {
		r, err := first.Reduce(tr, s)
		if err != nil {
			return nil, err
		}
		r.Version, r.Peak = "reduce/test", r.Peak*1.25
		return r, nil
	}}
	second.ReduceInPlace = second.Reduce
	both := append(reduce.KnownGenerations(), second)
	if both.Latest().Version != "reduce/test" {
		t.Errorf("new reductions are made by %s", both.Latest().Version)
	}
	records, err := frozen.Records(first.Version)
	if err != nil {
		t.Fatal(err)
	}
	record := records[0]
	made := map[string][]byte{}
	for _, g := range both {
		r, err := g.Reduce(record.Trace, record.Settings)
		if err != nil {
			t.Fatal(err)
		}
		if made[g.Version], err = json.Marshal(r); err != nil || r.Version != g.Version {
			t.Fatal(err, r.Version)
		}
	}
	for version, kept := range made {
		record.Kept = kept
		for _, name := range []string{first.Version, "reduce/test"} {
			g, err := both.ByVersion(name)
			if err != nil {
				t.Fatal(err)
			}
			report, err := record.Check(g)
			if err != nil {
				t.Fatal(err)
			}
			if (len(report.Differ) == 0) != (name == version) {
				t.Errorf("made by %s, repeated by %s: %v", version, name, report.Differ)
			}
		}
	}
	_, err = both.ByVersion("reduce/7")
	if err == nil || !strings.Contains(err.Error(), "made by reduce/7, this program has reduce/2, reduce/test; repeat it with the program that made it") {
		t.Error(err)
	}
}
