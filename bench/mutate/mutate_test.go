package main

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// inFolder runs the command in a small module and gives back its exit code and what it printed.
func inFolder(t *testing.T, args ...string) (int, string) {
	t.Helper()
	t.Chdir(filepath.Join("testdata", "sums"))
	var out, errs bytes.Buffer
	code := run(append(args, "."), &out, &errs)
	if errs.Len() > 0 {
		t.Log(errs.String())
	}
	return code, out.String()
}

func lines(s string) []string { return strings.Split(strings.TrimSpace(s), "\n") }

// Every kind of expression in the small package has its mutants. The constant of the comparison is one mutant where it is declared; the
// room of make and the step of a loop have none.
func TestMutants(t *testing.T) {
	code, out := inFolder(t, "-list")
	if code != 0 {
		t.Fatal(out)
	}
	for _, want := range []string{
		"sums.go:6: -: limit  ->  limit + 1",
		"sums.go:10: over: x > limit  ->  x >= limit",
		"sums.go:10: over: x > limit  ->  x <= limit",
		"sums.go:13: both: a && !b  ->  !b",
		"sums.go:13: both: a && !b  ->  a",
		"sums.go:13: both: !b  ->  b",
		"sums.go:19: line: 2*x + 3  ->  2*x - 3",
		"sums.go:19: line: 2*x + 3  ->  2*x",
		"sums.go:19: line: 2*x + 3  ->  3",
		"sums.go:19: line: 2  ->  2 x 1.5",
		"sums.go:21: back: -(x - y)  ->  (x - y)",
		"sums.go:21: back: x - y  ->  -y",
		"sums.go:21: back: -(x - y) / y  ->  -(x - y) * y",
		"sums.go:23: together: math.Hypot(x, y)  ->  x",
		"sums.go:28: list: append(out, i)  ->  out",
		"sums.go:36: total: sum += math.Max(v, 0)  ->  (left out)",
		"sums.go:36: total: math.Max(v, 0)  ->  v",
		"sums.go:41: untested: x % 5  ->  x",
	} {
		if !strings.Contains(out, want+"\n") {
			t.Errorf("missing: %s", want)
		}
	}
	for _, unwanted := range []string{"7", "i++"} {
		if strings.Contains(out, ": "+unwanted) {
			t.Errorf("%q is mutated:\n%s", unwanted, out)
		}
	}
}

// The test of the small package notices all but what it never calls.
func TestGate(t *testing.T) {
	code, out := inFolder(t)
	for _, want := range []string{
		"sums.go:41: untested: x % 5  ->  x  (no quick test comes here)",
		"sums.go:41: untested: 5  ->  5 + 1  (no quick test comes here)",
	} {
		if !strings.Contains(out, want+"\n") {
			t.Errorf("missing: %s", want)
		}
	}
	for _, line := range lines(out) {
		if strings.HasPrefix(line, "sums.go:") && !strings.Contains(line, "untested") {
			t.Errorf("survived: %s", line)
		}
	}
	if code != 0 {
		t.Errorf("exit code %d with two survivors of many", code)
	}
	t.Logf("%s", out)
}

// Two survivors of two are under the gate, and with a reason each they may stay.
func TestAccepted(t *testing.T) {
	keep := filepath.Join(t.TempDir(), "accepted.tsv")
	write := func(s string) {
		if err := os.WriteFile(keep, []byte(s), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	write("# nothing\n")
	m := mutant{file: "a.go", function: "f", original: "x < y", mutated: "x <= y"}
	for _, c := range []struct {
		text string
		ok   bool
	}{
		{"", false},
		{"a.go\tf\tx < y\tx <= y\tequal values are left out before\n", true},
		{"a.go\tf\tx < y\t*\tfor show\n", true},
		{"a.go\tf\t*\t*\tfor show\n", true},
		{"a.go\tg\tx < y\tx <= y\tanother function\n", false},
		{"b.go\tf\tx < y\tx <= y\tanother file\n", false},
		{"a.go\tf\tx < y\tx >= y\tanother change\n", false},
	} {
		a, err := readAccepted("accepted.tsv", strings.NewReader(c.text))
		if err != nil {
			t.Fatal(err)
		}
		if a.of(m) != c.ok {
			t.Errorf("%q: %v", c.text, !c.ok)
		}
	}
	for _, text := range []string{"a.go\tf\tx < y\tx <= y\n", "a.go\tf\tx < y\tx <= y\t \n"} {
		if _, err := readAccepted("accepted.tsv", strings.NewReader("\n"+text)); err == nil || !strings.HasPrefix(err.Error(), "accepted.tsv:2: ") {
			t.Errorf("%q: %v; an acceptance needs a reason", text, err)
		}
	}
	write("sums.go\tuntested\t*\t*\tfor the test\n")
	path := keep
	_, out := inFolder(t, "-accepted", path)
	if !strings.Contains(out, "100.0 %") || !strings.Contains(out, "2 accepted") {
		t.Error(out)
	}
}

// The same seed draws the same mutants, another one others, and the size is kept.
func TestSample(t *testing.T) {
	_, a := inFolder(t, "-list", "-sample", "10")
	t.Chdir(filepath.Join("..", ".."))
	_, b := inFolder(t, "-list", "-sample", "10")
	t.Chdir(filepath.Join("..", ".."))
	_, c := inFolder(t, "-list", "-sample", "10", "-seed", "2")
	if a != b || a == c {
		t.Errorf("seed 1:\n%s\nagain:\n%s\nseed 2:\n%s", a, b, c)
	}
	// A constant used twice in one function has one key.
	if n := len(lines(a)); n < 10 || n > 11 {
		t.Errorf("%d mutants, want 10", n)
	}
}
