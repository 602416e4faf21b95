package csvtrace

import (
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/traceio"
)

func zooFile(t *testing.T, f Format, file string, o traceio.Options) (*drop.Trace, error) {
	t.Helper()
	data, err := os.Open(filepath.Join("testdata", "zoo", file))
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = data.Close() }()
	return traceio.NewRegistry(f).Open(t.Context(), file, data, o)
}

// The numbers of the zoo: forceAt in N, at 1 kHz where nothing else is said. An error begins with the name of the file.
func TestZoo(t *testing.T) {
	const thousands = "has thousands separators"
	for file, want := range map[string]struct {
		err     string  // part of it, "" = it is read
		rate    float64 // Hz
		finding string  // kind, and part of the fact
		first   string  // what csv/1 made of it: "same", "refused" or "else"
		o       traceio.Reading
	}{
		"am-pm.csv":                            {rate: 1000, first: "refused"},
		"am-pm-noon.csv":                       {rate: 1000, first: "refused"},
		"am-pm-with-a-date.csv":                {rate: 1000, first: "refused"},
		"minutes-and-seconds.csv":              {rate: 1000, first: "refused"},
		"bomb.csv.gz":                          {err: "it grows to more than 20 times its size"},
		"cut-off.csv.gz":                       {err: "is damaged or cut off: unexpected EOF; copy it again"},
		"packed.csv.gz":                        {rate: 1000, first: "same"},
		"packed.zip":                           {rate: 1000, first: "same"},
		"two-members.zip":                      {err: "the zip file holds 2 files"},
		"foot-before-anchor.csv":               {rate: 1000, first: "same", o: traceio.Reading{Channel: "anchor"}}, // package look asks when nobody says which
		"peak-hold.csv":                        {rate: 1000, first: "same", o: traceio.Reading{Channel: "force"}},
		"thousands-in-one-row.csv":             {err: ":17: the number 1\u00a0010.0 " + thousands, first: "else"},
		"thousands-narrow-no-break-space.csv":  {err: ":2: the number 1\u202f000,0 " + thousands},
		"thousands-no-break-space.csv":         {err: ":2: the number 1\u00a0000,0 " + thousands},
		"thousands-no-break-space-latin-1.csv": {err: ":2: the number 1\ufffd000,0 " + thousands},
		"thousands-right-quote.csv":            {err: ":2: the number 1\u2019000,0 " + thousands},
		"thousands-thin-space.csv":             {err: ":2: the number 1\u2009000,0 " + thousands},
		"time-in-ms.csv":                       {rate: 1000, finding: "time-unit: the time column \"time\" has no unit; ms were taken, as ms would make 1.00 kHz over 23.0 ms, and s would make 1.00 Hz over 23.0 s", first: "else"},
		"time-in-s.csv":                        {rate: 1000, finding: "time-unit: the time column \"time\" has no unit; seconds were taken", first: "same"},
		"time-in-us.csv":                       {rate: 1000, finding: "time-unit: the time column \"time\" has no unit; µs were taken", first: "else"},
		"time-in-s-or-ms.csv":                  {err: "s would make 50.0 Hz over 24.0 s, ms would make 50.0 kHz over 24.0 ms; state the unit, for example --time-unit ms", first: "else"},
		"utf-16-big-endian.csv":                {rate: 1000, finding: "encoding: the text is UTF-16BE", first: "refused"},
		"utf-16-little-endian.csv":             {rate: 1000, finding: "encoding: the text is UTF-16LE", first: "refused"},
		"whole-seconds.csv":                    {rate: 50, finding: "coarse-times: the times are printed in steps of 1.00 s with 50 samples in each; the rate was counted: 50.0000 Hz ± 500 mHz", first: "else"},
		"whole-seconds-as-numbers.csv":         {rate: 50, finding: "coarse-times: the times are printed in steps of 1.00 s with 50 samples in each", first: "else"},
		"whole-seconds-begin-within.csv":       {rate: 50, finding: "coarse-times: the times are printed in steps of 1.00 s with 50 samples in each; the rate was counted: 50.0000 Hz ± 330 mHz", first: "else"},
		"whole-seconds-uneven.csv":             {err: ":2: from 37 to 50 samples stand in one step of 1.00 s", first: "else"},
		"one-whole-second.csv":                 {err: ":2: the times do not rise (13:05:07 throughout or falling); check the time column, or leave it out and state the rate"},
	} {
		t.Run(file, func(t *testing.T) {
			o := traceio.Options{Reading: want.o}
			tr, err := zooFile(t, Format{}, file, o)
			if want.err != "" {
				if err == nil || !strings.HasPrefix(err.Error(), file) || !strings.Contains(err.Error(), want.err) {
					t.Fatalf("%v, want %q", err, want.err)
				}
			} else {
				if err != nil {
					t.Fatal(err)
				}
				if tr.Rate.SI() != want.rate || tr.Resampled || len(tr.Channels) != 1 {
					t.Errorf("%v Hz, resampled %v, %d channels", tr.Rate.SI(), tr.Resampled, len(tr.Channels))
				}
				for i, v := range tr.Channels[0].Values {
					if math.Abs(v-forceAt(i)) > 1e-9 {
						t.Fatalf("sample %d is %v, want %v", i, v, forceAt(i))
					}
				}
				said := ""
				for _, f := range tr.Findings {
					said += f.Kind + ": " + f.Fact + "\n"
				}
				if !strings.HasPrefix(said, want.finding) || (said == "") != (want.finding == "") {
					t.Errorf("said %q, want %q", said, want.finding)
				}
			}
			old, oldErr := zooFile(t, First(), file, o)
			switch want.first {
			case "same":
				if oldErr != nil || old.Rate != tr.Rate || !slices.Equal(old.Channels[0].Values, tr.Channels[0].Values) {
					t.Errorf("csv/1: %v", oldErr)
				}
			case "refused":
				if oldErr == nil {
					t.Error("csv/1 reads it")
				}
			case "else":
				if oldErr != nil || tr != nil && old.Rate == tr.Rate {
					t.Errorf("csv/1: %v", oldErr)
				}
			}
		})
	}
}

// Every file of the zoo stands in its table with a line that says what it is, and is tried.
func TestZooIsWhole(t *testing.T) {
	table, err := os.ReadFile(filepath.Join("testdata", "zoo", "README.md"))
	if err != nil {
		t.Fatal(err)
	}
	source, err := os.ReadFile("zoo_test.go")
	if err != nil {
		t.Fatal(err)
	}
	files, err := os.ReadDir(filepath.Join("testdata", "zoo"))
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range files {
		if f.Name() == "README.md" {
			continue
		}
		if !strings.Contains(string(table), "| "+f.Name()+" | ") {
			t.Errorf("%s stands in no line of README.md", f.Name())
		}
		if !strings.Contains(string(source), "\t\t\""+f.Name()+"\": ") {
			t.Errorf("%s is not tried", f.Name())
		}
	}
	if n := strings.Count(string(table), "\n| ") - 1; n != len(files)-1 {
		t.Errorf("%d lines for %d files", n, len(files)-1)
	}
}

// A clock time is read as the one that is written otherwise, and only where it is whole.
func TestClockTimes(t *testing.T) {
	for text, want := range map[string]float64{
		"12:00:00 AM": 0, "12:59:59.5 am": 3599.5, "1:00:00 AM": 3600, "11:59:59 AM": 43199, "12:00:00 PM": 43200, "12:30 PM": 45000, "1:05:00.123 PM": 47100.123,
		"11:59:59.999PM": 86399.999, "3/2/2026 1:00:00 AM": 3600, "12/31/2026 13:00:00": 46800, "05:00.123": 300.123, "59:59,9": 3599.9, "00:00.0": 0, "2026-03-02 1:00:00 PM": 46800,
	} {
		m, ok := clockField([]byte(text), false)
		if !ok || math.Abs(m.seconds-want) > 1e-9 {
			t.Errorf("%q: %+v %v, want %v", text, m, ok, want)
		}
	}
	for _, text := range []string{"13:00:00 PM", "0:30:00 AM", "00:00 PM.", "60:00.1", "5:60.1", "1:00:00 XM", "1:00:00 PM Z", "3/2/26 1:00", "/3/2026 1:00:00", "05:00.", "1:05:00.1 ", " AM", "AM"} {
		if m, ok := clockField([]byte(text), false); ok {
			t.Errorf("%q is read as %+v", text, m)
		}
	}
}

// FuzzClock: whatever the text, a clock time lies within a day and a leap second, and csv/1 knows none that its successor reads otherwise.
func FuzzClock(f *testing.F) {
	for _, s := range []string{"12:00:00 AM", "05:00.123", "3/2/2026 1:00:00 AM", "2026-03-02T23:59:60Z", "02.03.2026 13:05", "24:59:60,999999999999999999"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		m, ok := clockField([]byte(text), false)
		if ok && !(m.seconds >= 0 && m.seconds <= 25*3600+1) {
			t.Fatalf("%q: %+v", text, m)
		}
		if old, known := clockField([]byte(text), true); known && (!ok || old != m) {
			t.Fatalf("%q: %+v, csv/1 %+v", text, m, old)
		}
	})
}
