package delimited

import (
	"context"
	"fmt"
	"math"
	"os"
	"strings"
	"testing"
	"unicode/utf16"

	"pgregory.net/rapid"

	"hardcatch/internal/drop"
	"hardcatch/internal/quantity"
	"hardcatch/internal/traceio"
)

func read(t testing.TB, text string, o traceio.Options) (*drop.Trace, error) {
	t.Helper()
	g := traceio.NewRegistry()
	g.Register(Format{})
	return g.Open(context.Background(), "drop17.csv", strings.NewReader(text), o)
}

func near(t *testing.T, what string, got, want float64) {
	t.Helper()
	if math.Abs(got-want) > 1e-9*math.Abs(want)+1e-15 {
		t.Errorf("%s: %v, want %v", what, got, want)
	}
}

// rows writes n samples: line is given index, time in s and force in N.
func rows(n int, line func(i int, t, f float64) string) string {
	var b strings.Builder
	for i := range n {
		b.WriteString(line(i, float64(i)/1000, float64(i*i%17)-3.5))
	}
	return b.String()
}

func comma(format string, args ...any) string {
	return strings.ReplaceAll(fmt.Sprintf(format, args...), ".", ",")
}

func TestDialects(t *testing.T) {
	u16 := func(s string) string {
		b := []byte{0xff, 0xfe}
		for _, u := range utf16.Encode([]rune(s)) {
			b = append(b, byte(u), byte(u>>8))
		}
		return string(b)
	}
	for name, c := range map[string]struct {
		text string
		o    traceio.Options
	}{
		"comma":            {"time [s],force [N]\n" + rows(20, func(_ int, t, f float64) string { return fmt.Sprintf("%.3f,%.1f\n", t, f) }), traceio.Options{}},
		"semicolon, comma": {"Zeit (ms);Kraft (kN)\r\n" + rows(20, func(_ int, t, f float64) string { return comma("%.1f;%.4f\r\n", t*1000, f/1000) }), traceio.Options{}},
		"tab, units below": {"title\ttext\ntime\tload\ns\tN\n" + rows(20, func(_ int, t, f float64) string { return fmt.Sprintf("%.3f\t%.1f\n", t, f) }), traceio.Options{}},
		"spaces":           {"# t_ms  F_N\nt_ms F_N\n" + rows(20, func(_ int, t, f float64) string { return fmt.Sprintf("  %8.1f   %8.1f\n", t*1000, f) }), traceio.Options{}},
		"byte-order mark":  {"\xef\xbb\xbftime/s,force/N\n" + rows(20, func(_ int, t, f float64) string { return fmt.Sprintf("%.3f,%.1f\n", t, f) }), traceio.Options{}},
		"UTF-16":           {u16("time [s]\tforce [N]\r\n" + rows(20, func(_ int, t, f float64) string { return fmt.Sprintf("%.3f\t%.1f\r\n", t, f) })), traceio.Options{}},
		"CR only":          {"time [s],force [N]\r" + rows(20, func(_ int, t, f float64) string { return fmt.Sprintf("%.3f,%.1f\r", t, f) }), traceio.Options{}},
		"quoted":           {"\"time [s]\",\"force [N]\"\n" + rows(20, func(_ int, t, f float64) string { return fmt.Sprintf("\"%.3f\",\"%.1f\"\n", t, f) }), traceio.Options{}},
		"trailing":         {"time [s];force [N];\n" + rows(20, func(_ int, t, f float64) string { return fmt.Sprintf("%.3f;%.1f;\n", t, f) }), traceio.Options{}},
		"no time, rate":    {"force [N]\n" + rows(20, func(_ int, _, f float64) string { return fmt.Sprintf("%.1f\n", f) }), traceio.Options{Rate: 1000}},
		"no time, header":  {"Logger,B\nSample rate: 1 kHz\nforce [N]\n" + rows(20, func(_ int, _, f float64) string { return fmt.Sprintf("%.1f\n", f) }), traceio.Options{}},
		"interval":         {"Interval,0.001\n\nforce [N]\n" + rows(20, func(_ int, _, f float64) string { return fmt.Sprintf("%.1f\n", f) }), traceio.Options{}},
		"decimal comma":    {"Rate: 1000 Hz\nforce [N]\n" + rows(20, func(_ int, _, f float64) string { return comma("%.1f\n", f) }), traceio.Options{}},
		"index":            {"sample,force [N]\n" + rows(20, func(i int, _, f float64) string { return fmt.Sprintf("%d,%.1f\n", i+5, f) }), traceio.Options{Rate: 1000}},
		"clock": {"clock,force [N]\n" + rows(20, func(_ int, t, f float64) string {
			at := 23*3600 + 59*60 + 59.99 + t
			day := math.Floor(at / 86400)
			at -= day * 86400
			return fmt.Sprintf("%02d:%02d:%06.3f,%.1f\n", int(at/3600), int(at/60)%60, math.Mod(at, 60), f)
		}), traceio.Options{}},
		"ISO":           {"timestamp,force [N]\n" + rows(20, func(_ int, t, f float64) string { return fmt.Sprintf("2026-03-02T10:00:%06.3f,%.1f\n", t, f) }), traceio.Options{}},
		"kgf":           {"time [us],load [kgf]\n" + rows(20, func(_ int, t, f float64) string { return fmt.Sprintf("%.0f,%.12f\n", t*1e6, f/9.80665) }), traceio.Options{}},
		"pounds":        {"t [s],load [lbf]\n" + rows(20, func(_ int, t, f float64) string { return fmt.Sprintf("%.3f,%.13f\n", t, f/4.4482216152605) }), traceio.Options{}},
		"g with a mass": {"t [s],a [g]\n" + rows(20, func(_ int, t, f float64) string { return fmt.Sprintf("%.3f,%.14f\n", t, f/9.80665/80) }), traceio.Options{Mass: 80}},
		"no header":     {rows(20, func(_ int, t, f float64) string { return fmt.Sprintf("%.3f,%.1f\n", t, f) }), traceio.Options{ForceUnit: "N"}},
		"comments inside": {"time [s],force [N]\n" + rows(20, func(i int, t, f float64) string {
			if i == 9 {
				return fmt.Sprintf("# mark\n\n%.3f,%.1f\n", t, f)
			}
			return fmt.Sprintf("%.3f,%.1f\n", t, f)
		}), traceio.Options{}},
		"two channels": {"time [s],temperature,force [N]\n" + rows(20, func(_ int, t, f float64) string { return fmt.Sprintf("%.3f,21.5,%.1f\n", t, f) }), traceio.Options{Channel: "FORCE"}},
	} {
		t.Run(name, func(t *testing.T) {
			tr, err := read(t, c.text, c.o)
			if err != nil {
				t.Fatal(err)
			}
			near(t, "rate", tr.Rate.SI(), 1000)
			ch := tr.Channels[len(tr.Channels)-1]
			if tr.Len() != 20 || ch.Dim != quantity.DimForce || tr.Resampled {
				t.Fatalf("%d samples, dimension %v, resampled %v: %v", tr.Len(), ch.Dim, tr.Resampled, tr.Findings)
			}
			for i, v := range ch.Values {
				want := float64(i*i%17) - 3.5
				if math.Abs(v-want) > 1e-9 {
					t.Fatalf("sample %d: %v, want %v", i, v, want)
				}
			}
			for _, f := range tr.Findings {
				if f.Grade == drop.Fault || f.Grade == drop.Warning && f.Kind != "no-unit" {
					t.Errorf("finding %s", f)
				}
			}
		})
	}
}

// trouble makes a record of 60 regular rows and lets one line be changed.
func trouble(alter map[int]string) string {
	var b strings.Builder
	b.WriteString("time [s],force [N]\n")
	for i := range 60 {
		line, ok := alter[i]
		if !ok {
			line = fmt.Sprintf("%.4f,%.1f\n", float64(i)/1000, 100+50*math.Sin(float64(i)))
		}
		b.WriteString(line)
	}
	return b.String()
}

func TestFindings(t *testing.T) {
	for _, c := range []struct {
		name  string
		alter map[int]string
		kind  string
		grade drop.Grade
		text  string // start of the sentence
		n     int    // samples
	}{
		{"backward", map[int]string{30: "0.0271,1.0\n"}, "backward-time", drop.Fault, "drop17.csv:32: time goes backwards (0.0271 s after 0.029 s); the sample was left out", 60},
		{"repeated", map[int]string{30: "0.0290,1.0\n0.0300,99\n"}, "repeated-time", drop.Warning, "drop17.csv:32: the time 0.029 s stands twice; the values were averaged", 60},
		{"gap", map[int]string{30: "", 31: ""}, "gap", drop.Warning, "drop17.csv:32: 2 samples are missing", 60},
		{"long gap", map[int]string{30: "", 31: "", 32: "", 33: "", 34: "", 35: ""}, "long-gap", drop.Fault, "drop17.csv:32: 6 samples are missing", 60},
		{"NaN", map[int]string{30: "0.0300,NaN\n"}, "not-a-number", drop.Fault, `drop17.csv:32: column "force" says "NaN"`, 60},
		{"text", map[int]string{30: "0.0300,12a\n"}, "text-value", drop.Fault, `drop17.csv:32: column "force" holds "12a", which is not a number`, 60},
		{"empty", map[int]string{30: "0.0300,\n"}, "short-line", drop.Fault, "drop17.csv:32: the line has 1 fields where the others have 2", 60},
		{"overflow", map[int]string{30: "0.0300,1e999\n"}, "infinite", drop.Fault, `drop17.csv:32: column "force" holds a number too large`, 60},
		{"extra", map[int]string{30: "0.0300,1.0,7\n"}, "extra-fields", drop.Warning, "drop17.csv:32: the line has 3 fields where the others have 2", 60},
		{"words", map[int]string{30: "logger paused\n0.0300,1.0\n"}, "text-line", drop.Warning, `drop17.csv:32: a line of text stands among the samples ("logger paused")`, 60},
		{"no time", map[int]string{30: "x,1.0\n"}, "no-time", drop.Fault, `drop17.csv:32: the time is not a number`, 60},
		{"cut", map[int]string{59: "0.0590,12"}, "cut-line", drop.Warning, `drop17.csv:61: the last line is cut off ("0.0590,12")`, 59},
		{"cut time", map[int]string{59: "0.05"}, "cut-line", drop.Warning, `drop17.csv:61: the last line is cut off ("0.05")`, 59},
	} {
		t.Run(c.name, func(t *testing.T) {
			tr, err := read(t, trouble(c.alter), traceio.Options{})
			if err != nil {
				t.Fatal(err)
			}
			for _, f := range tr.Findings {
				if f.Kind == c.kind {
					if !strings.HasPrefix(f.String(), c.text) || f.Grade != c.grade || f.WayOut == "" {
						t.Errorf("%s %q, want %s %q", f.Grade, f, c.grade, c.text)
					}
					if tr.Len() != c.n || math.Abs(tr.Rate.SI()-1000) > 0.01 || tr.Resampled {
						t.Errorf("%d samples at %v, resampled %v", tr.Len(), tr.Rate, tr.Resampled)
					}
					return
				}
			}
			t.Errorf("no finding of kind %s: %v", c.kind, tr.Findings)
		})
	}
}

func TestClippedStretch(t *testing.T) {
	tr, err := read(t, "time [s],force [N]\n"+rows(400, func(i int, s, _ float64) string {
		return fmt.Sprintf("%.3f,%.1f\n", s, math.Min(9000, 12000*math.Sin(math.Pi*float64(i)/400)))
	}), traceio.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if len(tr.Findings) != 1 || tr.Findings[0].Kind != "clipped" || !strings.Contains(tr.Findings[0].Fact, `stay at its highest value 9000`) {
		t.Errorf("%v", tr.Findings)
	}
}

func TestRefusals(t *testing.T) {
	for text, want := range map[string]string{
		"":                               "drop17.csv",
		"hello\nworld\n":                 "drop17.csv:1: no rows of numbers",
		"time [s],force [N]\n0,1\n1,2\n": "only 2 rows of numbers are found",
		"force [N]\n" + rows(20, func(int, float64, float64) string { return "1\n" }):                      "names no sample rate",
		"time [s]\n" + rows(20, func(_ int, t, _ float64) string { return fmt.Sprintf("%g\n", t) }):        "no column of values beside the time",
		"time [s],force [N]\n" + rows(20, func(int, float64, float64) string { return "0.5,1\n" }):         "drop17.csv:2: the times do not rise (0.5 s throughout)",
		"t;F\n" + rows(20, func(i int, _, _ float64) string { return fmt.Sprintf("%d;1.234.567,8\n", i) }): "thousands separators",
	} {
		if tr, err := read(t, text, traceio.Options{}); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%.40q: %v %v, want %q", text, tr, err, want)
		}
	}
	if _, err := read(t, trouble(nil), traceio.Options{Channel: "torque"}); err == nil || !strings.Contains(err.Error(), "there is no channel \"torque\"; the columns are time, force") {
		t.Error(err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := (Format{}).Read(ctx, "x", strings.NewReader(trouble(nil)), traceio.Options{}); err == nil {
		t.Error("a cancelled read went on")
	}
}

// Silverman's record, read from the file: 133 readings, times in ms with repeats and uneven steps.
func TestHeadImpact(t *testing.T) {
	data, err := os.ReadFile("testdata/head-impact-silverman-1985.csv")
	if err != nil {
		t.Fatal(err)
	}
	tr, err := read(t, string(data), traceio.Options{TimeUnit: "ms", ForceUnit: "g"})
	if err != nil {
		t.Fatal(err)
	}
	kinds := map[string]int{}
	for _, f := range tr.Findings {
		kinds[f.Kind] = f.Count
	}
	// Counted in the file: 133 readings at 94 different times.
	if kinds["repeated-time"] != 133-94 || kinds["uneven-times"] != 1 || !tr.Resampled || tr.Bytes != int64(len(data)) || len(tr.SHA256) != 64 {
		t.Errorf("%v %+v", kinds, tr.Findings)
	}
	near(t, "start", tr.Start.SI(), 0.0024)
	low := 0.0
	for _, v := range tr.Channels[0].Values {
		low = math.Min(low, v)
	}
	// The lowest reading is -134 g at 21.4 ms, beside others; interpolation may not go below it.
	if low > -110*9.80665 || low < -134*9.80665-1e-9 {
		t.Errorf("lowest %v m/s2", low)
	}
}

// Times of 0.1 ms steps printed in whole ms must give the rate all the same.
func TestCoarseTimes(t *testing.T) {
	tr, err := read(t, "time [s],force [N]\n"+rows(5000, func(i int, _, f float64) string { return fmt.Sprintf("%.3f,%.1f\n", float64(i)/10000, f) }), traceio.Options{})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "rate", tr.Rate.SI(), 10000)
	if tr.Len() != 5000 || tr.Resampled || len(tr.Findings) != 1 || tr.Findings[0].Kind != "coarse-times" {
		t.Errorf("%d %v %v", tr.Len(), tr.Resampled, tr.Findings)
	}
}

// Random values in random dialects come back bit for bit, whatever the chunks.
func TestValuesSurvive(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		n := rapid.IntRange(fewest, 200).Draw(rt, "n")
		dialect := rapid.SampledFrom([]struct{ sep, mark string }{{",", "."}, {";", ","}, {";", "."}, {"\t", "."}, {"\t", ","}, {" ", "."}}).Draw(rt, "dialect")
		end := rapid.SampledFrom([]string{"\n", "\r\n"}).Draw(rt, "end")
		want := make([]float64, n)
		var b strings.Builder
		b.WriteString("time [s]" + dialect.sep + "force [N]" + end)
		if dialect.sep == " " {
			b.Reset()
			b.WriteString("t_s F_N" + end)
		}
		for i := range want {
			want[i] = rapid.Float64Range(-1e6, 1e6).Draw(rt, "v")
			b.WriteString(strings.ReplaceAll(fmt.Sprintf("%.4f", float64(i)/2000), ".", dialect.mark) + dialect.sep + strings.ReplaceAll(fmt.Sprintf("%v", want[i]), ".", dialect.mark) + end)
		}
		tr, err := read(t, b.String(), traceio.Options{})
		if err != nil {
			rt.Fatalf("%v\n%s", err, b.String())
		}
		if tr.Len() != n || tr.Rate != 2000 {
			rt.Fatalf("%d samples at %v", tr.Len(), tr.Rate)
		}
		for i, v := range tr.Channels[0].Values {
			if math.Float64bits(v) != math.Float64bits(want[i]) {
				rt.Fatalf("sample %d: %v, want %v", i, v, want[i])
			}
		}
	})
}

func FuzzRead(f *testing.F) {
	f.Add(trouble(nil))
	f.Add("\xff\xfe1\x00;\x002\x00")
	f.Add("t;F\n1;2\n2;3\n")
	f.Add("12:00:00.1,5\n12:00:00.2,6\n")
	f.Add("2026-03-02T10:00:00Z,1\n2026-03-02T,1\n")
	f.Fuzz(func(t *testing.T, text string) {
		tr, err := read(t, text, traceio.Options{Rate: 100, ForceUnit: "N"})
		if err != nil {
			return
		}
		for _, c := range tr.Channels {
			if len(c.Values) != tr.Len() {
				t.Fatalf("channels of %d and %d samples", len(c.Values), tr.Len())
			}
		}
		if !(tr.Rate > 0) || math.IsInf(tr.Rate.SI(), 0) {
			t.Fatalf("rate %v", tr.Rate)
		}
	})
}
