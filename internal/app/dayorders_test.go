package app_test

import (
	"context"
	"strings"
	"testing"
	"time"

	"github.com/hardcatch/hardcatch/internal/app"
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// said is a capture of which the test says what happens.
type said struct{ signals chan app.Signal }

func (s said) Arm() error                 { return nil }
func (s said) Disarm() error              { return nil }
func (s said) Fire() error                { return nil }
func (s said) Finish() error              { return nil }
func (s said) Signals() <-chan app.Signal { return s.signals }
func (s said) Close() error               { return nil }

// aDay is a day of two planned drops at a capture that the test plays, with the views that are passed on.
func aDay(t *testing.T) (*app.Day, said, <-chan app.LiveView) {
	t.Helper()
	d := newDay(t, "drop,specimen,material,length,fall,order,role\nd1,s1,polyester,0.9 m,0.9 m,1,\nd2,s2,polyester,0.9 m,0.9 m,2,\n")
	live, seen := said{make(chan app.Signal)}, make(chan app.LiveView, 1000)
	day, err := d.NewDay(t.Context(), d.path, live, app.TakeInput{By: "ab"}, nil)
	if err != nil {
		t.Fatal(err)
	}
	done := make(chan bool)
	go func() {
		day.Follow(context.Background(), func(v app.LiveView) { seen <- v })
		close(done)
	}()
	t.Cleanup(func() {
		close(live.signals)
		<-done
	})
	return day, live, seen
}

func (s said) views(state string, from quantity.Duration, highest ...quantity.Force) {
	for i, f := range highest {
		s.signals <- app.Signal{View: &app.LiveView{State: state, At: from + quantity.Duration(0.02*float64(i)), Min: f - 4, Max: f, Last: f}}
	}
}

// told waits until the day's state is so.
func told(t *testing.T, day *app.Day, what string, is func(app.DayState) bool) app.DayState {
	t.Helper()
	for end := time.Now().Add(10 * time.Second); time.Now().Before(end); time.Sleep(2 * time.Millisecond) {
		if st := day.State(); is(st) {
			return st
		}
	}
	t.Fatalf("%s: %+v", what, day.State())
	return app.DayState{}
}

// The largest force since the trigger is told while a drop is recorded, and at no other time.
func TestProvisionalPeak(t *testing.T) {
	day, live, seen := aDay(t)
	for k := 1; k <= 7; k++ {
		if _, err := day.Toggle(k, "practice"); err != nil {
			t.Fatal(err)
		}
	}
	if _, err := day.Arm(t.Context()); err != nil {
		t.Fatal(err)
	}
	live.views("armed", 0, 24, 25)
	live.views("triggered", 0.04, 600, 12000, 3000)
	live.views("done", 0.1, 40)
	for i, want := range []quantity.Force{0, 0, 600, 12000, 12000, 12000} {
		v := <-seen
		if (v.Provisional == nil) != (want == 0) || v.Provisional != nil && *v.Provisional != want {
			t.Errorf("view %d tells %v, want %v", i, v.Provisional, want)
		}
	}
	if st := day.State(); st.Phase != app.Armed || st.Provisional == nil || *st.Provisional != 12000 {
		t.Errorf("%+v", st)
	}
	if st, err := day.Disarm(); err != nil || st.Provisional != nil {
		t.Errorf("disarmed, %v is told (%v)", st.Provisional, err)
	}
	live.views("idle", 0.2, 30)
	if v := <-seen; v.Provisional != nil {
		t.Errorf("idle, %v is told", *v.Provisional)
	}
}

// A zero that moves is looked at again until it stands.
func TestZeroIsLookedAtAgain(t *testing.T) {
	day, live, _ := aDay(t)
	zero := func(st app.DayState) drop.CheckItem { return st.Items[4] }
	ramp := make([]quantity.Force, 60)
	for i := range ramp {
		ramp[i] = quantity.Force(900 - 15*i)
	}
	live.views("idle", 0, ramp...) // 1.2 s in which the mass is taken off
	told(t, day, "the zero moves", func(st app.DayState) bool {
		return zero(st).State == drop.CheckOpen && strings.Contains(zero(st).Found, "it moves")
	})
	live.views("idle", 1.2, make([]quantity.Force, 150)...)
	told(t, day, "the zero stands", func(st app.DayState) bool { return zero(st).State == drop.CheckDone })
}

// What happened to the source is told until the next drop is prepared; what lasts is told on.
func TestTroubleEndsWithItsDrop(t *testing.T) {
	day, live, _ := aDay(t)
	event := func(text string) {
		t.Helper()
		live.signals <- app.Signal{Event: text}
		told(t, day, text, func(st app.DayState) bool { return strings.Contains(strings.Join(st.Trouble, " "), text) })
	}
	onward := func() app.DayState {
		t.Helper()
		st, err := day.Onward(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		return st
	}
	event("disconnected: sample 7: the source was gone")
	event("lost: sample 7: 20 samples were lost")
	if st := onward(); len(st.Trouble) != 2 {
		t.Errorf("the source is gone, and the page says %q", st.Trouble)
	}
	event("reconnected: sample 30: the source was back")
	if st := onward(); len(st.Trouble) != 0 {
		t.Errorf("the source is back, and the page says %q", st.Trouble)
	}
}
