package soundfile_test

import (
	"bytes"
	"math"
	"os"
	"path/filepath"
	"testing"

	"github.com/hardcatch/hardcatch/internal/acquire"
	"github.com/hardcatch/hardcatch/internal/acquire/acquiretest"
	"github.com/hardcatch/hardcatch/internal/acquire/soundfile"
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/traceio"
	"github.com/hardcatch/hardcatch/internal/traceio/csvtrace"
	"github.com/hardcatch/hardcatch/internal/traceio/wav/wavtest"
)

func must(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

// write makes a WAV file of two channels at 8 kHz, the second a ramp.
func write(t *testing.T, bits, n int, cut int) (path string, shares [][]float64) {
	t.Helper()
	full := float64(int64(1) << (bits - 1))
	shares = [][]float64{make([]float64, n), make([]float64, n)}
	var samples []float64
	for i := range n {
		for c, x := range []float64{math.Trunc(0.9 * full * math.Sin(float64(i)/20)), float64(i % 100)} {
			shares[c][i] = x / full
			samples = append(samples, x)
		}
	}
	path = filepath.Join(t.TempDir(), "drop.wav")
	data := wavtest.File{Channels: 2, Rate: 8000, Bits: bits}.Bytes(samples)
	must(t, os.WriteFile(path, data[:len(data)-cut], 0o644))
	return path, shares
}

func channels() []acquire.Channel {
	return []acquire.Channel{{Name: "force", Unit: "kN", Scale: 50}, {Name: "ramp", Unit: "V", Scale: 1, Offset: 2}}
}

func TestStream(t *testing.T) {
	for _, bits := range []int{8, 16, 24, 32} {
		acquiretest.Run(t, func(t *testing.T) *acquiretest.Bench {
			path, shares := write(t, bits, 900, 0)
			for i := range shares[0] {
				shares[0][i] *= 50
				shares[1][i] = shares[1][i]*1 + 2
			}
			d := acquiretest.Describe(t, acquire.Description{Kind: acquire.Sound, Address: path, Channels: channels()})
			s, err := soundfile.New(d, acquire.WallClock{})
			must(t, err)
			if s.Description().Rate != 8000 {
				t.Errorf("rate %s", s.Description().Rate)
			}
			return &acquiretest.Bench{Source: s, Want: shares}
		})
	}
}

func TestFinishedRecordReadsBack(t *testing.T) {
	path, shares := write(t, 16, 5000, 0)
	d := acquiretest.Describe(t, acquire.Description{Kind: acquire.Sound, Address: path, Finished: true, Channels: channels()})
	s, err := soundfile.New(d, acquire.WallClock{})
	must(t, err)
	var r acquiretest.Recorder
	must(t, s.Run(t.Context(), &r))
	if len(r.Records()) != 1 {
		t.Fatalf("%d records", len(r.Records()))
	}
	tr, err := traceio.NewRegistry(csvtrace.Format{}).Open(t.Context(), "drop.csv", bytes.NewReader(r.Records()[0].Data), traceio.Options{})
	must(t, err)
	if tr.Rate != 8000 || tr.Len() != 5000 {
		t.Fatalf("%v %d", tr.Rate, tr.Len())
	}
	for i, v := range tr.Channels[0].Values {
		if want := shares[0][i] * 50 * 1000; math.Abs(v-want) > 1e-12*math.Abs(want) {
			t.Fatalf("sample %d is %v N, want %v", i, v, want)
		}
	}
}

func TestOtherFilesAreRefused(t *testing.T) {
	path := filepath.Join(t.TempDir(), "x.wav")
	must(t, os.WriteFile(path, []byte("no sound"), 0o644))
	d := acquiretest.Describe(t, acquire.Description{Kind: acquire.Sound, Address: path, Channels: channels()})
	if _, err := soundfile.New(d, acquire.WallClock{}); err == nil {
		t.Error("text was taken for sound")
	}
	path, _ = write(t, 16, 10, 0)
	d = acquiretest.Describe(t, acquire.Description{Kind: acquire.Sound, Address: path, Rate: 44100, Channels: channels()})
	if _, err := soundfile.New(d, acquire.WallClock{}); err == nil {
		t.Error("a wrong rate was taken")
	}
}

// Floating point is taken as it is: no scale, and no end of the range but the one described. What is no number is said.
func TestFloatingPoint(t *testing.T) {
	path := filepath.Join(t.TempDir(), "drop.wav")
	must(t, os.WriteFile(path, wavtest.File{Channels: 1, Rate: 8000, Bits: 32, Float: true}.Bytes([]float64{0.5, 3, math.Inf(1), -6.5, 0.25}), 0o644))
	d := acquiretest.Describe(t, acquire.Description{Kind: acquire.Sound, Address: path, Channels: []acquire.Channel{{Name: "force", Unit: "kN", Limit: 6}}})
	s, err := soundfile.New(d, acquire.WallClock{})
	must(t, err)
	var r acquiretest.Recorder
	must(t, s.Run(t.Context(), &r))
	for i, want := range []float64{0.5, 3, math.NaN(), -6.5, 0.25} {
		if v, ok := r.At(int64(i)); !ok || v[0] != want && !(math.IsNaN(v[0]) && math.IsNaN(want)) {
			t.Errorf("sample %d is %v, want %v", i, v, want)
		}
	}
	if e := r.Events(); len(e) != 1 || e[0].Kind != acquire.Overload || e[0].From != 2 || e[0].Count != 2 {
		t.Errorf("events %v", e)
	}
}

// A file that is cut off gives what is there, and says so in the record too.
func TestCutFile(t *testing.T) {
	path, _ := write(t, 24, 1000, 601)
	d := acquiretest.Describe(t, acquire.Description{Kind: acquire.Sound, Address: path, Finished: true, Channels: channels()})
	s, err := soundfile.New(d, acquire.WallClock{})
	must(t, err)
	var r acquiretest.Recorder
	must(t, s.Run(t.Context(), &r))
	e := r.Events()
	if len(e) != 1 || e[0].Kind != acquire.Unfinished || e[0].From != 899 || e[0].Text != "the file says that it holds 1000 samples and ends after 899" {
		t.Fatalf("events %v", e)
	}
	if f := e[0].Finding("tower", 0); f.Grade != drop.Warning || f.WayOut == "" || f.Fact != e[0].Text {
		t.Errorf("finding %+v", f)
	}
	if rec := r.Records(); len(rec) != 1 || !bytes.Contains(rec[0].Data, []byte("ends after 899")) {
		t.Errorf("%d records, %.300s", len(rec), rec[0].Data)
	}
}
