package arrest

import (
	"bytes"
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"testing"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/traceio/yamlread"
)

type jsonResult struct {
	Name      string
	PeakForce float64      `json:"peak_force_N"`
	PeakTime  float64      `json:"peak_time_s"`
	PeakChain float64      `json:"peak_chain_N"`
	Peaks     [][2]float64 `json:"peaks"`
	Events    [][2]any     `json:"events"`
	EndX      float64      `json:"end_m"`
	EndV      float64      `json:"end_mps"`
	Lowest    float64      `json:"lowest_m"`
	Slips     []float64    `json:"slips_m"`
	Sets      []float64    `json:"sets_m"`
	Broke     *string
	Earlier   []jsonResult // the drops before, of a case of several
}

func readTestdata(t *testing.T, name string, into any) {
	t.Helper()
	b, err := os.ReadFile(filepath.Join("testdata", name))
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(b, into); err != nil {
		t.Fatalf("%s: %v", name, err)
	}
}

// readCases reads testdata/cases.json (SI numbers; bench/cases.py writes them), by the keys that a case file has.
func readCases(t *testing.T) map[string]*Case {
	t.Helper()
	var file struct {
		Maker string `yaml:"maker"`
		Cases []struct {
			Name string `yaml:"name"`
			Case `yaml:",inline"`
		} `yaml:"cases"`
	}
	b, err := os.ReadFile(filepath.Join("testdata", "cases.json"))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := yamlread.Decode("cases.json", bytes.NewReader(b), &file); err != nil {
		t.Fatal(err)
	}
	cases := map[string]*Case{}
	for i := range file.Cases {
		cases[file.Cases[i].Name] = &file.Cases[i].Case
	}
	return cases
}

// SciPy's DOP853 at rtol 1e-12 on the equations in rate form (bench/reference.py; versions in the
// file). Times of events and peaks to 1e-8 s, forces to 1e-7.
func TestAgainstSciPy(t *testing.T) {
	var file struct {
		Versions string
		Results  []jsonResult
	}
	readTestdata(t, "reference-scipy.json", &file)
	cases := readCases(t)
	if len(file.Results) < 40 || len(file.Results) != len(cases) {
		t.Fatalf("%d results for %d cases", len(file.Results), len(cases))
	}
	for _, want := range file.Results {
		t.Run(want.Name, func(t *testing.T) {
			c := cases[want.Name]
			r := run(t, c, Options{})
			if n := max(c.Drops, 1); len(r.Earlier) != n-1 || len(want.Earlier) != n-1 {
				t.Fatalf("%d and %d earlier drops of %d", len(r.Earlier), len(want.Earlier), n)
			}
			for i := range want.Earlier {
				compare(t, r.Earlier[i], &want.Earlier[i], c)
			}
			compare(t, r, &want, c)
		})
	}
}

func compare(t *testing.T, r *Result, want *jsonResult, c *Case) {
	const force, time, place = 1e-7, 2e-7, 1e-7
	within(t, "peak", r.PeakForce.SI(), want.PeakForce, force, 0)
	within(t, "peak of the chain", r.PeakChain.SI(), want.PeakChain, force, 0)
	if len(r.Peaks) != len(want.Peaks) {
		t.Fatalf("%d peaks, want %d: %v", len(r.Peaks), len(want.Peaks), r.Events)
	}
	for i, p := range want.Peaks {
		within(t, "peak", r.Peaks[i].Force.SI(), p[1], force, 1e-5)
		if !flat(c) {
			within(t, "time of peak", r.Peaks[i].T.SI(), p[0], 0, 1e-6)
		}
	}
	var events []Event
	for _, e := range r.Events {
		switch e.Kind {
		case EventTaut, EventSlack, EventSlipOn, EventSlipOff, EventLocked, EventExhausted, EventBreak:
			events = append(events, e)
		}
	}
	if len(events) != len(want.Events) {
		t.Fatalf("%d events, want %d:\n%v\n%v", len(events), len(want.Events), events, want.Events)
	}
	for i, e := range want.Events {
		if string(events[i].Kind) != e[1].(string) {
			t.Errorf("event %d is %q, want %q", i, events[i].Kind, e[1])
		}
		within(t, e[1].(string), events[i].T.SI(), e[0].(float64), 0, time)
	}
	within(t, "position at the end", r.End.Position.SI(), want.EndX, place, 1e-7)
	within(t, "speed at the end", r.End.Velocity.SI(), want.EndV, place, 1e-6)
	within(t, "lowest", r.Lowest.SI(), max(want.Lowest, 0), place, 1e-9)
	k, s := 0, 0
	for _, e := range r.Elements {
		switch {
		case e.Kind == KindKnot || e.Kind == KindAbsorber:
			within(t, "slip", e.Slip.SI(), want.Slips[k], place, 1e-9)
			k++
		case e.Kind == KindTextile && s < len(want.Sets) && e.Slip > 0:
			within(t, "set", e.Slip.SI(), want.Sets[s], place, 1e-9)
			s++
		}
	}
	if (want.Broke != nil) != (r.Outcome == drop.Broke) {
		t.Errorf("outcome %s, want broke: %v", r.Outcome, want.Broke)
	}
	if want.Broke != nil && *want.Broke != r.Broke.Element {
		t.Errorf("broke at %s, want %s", r.Broke.Element, *want.Broke)
	}
	if open := math.Abs(r.Energy.Residual.SI()); open > 1e-9*r.Energy.In.SI() {
		t.Errorf("the ledger is open by %g J of %g J", open, r.Energy.In.SI())
	}
}

// flat tells that the peak may be a plateau, whose largest point has no sharp time.
func flat(c *Case) bool {
	for _, e := range c.Chain {
		if e.Kind == KindAbsorber {
			return true
		}
	}
	return false
}

// CVODE's BDF at rtol 1e-13 (bench/cvode_reference.c; version in the file) on the cases without friction,
// set, knot, absorber and body.
func TestAgainstCVODE(t *testing.T) {
	var file struct {
		Versions string
		Results  []jsonResult
	}
	readTestdata(t, "reference-cvode.json", &file)
	cases := readCases(t)
	if len(file.Results) < 15 {
		t.Fatalf("%d results", len(file.Results))
	}
	for _, want := range file.Results {
		t.Run(want.Name, func(t *testing.T) {
			r := run(t, cases[want.Name], Options{})
			const tol = 1e-8
			within(t, "peak", r.PeakForce.SI(), want.PeakForce, tol, 0)
			within(t, "time of peak", r.PeakTime.SI(), want.PeakTime, 1e-6, 0)
			if len(r.Peaks) != len(want.Peaks) {
				t.Fatalf("%d peaks, want %d", len(r.Peaks), len(want.Peaks))
			}
			for i, p := range want.Peaks {
				within(t, "peak", r.Peaks[i].Force.SI(), p[1], tol, 0)
			}
			slack, taut := 0, 0
			for _, e := range want.Events {
				switch e[1] {
				case "slack":
					within(t, "slack", at(r.Events, EventSlack, slack), e[0].(float64), tol, 0)
					slack++
				case "taut":
					within(t, "taut", at(r.Events, EventTaut, taut), e[0].(float64), tol, 0)
					taut++
				case "break":
					within(t, "break", at(r.Events, EventBreak, 0), e[0].(float64), tol, 0)
				}
			}
			within(t, "end", r.End.Position.SI(), want.EndX, tol, 1e-9)
			within(t, "lowest", r.Lowest.SI(), want.Lowest, tol, 0)
		})
	}
}
