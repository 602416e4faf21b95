package day_test

import (
	"context"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/hardcatch/hardcatch/internal/acquire"
	"github.com/hardcatch/hardcatch/internal/acquire/acquiretest"
	"github.com/hardcatch/hardcatch/internal/acquire/drivers"
	"github.com/hardcatch/hardcatch/internal/day"
)

// A file that a logger writes into a folder is captured with its own bytes.
func TestCaptureFromAFolder(t *testing.T) {
	dir := t.TempDir()
	a := &day.Bench{Clock: acquire.WallClock{}, Sources: drivers.Open}
	const text = "time [s],force [N]\n0,1\n0.1,2\n"
	// What is there before the source looks is left alone, so the file is written again until the capture has it.
	done := make(chan struct{})
	var logger sync.WaitGroup
	logger.Go(func() {
		for wait := 200 * time.Millisecond; ; wait = 3 * time.Second {
			select {
			case <-done:
				return
			case <-time.After(wait):
			}
			if err := os.WriteFile(filepath.Join(dir, "d1.csv"), []byte(text), 0o600); err != nil {
				t.Error(err)
			}
		}
	})
	defer logger.Wait()
	defer close(done)
	var saved []*acquire.Drop
	x, err := day.Capture(t.Context(), a, "s.yaml", strings.NewReader("kind: folder\nquiet: 200 ms\naddress: "+dir), day.TriggerOptions{Spool: t.TempDir()}, func(e acquire.Event) {
		if e.Kind != acquire.Behind { // a slow disk
			t.Error(e)
		}
	},
		func(x *acquire.Drop) error { saved = append(saved, x); return nil })
	if err != nil || len(saved) != 1 || x.Whole == nil || string(x.Whole.Data) != text || x.Whole.Name != "d1.csv" {
		t.Fatalf("%v %+v", err, x)
	}
}

// The level is given in any unit of the channel's dimension.
func TestLevelInAnotherUnit(t *testing.T) {
	play := func(ctx context.Context, out acquire.Sink, clock acquire.Clock) error {
		v := make([]float64, 1000)
		for i := range v {
			v[i] = float64(i) / 100 // kN
		}
		return out.Samples(&acquire.Block{Values: [][]float64{v}, Arrived: clock.Now()})
	}
	a := &day.Bench{Clock: acquire.WallClock{}, Sources: func(d *acquire.Description, clock acquire.Clock) (acquire.Source, error) {
		return acquiretest.Source{D: d, Play: play, Clock: clock, Hold: true}, nil
	}}
	const source = "kind: tcp\naddress: x\nrate: 1 kHz\nlines: \"{counter},{force kN}\""
	x, err := day.Capture(t.Context(), a, "s.yaml", strings.NewReader(source), day.TriggerOptions{Level: "5000 N", Trigger: acquire.Trigger{Pre: 0.1, Post: 0.2}, Spool: t.TempDir()}, func(acquire.Event) {}, func(*acquire.Drop) error { return nil })
	if err != nil || x.Trigger != 500 || x.Len() != 300 {
		t.Fatalf("%v %+v", err, x)
	}
	if _, err := day.Capture(t.Context(), a, "s.yaml", strings.NewReader(source), day.TriggerOptions{Level: "50 kN", Trigger: acquire.Trigger{Post: 0.2}, Spool: t.TempDir()}, func(acquire.Event) {}, nil); err == nil || !strings.Contains(err.Error(), "before a drop was complete") {
		t.Error(err)
	}
}
