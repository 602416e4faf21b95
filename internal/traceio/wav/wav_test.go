package wav_test

import (
	"bytes"
	"encoding/binary"
	"encoding/json"
	"errors"
	"io"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/iotest"

	"github.com/hardcatch/hardcatch/internal/traceio/wav"
	"github.com/hardcatch/hardcatch/internal/traceio/wav/wavtest"
)

// all reads a file to its end in small pieces.
func all(data []byte) (w *wav.Reader, samples []float64, err error) {
	w, err = wav.Open("x.wav", bytes.NewReader(data))
	if err != nil {
		return nil, nil, err
	}
	block := make([]float64, 7*w.Channels)
	for {
		n, err := w.Read(block)
		samples = append(samples, block[:n*w.Channels]...)
		if errors.Is(err, io.EOF) {
			return w, samples, nil
		} else if err != nil {
			return w, samples, err
		}
	}
}

func mustAll(t *testing.T, data []byte) (*wav.Reader, []float64) {
	t.Helper()
	w, s, err := all(data)
	if err != nil {
		t.Fatal(err)
	}
	return w, s
}

func size(n uint32) *uint32 { return &n }

// Shares of full scale: a whole number over 2^(bits-1), by the definition of two's complement.
func TestSamples(t *testing.T) {
	for _, bits := range []int{8, 16, 24, 32} {
		full := math.Ldexp(1, bits-1)
		in := []float64{0, 1, -1, full - 1, -full, 100, -100, full / 2}
		for _, ext := range []bool{false, true} {
			w, got := mustAll(t, wavtest.File{Channels: 2, Rate: 48000, Bits: bits, Extensible: ext}.Bytes(in))
			if w.Channels != 2 || w.Rate != 48000 || w.Frames != 4 || w.Bits != bits || w.Float || w.Ended() != "" || len(got) != len(in) {
				t.Fatalf("%d bits: %+v, %d samples, %q", bits, w, len(got), w.Ended())
			}
			for i, v := range in {
				if got[i] != v/full || w.Full(got[i]) != (i == 3 || i == 4) {
					t.Errorf("%d bits, sample %d: %v (full %v), want %v", bits, i, got[i], w.Full(got[i]), v/full)
				}
			}
		}
	}
	for _, bits := range []int{32, 64} {
		in := []float64{0, 1.5, -2.25, 1024}
		w, got := mustAll(t, wavtest.File{Channels: 1, Rate: 1, Bits: bits, Float: true, Extensible: bits == 64}.Bytes(in))
		for i, v := range in {
			if got[i] != v || w.Full(v) {
				t.Errorf("float of %d bits, sample %d: %v, want %v", bits, i, got[i], v)
			}
		}
	}
	// 20 bits stand at the upper end of 24: full scale is (2^19 - 1)/2^19.
	w, got := mustAll(t, wavtest.File{Channels: 1, Rate: 8000, Bits: 24, Extensible: true, Valid: 20}.Bytes([]float64{(1<<19 - 1) << 4, (1<<19 - 2) << 4}))
	if w.Bits != 20 || got[0] != 1-math.Ldexp(1, -19) || !w.Full(got[0]) || w.Full(got[1]) {
		t.Errorf("20 of 24 bits: %d, %v", w.Bits, got)
	}
}

func TestOtherChunksAreSkipped(t *testing.T) {
	before := append(wavtest.Chunk("LIST", []byte("odd")), wavtest.Chunk("junk", make([]byte, 5000))...)
	f := wavtest.File{Channels: 1, Rate: 8000, Bits: 8, Before: before, After: wavtest.Chunk("cue ", []byte{1, 2, 3, 4})}
	for _, n := range []int{3, 4} { // an odd number of bytes is padded
		if w, got := mustAll(t, f.Bytes(make([]float64, n))); len(got) != n || w.Ended() != "" {
			t.Errorf("%d samples of %d, %q", len(got), n, w.Ended())
		}
	}
}

func TestUnfinishedFiles(t *testing.T) {
	f := wavtest.File{Channels: 2, Rate: 8000, Bits: 16}
	in := []float64{1, 2, 3, 4, 5, 6}
	for _, c := range []struct {
		what       string
		size, riff *uint32
		cut        int
		want       int
		said       string
	}{
		{"whole", nil, nil, 0, 6, ""},
		{"streamed, 0", size(0), size(0), 0, 6, "does not say how many samples"},
		{"being written, 0", size(0), size(36), 0, 6, "does not say how many samples"},
		{"streamed, all ones", size(math.MaxUint32), size(math.MaxUint32), 0, 6, "does not say how many samples"},
		{"cut", nil, nil, 4, 4, "holds 3 samples and ends after 2"},
		{"cut within a sample", nil, nil, 3, 4, "holds 3 samples and ends after 2"},
		{"size no whole number of samples", size(10), nil, 2, 4, "ends within sample 2"},
		{"cut, streamed", size(0), size(0), 5, 2, "read to its end, 1 samples"},
	} {
		g := f
		g.Size, g.Riff = c.size, c.riff
		data := g.Bytes(in)
		w, got := mustAll(t, data[:len(data)-c.cut])
		if len(got) != c.want || (c.said == "") != (w.Ended() == "") || !strings.Contains(w.Ended(), c.said) {
			t.Errorf("%s: %d samples, %q", c.what, len(got), w.Ended())
		}
	}
	// An empty file goes on behind its samples; what follows is not taken for them.
	f.After = wavtest.Chunk("LIST", make([]byte, 40))
	if w, got := mustAll(t, f.Bytes(nil)); len(got) != 0 || w.Frames != 0 || w.Ended() != "" {
		t.Errorf("an empty file gives %d samples, %q", len(got), w.Ended())
	}
}

// RF64 keeps the size of the samples in its first chunk (EBU Tech 3306).
func TestLongFiles(t *testing.T) {
	ds64 := make([]byte, 28)
	binary.LittleEndian.PutUint64(ds64[8:], 6)
	f := wavtest.File{Channels: 1, Rate: 8000, Bits: 16, Before: wavtest.Chunk("ds64", ds64), Size: size(math.MaxUint32), Riff: size(math.MaxUint32), After: wavtest.Chunk("LIST", make([]byte, 40))}
	data := f.Bytes([]float64{1, 2, 3})
	copy(data, "RF64")
	if w, got := mustAll(t, data); len(got) != 3 || w.Frames != 3 || w.Ended() != "" {
		t.Errorf("%d samples, %+v", len(got), w)
	}
}

func TestWhatIsNotReadIsSaid(t *testing.T) {
	good := wavtest.File{Channels: 1, Rate: 8000, Bits: 16}
	edit := func(at int, b ...byte) []byte {
		d := good.Bytes([]float64{1, 2})
		copy(d[at:], b)
		return d
	}
	for what, data := range map[string][]byte{
		"no WAV file": []byte("x"), "this is no WAV": edit(0, 'R', 'I', 'F', 'X'), "format 2, 16 bits": edit(20, 2), "format 3, 16 bits": edit(20, 3),
		"format 65534": edit(20, 0xfe, 0xff), "0 channels": edit(22, 0), "65 channels": edit(22, 65), "a rate of 0 Hz": edit(24, 0, 0, 0, 0), "a rate of 4.294967295e+09 Hz": edit(24, 255, 255, 255, 255),
		"in 3 bytes": edit(32, 3), "how its samples are written": edit(12, 'f', 'm', 't', '_'), "cut off": edit(16, 8, 0, 0, 0), "ends before its samples begin": edit(36, 'n', 'o', 'n', 'e'),
	} {
		if _, _, err := all(data); err == nil || !strings.Contains(err.Error(), what) || !strings.HasPrefix(err.Error(), "x.wav: ") {
			t.Errorf("%s: %v", what, err)
		}
	}
	w, _ := wav.Open("x.wav", bytes.NewReader(edit(0)))
	if _, err := w.Read(nil); !errors.Is(err, io.ErrShortBuffer) {
		t.Errorf("room for nothing: %v", err)
	}
}

func TestABrokenDiskIsSaid(t *testing.T) {
	gone := errors.New("gone")
	data := wavtest.File{Channels: 1, Rate: 8000, Bits: 16, Before: wavtest.Chunk("junk", make([]byte, 10))}.Bytes(make([]float64, 20))
	for at := range len(data) + 1 {
		w, err := wav.Open("x.wav", io.MultiReader(bytes.NewReader(data[:at]), iotest.ErrReader(gone)))
		for err == nil {
			_, err = w.Read(make([]float64, 8))
		}
		if !errors.Is(err, gone) || !strings.HasPrefix(err.Error(), "x.wav: ") {
			t.Errorf("after %d bytes: %v", at, err)
		}
	}
}

// FuzzRead: whatever the bytes, there is an error with its place, or samples that fit what the file says.
func FuzzRead(f *testing.F) {
	for _, bits := range []int{8, 16, 24, 32} {
		f.Add(wavtest.File{Channels: 2, Rate: 8000, Bits: bits, Before: wavtest.Chunk("LIST", []byte("odd"))}.Bytes([]float64{1, 2, 3, 4}))
	}
	f.Add(wavtest.File{Channels: 1, Rate: 8000, Bits: 64, Float: true, Extensible: true, Size: size(0)}.Bytes([]float64{1, math.NaN(), math.Inf(1)}))
	f.Add(wavtest.File{Channels: 3, Rate: 1, Bits: 20, Size: size(math.MaxUint32), Riff: size(0)}.Bytes(make([]float64, 7)))
	long := wavtest.File{Channels: 1, Rate: 8000, Bits: 16, Before: wavtest.Chunk("ds64", make([]byte, 28)), Size: size(math.MaxUint32)}.Bytes([]float64{1})
	f.Add(append([]byte("RF64"), long[4:]...))
	f.Fuzz(func(t *testing.T, data []byte) {
		w, samples, err := all(data)
		switch {
		case err != nil:
			if !strings.HasPrefix(err.Error(), "x.wav: ") {
				t.Errorf("no place: %v", err)
			}
		case len(samples)%w.Channels != 0 || w.Frames >= 0 && int64(len(samples)/w.Channels) > w.Frames:
			t.Errorf("%d samples of %d channels, %d stated", len(samples), w.Channels, w.Frames)
		case w.Ended() == "" && int64(len(samples)/w.Channels) != w.Frames:
			t.Errorf("%d samples of %d channels, %d stated, and nothing is said", len(samples), w.Channels, w.Frames)
		case len(samples)*((w.Bits+7)/8) > len(data):
			t.Errorf("%d samples out of %d bytes", len(samples), len(data))
		}
	})
}

// Files that FFmpeg and SoX wrote give the numbers that the wave module of Python's standard library and FFmpeg read out of
// them; testdata/make.sh has the versions.
func TestAgainstOtherReaders(t *testing.T) {
	text, err := os.ReadFile("testdata/recorded.json")
	if err != nil {
		t.Fatal(err)
	}
	var recorded map[string]struct {
		Rate     float64
		Channels int
		Values   []float64
	}
	if err := json.Unmarshal(text, &recorded); err != nil {
		t.Fatal(err)
	}
	files, err := filepath.Glob("testdata/*.wav")
	if err != nil || len(files) != len(recorded) || len(files) < 10 {
		t.Fatalf("%d files, %d recorded: %v", len(files), len(recorded), err)
	}
	for _, f := range files {
		data, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		want := recorded[filepath.Base(f)]
		w, got := mustAll(t, data)
		if w.Rate != want.Rate || w.Channels != want.Channels || len(got) != len(want.Values) {
			t.Errorf("%s: %g Hz, %d channels, %d numbers; want %g, %d, %d", f, w.Rate, w.Channels, len(got), want.Rate, want.Channels, len(want.Values))
			continue
		}
		if piped := filepath.Base(f) == "piped.wav"; piped != (w.Ended() != "") {
			t.Errorf("%s: %q", f, w.Ended())
		}
		for i := range got {
			if got[i] != want.Values[i] {
				t.Errorf("%s: number %d is %v, want %v", f, i, got[i], want.Values[i])
				break
			}
		}
	}
}
