package exact

import (
	"bufio"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"
)

// refCase is a line of testdata/reference.tsv, which bench/exact/reference.R wrote with the versions of R
// in its first line.
type refCase struct{ args, want []float64 }

func reference(t *testing.T, name string) []refCase {
	t.Helper()
	return recorded(t, "testdata/reference.tsv", name)
}

func recorded(t *testing.T, path, name string) []refCase {
	t.Helper()
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = f.Close() }()
	var all []refCase
	for lines := bufio.NewScanner(f); lines.Scan(); {
		field := strings.Split(lines.Text(), "\t")
		if field[0] != name {
			continue
		}
		all = append(all, refCase{numbers(t, field[1]), numbers(t, field[2])})
	}
	if len(all) == 0 {
		t.Fatalf("no recorded case of %s", name)
	}
	return all
}

func numbers(t *testing.T, text string) []float64 {
	t.Helper()
	var x []float64
	for _, w := range strings.Fields(text) {
		v, err := strconv.ParseFloat(w, 64)
		if err != nil {
			t.Fatal(err)
		}
		x = append(x, v)
	}
	return x
}

// near holds got to want within a relative tolerance, or an absolute floor of 1e-300.
func near(t *testing.T, what string, got, want, rel float64) {
	t.Helper()
	if got == want || math.IsNaN(got) && math.IsNaN(want) {
		return
	}
	if !(math.Abs(got-want) <= rel*math.Abs(want)+1e-300) {
		t.Errorf("%s: %.17g, want %.17g (relative error %.2g)", what, got, want, (got-want)/want)
	}
}

// says wants an error that has the words.
func says(t *testing.T, err error, words string) {
	t.Helper()
	if err == nil || !strings.Contains(err.Error(), words) {
		t.Errorf("error %v, want one that says %q", err, words)
	}
}
