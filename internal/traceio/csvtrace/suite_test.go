package csvtrace

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/hardcatch/hardcatch/internal/traceio"
	"github.com/hardcatch/hardcatch/internal/traceio/traceiotest"
)

func TestSuite(t *testing.T) {
	var long bytes.Buffer
	long.WriteString("Zeit [s];Kraft [kN];Spannung [mV]\r\n")
	for i := range 9000 {
		long.WriteString(commas(fmt.Sprintf("%.5f;%.4f;%.3f\r\n", float64(i)/20000, forceAt(i), float64(i%11))))
	}
	traceiotest.Run(t, Format{},
		traceiotest.Example{Name: "short.csv", Data: []byte(record(nil)), Rate: 10000, Samples: 60, Channels: []string{"Force"}},
		traceiotest.Example{Name: "long.txt", Data: long.Bytes(), Rate: 20000, Samples: 9000, Channels: []string{"Kraft", "Spannung"}},
		traceiotest.Example{Name: "wide.csv", Data: []byte(utf16Text(record(nil), binary.LittleEndian)), Rate: 10000, Samples: 60, Channels: []string{"Force"}},
		traceiotest.Example{Name: "no-time.dat", Data: []byte("# fs = 2 kHz\nForce_N\n" + strings.Repeat("1.5\n-2.5\n", 50)), Rate: 2000, Samples: 100, Channels: []string{"Force"}},
		traceiotest.Example{Name: "spaces.prn", Data: []byte("t_s F_N\n" + strings.ReplaceAll(strings.SplitN(record(nil), "\n", 2)[1], ",", "   ")), Rate: 10000, Samples: 60, Channels: []string{"F"}},
	)
}

// What once broke the reader is read as the even record that it is.
func TestGraveyard(t *testing.T) {
	for file, rate := range map[string]float64{"late-digit.csv": 67.111083984375, "fine-digits.csv": 19.00390625} {
		data, err := os.ReadFile(filepath.Join("testdata", "graveyard", file))
		if err != nil {
			t.Fatal(err)
		}
		tr := mustRead(t, string(data), traceio.Options{})
		// The last digit allows a slope error of 1.5 q/n: 2e-6 s of 14.9 ms, and 3e-10 s of 52.6 ms.
		allowed := map[string]float64{"late-digit.csv": 1.4e-4, "fine-digits.csv": 5.8e-9}[file]
		if off := math.Abs(tr.Rate.SI()/rate - 1); tr.Resampled || len(tr.Findings) != 0 || off > allowed {
			t.Errorf("%s: rate off by %.2g, resampled %v: %v", file, off, tr.Resampled, tr.Findings)
		}
	}
}

// FuzzRead: whatever the bytes, there is an error or a trace that does not contradict itself.
func FuzzRead(f *testing.F) {
	graves, err := filepath.Glob("testdata/graveyard/*.csv")
	if err != nil {
		f.Fatal(err)
	}
	zoo, err := filepath.Glob("testdata/zoo/*.csv*")
	if err != nil {
		f.Fatal(err)
	}
	for _, g := range append(append(graves, zoo...), "testdata/head-impact-silverman-1985.csv") {
		data, err := os.ReadFile(g)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(data, byte(0))
		f.Add(data, byte('9'))
	}
	f.Add([]byte(record(nil)), byte(0))
	f.Add([]byte(record(map[int]string{10: "x\n", 20: "0.0010,1\n", 30: ",\n", 40: "0.004,1e999\n"})), byte(1))
	f.Add([]byte(utf16Text(record(nil), binary.BigEndian)), byte(2))
	f.Add([]byte("12:00:00.1,5\n12:00:00.2,6\n"+strings.Repeat("12:00:01,2\n", 9)), byte(4))
	f.Add([]byte("2026-03-02T23:59:59Z,1\n2026-03-03T00:00:00Z,1\n"), byte(8))
	f.Add([]byte("n;F\n"+commas(table(func(i int, _, v float64) string { return fmt.Sprintf("%d;%.1f\n", i, v) }))), byte(3))
	f.Add([]byte("Interval;1e-4\n\"F [kN]\"\n"+strings.Repeat("\"1,5\"\n2,5;\n", 9)), byte(5))
	f.Add([]byte("t F\n"+strings.Repeat("0.00 1\n", 9)+strings.Repeat("0.01 1\n", 9)+strings.Repeat("5.01 1\n", 9)), byte(0))
	f.Fuzz(func(t *testing.T, data []byte, hints byte) {
		o := traceio.Options{MaxSamples: 1 << 16, Reading: traceio.Reading{DecimalComma: hints&1 != 0}}
		if hints&2 != 0 {
			o.Rate, o.Mass = 1000, 80
		}
		if hints&4 != 0 {
			o.ForceUnit, o.TimeUnit = "kN", "ms"
		}
		if hints&8 != 0 {
			o.Channel = "2"
		}
		tr, err := read(string(data), o)
		if err != nil {
			if tr != nil || !strings.HasPrefix(err.Error(), "drop17.csv") {
				t.Fatalf("%v %v", tr, err)
			}
			return
		}
		if err := traceiotest.Check(tr); err != nil {
			t.Fatal(err)
		}
	})
}
