package look_test

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/reduce"
	"github.com/hardcatch/hardcatch/internal/store"
	"github.com/hardcatch/hardcatch/internal/traceio"
	"github.com/hardcatch/hardcatch/internal/traceio/csvtrace"
)

// caught is a record of columns that are multiples of one invented arrest in N: 4 kN, then 981 N for a mass of 100 kg.
func caught(header string, shares ...float64) store.Bytes {
	var b strings.Builder
	b.WriteString(header + "\n")
	for i := range 3000 {
		force := float64(i*i%7) - 3
		switch {
		case i >= 1100:
			force += 981
		case i >= 1000:
			force += 4000 * math.Sin(math.Pi*float64(i-1000)/100)
		}
		fmt.Fprintf(&b, "%.4f", float64(i)/1000)
		for _, s := range shares {
			fmt.Fprintf(&b, ",%.2f", s*force)
		}
		b.WriteString("\n")
	}
	return store.Bytes(b.String())
}

// Where several columns could be the force, and nobody has said which, the record is refused with their names; where one is named, by
// name or number, in the reading or the list, that one is reduced.
func TestWhichColumnIsTheForce(t *testing.T) {
	a := &look.Access{Formats: traceio.NewRegistry(csvtrace.Format{})}
	g := a.Known().Latest()
	const two, twice = "Time [s],foot [N],anchor [N]", "Time [s],Force [N],Force [N]"
	for _, c := range []struct {
		header  string
		reading string // channel named by who reads
		listed  string // channel named in the list
		by      string // reader that read it before
		want    string // part of the error
		peak    float64
	}{
		{header: two, want: `x.csv: 2 columns could be the force at the anchor: "foot" in N, "anchor" in N; say which one with --channel NAME`},
		{header: twice, want: `"Force" in N, "Force" in N; say which one with --channel NAME (or its number, from 1)`},
		{header: two, reading: "anchor", peak: 4000},
		{header: two, reading: "foot", peak: 1000},
		{header: two, listed: "anchor", peak: 4000},
		{header: twice, reading: "3", peak: 4000},
		{header: twice, listed: "3", peak: 4000},
		{header: twice, listed: "2", peak: 1000},
		{header: two, by: "csv/2", peak: 1000}, // what is stored says what was taken
		{header: "Time [s],foot [V],anchor [N]", peak: 4000},
		{header: "Time [s],foot,anchor [N]", peak: 4000},
	} {
		k := look.SettingsFor(drop.Rig{Mass: 100}, drop.Drop{Fall: 0.9, Channel: c.listed}, reduce.Filter{}, traceio.Reading{Channel: c.reading, By: c.by})
		r, err := a.New("d1", "x.csv", caught(c.header, 0.25, 1), k).Reduce(t.Context(), g)
		if c.want != "" {
			if err == nil || !strings.Contains(err.Error(), c.want) {
				t.Errorf("%+v: %v", c, err)
			}
			continue
		}
		if err != nil {
			t.Errorf("%+v: %v", c, err)
			continue
		}
		if got := r.PeakRaw.SI(); math.Abs(got-c.peak) > 10 {
			t.Errorf("%+v: peak %v", c, got)
		}
	}
	for _, file := range []string{"foot-before-anchor.csv", "peak-hold.csv"} {
		data, err := os.ReadFile(filepath.Join("..", "traceio", "csvtrace", "testdata", "zoo", file))
		if err != nil {
			t.Fatal(err)
		}
		k := look.SettingsFor(drop.Rig{Mass: 100}, drop.Drop{Fall: 0.9}, reduce.Filter{}, traceio.Reading{})
		if _, err := a.New("d1", file, store.Bytes(data), k).Reduce(t.Context(), g); err == nil || !strings.HasPrefix(err.Error(), file+": 2 columns could be the force") {
			t.Errorf("%s: %v", file, err)
		}
	}
}
