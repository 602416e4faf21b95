package traceiotest

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"regexp"
	"strings"
	"testing"
	"testing/iotest"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/quantity"
	"github.com/hardcatch/hardcatch/internal/traceio"
)

// Example is a record in the format under test, and what it says.
type Example struct {
	Name    string // file name
	Data    []byte
	Options traceio.Options
	// Rate, Samples and Channels are what must be read; Channels are names in their order.
	Rate     quantity.Frequency
	Samples  int
	Channels []string
}

var formatName = regexp.MustCompile(`^[a-z][a-z0-9-]*/[1-9][0-9]*$`)

// Run holds a format against the suite. The examples must be free of faults; give at least one, and one of
// more than 64 KiB if the format can be that long.
func Run(t *testing.T, f traceio.Format, examples ...Example) {
	t.Helper()
	if len(examples) == 0 {
		t.Fatal("traceiotest: no example is given")
	}
	t.Run("name", func(t *testing.T) {
		if !formatName.MatchString(f.Name()) {
			t.Errorf("the name %q is not of the form csv/1", f.Name())
		}
	})
	t.Run("foreign bytes", func(t *testing.T) { foreign(t, f) })
	for _, e := range examples {
		t.Run(e.Name, func(t *testing.T) {
			t.Run("reads", func(t *testing.T) { reads(t, f, e) })
			t.Run("original", func(t *testing.T) { original(t, f, e) })
			t.Run("chunks", func(t *testing.T) { chunks(t, f, e) })
			t.Run("stops", func(t *testing.T) { stops(t, f, e) })
			t.Run("limit", func(t *testing.T) { limit(t, f, e) })
			t.Run("one channel", func(t *testing.T) { oneChannel(t, f, e) })
			t.Run("damage", func(t *testing.T) { damage(t, f, e) })
		})
	}
}

func read(f traceio.Format, e Example, r io.Reader) (*drop.Trace, error) {
	return f.Read(context.Background(), e.Name, r, e.Options)
}

func reads(t *testing.T, f traceio.Format, e Example) {
	if s := f.Sniff(e.Data[:min(len(e.Data), traceio.SniffLen)], e.Name); s <= 0 || s > 100 {
		t.Errorf("Sniff gives %d for a record of its own", s)
	}
	tr, err := read(f, e, bytes.NewReader(e.Data))
	if err != nil {
		t.Fatal(err)
	}
	if err := Check(tr); err != nil {
		t.Error(err)
	}
	var names []string
	for _, c := range tr.Channels {
		names = append(names, c.Name)
	}
	if got, want := strings.Join(names, ", "), strings.Join(e.Channels, ", "); got != want {
		t.Errorf("channels %s, want %s", got, want)
	}
	if tr.Len() != e.Samples || math.Abs(tr.Rate.SI()/e.Rate.SI()-1) > 1e-9 {
		t.Errorf("%d samples at %v, want %d at %v", tr.Len(), tr.Rate, e.Samples, e.Rate)
	}
	if tr.Name != e.Name || tr.Format != f.Name() {
		t.Errorf("the trace is named %q in format %q", tr.Name, tr.Format)
	}
	for _, x := range tr.Findings {
		if x.Grade == drop.Fault {
			t.Errorf("an example has a fault: %s", x)
		}
	}
}

// original holds what a registry adds: the hash and the untouched bytes.
func original(t *testing.T, f traceio.Format, e Example) {
	var kept bytes.Buffer
	o := e.Options
	o.Original = &kept
	tr, err := traceio.NewRegistry(f).Open(context.Background(), e.Name, bytes.NewReader(e.Data), o)
	if err != nil {
		t.Fatal(err)
	}
	sum := sha256.Sum256(e.Data)
	if !bytes.Equal(kept.Bytes(), e.Data) || tr.SHA256 != hex.EncodeToString(sum[:]) || tr.Bytes != int64(len(e.Data)) {
		t.Errorf("%d bytes kept of %d, hash %s, size %d", kept.Len(), len(e.Data), tr.SHA256, tr.Bytes)
	}
}

// chunks holds that the samples do not depend on how the bytes arrive or on what the reader can do besides.
func chunks(t *testing.T, f traceio.Format, e Example) {
	want, err := read(f, e, bytes.NewReader(e.Data))
	if err != nil {
		t.Fatal(err)
	}
	for name, wrap := range map[string]func(io.Reader) io.Reader{
		"byte by byte": iotest.OneByteReader, "halves": iotest.HalfReader, "error with the last bytes": iotest.DataErrReader,
	} {
		got, err := read(f, e, wrap(bytes.NewReader(e.Data)))
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		if err := same(got, want); err != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
	sized := e
	sized.Options.Size = int64(len(e.Data))
	got, err := read(f, sized, bytes.NewReader(e.Data))
	if err != nil {
		t.Fatal(err)
	}
	if err := same(got, want); err != nil {
		t.Errorf("with the size known: %v", err)
	}
}

// stops holds that a cancelled context and a failing reader end the reading with their own error.
func stops(t *testing.T, f traceio.Format, e Example) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if tr, err := f.Read(ctx, e.Name, bytes.NewReader(e.Data), e.Options); !errors.Is(err, context.Canceled) || tr != nil {
		t.Errorf("cancelled: %v %v", tr, err)
	}
	broken := errors.New("the disk is gone")
	for _, at := range []int{0, len(e.Data) / 2, len(e.Data)} {
		r := io.MultiReader(bytes.NewReader(e.Data[:at]), iotest.ErrReader(broken))
		if tr, err := read(f, e, r); !errors.Is(err, broken) || tr != nil || !strings.HasPrefix(err.Error(), e.Name) {
			t.Errorf("failing after %d bytes: %v %v", at, tr, err)
		}
	}
}

func limit(t *testing.T, f traceio.Format, e Example) {
	e.Options.MaxSamples = e.Samples - 1
	if tr, err := read(f, e, bytes.NewReader(e.Data)); err == nil {
		t.Errorf("%d samples were read where %d are allowed", tr.Len(), e.Options.MaxSamples)
	}
	e.Options.MaxSamples = e.Samples
	if _, err := read(f, e, bytes.NewReader(e.Data)); err != nil {
		t.Errorf("the limit is met but not passed: %v", err)
	}
}

func oneChannel(t *testing.T, f traceio.Format, e Example) {
	for _, c := range e.Channels {
		e.Options.Channel = strings.ToUpper(c)
		tr, err := read(f, e, bytes.NewReader(e.Data))
		if err != nil || len(tr.Channels) != 1 || tr.Channels[0].Name != c {
			t.Errorf("channel %s: %v %v", c, tr, err)
		}
	}
	e.Options.Channel = "no such channel"
	if tr, err := read(f, e, bytes.NewReader(e.Data)); err == nil || !strings.Contains(err.Error(), e.Channels[0]) {
		t.Errorf("a channel that is not there: %v %v; want an error that names those that are", tr, err)
	}
}

// damage holds that no damage to the bytes makes the reader panic or give a trace that contradicts itself.
func damage(t *testing.T, f traceio.Format, e Example) {
	rng := rand.New(rand.NewPCG(1, uint64(len(e.Data))))
	try := func(what string, data []byte) {
		tr, err := read(f, e, bytes.NewReader(data))
		switch {
		case err == nil:
			if err := Check(tr); err != nil {
				t.Errorf("%s: %v", what, err)
			}
		case tr != nil:
			t.Errorf("%s: a trace beside the error %v", what, err)
		case !strings.HasPrefix(err.Error(), e.Name):
			t.Errorf("%s: the error does not begin with the place: %v", what, err)
		}
	}
	for range 60 {
		n := rng.IntN(len(e.Data))
		try(fmt.Sprintf("cut after %d bytes", n), e.Data[:n])
	}
	for k := range 60 {
		bad := bytes.Clone(e.Data)
		for range 1 + k%8 {
			bad[rng.IntN(len(bad))] = byte(rng.UintN(256))
		}
		try(fmt.Sprintf("damage %d", k), bad)
		at := rng.IntN(len(bad))
		to := min(len(bad), at+rng.IntN(200))
		try(fmt.Sprintf("bytes %d to %d lost", at, to), append(bad[:at:at], bad[to:]...))
	}
}

// foreign holds that bytes of no record are not read as one.
func foreign(t *testing.T, f traceio.Format) {
	noise := make([]byte, 4096)
	rng := rand.New(rand.NewPCG(2, 3))
	for i := range noise {
		noise[i] = byte(rng.UintN(256))
	}
	for name, data := range map[string][]byte{"": nil, "x": {}, "noise.bin": noise, "zeros": make([]byte, 4096)} {
		if s := f.Sniff(data, name); s > 50 {
			t.Errorf("Sniff gives %d for %d foreign bytes named %q", s, len(data), name)
		}
		if tr, err := f.Read(context.Background(), "foreign", bytes.NewReader(data), traceio.Options{Reading: traceio.Reading{Rate: 1000}}); err == nil || tr != nil || !strings.HasPrefix(err.Error(), "foreign") {
			t.Errorf("%d foreign bytes named %q: %v %v; want an error that begins with the place", len(data), name, tr, err)
		}
	}
}

// Check reports where a trace contradicts itself.
func Check(tr *drop.Trace) error {
	if tr == nil {
		return errors.New("there is neither a trace nor an error")
	}
	if !(tr.Rate > 0) || math.IsInf(tr.Rate.SI(), 0) || math.IsNaN(tr.Start.SI()) || math.IsInf(tr.Start.SI(), 0) {
		return fmt.Errorf("rate %v, start %v", tr.Rate, tr.Start)
	}
	if tr.Len() == 0 || tr.Format == "" {
		return fmt.Errorf("%d samples, format %q", tr.Len(), tr.Format)
	}
	faults := false
	for _, f := range tr.Findings {
		if f.Kind == "" || f.Kind != strings.ToLower(f.Kind) || strings.ContainsAny(f.Kind, " _") || f.Place == "" || f.Fact == "" {
			return fmt.Errorf("finding without place, fact or proper kind: %+v", f)
		}
		switch f.Grade {
		case drop.Fault:
			faults = true
		case drop.Warning:
		case drop.Note:
			continue
		default:
			return fmt.Errorf("finding of grade %q", f.Grade)
		}
		if f.WayOut == "" {
			return fmt.Errorf("a %s without a way out: %s", f.Grade, f)
		}
		if f.From < 0 || f.To < f.From || f.To > tr.Len() || f.Count < 1 {
			return fmt.Errorf("finding of samples %d to %d of %d, count %d: %s", f.From, f.To, tr.Len(), f.Count, f)
		}
	}
	for _, c := range tr.Channels {
		if c.Name == "" || c.Factor == 0 || len(c.Values) != tr.Len() {
			return fmt.Errorf("channel %q, factor %v, %d samples of %d", c.Name, c.Factor, len(c.Values), tr.Len())
		}
		for i, v := range c.Values {
			if math.IsInf(v, 0) {
				return fmt.Errorf("channel %s: sample %d is infinite", c.Name, i)
			}
			if math.IsNaN(v) && !faults {
				return fmt.Errorf("channel %s: sample %d is NaN and no fault says so", c.Name, i)
			}
		}
	}
	return nil
}

// same reports where two traces differ, to the bit.
func same(a, b *drop.Trace) error {
	if a.Rate != b.Rate || a.Start != b.Start || a.Resampled != b.Resampled || len(a.Channels) != len(b.Channels) || len(a.Findings) != len(b.Findings) {
		return fmt.Errorf("%v %v %d channels %v, want %v %v %d channels %v", a.Rate, a.Start, len(a.Channels), a.Findings, b.Rate, b.Start, len(b.Channels), b.Findings)
	}
	for i := range a.Findings {
		if a.Findings[i] != b.Findings[i] {
			return fmt.Errorf("%s, want %s", a.Findings[i], b.Findings[i])
		}
	}
	for i := range a.Channels {
		x, y := a.Channels[i], b.Channels[i]
		if x.Name != y.Name || x.Unit != y.Unit || x.Kind != y.Kind || len(x.Values) != len(y.Values) {
			return fmt.Errorf("channel %s of %d samples, want %s of %d", x.Name, len(x.Values), y.Name, len(y.Values))
		}
		for k := range x.Values {
			if math.Float64bits(x.Values[k]) != math.Float64bits(y.Values[k]) {
				return fmt.Errorf("channel %s: sample %d is %v, want %v", x.Name, k, x.Values[k], y.Values[k])
			}
		}
	}
	return nil
}
