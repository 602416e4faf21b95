package figure_test

import (
	"bytes"
	"flag"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"github.com/hardcatch/hardcatch/internal/figure"
)

var update = flag.Bool("update", false, "write the drawings kept in testdata anew and show what changed")

// The kept drawings are for regression only: they were looked at, not computed elsewhere.
func TestGolden(t *testing.T) {
	forceTime, half := sampleForceTime(), sampleForceTime()
	half.Width = figure.HalfWidth
	for _, c := range []struct {
		name    string
		drawing figure.Drawing
	}{
		{"force-time", forceTime}, {"force-time-half", half}, {"force-elongation", sampleLoops()}, {"strip", sampleStrips(4, 5)},
		{"intervals", sampleIntervals()}, {"cell-dots", sampleDots(2)}, {"strength-curves", sampleCurves()}, {"control-chart", sampleControl(16, "2026-03-11")},
		{"map", sampleMap()},
	} {
		got := c.drawing.SVG(c.name)
		file := filepath.Join("testdata", c.name+".svg")
		want, err := os.ReadFile(file)
		if err != nil && !*update {
			t.Fatal(err)
		}
		if bytes.Equal(got, want) {
			continue
		}
		diff := cmp.Diff(strings.Split(string(want), "\n"), strings.Split(string(got), "\n"))
		if !*update {
			t.Errorf("%s has changed; look at it, then run go test ./internal/figure -update\n%s", file, diff)
			continue
		}
		t.Logf("%s written anew:\n%s", file, diff)
		if err := os.WriteFile(file, got, 0o644); err != nil {
			t.Fatal(err)
		}
	}
}
