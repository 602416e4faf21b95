package web_test

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"strings"
	"sync/atomic"
	"testing"

	"github.com/hardcatch/hardcatch/internal/acquire"
	"github.com/hardcatch/hardcatch/internal/acquire/drivers"
	"github.com/hardcatch/hardcatch/internal/acquire/outlet"
	"github.com/hardcatch/hardcatch/internal/acquire/rehearsal"
	"github.com/hardcatch/hardcatch/internal/app"
	"github.com/hardcatch/hardcatch/internal/day"
	"github.com/hardcatch/hardcatch/internal/foresee"
)

const dayRig = `name: tower 2 (invented)
mass: 100 kg
frequency: 300 Hz
invented: true
load_cell:
  serial: INV-2
  capacity: 50 kN
  calibration: {certificate: C-7, date: 2026-01-01, expires: 2026-12-31, input: N, reference_u: 0.1 %, readings: [{applied: 0 N, shown: 0}, {applied: 25 kN, shown: 25000}, {applied: 50 kN, shown: 50001}]}
`

// dayPlan gives two cells of six drops.
const dayPlan = `name: one day at the tower (invented)
question: Does a knot change the peak of our lanyard?
invented: true
rig_file: rig.yaml
tower: {height: 8 m, clearance: 0.5 m, rigging: 0.4 m, connectors: 40 kN, anchor_limit: 40 kN}
factors:
  knot: [sewn, overhand]
fixed: {material: polyester, length: 0.9 m, fall: 0.9 m}
specimens:
  polyester: {set: polyester-webbing, rating: 22 kN, knots: {overhand: 0.6}}
replicates: 6
simulations: 200
seed: 5
`

// tower is the simulated rig as rehearse plays it over TCP, with a mass that falls when it is let go.
type tower struct {
	rehearsal.Outlet
	player *rehearsal.Player
	silent atomic.Bool // the cable is out
}

func (w *tower) Write(lines []byte) (int, error) {
	if w.silent.Load() {
		return len(lines), nil
	}
	return w.Outlet.Write(lines)
}

// unplug cuts the connection until the cable is plugged in again.
func (w *tower) unplug(t *testing.T) {
	t.Helper()
	w.silent.Store(true)
	if err := w.Cut(); err != nil {
		t.Fatal(err)
	}
}

func (w *tower) plug() { w.silent.Store(false) }

// rehearse plays the simulated rig and gives the description of its source.
func rehearse(t *testing.T, set rehearsal.Settings) (*tower, string) {
	t.Helper()
	ctx, stop := context.WithCancel(context.Background())
	t.Cleanup(stop)
	p, err := rehearsal.NewPlayer(ctx, set)
	if err != nil {
		t.Fatal(err)
	}
	out, err := outlet.Open(ctx, acquire.TCP, "", "")
	if err != nil {
		t.Fatal(err)
	}
	w := &tower{Outlet: out, player: p}
	done := make(chan error, 1)
	go func() {
		_, err := rehearsal.Run(ctx, p, w, acquire.WallClock{})
		done <- err
	}()
	t.Cleanup(func() {
		stop()
		if err := <-done; err != nil && ctx.Err() == nil {
			t.Error(err)
		}
		if err := out.Close(); err != nil {
			t.Error(err)
		}
	})
	return w, set.YAML(out)
}

// aDay is a server at the simulated rig with a plan of twelve drops, as the command plan makes it.
func aDay(t *testing.T) (started, *tower) {
	t.Helper()
	w, source := rehearse(t, rehearsal.Settings{Rate: 5000, Channels: 1, ByHand: true, Hangs: 1.6, Seed: 7})
	a := newApp()
	b := &day.Bench{Access: a, Clock: acquire.WallClock{}, Sources: drivers.Open}
	path := filepath.Join(t.TempDir(), "day.hardcatch")
	plan, err := foresee.Plan(t.Context(), a, "day.yaml", strings.NewReader(dayPlan), foresee.PlanOptions{Out: path, Open: func(string) ([]byte, error) { return []byte(dayRig), nil }})
	if err != nil {
		t.Fatal(err)
	}
	list, err := plan.List()
	if err != nil {
		t.Fatal(err)
	}
	if r, err := app.Enter(t.Context(), a, path, "plan.csv", bytes.NewReader(list), nil, app.EnterOptions{Planned: true}); err != nil || r.Planned != 12 {
		t.Fatal(err, r)
	}
	spool := filepath.Join(t.TempDir(), "spool")
	live, err := day.Watch(t.Context(), b, path, "source.yaml", []byte(source), day.TriggerOptions{Level: "500 N", Trigger: acquire.Trigger{Pre: 0.6, Post: 1.5}, Spool: spool})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := live.Close(); err != nil {
			t.Error(err)
		}
		if left, err := os.ReadDir(spool); err == nil && len(left) > 1 {
			t.Errorf("the spool still holds %v", left)
		}
	})
	s := start(t, path)
	if err := s.srv.Watch(context.Background(), live, day.TakeInput{By: "ab"}); err != nil {
		t.Fatal(err)
	}
	return s, w
}
