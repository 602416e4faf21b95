package censor

import (
	"encoding/csv"
	"errors"
	"os"
	"path/filepath"
	"strconv"
	"testing"
)

func TestGraveyard(t *testing.T) {
	files, err := filepath.Glob("testdata/graveyard/*.csv")
	if err != nil || len(files) < 6 {
		t.Fatalf("%d files, %v", len(files), err)
	}
	fits := 0
	for _, name := range files {
		values := graveyardValues(t, name)
		for f := Weibull; f <= Exponential; f++ {
			if err := checkAnyFit(values, f); err != nil && !errors.Is(err, ErrNotConverged) {
				t.Errorf("%s, %s: %v", name, f, err)
			}
			if m, err := Fit(values, f); err == nil && m != nil {
				fits++
			}
		}
	}
	// Those of reversed.csv and some of the two that hardly order have none.
	if fits < 15 {
		t.Errorf("only %d fits", fits)
	}
}

func graveyardValues(t *testing.T, name string) []Value {
	t.Helper()
	f, err := os.Open(name)
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = f.Close() }()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var values []Value
	for _, r := range rows[1:] {
		lo, err1 := strconv.ParseFloat(r[0], 64)
		hi, err2 := strconv.ParseFloat(r[1], 64)
		if err := errors.Join(err1, err2); err != nil {
			t.Fatal(err)
		}
		values = append(values, Value{Lo: lo, Hi: hi})
	}
	return values
}
