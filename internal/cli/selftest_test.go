package cli

import (
	"bytes"
	"errors"
	"strings"
	"testing"

	"github.com/hardcatch/hardcatch/internal/app"
	"github.com/hardcatch/hardcatch/internal/day"
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/reduce"
)

// One number that differs ends with status 1 and is named; many are listed up to twenty.
func TestSelfTestFinds(t *testing.T) {
	ill := reduce.KnownGenerations().Latest()
	ill.Reduce = func(tr *drop.Trace, s reduce.Settings) (*reduce.Reduction, error) {
		r, err := reduce.Reduce(tr, s)
		if err == nil && tr.Name == "clipped.csv" {
			r.Tail = &r.Peak
		}
		return r, err
	}
	var out, errs bytes.Buffer
	a := &day.Bench{Access: &look.Access{Generations: reduce.Generations{ill}}}
	if code := Run(t.Context(), a, []string{"selftest"}, &out, &errs); code != exitUnexpected {
		t.Errorf("status %d", code)
	}
	if !strings.Contains(out.String(), "record clipped of reduce/2: tail_N: expected nothing, found 8985.7") || strings.Contains(out.String(), "are the same") {
		t.Error(out.String())
	}
	if !strings.Contains(errs.String(), "1 values differ, first record clipped of reduce/2: tail_N") || !strings.Contains(errs.String(), "do not use results") {
		t.Error(errs.String())
	}
	ill.Reduce = func(*drop.Trace, reduce.Settings) (*reduce.Reduction, error) { return nil, errors.New("no arrest") }
	a.Access.Generations = reduce.Generations{ill}
	out.Reset()
	if code := Run(t.Context(), a, []string{"selftest"}, &out, &errs); code != exitUnexpected || !strings.Contains(out.String(), "more; --json has all") || strings.Count(out.String(), "no arrest") != 20 {
		t.Errorf("status %d: %s", code, out.String())
	}
	out.Reset()
	if code := Run(t.Context(), a, []string{"selftest", "--json"}, &out, &errs); code != exitUnexpected || !strings.Contains(out.String(), `"holds": false`) {
		t.Errorf("status %d: %s", code, out.String())
	}
}

func TestSelfTestSaysHowExactly(t *testing.T) {
	for _, c := range []struct {
		records, falls float64
		want           string
	}{{0, 0, "all 7 numbers are the same to the last bit"}, {0, 1e-7, "those of records to the last bit, those of falls to 1e-07"}, {1e-7, 1e-7, "the same to 1e-07"}} {
		if got := selfTestHolds(&app.SelfTest{Numbers: 7, RecordTolerance: c.records, FallTolerance: c.falls}); !strings.Contains(got, c.want) {
			t.Errorf("%q, want %q", got, c.want)
		}
	}
}
