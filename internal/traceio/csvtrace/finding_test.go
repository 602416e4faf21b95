package csvtrace

import (
	"context"
	"errors"
	"fmt"
	"math"
	"os"
	"strings"
	"testing"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/quantity"
	"github.com/hardcatch/hardcatch/internal/traceio"
)

// record writes 60 rows of an invented record at 10 kHz under a line of names, so that row i stands on line
// i+2, with some rows replaced.
func record(replaced map[int]string) string {
	var b strings.Builder
	b.WriteString("Time [s],Force [N]\n")
	for i := range 60 {
		row, ok := replaced[i]
		if !ok {
			row = fmt.Sprintf("%.4f,%.1f\n", float64(i)/10000, recordAt(i))
		}
		b.WriteString(row)
	}
	return b.String()
}

func recordAt(i int) float64 { return math.Round(1000+500*math.Sin(float64(i)/4)) / 10 }

// Every kind of trouble, its exact sentence, and what became of the samples.
func TestFindings(t *testing.T) {
	nan := math.NaN()
	for _, c := range []struct {
		name     string
		rows     map[int]string
		kind     string
		grade    drop.Grade
		text     string
		from, to int
		count    int
		samples  int
		values   map[int]float64 // by sample
	}{
		{"backward", map[int]string{30: "0.0028,1.0\n"}, "backward-time", drop.Fault,
			"drop17.csv:32: time goes backwards (0.0028 s after 0.0029 s); sort or cut the record at the logger restart; readings that do not advance the time were left out",
			29, 30, 1, 60, map[int]float64{28: recordAt(28), 30: (recordAt(29) + recordAt(31)) / 2, 31: recordAt(31)}},
		{"restart", map[int]string{57: "0.0000,1.0\n", 58: "0.0001,1.0\n", 59: "0.0002,1.0\n"}, "backward-time", drop.Fault,
			"drop17.csv:59: time goes backwards (0.0000 s after 0.0056 s) (and 2 more of the kind); sort or cut the record at the logger restart; readings that do not advance the time were left out",
			56, 57, 3, 57, map[int]float64{56: recordAt(56)}},
		{"leap", map[int]string{30: "0.9030,1.0\n"}, "backward-time", drop.Fault,
			"drop17.csv:33: time goes backwards (0.0031 s after 0.9030 s); correct the line before, which leaps ahead and was left out",
			31, 32, 1, 60, map[int]float64{29: recordAt(29), 30: (recordAt(29) + recordAt(31)) / 2, 31: recordAt(31)}},
		{"repeated", map[int]string{30: fmt.Sprintf("0.0030,%.1f\n0.0030,%.1f\n", 10.0, 20.0)}, "repeated-time", drop.Warning,
			"drop17.csv:33: the time is repeated (0.0030 s again); the mean of the readings at one time was kept; check whether the logger doubled lines or prints too few digits",
			30, 31, 1, 60, map[int]float64{30: 15, 31: recordAt(31), 59: recordAt(59)}},
		{"short gap", map[int]string{30: "", 31: "", 32: ""}, "gap", drop.Warning,
			"drop17.csv:32: 3 samples are missing between 0.0029 s and 0.0033 s; they were bridged by a straight line; a peak between them is lost",
			30, 33, 1, 60, map[int]float64{31: (recordAt(29) + recordAt(33)) / 2, 33: recordAt(33)}},
		{"one sample lost", map[int]string{30: ""}, "gap", drop.Warning,
			"drop17.csv:32: 1 sample is missing between 0.0029 s and 0.0031 s; they were bridged by a straight line; a peak between them is lost",
			30, 31, 1, 60, map[int]float64{30: (recordAt(29) + recordAt(31)) / 2}},
		{"two gaps", map[int]string{30: "", 40: ""}, "gap", drop.Warning,
			"drop17.csv:32: 1 sample is missing between 0.0029 s and 0.0031 s (and 1 more of the kind); they were bridged by a straight line; a peak between them is lost",
			30, 31, 2, 60, map[int]float64{59: recordAt(59)}},
		{"long gap", map[int]string{30: "", 31: "", 32: "", 33: ""}, "long-gap", drop.Fault,
			"drop17.csv:32: 4 samples are missing between 0.0029 s and 0.0034 s; they are NaN here; cut the record at the gap, or leave the drop out if the arrest lies in it",
			30, 34, 1, 60, map[int]float64{29: recordAt(29), 30: nan, 33: nan, 34: recordAt(34)}},
		{"NaN", map[int]string{30: "0.0030,NaN\n"}, "not-a-number", drop.Fault,
			`drop17.csv:32: column "Force" says NaN; the value is NaN; look for an overload or a loose plug at that moment`,
			30, 31, 1, 60, map[int]float64{30: nan, 31: recordAt(31)}},
		{"infinity", map[int]string{30: "0.0030,-inf\n", 31: "0.0031,inf\n", 50: "0.0050,1.#INF\n"}, "not-a-number", drop.Fault,
			`drop17.csv:32: column "Force" says -inf; the value is NaN (and 2 more of the kind); look for an overload or a loose plug at that moment`,
			30, 32, 3, 60, map[int]float64{30: nan, 31: nan, 50: nan}},
		{"too large", map[int]string{30: "0.0030,1e999\n"}, "too-large", drop.Fault,
			`drop17.csv:32: column "Force" holds 1e999, which is too large for a number; it is NaN here; correct the line, or cut the record there`,
			30, 31, 1, 60, map[int]float64{30: nan}},
		{"empty", map[int]string{30: "0.0030,\n"}, "empty-value", drop.Fault,
			`drop17.csv:32: column "Force" is empty; the value is NaN; look whether the logger lost samples there`,
			30, 31, 1, 60, map[int]float64{30: nan}},
		{"text", map[int]string{30: "0.0030,12a\n"}, "text-value", drop.Fault,
			`drop17.csv:32: column "Force" holds "12a", which is not a number; the value is NaN; correct the line, or cut the record there`,
			30, 31, 1, 60, map[int]float64{30: nan}},
		{"few fields", map[int]string{30: "0.0030\n"}, "few-fields", drop.Fault,
			"drop17.csv:32: the line has 1 field where the others have 2; what is missing is NaN; look for a lost separator, or export the record again",
			30, 31, 1, 60, map[int]float64{30: nan, 31: recordAt(31)}},
		{"many fields", map[int]string{30: "0.0030,1.0,7\n"}, "many-fields", drop.Fault,
			"drop17.csv:32: the line has 3 fields where the others have 2; which is which cannot be told, and its values are NaN; look for a stray separator or a decimal comma",
			30, 31, 1, 60, map[int]float64{30: nan, 31: recordAt(31)}},
		{"unreadable time", map[int]string{30: "O.0030,7.0\n"}, "unreadable-time", drop.Warning,
			`drop17.csv:32: the time "O.0030" cannot be read; it was taken from the lines around it; correct the line, or cut the record there`,
			30, 31, 1, 60, map[int]float64{30: 7, 31: recordAt(31)}},
		{"text line", map[int]string{30: "logger paused\n" + fmt.Sprintf("0.0030,%.1f\n", 7.0)}, "text-line", drop.Warning,
			`drop17.csv:32: a line of text stands among the samples ("logger paused") and was left out; check that no samples are missing there`,
			30, 31, 1, 60, map[int]float64{30: 7, 31: recordAt(31)}},
		{"names again", map[int]string{30: "Time [s],Force [N]\n" + fmt.Sprintf("0.0030,%.1f\n", 7.0)}, "text-line", drop.Warning,
			`drop17.csv:32: a line of text stands among the samples ("Time [s],Force [N]") and was left out; check that no samples are missing there`,
			30, 31, 1, 60, map[int]float64{30: 7}},
		{"comment", map[int]string{30: "# trigger\n" + fmt.Sprintf("0.0030,%.1f\n", 7.0)}, "comment", drop.Note,
			`drop17.csv:32: trigger`, 0, 0, 1, 60, map[int]float64{30: 7}},
		{"cut number", map[int]string{59: "0.0059,12"}, "cut-line", drop.Warning,
			`drop17.csv:61: the last line is cut off ("0.0059,12") and was left out; the logger stopped in the middle of writing; check that the record is complete`,
			0, 0, 1, 59, map[int]float64{58: recordAt(58)}},
		{"cut time", map[int]string{59: "0.00"}, "cut-line", drop.Warning,
			`drop17.csv:61: the last line is cut off ("0.00") and was left out; the logger stopped in the middle of writing; check that the record is complete`,
			0, 0, 1, 59, nil},
		{"cut after the separator", map[int]string{59: "0.0059,"}, "cut-line", drop.Warning,
			`drop17.csv:61: the last line is cut off ("0.0059,") and was left out; the logger stopped in the middle of writing; check that the record is complete`,
			0, 0, 1, 59, nil},
		{"cut after the sign", map[int]string{59: "0.0059,-"}, "cut-line", drop.Warning,
			`drop17.csv:61: the last line is cut off ("0.0059,-") and was left out; the logger stopped in the middle of writing; check that the record is complete`,
			0, 0, 1, 59, nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			tr := mustRead(t, record(c.rows), traceio.Options{})
			var found *drop.Finding
			for i := range tr.Findings {
				if tr.Findings[i].Kind == c.kind {
					found = &tr.Findings[i]
				} else if g := tr.Findings[i].Grade; g == drop.Fault {
					t.Errorf("besides: %s", tr.Findings[i])
				}
			}
			if found == nil {
				t.Fatalf("no %s among %v", c.kind, tr.Findings)
			}
			if found.String() != c.text || found.Grade != c.grade {
				t.Errorf("%s %q\nwant %s %q", found.Grade, found, c.grade, c.text)
			}
			if found.From != c.from || found.To != c.to || found.Count != c.count {
				t.Errorf("samples %d to %d, count %d; want %d to %d, %d", found.From, found.To, found.Count, c.from, c.to, c.count)
			}
			if tr.Len() != c.samples || tr.Rate != 10000 || tr.Resampled {
				t.Errorf("%d samples at %v, resampled %v", tr.Len(), tr.Rate, tr.Resampled)
			}
			for i, want := range c.values {
				if got := tr.Channels[0].Values[i]; !(math.Abs(got-want) < 1e-9 || math.IsNaN(got) && math.IsNaN(want)) {
					t.Errorf("sample %d is %v, want %v", i, got, want)
				}
			}
		})
	}
}

// A record without a fault has no finding, and a last line without line end is no fault.
func TestNothingToFind(t *testing.T) {
	if tr := mustRead(t, strings.TrimSuffix(record(nil), "\n"), traceio.Options{}); len(tr.Findings) != 0 || tr.Len() != 60 {
		t.Error(tr.Len(), tr.Findings)
	}
}

func TestClipping(t *testing.T) {
	arch := func(top, bottom float64) string {
		var b strings.Builder
		b.WriteString("Time [s],Force [kN]\n")
		for i := range 400 {
			f := 0.0
			if i >= 100 && i < 300 {
				f = 12 * math.Sin(math.Pi*float64(i-100)/200)
			}
			fmt.Fprintf(&b, "%.4f,%.3f\n", float64(i)/10000, math.Max(bottom, math.Min(top, f)))
		}
		return b.String()
	}
	tr := mustRead(t, arch(9, -99), traceio.Options{})
	if len(tr.Findings) != 1 {
		t.Fatal(tr.Findings)
	}
	// 12 sin(pi k/200) >= 9 for asin(0.75) = 0.84806 rad: k from 53.99 to 146.01, 54 to 146.
	want := "drop17.csv:156: channel Force stays at its largest value (9 kN) for 93 samples and is cut off flat; the true peak lies beyond it; take it as a bound only, and set a larger range for the next drop"
	if f := tr.Findings[0]; f.String() != want || f.Kind != "clipped" || f.Grade != drop.Fault || f.From != 154 || f.To != 247 {
		t.Errorf("%s %d %d\nwant %s", f, f.From, f.To, want)
	}
	// A smooth top in steps of 0.1 kN stays equal for a while too, and a rest at 0 is no clipping.
	coarse := strings.Split(arch(99, -99), "\n")
	for i := 1; i < len(coarse)-1; i++ {
		var at, f float64
		if _, err := fmt.Sscanf(coarse[i], "%f,%f", &at, &f); err != nil {
			t.Fatal(err)
		}
		coarse[i] = fmt.Sprintf("%.4f,%.1f", at, f)
	}
	if tr := mustRead(t, strings.Join(coarse, "\n"), traceio.Options{}); len(tr.Findings) != 0 {
		t.Error(tr.Findings)
	}
	// The record upside down.
	if tr := mustRead(t, strings.ReplaceAll(strings.ReplaceAll(arch(9, -99), ",", ",-"), "-Force", "Force"), traceio.Options{}); len(tr.Findings) != 1 || !strings.Contains(tr.Findings[0].Fact, "smallest value (-9 kN)") {
		t.Error(tr.Findings)
	}
	// A channel that never changes says nothing of clipping.
	if tr := mustRead(t, "Time [s],F [N]\n"+table(func(_ int, t, _ float64) string { return fmt.Sprintf("%.3f,5\n", t) }), traceio.Options{}); len(tr.Findings) != 0 {
		t.Error(tr.Findings)
	}
}

func TestRefusals(t *testing.T) {
	many := func(row string) string { return strings.Repeat(row, 20) }
	rowsOf := func(format string) string {
		return table(func(i int, _, _ float64) string { return fmt.Sprintf(format, i) })
	}
	for _, c := range []struct {
		text string
		o    traceio.Options
		want string
	}{
		{"", traceio.Options{}, "drop17.csv: the file is empty; export the record again"},
		{"\n\n", traceio.Options{}, "drop17.csv: the file is empty; export the record again"},
		{"hello\nworld\n", traceio.Options{}, `drop17.csv:1: no rows of numbers are found (the text begins "hello"); export the record as text with one line per sample`},
		{"Time [s],Force [N]\n", traceio.Options{}, `drop17.csv:1: no rows of numbers are found (the text begins "Time [s],Force [N]"); export the record as text with one line per sample`},
		{"Time [s],Force [N]\n0,1\n", traceio.Options{}, "drop17.csv:2: only 1 row can be read, and at least 8 samples are needed; check that this is the whole record"},
		{"Time [s],Force [N]\n0,1", traceio.Options{}, "drop17.csv:2: only 1 row can be read, and at least 8 samples are needed; check that this is the whole record"},
		{"Time [s],Force [N]\n0,1\n1,2\n", traceio.Options{}, "drop17.csv:2: only 2 rows can be read, and at least 8 samples are needed; check that this is the whole record"},
		{"Force [N]\n" + rowsOf("%d\n"), traceio.Options{}, `drop17.csv:2: there is no time column, and no line before the samples names the sample rate; state the rate, for example --rate "10 kHz"`},
		{"n,Force [N]\n" + rowsOf("%d,1\n"), traceio.Options{}, `drop17.csv:2: column "n" numbers the samples, but no line before them names the sample rate; state the rate, for example --rate "10 kHz"`},
		{"Time [s]\n" + rowsOf("%d\n"), traceio.Options{}, "drop17.csv:2: there is no column of values beside the time; export the force as well"},
		{"Time [s],Force [N]\n" + many("0.5,1\n"), traceio.Options{}, "drop17.csv:2: the times do not rise (0.5 s throughout or falling); check the time column, or leave it out and state the rate, for example --rate \"1 kHz\""},
		{"Time [s];Force [N]\n" + rowsOf("%d;1.234,5\n"), traceio.Options{}, "drop17.csv:2: the number 1.234,5 has thousands separators, which cannot be told from decimal signs; export the record without them"},
		{"Time [s];Force [N]\n" + rowsOf("%d;5.5\n") + "21;1,234.5\n", traceio.Options{}, "drop17.csv:22: the number 1,234.5 has thousands separators, which cannot be told from decimal signs; export the record without them"},
		{"Time [s],Force [N]\n" + rowsOf("%d,\"1,234.5\"\n"), traceio.Options{}, "drop17.csv:2: the number 1,234.5 has thousands separators, which cannot be told from decimal signs; export the record without them"},
		{"Time [s],Force [N]\n" + rowsOf("%d,1,234.5\n"), traceio.Options{}, "drop17.csv:2: the number 1,234.5 has thousands separators, which cannot be told from decimal signs; export the record without them"},
		{"Time [s],Force [N]\n" + rowsOf("%d,999.5\n") + "21,1,234.5\n", traceio.Options{}, "drop17.csv:22: the number 1,234.5 has thousands separators, which cannot be told from decimal signs; export the record without them"},
		{"Time [s],Force [N]\n" + rowsOf("%d,0,12,5\n"), traceio.Options{}, "drop17.csv:2: the row has 4 fields under 2 names, as if commas were both decimal sign and separator; export with semicolons between the fields or with decimal points"},
		{record(nil), traceio.Options{Reading: traceio.Reading{Channel: "torque"}}, `drop17.csv:1: there is no channel "torque"; the record has Force`},
		{record(nil), traceio.Options{Reading: traceio.Reading{Units: map[string]string{"Force": "furlong"}}}, `drop17.csv:1: the unit "furlong" stated for column "Force" is not known; use N, kN, kgf, lbf, V, mV, mV/V, g, m/s2 or counts`},
		{"time,F [N]\n" + rowsOf("%d,1\n"), traceio.Options{Reading: traceio.Reading{TimeUnit: "day"}}, `drop17.csv:1: "day" is no unit of time for column "time"; use s, ms, us, ns, min or h`},
		{record(nil), traceio.Options{MaxSamples: 59}, "drop17.csv:62: the record has more than 59 samples; cut it, or raise the limit"},
		{record(map[int]string{59: "9.9,1.0\n"}), traceio.Options{}, "drop17.csv:61: a gap from 0.0058 s to 9.9000 s would hold more samples than the record has; cut the record there"},
		{record(map[int]string{0: "1e300,1.0\n"}), traceio.Options{}, "drop17.csv:2: only 1 samples have rising times, and at least 8 are needed; check the time column"},
		{"t_s F_N\n" + strings.Repeat("0.00 1\n", 5) + strings.Repeat("0.01 1\n", 6), traceio.Options{}, "drop17.csv:2: the times are printed in steps of 10.0 ms, too coarse to tell the rate of 11 samples; export them with more digits, or without the time column and state the rate"},
		{"PK\x03\x04\x00\x00", traceio.Options{}, "drop17.csv: the file holds bytes that are no text; export the record as text with one line per sample"},
		{record(nil) + strings.Repeat("7", 300000), traceio.Options{}, "drop17.csv:62: a line is longer than 262144 characters; this is no table of samples"},
	} {
		tr, err := Format{}.Read(context.Background(), "drop17.csv", strings.NewReader(c.text), c.o)
		if err == nil || err.Error() != c.want {
			t.Errorf("%.60q: %v\nwant %s\n%v", c.text, err, c.want, tr)
		}
	}
}

func TestCancelledAndFailingReads(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := (Format{}).Read(ctx, "x.csv", strings.NewReader(record(nil)), traceio.Options{}); !errors.Is(err, context.Canceled) || !strings.HasPrefix(err.Error(), "x.csv:2: reading was stopped") {
		t.Error(err)
	}
}

// Times too coarse for the rate: 0.1 ms steps printed in whole ms. The slope of 5000 points rounded to 1 ms
// is known to (1 ms/sqrt 12) sqrt(12/5000^3) = 2.8e-9 s, of 1e-4 s 28 ppm: 0.28 Hz, three times that 0.85 Hz.
func TestCoarseTimes(t *testing.T) {
	var b strings.Builder
	b.WriteString("Time [s],Force [N]\n")
	for i := range 5000 {
		fmt.Fprintf(&b, "%.3f,%.1f\n", float64(i)/10000, recordAt(i))
	}
	tr := mustRead(t, b.String(), traceio.Options{})
	if tr.Len() != 5000 || tr.Rate != 10000 || tr.Resampled || len(tr.Findings) != 1 {
		t.Fatal(tr.Len(), tr.Rate, tr.Findings)
	}
	want := "drop17.csv:2: the times are printed in steps of 1.00 ms, too coarse for samples 100 µs apart; the straight line through all of them gives 10.0000 kHz ± "
	if f := tr.Findings[0]; f.Kind != "coarse-times" || f.Grade != drop.Note || !strings.HasPrefix(f.String(), want) || !strings.HasSuffix(f.String(), "; let the logger print more digits") {
		t.Error(f)
	}
}

// A rate that is no whole number of print steps: 3 kHz with four decimals.
func TestRoundedTimes(t *testing.T) {
	var b strings.Builder
	b.WriteString("Time [s],Force [N]\n")
	for i := range 3000 {
		fmt.Fprintf(&b, "%.4f,%.1f\n", float64(i)/3000, recordAt(i))
	}
	if tr := mustRead(t, b.String(), traceio.Options{}); tr.Len() != 3000 || tr.Rate != 3000 || len(tr.Findings) != 0 {
		t.Error(tr.Len(), tr.Rate.SI(), tr.Findings)
	}
}

// A row written twice in a record whose steps are the last printed digit must not pass for rounding, also far
// behind the rows that the base is learnt from.
func TestDoubledRowAtTheLastDigit(t *testing.T) {
	for _, at := range []int{50, learnRows - 1, learnRows + 5000} {
		var b strings.Builder
		b.WriteString("Time [s],Force [N]\n")
		for i := range learnRows + 10000 {
			fmt.Fprintf(&b, "%.4f,%.1f\n", float64(i)/10000, recordAt(i))
			if i == at {
				fmt.Fprintf(&b, "%.4f,%.1f\n", float64(i)/10000, recordAt(i))
			}
		}
		tr := mustRead(t, b.String(), traceio.Options{})
		if tr.Len() != learnRows+10000 || tr.Rate != 10000 || tr.Resampled || len(tr.Findings) != 1 || tr.Findings[0].Kind != "repeated-time" {
			t.Fatal(at, tr.Len(), tr.Rate.SI(), tr.Findings)
		}
		if want := fmt.Sprintf("drop17.csv:%d", at+3); tr.Findings[0].Place != want {
			t.Error(tr.Findings[0], want)
		}
		for i, v := range tr.Channels[0].Values {
			if v != recordAt(i) {
				t.Fatalf("sample %d: %v, want %v", i, v, recordAt(i))
			}
		}
	}
}

// Coarse times with a gap: 1 kHz printed in hundredths, ten seconds lost in between.
func TestCoarseTimesWithAGap(t *testing.T) {
	var b strings.Builder
	b.WriteString("Time [s],Force [N]\n")
	for i := range 4000 {
		at := i
		if i >= 2000 {
			at += 1000
		}
		fmt.Fprintf(&b, "%.2f,%.1f\n", float64(at)/1000, recordAt(at))
	}
	tr := mustRead(t, b.String(), traceio.Options{})
	if math.Abs(tr.Rate.SI()-1000) > 1 || tr.Resampled || len(tr.Findings) == 0 || tr.Findings[0].Kind != "long-gap" {
		t.Fatal(tr.Len(), tr.Rate.SI(), tr.Findings)
	}
	// The gap is known to one printed step, 10 samples.
	if n := tr.Len(); n < 4990 || n > 5010 {
		t.Errorf("%d samples", n)
	}
}

func TestUnevenTimes(t *testing.T) {
	// Steps of 1 and 2 ms in turn: a triangle read at known points comes back exactly between them.
	var b strings.Builder
	b.WriteString("Time [ms],Force [N]\n")
	at := 0
	for i := range 40 {
		fmt.Fprintf(&b, "%d.00,%d\n", at, 10*at)
		at += 1 + i%2
	}
	tr := mustRead(t, b.String(), traceio.Options{})
	if !tr.Resampled || len(tr.Findings) != 1 {
		t.Fatal(tr.Findings)
	}
	f := tr.Findings[0]
	if f.Kind != "uneven-times" || f.Grade != drop.Warning || !strings.Contains(f.Fact, "of the steps differ from the median step") || !strings.Contains(f.Fact, "interpolated by straight lines to steps of") {
		t.Error(f)
	}
	for i, v := range tr.Channels[0].Values {
		if want := 10 * 1000 * float64(i) / tr.Rate.SI(); math.Abs(v-want) > 1e-9*want+1e-9 {
			t.Errorf("sample %d is %v, want %v", i, v, want)
		}
	}
}

// A logger that samples at 100 Hz and at 10 kHz during the event: the dense stretch keeps its peak.
func TestTwoRates(t *testing.T) {
	var b strings.Builder
	b.WriteString("Time [s],Force [N]\n")
	pulse := func(at float64) float64 {
		x := (at - 1.05) / 0.004
		return 1000 * math.Exp(-x*x)
	}
	for i := range 300 {
		at := float64(i) / 100
		if at > 1.001 && at < 1.099 {
			continue
		}
		fmt.Fprintf(&b, "%.4f,%.6f\n", at, pulse(at))
		if i == 100 {
			for k := 1; k < 1000; k++ {
				at := 1 + float64(k)/10000
				fmt.Fprintf(&b, "%.4f,%.6f\n", at, pulse(at))
			}
		}
	}
	tr := mustRead(t, b.String(), traceio.Options{})
	top := 0.0
	for _, v := range tr.Channels[0].Values {
		top = math.Max(top, v)
	}
	if !tr.Resampled || math.Abs(top-1000) > 0.01 {
		t.Errorf("peak %v at %v: %v", top, tr.Rate, tr.Findings)
	}
}

// A clock that trembles by a tenth of a percent of a step is taken as even, and one that drifts with a
// logger's other crystal contradicts the preamble.
func TestJitterAndContradiction(t *testing.T) {
	var b strings.Builder
	b.WriteString("Sample rate: 5000 Hz\nTime [s],Force [N]\n")
	for i := range 200 {
		fmt.Fprintf(&b, "%.9f,%.1f\n", float64(i)/10000+1e-7*math.Sin(float64(i*i)), recordAt(i))
	}
	tr := mustRead(t, b.String(), traceio.Options{})
	var kinds []string
	for _, f := range tr.Findings {
		kinds = append(kinds, f.Kind)
	}
	if math.Abs(tr.Rate.SI()-10000) > 0.1 || tr.Resampled || strings.Join(kinds, " ") != "preamble jitter rate-contradicted" {
		t.Fatal(tr.Rate.SI(), tr.Findings)
	}
	if got, want := tr.Findings[2].String(), `drop17.csv:1: the time column gives 10.0000 kHz, but 5.00000 kHz is named by the line "Sample rate: 5000 Hz"; the time column was used; check the unit of the time column`; got != want {
		t.Errorf("%s\nwant %s", got, want)
	}
}

// Silverman's record: 133 readings at 94 times, 2.4 to 57.6 ms. The numbers here are counted in the file.
func TestHeadImpact(t *testing.T) {
	data, err := os.ReadFile("testdata/head-impact-silverman-1985.csv")
	if err != nil {
		t.Fatal(err)
	}
	tr := mustRead(t, string(data), traceio.Options{Reading: traceio.Reading{TimeUnit: "ms", ForceUnit: "g", Mass: 5}})
	kinds := map[string]int{}
	for _, f := range tr.Findings {
		kinds[f.Kind] += f.Count
	}
	if kinds["repeated-time"] != 133-94 || kinds["uneven-times"] != 1 || !tr.Resampled {
		t.Fatal(tr.Findings)
	}
	ch := tr.Channels[0]
	if ch.Name != "accel" || ch.Unit != "g" || ch.Dim != quantity.DimForce || math.Abs(ch.Factor-5*9.80665) > 1e-12 {
		t.Errorf("%+v", ch)
	}
	if math.Abs(tr.Start.SI()-0.0024) > 1e-15 || math.Abs(tr.Start.SI()+float64(tr.Len()-1)/tr.Rate.SI()-0.0576) > 1/tr.Rate.SI() {
		t.Errorf("start %v, %d samples at %v", tr.Start, tr.Len(), tr.Rate)
	}
	low := 0.0
	for _, v := range ch.Values {
		low = math.Min(low, v)
	}
	// The lowest single reading is -134 g; means and straight lines may not go below it.
	if low < -134*5*9.80665-1e-9 || low > -110*5*9.80665 {
		t.Errorf("lowest %v", low)
	}
	for _, f := range tr.Findings {
		t.Log(f)
	}
}
