package acquire_test

import (
	"bytes"
	"context"
	"errors"
	"math"
	"os"
	"runtime"
	"strings"
	"testing"
	"time"

	"github.com/hardcatch/hardcatch/internal/acquire"
	"github.com/hardcatch/hardcatch/internal/acquire/acquiretest"
	"github.com/hardcatch/hardcatch/internal/traceio"
	"github.com/hardcatch/hardcatch/internal/traceio/csvtrace"
	"github.com/hardcatch/hardcatch/internal/waittest"
)

func level(v float64) *float64 { return &v }

// describe is a source of two channels with a counter, 10 kHz.
func describe(t *testing.T) *acquire.Description {
	t.Helper()
	d := &acquire.Description{Name: "bench", Kind: acquire.TCP, Address: "nowhere:1", Rate: 10000, Lines: "{counter},{force N},{temp mV}"}
	if err := d.Complete(); err != nil {
		t.Fatal(err)
	}
	return d
}

// bump is a quiet line with a half-sine of 5 kN from sample 3000 to 3500 on the first channel.
func bump(i int64) float64 {
	if i >= 3000 && i < 3500 {
		return 5000 * math.Sin(math.Pi*float64(i-3000)/500)
	}
	return math.Round(10*math.Sin(float64(i))) / 10
}

func samples(first int64, n int) [][]float64 {
	v := [][]float64{make([]float64, n), make([]float64, n)}
	for k := range n {
		v[0][k], v[1][k] = bump(first+int64(k)), float64(first+int64(k))
	}
	return v
}

// play delivers samples 0 to n in blocks of 200, leaving lost ones out.
func play(n int64, lost func(int64) bool) acquiretest.Play {
	return func(ctx context.Context, out acquire.Sink, clock acquire.Clock) error {
		for at := int64(0); at < n; at += 200 {
			from := at
			for i := at; i <= at+200; i++ {
				if i < at+200 && (lost == nil || !lost(i)) {
					continue
				}
				if i > from {
					if err := out.Samples(&acquire.Block{First: from, Values: samples(from, int(i-from)), Arrived: clock.Now()}); err != nil {
						return err
					}
				}
				if i < at+200 {
					if err := out.Event(acquire.Event{Kind: acquire.Lost, From: i, Count: 1, At: clock.Now()}); err != nil {
						return err
					}
				}
				from = i + 1
			}
		}
		return nil
	}
}

// capture runs a whole session over a played source and takes every drop.
func capture(t *testing.T, d *acquire.Description, p acquiretest.Play, set acquire.Settings) []kept {
	t.Helper()
	set.Clock = acquire.WallClock{}
	if set.Spool == "" {
		set.Spool = t.TempDir()
	}
	s, err := acquire.Open(acquiretest.Source{D: d, Play: p, Clock: set.Clock, Hold: true}, set)
	if err != nil {
		t.Fatal(err)
	}
	return collect(t, s)
}

// kept is a drop with what was read of it before it was taken.
type kept struct {
	*acquire.Drop
	values [][]float64
	text   []byte
}

func keep(t *testing.T, x *acquire.Drop) kept {
	t.Helper()
	k := kept{Drop: x, values: make([][]float64, len(x.Description.Channels))}
	err := x.Each(func(values [][]float64) error {
		for c := range values {
			k.values[c] = append(k.values[c], values[c]...)
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if k.text, err = x.CSV(); err != nil {
		t.Fatal(err)
	}
	if len(k.values[0]) != x.Len() {
		t.Fatalf("%d samples are read of a drop of %d", len(k.values[0]), x.Len())
	}
	return k
}

func collect(t *testing.T, s *acquire.Capture) []kept {
	t.Helper()
	ended := make(chan error, 1)
	go func() { ended <- s.Run(t.Context()) }()
	if err := s.Arm(t.Context()); err != nil {
		t.Error(err)
	}
	var list []kept
	for x := range s.Drops() {
		list = append(list, keep(t, x))
		if err := s.Taken(t.Context(), x.ID); err != nil {
			t.Error(err)
		}
	}
	if err := <-ended; err != nil {
		t.Error(err)
	}
	return list
}

func TestCaptureOfOneDrop(t *testing.T) {
	dir := t.TempDir()
	list := capture(t, describe(t), play(10000, nil), acquire.Settings{Spool: dir, Trigger: acquire.Trigger{Level: level(500), Pre: 0.1, Post: 0.3}})
	if len(list) != 1 {
		t.Fatalf("%d drops", len(list))
	}
	x := list[0]
	// 5000 sin(pi k/500) >= 500 first at k = 16: 500 asin(0.1)/pi = 15.94.
	if x.Trigger != 3016 || x.First != 2016 || x.Len() != 4000 || x.By != "level" || x.Ended != "time" || x.Lost != 0 || len(x.Findings()) != 0 {
		t.Fatalf("trigger %d first %d len %d by %s ended %s lost %d: %v", x.Trigger, x.First, x.Len(), x.By, x.Ended, x.Lost, x.Findings())
	}
	want := samples(2016, 4000)
	for c := range want {
		for i := range want[c] {
			if x.values[c][i] != want[c][i] {
				t.Fatalf("channel %d sample %d: %v, want %v", c, i, x.values[c][i], want[c][i])
			}
		}
	}
	if left, err := os.ReadDir(dir); err != nil || len(left) != 1 { // the lock
		t.Errorf("the spool still holds %v (%v)", left, err)
	}
}

// A record reads back to the same numbers, with what was lost as NaN and said.
func TestRecordReadsBack(t *testing.T) {
	lost := func(i int64) bool { return i%97 == 0 || i >= 4000 && i < 4020 }
	list := capture(t, describe(t), play(10000, lost), acquire.Settings{Trigger: acquire.Trigger{Level: level(500), Pre: 0.1, Post: 0.3}})
	if len(list) != 1 {
		t.Fatalf("%d drops", len(list))
	}
	x := list[0]
	wanted := int64(0)
	for i := x.First; i < x.First+int64(x.Len()); i++ {
		if lost(i) {
			wanted++
		}
	}
	if x.Lost != wanted {
		t.Errorf("%d lost, want %d", x.Lost, wanted)
	}
	text := x.text
	tr, err := traceio.NewRegistry(csvtrace.Format{}).Open(t.Context(), "drop.csv", bytes.NewReader(text), traceio.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if tr.Rate != 10000 || tr.Len() != x.Len() || len(tr.Channels) != 2 || tr.Channels[0].Unit != "N" || tr.Channels[0].Name != "force" {
		t.Fatalf("rate %v, %d samples, %+v", tr.Rate, tr.Len(), tr.Channels[0].Name)
	}
	for c, ch := range tr.Channels {
		for i, v := range ch.Values {
			is, want := v, x.values[c][i]*ch.Factor
			if math.IsNaN(want) != math.IsNaN(is) || !math.IsNaN(want) && math.Abs(is-want) > 1e-15*math.Abs(want) {
				t.Fatalf("channel %d sample %d: %v, want %v", c, i, is, want)
			}
			if math.IsNaN(is) != lost(x.First+int64(i)) {
				t.Fatalf("sample %d: %v, lost %v", i, is, lost(x.First+int64(i)))
			}
		}
	}
	if !strings.Contains(string(text[:2000]), "samples lost") || !strings.Contains(string(text), "lost; they are NaN") {
		t.Errorf("the record does not say what was lost:\n%s", text[:600])
	}
}

func TestQuietEndsADrop(t *testing.T) {
	list := capture(t, describe(t), play(10000, nil), acquire.Settings{Trigger: acquire.Trigger{Level: level(500), Pre: 0.1, Post: 0.5, Quiet: 0.05}})
	// Below 500 N again from sample 3485 on (symmetric to 3016), and for 500 samples.
	if len(list) != 1 || list[0].Ended != "quiet" || list[0].First+int64(list[0].Len()) != 3485+500 {
		t.Fatalf("%+v", list)
	}
}

func TestSlopeTriggers(t *testing.T) {
	// The signal rises by 5000 pi/500 = 31.4 N a sample: 150 N above the quiet line (+-1 N) of 1 ms before after 4.8.
	list := capture(t, describe(t), play(10000, nil), acquire.Settings{Trigger: acquire.Trigger{Slope: 150e3, Pre: 0.05, Post: 0.1}})
	if len(list) != 1 || list[0].By != "slope" || list[0].Trigger != 3005 {
		t.Fatalf("%+v", list)
	}
}

func TestAHandTriggers(t *testing.T) {
	d := describe(t)
	clock := acquire.WallClock{}
	s, err := acquire.Open(acquiretest.Source{D: d, Clock: clock, Play: acquiretest.Forever(samples)}, acquire.Settings{Spool: t.TempDir(), Clock: clock, Trigger: acquire.Trigger{Pre: 0.01, Post: 3600}})
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(t.Context())
	ended := make(chan error, 1)
	go func() { ended <- s.Run(ctx) }()
	views, leave := s.Views(4)
	defer leave()
	<-views
	if err := s.Fire(ctx); err != nil || s.State() != acquire.Triggered {
		t.Fatalf("%v %s", err, s.State())
	}
	from := s.Secured()
	for s.Secured() < from+500 {
		<-views
	}
	if err := s.Finish(ctx); err != nil {
		t.Fatal(err)
	}
	x := <-s.Drops()
	if x.By != "hand" || x.Ended != "hand" || x.Len() < 500 {
		t.Errorf("%s %s %d", x.By, x.Ended, x.Len())
	}
	if err := s.Taken(ctx, x.ID); err != nil {
		t.Error(err)
	}
	cancel()
	if err := <-ended; err != nil {
		t.Error(err)
	}
	if err := s.Arm(t.Context()); err == nil {
		t.Error("an ended capture was armed")
	}
}

// A session that is stopped leaves nothing running, and one whose source fails says why.
func TestNothingIsLeftRunning(t *testing.T) {
	before := runtime.NumGoroutine()
	for _, fails := range []bool{false, true} {
		clock := acquire.WallClock{}
		p := acquiretest.Forever(samples)
		if fails {
			p = func(context.Context, acquire.Sink, acquire.Clock) error { return errBroken }
		}
		s, err := acquire.Open(acquiretest.Source{D: describe(t), Clock: clock, Play: p}, acquire.Settings{Spool: t.TempDir(), Clock: clock, Trigger: acquire.Trigger{Post: 1}})
		if err != nil {
			t.Fatal(err)
		}
		ctx, cancel := context.WithCancel(t.Context())
		ended := make(chan error, 1)
		views, leave := s.Views(1)
		events, _ := s.Events(1)
		go func() { ended <- s.Run(ctx) }()
		if !fails {
			<-views
			cancel()
		}
		err = <-ended
		if fails != errors.Is(err, errBroken) {
			t.Errorf("fails %v: %v", fails, err)
		}
		leave()
		if _, open := <-events; open {
			t.Error("the events do not end")
		}
		cancel()
	}
	if waittest.Holds(func() bool { return runtime.NumGoroutine() <= before }) {
		return
	}
	t.Errorf("%d goroutines before, %d after", before, runtime.NumGoroutine())
}

var errBroken = errors.New("the device is broken")

// Who does not look at the screen does not hold up the capture: with views and events that nobody takes, all samples
// are recorded.
func TestNobodyLooks(t *testing.T) {
	d := describe(t)
	clock := acquire.WallClock{}
	s, err := acquire.Open(acquiretest.Source{D: d, Clock: clock, Play: play(40000, func(i int64) bool { return i%100 == 7 }), Hold: true}, acquire.Settings{Spool: t.TempDir(), Clock: clock, Trigger: acquire.Trigger{Level: level(500), Post: 3.5}})
	if err != nil {
		t.Fatal(err)
	}
	_, leaveViews := s.Views(1)
	_, leaveEvents := s.Events(1)
	defer leaveViews()
	defer leaveEvents()
	list := collect(t, s)
	if len(list) != 1 || list[0].Len() != 35000 || list[0].Lost != 350 {
		t.Fatalf("%d drops, %+v", len(list), list)
	}
}

// BenchmarkSession is spool, trigger and view of 50 kHz x 4 channels; samples/s is what one computer could take.
func BenchmarkSession(b *testing.B) {
	d := &acquire.Description{Kind: acquire.TCP, Address: "x", Rate: 50000, Lines: "{counter},{a N},{b N},{c N},{d N}"}
	if err := d.Complete(); err != nil {
		b.Fatal(err)
	}
	clock := acquire.WallClock{}
	const block = 1000
	v := make([][]float64, 4)
	for c := range v {
		v[c] = make([]float64, block)
		for i := range v[c] {
			v[c][i] = math.Sin(float64(i + c))
		}
	}
	p := func(_ context.Context, out acquire.Sink, clock acquire.Clock) error {
		for i := range b.N {
			if err := out.Samples(&acquire.Block{First: int64(i) * block, Values: v, Arrived: clock.Now()}); err != nil {
				return err
			}
		}
		return nil
	}
	s, err := acquire.Open(acquiretest.Source{D: d, Clock: clock, Play: p}, acquire.Settings{Spool: b.TempDir(), Clock: clock, Segment: time.Second, Trigger: acquire.Trigger{Level: level(500), Slope: 1e9, Pre: 1, Post: 5}})
	if err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	b.ResetTimer()
	if err := s.Run(b.Context()); err != nil {
		b.Fatal(err)
	}
	b.ReportMetric(float64(b.N)*block*4/b.Elapsed().Seconds(), "samples/s")
}
