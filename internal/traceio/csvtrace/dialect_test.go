package csvtrace

import (
	"context"
	"encoding/binary"
	"fmt"
	"math"
	"strings"
	"testing"
	"unicode/utf16"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/quantity"
	"github.com/hardcatch/hardcatch/internal/traceio"
)

// read opens text as drop17.csv through a registry, as a program does.
func read(text string, o traceio.Options) (*drop.Trace, error) {
	return traceio.NewRegistry(Format{}).Open(context.Background(), "drop17.csv", strings.NewReader(text), o)
}

func mustRead(t *testing.T, text string, o traceio.Options) *drop.Trace {
	t.Helper()
	tr, err := read(text, o)
	if err != nil {
		t.Fatalf("%v\n%.300s", err, text)
	}
	return tr
}

// forceAt is an invented record in N.
func forceAt(i int) float64 { return float64(i*i%37) - 3.5 }

const rows20 = 20

// table writes 20 rows of forceAt with times of 1 ms.
func table(row func(i int, t, f float64) string) string {
	var b strings.Builder
	for i := range rows20 {
		b.WriteString(row(i, float64(i)/1000, forceAt(i)))
	}
	return b.String()
}

func plain(format string) func(int, float64, float64) string {
	return func(_ int, t, f float64) string { return fmt.Sprintf(format, t, f) }
}

func commas(s string) string { return strings.ReplaceAll(s, ".", ",") }

func utf16Text(s string, order binary.AppendByteOrder) string {
	var b []byte
	for _, c := range append([]uint16{0xfeff}, utf16.Encode([]rune(s))...) {
		b = order.AppendUint16(b, c)
	}
	return string(b)
}

// Each dialect holds the same record and must give the same samples, rate and unit, without warnings but
// those named.
func TestDialects(t *testing.T) {
	simple := "Time [s],Force [N]\n" + table(plain("%.3f,%.1f\n"))
	clockRow := func(format string, start float64) func(int, float64, float64) string {
		return func(_ int, t, f float64) string {
			at := math.Mod(start+t, 86400)
			return fmt.Sprintf(format, int(at)/3600, int(at)/60%60, math.Mod(at, 60), f)
		}
	}
	for name, c := range map[string]struct {
		text  string
		o     traceio.Options
		kinds string // of the findings, in order
	}{
		"comma":                     {text: simple},
		"semicolon, decimal comma":  {text: "Zeit [s];Kraft [N]\n" + commas(table(plain("%.3f;%.1f\n")))},
		"tab":                       {text: "Time (s)\tForce (N)\n" + table(plain("%.3f\t%.1f\n"))},
		"tab, decimal comma":        {text: "Time (s)\tForce (N)\n" + commas(table(plain("%.3f\t%.1f\n")))},
		"spaces":                    {text: "  Time_s   Force_N\n" + table(plain("  %8.3f   %8.1f\n"))},
		"spaces, decimal comma":     {text: "Time_s Force_N\n" + commas(table(plain("%.3f %.1f\n")))},
		"spaces, units apart":       {text: "Time [s] Force [N]\n" + table(plain("%.3f %.1f\n"))},
		"spaces, names of words":    {text: "Elapsed time [s]   Force at anchor [N]\n" + table(plain("%10.3f %10.1f\n"))},
		"comma and space":           {text: "Time [s], Force [N]\n" + table(plain("%.3f, %.1f\n"))},
		"CRLF":                      {text: strings.ReplaceAll(simple, "\n", "\r\n")},
		"CR":                        {text: strings.ReplaceAll(simple, "\n", "\r")},
		"byte-order mark":           {text: "\ufeff" + simple},
		"UTF-16LE":                  {text: utf16Text(simple, binary.LittleEndian), kinds: "encoding"},
		"UTF-16BE":                  {text: utf16Text(simple, binary.BigEndian), kinds: "encoding"},
		"no last line end":          {text: strings.TrimSuffix(simple, "\n")},
		"trailing separators":       {text: "Time [s],Force [N],\n" + table(plain("%.3f,%.1f,\n"))},
		"trailing in rows only":     {text: "Time [s];Force [N]\n" + table(plain("%.3f;%.1f;\n"))},
		"quoted":                    {text: `"Time, s","Force [N]"` + "\n" + table(plain("\"%.3f\",\"%.1f\"\n"))},
		"quoted decimal commas":     {text: `"Time [s]","Force [N]"` + "\n" + strings.ReplaceAll(commas(table(plain("\"%.3f\"|\"%.1f\"\n"))), "|", ",")},
		"scientific":                {text: "Time [s],Force [N]\n" + table(plain("%.6E,%.6E\n"))},
		"shortest numbers":          {text: "Time [s],Force [N]\n" + table(plain("%g,%g\n"))},
		"plus signs":                {text: "Time [s],Force [N]\n" + table(plain("%+.3f,%+.1f\n"))},
		"unit line":                 {text: "Time;Force\n[s];[N]\n" + commas(table(plain("%.3f;%.1f\n")))},
		"unit line, bare":           {text: "Time;Force\ns;N\n" + commas(table(plain("%.3f;%.1f\n")))},
		"name;unit cells":           {text: "Time;s;Load;N\n" + table(plain("%.3f;%.1f\n"))},
		"slash":                     {text: "time/s,force/N\n" + table(plain("%.3f,%.1f\n"))},
		"header in a comment":       {text: "# a bench logger\n# time [s],force [N]\n" + table(plain("%.3f,%.1f\n")), kinds: "preamble"},
		"ms":                        {text: "Time (ms),F_N\n" + table(func(_ int, t, f float64) string { return fmt.Sprintf("%.0f,%.1f\n", 1000*t, f) })},
		"us":                        {text: "t [µs],F [N]\n" + table(func(_ int, t, f float64) string { return fmt.Sprintf("%.0f,%.1f\n", 1e6*t, f) })},
		"us in Latin-1":             {text: "t [\xb5s],F [N]\n" + table(func(_ int, t, f float64) string { return fmt.Sprintf("%.0f,%.1f\n", 1e6*t, f) })},
		"min":                       {text: "time [min],F [N]\n" + table(func(_ int, t, f float64) string { return fmt.Sprintf("%.12f,%.1f\n", t/60, f) })},
		"kN":                        {text: "t_s,F_kN\n" + table(func(_ int, t, f float64) string { return fmt.Sprintf("%.3f,%.4f\n", t, f/1000) })},
		"daN":                       {text: "t_s,F [daN]\n" + table(func(_ int, t, f float64) string { return fmt.Sprintf("%.3f,%.2f\n", t, f/10) })},
		"time unit as a hint":       {text: "time,F [N]\n" + table(func(_ int, t, f float64) string { return fmt.Sprintf("%.0f,%.1f\n", 1000*t, f) }), o: traceio.Options{Reading: traceio.Reading{TimeUnit: "ms"}}},
		"force unit as a hint":      {text: "time [s],load\n" + table(plain("%.3f,%.1f\n")), o: traceio.Options{Reading: traceio.Reading{ForceUnit: "N"}}},
		"unit by name":              {text: "time [s],A1\n" + table(plain("%.3f,%.1f\n")), o: traceio.Options{Reading: traceio.Reading{Units: map[string]string{"a1": "N"}}}},
		"unit by number":            {text: "time [s],A1 [V]\n" + table(plain("%.3f,%.1f\n")), o: traceio.Options{Reading: traceio.Reading{Units: map[string]string{"2": "N"}}}},
		"no time column":            {text: "Force [N]\n" + table(func(_ int, _, f float64) string { return fmt.Sprintf("%.1f\n", f) }), o: traceio.Options{Reading: traceio.Reading{Rate: 1000}}},
		"no time, name;unit":        {text: "Load;N\n" + table(func(_ int, _, f float64) string { return fmt.Sprintf("%.1f\n", f) }), o: traceio.Options{Reading: traceio.Reading{Rate: 1000}}},
		"no time, decimal comma":    {text: "Force [N]\n" + commas(table(func(_ int, _, f float64) string { return fmt.Sprintf("%.1f\n", f) })), o: traceio.Options{Reading: traceio.Reading{Rate: 1000}}},
		"rate in the preamble":      {text: "Logger;X\nSample rate: 1 kHz\n\nForce [N]\n" + table(func(_ int, _, f float64) string { return fmt.Sprintf("%.1f\n", f) }), kinds: "rate-from-preamble preamble preamble"},
		"interval in the preamble":  {text: "Interval,0.001\nForce [N]\n" + table(func(_ int, _, f float64) string { return fmt.Sprintf("%.1f\n", f) }), kinds: "rate-from-preamble preamble"},
		"interval with a comma":     {text: "Abtastintervall [ms];1,0\nKraft [N]\n" + commas(table(func(_ int, _, f float64) string { return fmt.Sprintf("%.1f\n", f) })), kinds: "rate-from-preamble preamble"},
		"long preamble":             {text: strings.Repeat("Setting,10000\n", 60) + simple, kinds: strings.TrimSpace(strings.Repeat("preamble ", mostRemarks+1))},
		"sample numbers":            {text: "n;F [N]\n" + table(func(i int, _, f float64) string { return fmt.Sprintf("%d;%.1f\n", i, f) }), o: traceio.Options{Reading: traceio.Reading{Rate: 1000}}},
		"sample numbers, each 10th": {text: "Sample;F [N]\n" + table(func(i int, _, f float64) string { return fmt.Sprintf("%d;%.1f\n", 10*i, f) }), o: traceio.Options{Reading: traceio.Reading{Rate: 10000}}},
		"clock":                     {text: "clock;F [N]\n" + table(clockRow("%02d:%02d:%06.3f;%.1f\n", 13*3600+59.99))},
		"clock, decimal comma":      {text: "clock;F [N]\n" + commas(table(clockRow("%02d:%02d:%06.3f;%.1f\n", 13*3600+59.99)))},
		"clock past midnight":       {text: "clock;F [N]\n" + table(clockRow("%02d:%02d:%06.3f;%.1f\n", 86399.99)), kinds: "midnight"},
		"ISO date and time":         {text: "Timestamp,F [N]\n" + table(clockRow("2026-03-02T%02d:%02d:%06.3fZ,%.1f\n", 3600))},
		"ISO with a space":          {text: "Timestamp,F [N]\n" + table(clockRow("2026-03-02 %02d:%02d:%06.3f,%.1f\n", 3600))},
		"day, month, year":          {text: "Timestamp\tF [N]\n" + table(clockRow("02.03.2026 %02d:%02d:%06.3f\t%.1f\n", 3600))},
		"date beside the time":      {text: "Date,Time,F [N]\n" + table(clockRow("2026-03-02,%02d:%02d:%06.3f,%.1f\n", 3600)), kinds: "column-left-out"},
		"words in a column":         {text: "Time [s],Status,Force [N]\n" + table(plain("%.3f,OK,%.1f\n")), kinds: "column-left-out"},
		"kgf":                       {text: "Time [s],Load;kgf\n" + table(func(_ int, t, f float64) string { return fmt.Sprintf("%.3f,%.14f\n", t, f/9.80665) })},
		"lbf":                       {text: "Time [s],Load (lbf)\n" + table(func(_ int, t, f float64) string { return fmt.Sprintf("%.3f,%.15f\n", t, f/4.4482216152605) })},
		"kg of a display":           {text: "Time [s],Load [kg]\n" + table(func(_ int, t, f float64) string { return fmt.Sprintf("%.3f,%.14f\n", t, f/9.80665) }), kinds: "mass-unit"},
		"g with a mass":             {text: "Time [s],Acc [g]\n" + table(func(_ int, t, f float64) string { return fmt.Sprintf("%.3f,%.16f\n", t, f/9.80665/100) }), o: traceio.Options{Reading: traceio.Reading{Mass: 100}}, kinds: "force-from-acceleration"},
		"no header":                 {text: table(plain("%.3f,%.1f\n")), o: traceio.Options{Reading: traceio.Reading{ForceUnit: "N"}}, kinds: "time-assumed time-unit no-header"},
		"comments between":          {text: strings.Replace(simple, "\n0.005", "\n# mark\n\n// more\n0.005", 1), kinds: "comment comment"},
		"semicolon comment":         {text: strings.Replace(simple, "\n0.005", "\n; mark\n0.005", 1), kinds: "comment"},
		"one of several channels":   {text: "Time [s],T1,Force [N]\n" + table(plain("%.3f,21.5,%.1f\n")), o: traceio.Options{Reading: traceio.Reading{Channel: "FORCE"}}, kinds: "no-unit"},
		"channel by number":         {text: "Time [s],T1 [V],Force [N]\n" + table(plain("%.3f,21.5,%.1f\n")), o: traceio.Options{Reading: traceio.Reading{Channel: "3"}}},
		"channel with its unit":     {text: "Time [s],T1 [V],Force [N]\n" + table(plain("%.3f,21.5,%.1f\n")), o: traceio.Options{Reading: traceio.Reading{Channel: "force [n]"}}},
		"other separator in names":  {text: "Time [s], Force [N]\n" + table(plain("%.3f\t%.1f\n"))},
	} {
		t.Run(name, func(t *testing.T) {
			tr := mustRead(t, c.text, c.o)
			if len(tr.Channels) != 1 || tr.Len() != rows20 || tr.Rate != 1000 || tr.Resampled {
				t.Fatalf("%d channels of %d samples at %v, resampled %v: %v", len(tr.Channels), tr.Len(), tr.Rate.SI(), tr.Resampled, tr.Findings)
			}
			ch := tr.Channels[0]
			if ch.Dim != quantity.DimForce {
				t.Errorf("unit %q is %v", ch.Unit, ch.Dim)
			}
			for i, v := range ch.Values {
				if math.Abs(v-forceAt(i)) > 1e-11*math.Abs(forceAt(i))+1e-11 {
					t.Fatalf("sample %d: %v, want %v", i, v, forceAt(i))
				}
			}
			var kinds []string
			for _, f := range tr.Findings {
				kinds = append(kinds, f.Kind)
			}
			if got := strings.Join(kinds, " "); got != c.kinds {
				t.Errorf("findings %q, want %q: %v", got, c.kinds, tr.Findings)
			}
		})
	}
}

func TestUnits(t *testing.T) {
	for _, c := range []struct {
		header, name, unit, kind string
		dim                      quantity.Dim
		factor                   float64
	}{
		{"Force [kN]", "Force", "kN", "", quantity.DimForce, 1000},
		{"F_kN", "F", "kN", "", quantity.DimForce, 1000},
		{"Load cell 1 (lbf)", "Load cell 1", "lbf", "", quantity.DimForce, 4.4482216152605},
		{"kN", "kN", "kN", "", quantity.DimForce, 1000},
		{"LOAD_KGF", "LOAD", "KGF", "", quantity.DimForce, 9.80665},
		{"Bridge mV/V", "Bridge", "mV/V", "ratio", quantity.DimRatio, 1e-3},
		{"Bridge/mV/V", "Bridge", "mV/V", "ratio", quantity.DimRatio, 1e-3},
		{"U1 [mV]", "U1", "mV", "", quantity.DimVoltage, 1e-3},
		{"U1_V", "U1", "V", "", quantity.DimVoltage, 1},
		{"ADC", "ADC", "ADC", "counts", quantity.DimRatio, 1},
		{"Counts", "Counts", "Counts", "counts", quantity.DimRatio, 1},
		{"ch0_raw", "ch0", "raw", "counts", quantity.DimRatio, 1},
		{"a [g]", "a", "g", "acceleration", quantity.DimAcceleration, 9.80665},
		{"a (m/s2)", "a", "m/s2", "acceleration", quantity.DimAcceleration, 1},
		{"Height [mm]", "Height", "mm", "other", quantity.DimLength, 1e-3},
		{"Temp [°C]", "Temp", "°C", "other", quantity.DimRatio, 1},
		{"Force min", "Force min", "", "unitless", quantity.DimRatio, 1},
		{"Force", "Force", "", "unitless", quantity.DimRatio, 1},
	} {
		tr := mustRead(t, "Time [s]\t"+c.header+"\n"+table(plain("%.3f\t%.1f\n")), traceio.Options{})
		ch := tr.Channels[0]
		if ch.Name != c.name || ch.Unit != c.unit || ch.Kind != c.kind || ch.Dim != c.dim || math.Abs(ch.Factor-c.factor) > 1e-15*c.factor {
			t.Errorf("%q: %q %q %q %v %v", c.header, ch.Name, ch.Unit, ch.Kind, ch.Dim, ch.Factor)
		}
		if math.Abs(ch.Values[3]-5.5*c.factor) > 1e-12*c.factor {
			t.Errorf("%q: sample 3 is %v", c.header, ch.Values[3])
		}
	}
}

// All channels are kept in their order; a power of ten in the unit is part of the one rounding.
func TestSeveralChannels(t *testing.T) {
	tr := mustRead(t, "Time [s];Force [kN];Bridge [mV/V];Raw [counts];Acc [g]\n"+
		commas(table(func(i int, t, _ float64) string { return fmt.Sprintf("%.3f;12.345;1.234567;%d;-2.5\n", t, 8388607-i) })), traceio.Options{})
	var names []string
	for _, c := range tr.Channels {
		names = append(names, c.Name+" "+c.Kind)
	}
	if got := strings.Join(names, ", "); got != "Force , Bridge ratio, Raw counts, Acc acceleration" {
		t.Fatal(got)
	}
	if v := tr.Channels[0].Values[7]; v != 12345 {
		t.Errorf("12.345 kN is read as %v N", v)
	}
	if v := tr.Channels[1].Values[7]; v != 0.001234567 {
		t.Errorf("1.234567 mV/V is read as %v", v)
	}
	if v := tr.Channels[2].Values[7]; v != 8388600 {
		t.Errorf("counts are read as %v", v)
	}
	factor := 9.80665
	if v := tr.Channels[3].Values[7]; v != -2.5*factor {
		t.Errorf("-2.5 g is read as %v m/s2", v)
	}
}
