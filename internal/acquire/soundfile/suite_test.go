package soundfile_test

import (
	"bytes"
	"math"
	"os"
	"path/filepath"
	"testing"

	"github.com/go-audio/audio"
	"github.com/go-audio/wav"

	"github.com/hardcatch/hardcatch/internal/acquire"
	"github.com/hardcatch/hardcatch/internal/acquire/acquiretest"
	"github.com/hardcatch/hardcatch/internal/acquire/soundfile"
	"github.com/hardcatch/hardcatch/internal/traceio"
	"github.com/hardcatch/hardcatch/internal/traceio/csvtrace"
)

func must(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

// write makes a WAV file of two channels at 8 kHz, the second a ramp.
func write(t *testing.T, bits, n int) (path string, shares [][]float64) {
	t.Helper()
	path = filepath.Join(t.TempDir(), "drop.wav")
	f, err := os.Create(path)
	must(t, err)
	e := wav.NewEncoder(f, 8000, bits, 2, 1)
	full := 1 << (bits - 1)
	shares = [][]float64{make([]float64, n), make([]float64, n)}
	buf := &audio.IntBuffer{Format: &audio.Format{NumChannels: 2, SampleRate: 8000}, SourceBitDepth: bits}
	for i := range n {
		v := [2]int{int(0.9 * float64(full) * math.Sin(float64(i)/20)), i % 100}
		for c, x := range v {
			shares[c][i] = float64(x) / float64(full)
			if bits == 8 {
				x += 128
			}
			buf.Data = append(buf.Data, x)
		}
	}
	must(t, e.Write(buf))
	must(t, e.Close())
	must(t, f.Close())
	return path, shares
}

func channels() []acquire.Channel {
	return []acquire.Channel{{Name: "force", Unit: "kN", Scale: 50}, {Name: "ramp", Unit: "V", Scale: 1, Offset: 2}}
}

func TestStream(t *testing.T) {
	for _, bits := range []int{8, 16, 24, 32} {
		acquiretest.Run(t, func(t *testing.T) *acquiretest.Bench {
			path, shares := write(t, bits, 900)
			for i := range shares[0] {
				shares[0][i] *= 50
				shares[1][i] = shares[1][i]*1 + 2
			}
			d := acquiretest.Describe(t, acquire.Description{Kind: acquire.Sound, Address: path, Channels: channels()})
			s, err := soundfile.New(d, acquire.Wall{})
			must(t, err)
			if s.Description().Rate != 8000 {
				t.Errorf("rate %s", s.Description().Rate)
			}
			return &acquiretest.Bench{Source: s, Want: shares}
		})
	}
}

func TestFinishedRecordReadsBack(t *testing.T) {
	path, shares := write(t, 16, 5000)
	d := acquiretest.Describe(t, acquire.Description{Kind: acquire.Sound, Address: path, Finished: true, Channels: channels()})
	s, err := soundfile.New(d, acquire.Wall{})
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
	if _, err := soundfile.New(d, acquire.Wall{}); err == nil {
		t.Error("text was taken for sound")
	}
	path, _ = write(t, 16, 10)
	d = acquiretest.Describe(t, acquire.Description{Kind: acquire.Sound, Address: path, Rate: 44100, Channels: channels()})
	if _, err := soundfile.New(d, acquire.Wall{}); err == nil {
		t.Error("a wrong rate was taken")
	}
}
