package day_test

import (
	"bytes"
	"context"
	"io"
	"math"
	"os"
	"path/filepath"
	"runtime/debug"
	"strconv"
	"testing"

	"github.com/hardcatch/hardcatch/internal/acquire"
	"github.com/hardcatch/hardcatch/internal/day"
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// tireless gives a drop and then the mass that hangs, 4 channels at 50 kS/s, as fast as the computer takes them.
type tireless struct {
	d     *acquire.Description
	force []float64 // N, at 5 kS/s
	n     int64     // samples of each channel
}

func (s *tireless) Description() *acquire.Description { return s.d }

func (s *tireless) Run(ctx context.Context, out acquire.Sink) error {
	b := acquire.NewBlock(4, 1000)
	for c := range b.Values {
		b.Values[c] = b.Values[c][:1000]
	}
	for ; b.First < s.n; b.First += 1000 {
		if err := ctx.Err(); err != nil {
			return err
		}
		for k := range 1000 {
			i := int(b.First) + k
			f := s.force[len(s.force)-1-i/10%2000]
			if i/10+1 < len(s.force) {
				f = s.force[i/10] + (s.force[i/10+1]-s.force[i/10])*float64(i%10)/10
			}
			b.Values[0][k] = math.Round(f*10) / 10
			b.Values[1][k] = math.Round(f/10) / 100
			b.Values[2][k] = float64((i*7919)%20000-10000) / 1e4
			b.Values[3][k] = float64((i*104729)%20000-10000) / 1e4
		}
		b.Arrived = acquire.WallClock{}.Now()
		if err := out.Samples(b); err != nil {
			return err
		}
	}
	<-ctx.Done()
	return ctx.Err()
}

// longDrop captures seconds of four channels through spool and trigger, and gives the drop to use.
func longDrop(b *testing.B, d *towerDay, seconds int, use func(*day.Captured)) {
	b.Helper()
	src := &tireless{n: int64(seconds) * 50000}
	for _, l := range bytes.Split(bytes.TrimSpace(record(b, 3, 1, 0)), []byte("\n"))[1:] {
		_, f, _ := bytes.Cut(l, []byte(","))
		v, err := strconv.ParseFloat(string(f), 64)
		if err != nil {
			b.Fatal(err)
		}
		src.force = append(src.force, v)
	}
	d.Clock, d.Sources = acquire.WallClock{}, func(x *acquire.Description, _ acquire.Clock) (acquire.Source, error) {
		src.d = x
		return src, nil
	}
	text := []byte("name: mast\nkind: simulated\nrate: 50 kHz\nchannels:\n  - {name: F, unit: N}\n  - {name: A, unit: m/s2}\n  - {name: X, unit: V}\n  - {name: Y, unit: V}\n")
	o := day.TriggerOptions{Trigger: acquire.Trigger{Pre: 0.5, Post: quantity.Duration(seconds - 1)}, Spool: filepath.Join(b.TempDir(), "spool")}
	live, err := day.Watch(b.Context(), d.Bench, d.path, "mast.yaml", text, o)
	if err != nil {
		b.Fatal(err)
	}
	if err := live.Fire(); err != nil {
		b.Fatal(err)
	}
	for s := range live.Signals() {
		if s.Drop != nil {
			use(s.Drop)
			break
		}
	}
	if err := live.Close(); err != nil {
		b.Fatal(err)
	}
}

// peakMB is the most memory that the process held since the last call.
func peakMB(b *testing.B) float64 {
	b.Helper()
	text, err := os.ReadFile("/proc/self/status")
	if err != nil {
		b.Fatal(err)
	}
	_, rest, _ := bytes.Cut(text, []byte("VmHWM:"))
	kB, err := strconv.ParseFloat(string(bytes.Fields(rest)[0]), 64)
	if err != nil {
		b.Fatal(err)
	}
	debug.FreeOSMemory()
	if err := os.WriteFile("/proc/self/clear_refs", []byte("5"), 0); err != nil {
		b.Fatal(err)
	}
	return kB / 1000
}

const tenMinutes = 600

// BenchmarkLongRecord is 10 minutes of 4 channels at 50 kS/s: from the source through the spool to the record's bytes.
func BenchmarkLongRecord(b *testing.B) {
	for b.Loop() {
		peakMB(b)
		longDrop(b, newDay(b, ""), tenMinutes, func(c *day.Captured) {
			b.ReportMetric(peakMB(b), "MB/capture")
			r, err := c.Original.Open()
			if err != nil {
				b.Fatal(err)
			}
			n, err := io.Copy(io.Discard, r)
			if err != nil || r.Close() != nil {
				b.Fatal(err)
			}
			b.SetBytes(n)
		})
		b.ReportMetric(peakMB(b), "MB/record")
	}
}

// BenchmarkTakeLongRecord enters the same record into a campaign: hash, reduction and store.
func BenchmarkTakeLongRecord(b *testing.B) {
	for b.Loop() {
		d := newDay(b, "")
		longDrop(b, d, tenMinutes, func(c *day.Captured) {
			peakMB(b)
			r, err := day.Take(b.Context(), d.Access, d.path, day.TakeInput{Drop: drop.Drop{ID: "long", Fall: 0.9, Specimen: drop.Specimen{ID: "s", Length: 0.9}}, Original: c.Original})
			if err != nil || r.Problem != nil {
				b.Fatalf("%+v %v", r, err)
			}
		})
		b.ReportMetric(peakMB(b), "MB/take")
	}
}
