package main

import (
	"bytes"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
)

// A part of the study again, with few samples: every share of complete samples and of ratios within four standard deviations of what is meant, or above.
func TestPartOfTheStudy(t *testing.T) {
	n := 400
	if testing.Short() {
		n = 120
	}
	var out, problems bytes.Buffer
	if err := run([]string{"-n", strconv.Itoa(n), "-seed", "7", "-only", "ratios,claims"}, &out, &problems); err != nil {
		t.Fatal(err, problems.String())
	}
	rows := 0
	for _, line := range strings.Split(out.String(), "\n") {
		cells := strings.Split(line, " | ")
		if !strings.HasPrefix(line, "| weibull") && !strings.HasPrefix(line, "| lognormal") {
			continue
		}
		rows++
		if len(cells) == 5 { // claims
			share, err := strconv.ParseFloat(strings.Fields(cells[4])[0], 64)
			if err != nil || share/100 > 0.05+4*monteCarlo(0.05, n) {
				t.Errorf("%s (%v)", line, err)
			}
			continue
		}
		for _, c := range cells[5:7] {
			share, err := strconv.ParseFloat(strings.Trim(strings.Fields(c)[0], "*"), 64)
			if err != nil || share/100 < 0.93-4*monteCarlo(0.93, n) {
				t.Errorf("%s (%v)", line, err)
			}
		}
	}
	if rows < 60 {
		t.Errorf("%d rows", rows)
	}
}

// What others measured stays behind what this writes.
func TestWriteKeepsWhatFollows(t *testing.T) {
	path := filepath.Join(t.TempDir(), "coverage.md")
	if err := os.WriteFile(path, []byte("old\n"+others+"\n\nkept\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	var out bytes.Buffer
	if err := run([]string{"-n", "1", "-only", "claims", "-write", path}, &out, &out); err != nil {
		t.Fatal(err)
	}
	text, err := os.ReadFile(path)
	if err != nil || strings.HasPrefix(string(text), "old") || !strings.HasSuffix(string(text), others+"\n\nkept\n") || !strings.Contains(string(text), "## Wrong claims") {
		t.Errorf("%s %v", text, err)
	}
	if err := run([]string{"-only", "nothing"}, &out, &out); err == nil || !strings.Contains(err.Error(), "choose from quantiles, ratios, claims") {
		t.Error(err)
	}
	if err := run([]string{"-n", "0"}, &out, &out); err == nil {
		t.Error("no sample was taken for some")
	}
}
