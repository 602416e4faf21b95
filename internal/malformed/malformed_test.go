package malformed_test

import (
	"bytes"
	"context"
	"errors"
	"os"
	"runtime"
	"sync/atomic"
	"testing"
	"time"

	"github.com/hardcatch/hardcatch/internal/acquire"
	"github.com/hardcatch/hardcatch/internal/acquire/soundfile"
	"github.com/hardcatch/hardcatch/internal/acquire/sourcefile"
	"github.com/hardcatch/hardcatch/internal/acquire/spool"
	"github.com/hardcatch/hardcatch/internal/app/picture"
	"github.com/hardcatch/hardcatch/internal/quantity"
	"github.com/hardcatch/hardcatch/internal/reduce"
	"github.com/hardcatch/hardcatch/internal/traceio"
	"github.com/hardcatch/hardcatch/internal/traceio/casefile"
	"github.com/hardcatch/hardcatch/internal/traceio/csvtrace"
	"github.com/hardcatch/hardcatch/internal/traceio/droplist"
	"github.com/hardcatch/hardcatch/internal/traceio/planfile"
	"github.com/hardcatch/hardcatch/internal/traceio/questionfile"
	"github.com/hardcatch/hardcatch/internal/traceio/rigfile"
	"github.com/hardcatch/hardcatch/internal/traceio/staircasefile"
	"github.com/hardcatch/hardcatch/internal/traceio/strengthlist"
	"github.com/hardcatch/hardcatch/internal/traceio/wavtrace"
)

// Most is what a reader may take above idle for an input below largest, in bytes.
const (
	most    = 64 << 20
	largest = 1 << 20
)

var records = traceio.NewRegistry(csvtrace.Format{}, csvtrace.First(), wavtrace.Format{})

var readers = []struct {
	name string
	read func(data []byte) error
}{
	{"record", func(b []byte) error {
		_, err := records.Open(context.Background(), "x.csv", bytes.NewReader(b), traceio.Options{})
		return err
	}},
	{"record with everything stated", func(b []byte) error {
		o := traceio.Options{Reading: traceio.Reading{Rate: 1e4, ForceUnit: "kN", TimeUnit: "ms", Mass: 80}}
		_, err := records.Open(context.Background(), "x.csv", bytes.NewReader(b), o)
		return err
	}},
	{"chain", func(b []byte) error { _, _, err := casefile.ReadChain("x.yaml", bytes.NewReader(b)); return err }},
	{"rig", func(b []byte) error { _, err := rigfile.Read("x.yaml", bytes.NewReader(b)); return err }},
	{"case", func(b []byte) error { _, err := casefile.Read("x.yaml", bytes.NewReader(b)); return err }},
	{"plan", func(b []byte) error {
		_, _, err := planfile.Read("x.yaml", bytes.NewReader(b), func(string) ([]byte, error) { return nil, errors.New("none") })
		return err
	}},
	{"questions", func(b []byte) error { _, err := questionfile.Read("x.yaml", bytes.NewReader(b)); return err }},
	{"source", func(b []byte) error { _, err := sourcefile.Read("x.yaml", bytes.NewReader(b)); return err }},
	{"drop list", func(b []byte) error { _, err := droplist.Read("x.csv", bytes.NewReader(b)); return err }},
	{"strengths", func(b []byte) error { _, err := strengthlist.Read("x.csv", bytes.NewReader(b)); return err }},
	{"staircase", func(b []byte) error { _, err := staircasefile.Read("x.csv", bytes.NewReader(b)); return err }},
	{"quantity", func(b []byte) error { var q quantity.Force; return q.UnmarshalText(b) }},
	{"quantity in JSON", func(b []byte) error { var q quantity.Force; return q.UnmarshalJSON(b) }},
	{"photo", func(b []byte) error { _, err := picture.Prepare("x.jpg", b, true); return err }},
	{"pattern of lines", func(b []byte) error { _, err := acquire.ParsePattern(string(b)); return err }},
	{"sound as a stream", func(b []byte) error { return listen(b, false) }},
	{"sound as a record", func(b []byte) error { return listen(b, true) }},
	{"spool", readSpool},
	{"filter", func(b []byte) error { _, err := reduce.ParseFilter(string(b)); return err }},
	{"instant", func(b []byte) error { var q quantity.Duration; return q.UnmarshalText(b) }},
	{"lines", func(b []byte) error { return decode("{counter},{force kN}", b) }},
	{"lines without a counter", func(b []byte) error { return decode("{force kN}", b) }},
}

type nobody struct{}

func (nobody) Samples(*acquire.Block) error      { return nil }
func (nobody) Event(acquire.Event) error         { return nil }
func (nobody) Record(acquire.LoggerRecord) error { return nil }

// still is a clock that does not wait.
type still struct{ acquire.WallClock }

func (still) Sleep(ctx context.Context, _ time.Duration) error { return ctx.Err() }

func listen(b []byte, finished bool) error {
	f, err := os.CreateTemp("", "*.wav")
	if err != nil {
		return err
	}
	defer func() { _ = os.Remove(f.Name()) }()
	if _, err := f.Write(b); err != nil {
		return err
	}
	if err := f.Close(); err != nil {
		return err
	}
	d := &acquire.Description{Kind: acquire.Sound, Address: f.Name(), Finished: finished, Channels: []acquire.Channel{{Name: "force", Unit: "kN"}}}
	if err := d.Complete(); err != nil {
		return err
	}
	s, err := soundfile.New(d, still{})
	if err != nil {
		return err
	}
	return s.Run(context.Background(), nobody{})
}

// readSpool reads a segment that an interrupted capture has left.
func readSpool(b []byte) error {
	f, err := os.CreateTemp("", "*.spool")
	if err != nil {
		return err
	}
	defer func() { _ = os.Remove(f.Name()) }()
	if _, err := f.Write(b); err != nil {
		return err
	}
	if err := f.Close(); err != nil {
		return err
	}
	_, err = spool.Read(f.Name(), func(byte, []byte) error { return nil })
	return err
}

func decode(lines string, b []byte) error {
	d := &acquire.Description{Kind: acquire.Serial, Address: "x", Baud: 9600, Rate: 1e4, Lines: lines}
	if err := d.Complete(); err != nil {
		return err
	}
	x, err := acquire.NewDecoder(d, nobody{})
	if err != nil {
		return err
	}
	at := time.Unix(0, 0)
	for len(b) > 0 {
		n := min(1000, len(b))
		at = at.Add(time.Millisecond)
		if err := x.Write(b[:n], at); err != nil {
			return err
		}
		b = b[n:]
	}
	return x.Close(at)
}

// peak is the most memory above idle while f runs, in bytes. It is everything that f allocates where that is within the bound, as
// the heap cannot have been larger; else the heap is looked at again and again, with what is not yet given back.
func peak(f func()) uint64 {
	runtime.GC()
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	var top atomic.Uint64
	stop, done := make(chan struct{}), make(chan struct{})
	go func() {
		defer close(done)
		tick := time.NewTicker(2 * time.Millisecond)
		defer tick.Stop()
		var m runtime.MemStats
		for {
			select {
			case <-stop:
				return
			case <-tick.C:
				runtime.ReadMemStats(&m)
				top.Store(max(top.Load(), m.HeapAlloc))
			}
		}
	}()
	f()
	close(stop)
	<-done
	runtime.ReadMemStats(&after)
	all := after.TotalAlloc - before.TotalAlloc
	if all <= most {
		return all
	}
	return min(all, max(top.Load(), after.HeapAlloc)-before.HeapAlloc)
}

// No reader takes more memory than its bound, whatever it is given.
func TestMemoryIsBounded(t *testing.T) {
	for _, z := range zoo() {
		if testing.Short() && !z.quick {
			continue
		}
		data := z.make()
		if len(data) >= largest {
			t.Fatalf("%s: %d bytes are not below %d", z.name, len(data), largest)
		}
		for _, r := range readers {
			if n := peak(func() { _ = r.read(data) }); n > most {
				t.Errorf("%s as %s: %d MiB", z.name, r.name, n>>20)
			}
		}
	}
}
