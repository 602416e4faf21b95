package main

import (
	"context"
	"io"
	"os"
	"strconv"
	"testing"

	"github.com/hardcatch/hardcatch/bench/truth"
	"github.com/hardcatch/hardcatch/internal/reduce"
)

// records is how many records of a row the tests below draw; HARDCATCH_RECORDS=200 is the number behind docs/methods.md.
func records(t *testing.T) int {
	t.Helper()
	if n, err := strconv.Atoi(os.Getenv("HARDCATCH_RECORDS")); err == nil && n > 0 {
		return n
	}
	return 2
}

func lineOf(t *testing.T, row string, o truth.Options) line {
	t.Helper()
	b, err := newBench("", reduce.DefaultFilter)
	if err != nil {
		t.Fatal(err)
	}
	s := study{bench: b, n: records(t), seed: 1000, report: io.Discard}
	l, err := s.line(context.Background(), row, o)
	if err != nil {
		t.Fatal(err)
	}
	return l
}

// Whatever hides the top of a held arrest, no peak is printed as a value that misses the truth by twice its uncertainty; what is printed
// as a bound is one, and nine of ten intervals hold the truth.
func TestNoPeakMisleads(t *testing.T) {
	var inside, intervals int
	peak := func(f truth.Truth) float64 { return f.Peak }
	for _, fault := range []string{"clip", "clip-noise", "knee", "over", "gap-peak", "gap-off", "slew", "lost-sample", "pull", "two-drops"} {
		for _, row := range []string{"zener", "soft", "webbing", "friction"} {
			if fault == "slew" && row == "webbing" {
				continue // 1 of 30 passes for a free flank: docs/methods.md
			}
			c := lineOf(t, row, truth.Options{Fault: fault}).tally("peak", peak)
			if c.far > 0 || c.right < c.bounds {
				t.Errorf("%s on %s: %d of %d values miss twice their uncertainty, %d of %d bounds hold", fault, row, c.far, c.values, c.right, c.bounds)
			}
			inside, intervals = inside+c.inside, intervals+c.intervals
		}
	}
	// Before a break there is no motion that tells: the way of the mass up to it does.
	for _, fault := range []string{"knee", "clip-noise", "slew"} {
		for _, row := range []string{"break", "break-other", "break-318Hz"} {
			c := lineOf(t, row, truth.Options{Fault: fault}).tally("peak", peak)
			most := c.values / 30
			if fault == "knee" && row == "break-other" {
				most = 1 + c.values/15 // 4 of 60 knees before the break of soft, viscous and rubbing specimens are missed: docs/decisions/reduction-2.md
			}
			if c.far > most || c.right < c.bounds {
				t.Errorf("%s on %s: %d of %d values miss twice their uncertainty, %d of %d bounds hold", fault, row, c.far, c.values, c.right, c.bounds)
			}
		}
	}
	if 10*inside < 9*intervals || intervals == 0 {
		t.Errorf("%d of %d intervals hold the truth", inside, intervals)
	}
}

// On good records nothing is called a bound and the audit doubts few: at most 0.5 % and 3 % in the long run. Of a small number one may be.
func TestGoodRecordsAreLeftAlone(t *testing.T) {
	var n, hidden, doubted int
	for _, row := range []string{"zener", "soft", "viscous", "friction", "webbing", "break", "node-318Hz", "hum"} {
		for _, gain := range []float64{0.0005, 0.005} {
			l := lineOf(t, row, truth.Options{GainU: gain})
			n += len(l.all)
			doubted += l.verdict("doubtful") + l.verdict("disagrees")
			hidden += l.count(func(j judged) bool { return j.Readings["peak"].Form != plain })
		}
	}
	if hidden > 1+n/200 || doubted > 2+3*n/100 {
		t.Errorf("of %d records %d are said not to show their peak, and %d are doubted", n, hidden, doubted)
	}
}

// A force scale or a mass that is 2 % off is found on each record by a gain that is known to 0.05 %.
func TestTwoPercentAreFound(t *testing.T) {
	var n, found int
	for _, fault := range []string{"gain", "mass"} {
		for _, row := range []string{"zener", "webbing"} {
			l := lineOf(t, row, truth.Options{GainU: 0.0005, Fault: fault})
			n += len(l.all)
			found += l.verdict("doubtful") + l.verdict("disagrees")
		}
	}
	if found < n-n/20 {
		t.Errorf("%d of %d are found", found, n)
	}
}
