package arrest

import (
	"bytes"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/hardcatch/hardcatch/internal/traceio/yamlread"
)

// Cases that once ended a run without a result come to their end with a closed ledger, by the three methods that share
// nothing of the integration alike where they can take it, with every sample. TestEveryPathAgrees has them in ensembles.
func TestGraveyard(t *testing.T) {
	names, err := filepath.Glob("testdata/graveyard/*.json")
	if err != nil || len(names) == 0 {
		t.Fatalf("%d cases: %v", len(names), err)
	}
	readme, err := os.ReadFile("testdata/graveyard/README.md")
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range names {
		t.Run(filepath.Base(name), func(t *testing.T) {
			if !strings.Contains(string(readme), "`"+filepath.Base(name)+"`") {
				t.Error("the README says nothing about it")
			}
			c := readCase(t, name)
			const rate = 1024
			want := run(t, &c, Options{Sample: &Sampling{Rate: rate}})
			// The samples reach the end of the run, and go on there from where they were.
			n := len(want.Samples.Position)
			if count := int(c.Until.SI()*rate+1e-9) + 1; n != count {
				t.Fatalf("%d samples, want %d", n, count)
			}
			x := want.Samples
			rest := c.Until.SI() - float64(n-1)/rate
			within(t, "last sample", x.Position[n-1].SI(), want.End.Position.SI(), 0, 1e-9+rest*(math.Abs(x.Velocity[n-1].SI())+math.Abs(want.End.Velocity.SI())))
			finer := run(t, &c, Options{Tolerance: 1e-13})
			within(t, "finer peak", finer.PeakForce.SI(), want.PeakForce.SI(), 1e-7, 0)
			within(t, "finer end", finer.End.Position.SI(), want.End.Position.SI(), 1e-6, 0)
			for _, method := range []Method{Dopri, Radau} {
				if strings.HasPrefix(filepath.Base(name), "ripple-") {
					continue // they run past such jumps, and their balance of energy says so
				}
				b := run(t, &c, Options{Method: method})
				if b.Outcome != want.Outcome {
					t.Errorf("%s: %s, want %s", method, b.Outcome, want.Outcome)
				}
				within(t, string(method)+" peak", b.PeakForce.SI(), want.PeakForce.SI(), 1e-7, 0)
				within(t, string(method)+" end", b.End.Position.SI(), want.End.Position.SI(), 1e-6, 0)
			}
		})
	}
}

// readCase reads a case of its own.
func readCase(t *testing.T, name string) Case {
	t.Helper()
	data, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	var c Case
	if _, err := yamlread.Decode(name, bytes.NewReader(data), &c); err != nil {
		t.Fatal(err)
	}
	return c
}
