package acquire_test

import (
	"context"
	"os"
	"strings"
	"testing"
	"time"

	"github.com/hardcatch/hardcatch/internal/acquire"
	"github.com/hardcatch/hardcatch/internal/acquire/acquiretest"
	"github.com/hardcatch/hardcatch/internal/acquire/spool"
)

// A drop whose signal never becomes quiet is said to be long after a minute, ends at its longest time, says so in the
// record, and has every sample.
func TestDropThatDoesNotEnd(t *testing.T) {
	d := describe(t)
	d.Rate = 100
	clock := acquire.WallClock{}
	const n = 10000 // 100 s
	v := func(first int64, n int) [][]float64 {
		out := [][]float64{make([]float64, n), make([]float64, n)}
		for k := range n {
			out[1][k] = float64(first + int64(k))
			if first+int64(k) >= 400 {
				out[0][k] = 1000
			}
		}
		return out
	}
	var s *acquire.Capture
	p := func(ctx context.Context, out acquire.Sink, clock acquire.Clock) error {
		for at := int64(0); at < n; at += 50 {
			if err := out.Samples(&acquire.Block{First: at, Values: v(at, 50), Arrived: clock.Now()}); err != nil {
				return err
			}
			for s.Secured() < at+50 {
				if err := clock.Sleep(ctx, time.Millisecond); err != nil {
					return err
				}
			}
		}
		return nil
	}
	var err error
	s, err = acquire.Open(acquiretest.Source{D: d, Play: p, Clock: clock, Hold: true}, acquire.Settings{Spool: t.TempDir(), Clock: clock, Commit: time.Millisecond, Trigger: acquire.Trigger{Level: level(500), Pre: 1, Post: 90, Quiet: 2}})
	if err != nil {
		t.Fatal(err)
	}
	events, _ := s.Events(100)
	list := collect(t, s)
	if len(list) != 1 || list[0].Len() != 9100 || list[0].Ended != "time" || list[0].values[1][9099] != 9399 {
		t.Fatalf("%+v", list)
	}
	if text := string(list[0].text[:2000]); !strings.Contains(text, "was not quiet for 2.0 s") {
		t.Errorf("the record does not say that it is cut:\n%s", text)
	}
	said := 0
	for e := range events {
		if e.Kind == acquire.Long {
			said++
			if !strings.Contains(e.Text, "at 1m31s at the latest") {
				t.Error(e.Text)
			}
		}
	}
	if said != 1 {
		t.Errorf("it was said %d times that the drop is long, want once in 91 s", said)
	}
}

// Samples that are gone from the spool are an error, and no NaN.
func TestSpoolThatLostSamples(t *testing.T) {
	dir := t.TempDir()
	clock := acquire.WallClock{}
	s, err := acquire.Open(acquiretest.Source{D: describe(t), Clock: clock, Play: play(10000, nil), Hold: true}, acquire.Settings{Spool: dir, Clock: clock, Trigger: acquire.Trigger{Level: level(500), Pre: 0.1, Post: 0.3}})
	if err != nil {
		t.Fatal(err)
	}
	x := oneDrop(t, s)
	list, err := spool.Segments(dir)
	if err != nil || len(list) == 0 {
		t.Fatal(list, err)
	}
	keep(t, x)
	whole, err := os.ReadFile(list[0].Path)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(list[0].Path, whole[:len(whole)/2], 0o644); err != nil {
		t.Fatal(err)
	}
	if _, err := x.CSV(); err == nil || !strings.Contains(err.Error(), "are no longer there") {
		t.Errorf("half a spool gives %v", err)
	}
	if err := os.Remove(list[0].Path); err != nil {
		t.Fatal(err)
	}
	if _, err := x.CSV(); err == nil || !strings.Contains(err.Error(), "are no longer there") {
		t.Errorf("an empty spool gives %v", err)
	}
}

// Drops are read while the capture goes on, and makes and forgets segments.
func TestDropIsReadWhileTheCaptureGoesOn(t *testing.T) {
	d := describe(t)
	clock := acquire.WallClock{}
	wave := func(first int64, n int) [][]float64 {
		v := [][]float64{make([]float64, n), make([]float64, n)}
		for k := range n {
			i := first + int64(k)
			v[1][k] = float64(i)
			if i%2000 >= 1000 {
				v[0][k] = 1000
			}
		}
		return v
	}
	s, err := acquire.Open(acquiretest.Source{D: d, Clock: clock, Play: acquiretest.Forever(wave)}, acquire.Settings{Spool: t.TempDir(), Clock: clock, Segment: 10 * time.Millisecond, Commit: 2 * time.Millisecond,
		Trigger: acquire.Trigger{Level: level(500), Pre: 0.03, Post: 0.05, Again: true}})
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(t.Context())
	ended := make(chan error, 1)
	go func() { ended <- s.Run(ctx) }()
	if err := s.Arm(ctx); err != nil {
		t.Fatal(err)
	}
	for range 30 {
		x := <-s.Drops()
		k := keep(t, x)
		for i, v := range k.values[1] {
			if v != float64(x.First+int64(i)) {
				t.Fatalf("sample %d is %v", x.First+int64(i), v)
			}
		}
		if err := s.Taken(ctx, x.ID); err != nil {
			t.Fatal(err)
		}
	}
	cancel()
	if err := <-ended; err != nil {
		t.Fatal(err)
	}
}
