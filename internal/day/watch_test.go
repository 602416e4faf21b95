package day_test

import (
	"bytes"
	"context"
	"fmt"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/hardcatch/hardcatch/internal/acquire"
	"github.com/hardcatch/hardcatch/internal/app"
	"github.com/hardcatch/hardcatch/internal/day"
	"github.com/hardcatch/hardcatch/internal/drop"
)

// player is a source that plays forces in mV/V: quiet until go is closed, then the record, then quiet.
type player struct {
	d     *acquire.Description
	force []float64 // N
	start chan struct{}
	lose  int // samples lost after the record's begin
}

func (p *player) Description() *acquire.Description { return p.d }

func (p *player) Run(ctx context.Context, out acquire.Sink) error {
	const block = 250 // 50 ms at 5 kHz
	next, at := int64(0), -1
	tick := time.NewTicker(5 * time.Millisecond) // ten times as fast as the rate says
	defer tick.Stop()
	for {
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-tick.C:
		}
		if at < 0 {
			select {
			case <-p.start:
				at = 0
			default:
			}
		}
		if p.lose > 0 && at > 9000 { // after the first arrest
			if err := out.Event(acquire.Event{Kind: acquire.Lost, From: next, Count: int64(p.lose)}); err != nil {
				return err
			}
			next, at, p.lose = next+int64(p.lose), at+p.lose, 0
		}
		b := acquire.NewBlock(1, block)
		b.First, b.Arrived = next, time.Now()
		for range block {
			f := 20.0
			if at >= 0 && at < len(p.force) {
				f = p.force[at]
			}
			if at >= 0 {
				at++
			}
			b.Values[0] = append(b.Values[0], f/25e6*1000) // 2 mV/V at 50 kN
			next++
		}
		if err := out.Samples(b); err != nil {
			return err
		}
	}
}

// text describes the player.
func (p *player) text() []byte {
	return fmt.Appendf(nil, "name: mast\nkind: simulated\nrate: 5 kHz\nchannels:\n  - {name: force, unit: %s}\n", p.d.Channels[0].Unit)
}

// open is the player as the only driver.
func (p *player) open(d *acquire.Description, _ acquire.Clock) (acquire.Source, error) {
	p.d = d
	return p, nil
}

func newPlayer(t *testing.T, record []byte) *player {
	t.Helper()
	p := &player{start: make(chan struct{}), d: &acquire.Description{Name: "mast", Kind: acquire.Simulated, Rate: 5000, Channels: []acquire.Channel{{Name: "force", Unit: "mV/V"}}}}
	for _, l := range bytes.Split(bytes.TrimSpace(record), []byte("\n"))[1:] {
		_, f, _ := strings.Cut(string(l), ",")
		v, err := strconv.ParseFloat(f, 64)
		if err != nil {
			t.Fatal(err)
		}
		p.force = append(p.force, v)
	}
	return p
}

const bridgeRig = `name: mast
mass: 100 kg
frequency: 300 Hz
load_cell:
  capacity: 50 kN
  calibration: {certificate: C, date: 2026-01-01, expires: 2026-12-31, input: mV/V, reference_u: 0.1 %, readings: [{applied: 0 N, shown: 0}, {applied: 25 kN, shown: 1}, {applied: 50 kN, shown: 2.00001}]}
`

var liveOptions = day.TriggerOptions{Level: "500 N", Trigger: acquire.Trigger{Pre: 0.5, Post: 4}}

func (d *towerDay) watch(p *player, spool string) day.Live {
	d.t.Helper()
	o := liveOptions
	o.Spool = spool
	return d.watchWith(p, o)
}

func (d *towerDay) watchWith(p *player, o day.TriggerOptions) day.Live {
	d.t.Helper()
	d.Clock, d.Sources = acquire.WallClock{}, p.open
	live, err := day.Watch(d.t.Context(), d.Bench, d.path, "mast.yaml", p.text(), o)
	if err != nil {
		d.t.Fatal(err)
	}
	return live
}

// wait follows a capture until a drop came; it gives the last view and the events too.
func wait(t *testing.T, live day.Live) (c *day.Captured, seen day.LiveView, events []string) {
	t.Helper()
	timer := time.After(30 * time.Second)
	for {
		select {
		case s, ok := <-live.Signals():
			switch {
			case !ok:
				t.Fatal("the capture ended without a drop")
			case s.Drop != nil:
				return s.Drop, seen, events
			case s.View != nil && !s.View.Missing:
				seen.Max = max(seen.Max, s.View.Max)
				seen.Min, seen.Unit = s.View.Min, s.View.Unit
			case s.Event != "":
				events = append(events, s.Event)
			case s.Ended != nil:
				t.Fatal(s.Ended)
			}
		case <-timer:
			t.Fatal("no drop was captured")
		}
	}
}

// A drop from a live bridge in mV/V has the peak that the same forces have from a file, and what was lost is noted.
func TestALiveDrop(t *testing.T) {
	d := newDay(t, plan)
	ctx := t.Context()
	if _, err := app.SetRig(ctx, d.Access, d.path, "rig.yaml", strings.NewReader(bridgeRig)); err != nil {
		t.Fatal(err)
	}
	file := record(t, 3, 1, 0)
	p := newPlayer(t, file)
	p.lose = 7
	live := d.watch(p, filepath.Join(t.TempDir(), "spool"))
	if err := live.Arm(); err != nil {
		t.Fatal(err)
	}
	close(p.start)
	c, seen, events := wait(t, live)
	if c.Found != nil || len(c.Remarks) == 0 || !strings.Contains(strings.Join(c.Remarks, "\n"), "7 samples were lost") || !strings.Contains(strings.Join(events, "\n"), "7 samples were lost") {
		t.Errorf("found %q, remarks %q, events %q", c.Found, c.Remarks, events)
	}
	r, err := day.Take(ctx, d.Access, d.path, day.TakeInput{Drop: *d.next().Drop, Capture: c.ID, Original: c.Original, Remarks: c.Remarks})
	if err != nil || r.Problem != nil || r.Outcome != "held" || r.Drop.Record != "d2.csv" {
		t.Fatalf("%+v %v", r, err)
	}
	if err := c.Keep(); err != nil {
		t.Error(err)
	}
	whole := d.take(drop.Drop{ID: "file", Fall: 0.9, Specimen: drop.Specimen{ID: "f", Material: "polyester", Length: 0.9}}, file)
	// The same samples, through the calibration (1e-5 of 50 kN is its curve) and with 7 of them lost.
	if off := (*r.Peak - *whole.Peak).SI(); off > 2 || off < -2 {
		t.Errorf("live %v, from the file %v", r.Peak, whole.Peak)
	}
	if seen.Unit != "" || seen.Max < *r.Peak-50 || seen.Max > *r.Peak+300 {
		t.Errorf("the largest force on the screen was %v, the peak %v", seen.Max, r.Peak)
	}
	if id, err := day.CaptureTaken(ctx, d.Access, d.path, c.ID); err != nil || id != "d2" {
		t.Errorf("%q %v", id, err)
	}
	if id, err := day.CaptureTaken(ctx, d.Access, d.path, "another"); err != nil || id != "" {
		t.Errorf("%q %v", id, err)
	}
	if err := live.Close(); err != nil {
		t.Error(err)
	}
	if err := live.Arm(); err == nil {
		t.Error("a closed capture was armed")
	}
}

// In a campaign a slope triggers, too, and a level in the channel's own unit: by the calibration 0.02 mV/V is 500 N, and 1 mV/V
// in a second is 25 kN in a second, less than any arrest rises by.
func TestALiveDropIsTriggeredInTheUnitOfTheChannel(t *testing.T) {
	for _, o := range []day.TriggerOptions{{Level: "0.02 mV/V"}, {Trigger: acquire.Trigger{Slope: 1}}} {
		d := newDay(t, plan)
		if _, err := app.SetRig(t.Context(), d.Access, d.path, "rig.yaml", strings.NewReader(bridgeRig)); err != nil {
			t.Fatal(err)
		}
		p := newPlayer(t, record(t, 3, 1, 0))
		o.Pre, o.Post, o.Spool = 0.5, 4, filepath.Join(t.TempDir(), "spool")
		live := d.watchWith(p, o)
		if err := live.Arm(); err != nil {
			t.Fatal(err)
		}
		close(p.start)
		if c, seen, _ := wait(t, live); c.Original == nil || seen.Max < 1000 {
			t.Errorf("%+v: %+v, at most %v", o, c, seen.Max)
		}
		if err := live.Close(); err != nil {
			t.Error(err)
		}
	}
}

// What was captured and not entered comes again from the spool, and once it is kept no more.
func TestALiveDropIsFoundAgain(t *testing.T) {
	d := newDay(t, plan)
	spool := filepath.Join(t.TempDir(), "spool")
	p := newPlayer(t, record(t, 4, 1, 0))
	p.d.Channels[0].Unit = "kN" // a number of a force needs no calibration
	for i := range p.force {
		p.force[i] *= 25 // played as force in kN: x/25e6*1000
	}
	live := d.watch(p, spool)
	if err := live.Fire(); err != nil { // by hand, without being armed
		t.Fatal(err)
	}
	close(p.start)
	first, _, _ := wait(t, live)
	if err := live.Close(); err != nil {
		t.Fatal(err)
	}
	kilonewtons := func() *player {
		q := newPlayer(t, []byte("t,F"))
		q.d.Channels[0].Unit = "kN"
		return q
	}
	again := d.watch(kilonewtons(), spool)
	found, _, _ := wait(t, again)
	if found.ID != first.ID || !strings.Contains(found.Found.String(), "found in the spool") {
		t.Errorf("%q %q, first %q", found.ID, found.Found, first.ID)
	}
	if err := found.Keep(); err != nil {
		t.Fatal(err)
	}
	if err := again.Close(); err != nil {
		t.Fatal(err)
	}
	third := d.watch(kilonewtons(), spool)
	defer func() {
		if err := third.Close(); err != nil {
			t.Error(err)
		}
	}()
	for range 3 {
		if s := <-third.Signals(); s.Drop != nil {
			t.Errorf("%s came again", s.Drop.ID)
		}
	}
}

func TestWatchRefuses(t *testing.T) {
	d := newDay(t, plan) // its calibration is in N
	if _, err := day.Watch(t.Context(), d.Bench, d.path, "x.yaml", nil, liveOptions); err == nil || !strings.Contains(err.Error(), "without live sources") {
		t.Error(err)
	}
	p := newPlayer(t, nil)
	d.Clock, d.Sources = acquire.WallClock{}, p.open
	for _, c := range []struct {
		channel string
		level   string
		want    string
	}{{"", "500 N", "knows no force"}, {"", "500", "knows no force"}, {"nosuch", "0 N", `no channel "nosuch"`}, {"", "5 mm", `level "5 mm"`}, {"", "much", "level"}} {
		o := liveOptions
		o.Channel, o.Level, o.Spool = c.channel, c.level, filepath.Join(t.TempDir(), "s")
		if _, err := day.Watch(t.Context(), d.Bench, d.path, "x.yaml", p.text(), o); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%v, want %q", err, c.want)
		}
	}
	if _, err := day.Watch(t.Context(), d.Bench, d.path, "x.yaml", []byte("kind: simulated\nrate: 5 kN\n"), liveOptions); err == nil || !strings.Contains(err.Error(), "x.yaml:2:7") {
		t.Error(err)
	}
	// By hand it goes, and says that the force is not known.
	o := liveOptions
	o.Level, o.Spool = "0 N", filepath.Join(t.TempDir(), "s")
	live, err := day.Watch(t.Context(), d.Bench, d.path, "x.yaml", p.text(), o)
	if err != nil {
		t.Fatal(err)
	}
	for s := range live.Signals() {
		if s.View != nil && !s.View.Missing {
			if s.View.Unit != "mV/V" {
				t.Errorf("%+v", s.View)
			}
			break
		}
	}
	if err := live.Close(); err != nil {
		t.Error(err)
	}
}
