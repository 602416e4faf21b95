package app_test

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"runtime"
	"strconv"
	"strings"
	"testing"

	"github.com/hardcatch/hardcatch/internal/app"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/render"
	"github.com/hardcatch/hardcatch/internal/store"
	"github.com/hardcatch/hardcatch/internal/view"
)

// forge writes another peak over the one of a drop and enters it as a reduction like any other, so that the logbook holds.
// It gives the peak that was kept and the one that stands now.
// made is what the settings say of the machine: "" leaves it as it is, "-" takes it out.
func forge(t *testing.T, a *look.Access, path, id, made string, other func(float64) float64) (kept, now string) {
	t.Helper()
	err := a.Change(t.Context(), path, func(tx store.Tx) error {
		r, err := tx.Reduction(t.Context(), id)
		if err != nil {
			return err
		}
		var whole struct {
			Peak json.Number `json:"peak_N"`
		}
		if err := json.Unmarshal(r.Value.Result, &whole); err != nil {
			return err
		}
		v, err := whole.Peak.Float64()
		if err != nil {
			return err
		}
		kept, now = whole.Peak.String(), strconv.FormatFloat(other(v), 'g', -1, 64)
		before, after, found := strings.Cut(string(r.Value.Result), `"peak_N":`+kept)
		if !found {
			return errors.New("there is no peak_N to write over")
		}
		r.Value.Result = []byte(before + `"peak_N":` + now + after)
		var settings map[string]any
		if err := json.Unmarshal(r.Value.Settings, &settings); err != nil {
			return err
		}
		if m, ok := settings["made"].(map[string]any); !ok || m["arch"] != runtime.GOARCH || m["go"] != runtime.Version() {
			return fmt.Errorf("the reduction says that it was made on %v", settings["made"])
		}
		switch made {
		case "":
		case "-":
			delete(settings, "made")
		default:
			settings["made"] = map[string]any{"arch": made, "exact": false, "go": "go1.26.0"}
		}
		if r.Value.Settings, err = json.Marshal(settings); err != nil {
			return err
		}
		_, err = tx.AddReduction(t.Context(), r.Value)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return kept, now
}

// A kept number that was written over passes the logbook, whose chain it is part of. prove says that it has not looked, names both numbers
// when it has, and blames the processor only where the reduction says that another made it, for what rounding may do (1e-7; a budget's small
// terms differ by 1e-8 on arm64).
func TestAForgedPeakIsNamed(t *testing.T) {
	for name, c := range map[string]struct {
		made      string
		other     func(float64) float64
		processor bool
	}{
		"a third less":                    {"", func(v float64) float64 { return 0.7 * v }, false},
		"the last bit, on this processor": {"", func(v float64) float64 { return math.Nextafter(v, 0) }, false},
		"the last bit, on another":        {"other", func(v float64) float64 { return math.Nextafter(v, 0) }, true},
		"the last bit, not said where":    {"-", func(v float64) float64 { return math.Nextafter(v, 0) }, false},
		"within 1e-7, on another":         {"other", func(v float64) float64 { return v * (1 - 0.9e-7) }, true},
		"more than 1e-7, on another":      {"other", func(v float64) float64 { return v * (1 + 1.2e-7) }, false},
		"of the other sign, on another":   {"other", func(v float64) float64 { return -v }, false},
	} {
		t.Run(name, func(t *testing.T) {
			ctx, a, path := t.Context(), all(), made(t, all())
			repeated, forged := forge(t, a, path, "d01", c.made, c.other)
			v, err := app.Prove(ctx, a, path, false, nil)
			if err != nil || !v.Holds || v.Repeated != 0 || v.Reductions != 2 || !strings.Contains(v.Unchecked, "2 reductions follow from the records") {
				t.Fatalf("without a repeat: %+v %v", v, err)
			}
			v, err = app.Prove(ctx, a, path, true, nil)
			if err != nil || v.Holds || v.Repeated != 1 || len(v.Differ) != 1 || v.Unchecked != "" {
				t.Fatalf("with a repeat: %+v %v", v, err)
			}
			says := v.Differ[0]
			for _, want := range []string{"drop d01: peak_N is kept as " + forged + ", the repeat gives " + repeated} {
				if !strings.Contains(says, want) {
					t.Errorf("%q does not say %q", says, want)
				}
			}
			if strings.Contains(says, "differs between processors: it was made on other, go1.26.0, this is "+runtime.GOARCH) != c.processor || strings.Contains(says, "not what this version makes of this record") == c.processor {
				t.Errorf("%q lays it to the wrong thing", says)
			}

			r, err := view.ReportOf(ctx, a, path, view.ReportOptions{NoFigures: true})
			if err != nil {
				t.Fatal(err)
			}
			if r.Repeats.Kept != 2 || r.Repeats.Same != 1 || len(r.Repeats.Differ) != 1 {
				t.Errorf("the report repeated %+v", r.Repeats)
			}
			for _, d := range r.EveryDrop() {
				if marked := d.Departure != nil; marked != (d.Drop == "d01") {
					t.Errorf("drop %s is marked: %v", d.Drop, marked)
				}
			}
			var page bytes.Buffer
			if err := render.Report(&page, r); err != nil {
				t.Fatal(err)
			}
			for _, want := range []string{"1 of 2 came out to the same bits", "≠</strong></th>", "peak_N is kept as " + forged, "Numbers that the records do not give."} {
				if !strings.Contains(page.String(), want) {
					t.Errorf("the report does not print %q", want)
				}
			}
			if r, err = view.ReportOf(ctx, a, path, view.ReportOptions{NoFigures: true, NoRepeat: true}); err != nil || r.Repeats != nil {
				t.Errorf("a report without repeats has %+v, %v", r.Repeats, err)
			}
		})
	}
}
