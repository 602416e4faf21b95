package main

import (
	"context"
	"encoding/json"
	"io"
	"math"
	"strings"
	"testing"

	"github.com/hardcatch/hardcatch/bench/truth"
	"github.com/hardcatch/hardcatch/internal/quantity"
	"github.com/hardcatch/hardcatch/internal/reduce"
)

// 1000 N is the truth. Values at 990 and 995 with U of 8 miss and hold; 970 is more than two U off; a lower bound of 900 holds and one of
// 1100 does not; 950 to 1001 covers.
func TestTally(t *testing.T) {
	of := func(r reading) judged { return judged{Readings: map[string]reading{"peak": r}} }
	l := line{all: []judged{
		of(around(990, 8)), of(around(995, 8)), of(around(970, 8)),
		of(reading{Form: atLeast, Lo: 900}), of(reading{Form: atLeast, Lo: 1100}), of(reading{Form: atMost, Hi: 1000}),
		of(reading{Form: interval, Lo: 950, Hi: 1001}), of(reading{Form: interval, Lo: 1001, Hi: 1100}),
		of(reading{Form: nothing}), {Error: "no arrest"},
	}}
	got := l.tally("peak", func(truth.Truth) float64 { return 1000 })
	if got.values != 3 || got.covered != 1 || got.far != 1 || got.bounds != 3 || got.right != 2 || got.intervals != 2 || got.inside != 1 || got.none != 2 {
		t.Errorf("%+v", got)
	}
	if math.Abs(got.median-0.008) > 1e-12 || math.Abs(got.bias+0.01) > 1e-12 {
		t.Errorf("%+v", got)
	}
}

// A result's U is what stands beside the value; a record that is cut off bounds its peak; a measure that is left out is nothing.
func TestReadings(t *testing.T) {
	r := &reduce.Reduction{Peak: 9000, PeakExpanded: 90, Coverage: 0.95, Measures: []reduce.Measure{{Name: "impulse", Value: 300, U: 2, DoF: reduce.DoF(math.Inf(1))}}}
	if p := peakOf(r); p.Form != plain || p.Lo != 8910 || p.Hi != 9090 {
		t.Errorf("%+v", p)
	}
	r.LowerBound = true // it broke: the force seen is still the force seen
	if p := peakOf(r); p.Form != plain {
		t.Errorf("%+v", p)
	}
	r.PeakBound = reduce.AtLeast
	if p := peakOf(r); p.Form != atLeast || !p.holds(12000) || p.holds(8000) {
		t.Errorf("%+v", p)
	}
	r.PeakBound, r.PeakInterval = reduce.Between, &[2]quantity.Force{9500, 10500}
	if p := peakOf(r); p.Form != interval || !p.holds(10000) || p.holds(9400) || p.holds(10600) {
		t.Errorf("%+v", p)
	}
	if m := measured("impulse")(r); math.Abs(m.U-2*1.959964) > 1e-5 { // normal factor at 95 %
		t.Errorf("%+v", m)
	}
	if m := measured("energy absorbed")(r); m.Form != nothing || m.holds(1) {
		t.Errorf("%+v", m)
	}
}

// The command goes from the bytes of a record to a table, and to one line of JSON a record.
func TestRun(t *testing.T) {
	var out strings.Builder
	args := []string{"-rows", "zener", "-faults", "clip", "-on", "zener", "-rates", "1000", "-n", "3"}
	if err := run(context.Background(), args, &out, io.Discard); err != nil {
		t.Fatal(err)
	}
	if s := out.String(); !strings.Contains(s, "| zener, 1000 Hz | 3 | ") || !strings.Contains(s, "| clip on zener, 1000 Hz | 3 | 0 | 0 | 0 | 0 | 0 | 0 | 3 | 3 |") {
		t.Error(s)
	}
	out.Reset()
	folder := t.TempDir()
	if err := run(context.Background(), append(args, "-json", "-write", folder), &out, io.Discard); err != nil {
		t.Fatal(err)
	}
	d := json.NewDecoder(strings.NewReader(out.String()))
	n := 0
	for ; d.More(); n++ {
		var j judged
		if err := d.Decode(&j); err != nil {
			t.Fatal(err)
		}
		if r := j.Readings["peak"]; math.Abs(r.Value/j.Record.Truth.Peak-1) > 0.05 && j.Record.Fault == "" || (r.Form == atLeast || r.Form == interval) != (j.Record.Fault == "clip") {
			t.Errorf("%+v of %+v", r, j.Record)
		}
	}
	if n != 6 {
		t.Errorf("%d lines", n)
	}
	for _, bad := range [][]string{{"-rows", "nothing"}, {"-rates", "x"}, {"-filter", "wide"}, {"-reduction", "reduce/0"}} {
		if err := run(context.Background(), bad, io.Discard, io.Discard); err == nil {
			t.Errorf("%v is taken", bad)
		}
	}
}
