package day_test

import (
	"context"
	"fmt"
	"strings"
	"testing"

	"github.com/hardcatch/hardcatch/internal/day"
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/quantity"
	"github.com/hardcatch/hardcatch/internal/waittest"
)

// said is a capture of which the test says what happens.
type said struct{ signals chan day.Signal }

func (s said) Arm() error                 { return nil }
func (s said) Disarm() error              { return nil }
func (s said) Fire() error                { return nil }
func (s said) Finish() error              { return nil }
func (s said) Signals() <-chan day.Signal { return s.signals }
func (s said) Close() error               { return nil }

// aDay is a day of two planned drops at a capture that the test plays, with the views that are passed on.
func aDay(t *testing.T) (*day.Day, said, <-chan day.LiveView) {
	t.Helper()
	d := newDay(t, "drop,specimen,material,length,fall,order,role\nd1,s1,polyester,0.9 m,0.9 m,1,\nd2,s2,polyester,0.9 m,0.9 m,2,\n")
	live, seen := said{make(chan day.Signal)}, make(chan day.LiveView, 1000)
	today, err := day.New(t.Context(), d.Access, d.path, live, day.TakeInput{By: "ab"}, nil)
	if err != nil {
		t.Fatal(err)
	}
	done := make(chan bool)
	go func() {
		today.Follow(context.Background(), func(v day.LiveView) { seen <- v })
		close(done)
	}()
	t.Cleanup(func() {
		close(live.signals)
		<-done
	})
	return today, live, seen
}

func (s said) views(state string, from quantity.Duration, highest ...quantity.Force) {
	for i, f := range highest {
		s.signals <- day.Signal{View: &day.LiveView{State: state, At: from + quantity.Duration(0.02*float64(i)), Min: f - 4, Max: f, Last: f}}
	}
}

// told waits until the day's state is so.
func told(t *testing.T, today *day.Day, what string, is func(day.State) bool) day.State {
	t.Helper()
	var st day.State
	waittest.Until(t, func() string { return fmt.Sprintf("%s: %+v", what, st) }, func() bool {
		st = today.Moment()
		return is(st)
	})
	return st
}

// The largest force since the trigger is told while a drop is recorded, and at no other time.
func TestProvisionalPeak(t *testing.T) {
	today, live, seen := aDay(t)
	for k := 1; k <= 7; k++ {
		if _, err := today.Toggle(k, "practice"); err != nil {
			t.Fatal(err)
		}
	}
	if _, err := today.Arm(t.Context()); err != nil {
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
	if st := today.Moment(); st.Phase != day.Armed || st.Provisional == nil || *st.Provisional != 12000 {
		t.Errorf("%+v", st)
	}
	if st, err := today.Disarm(); err != nil || st.Provisional != nil {
		t.Errorf("disarmed, %v is told (%v)", st.Provisional, err)
	}
	live.views("idle", 0.2, 30)
	if v := <-seen; v.Provisional != nil {
		t.Errorf("idle, %v is told", *v.Provisional)
	}
}

// A zero that moves is looked at again until it stands.
func TestZeroIsLookedAtAgain(t *testing.T) {
	today, live, _ := aDay(t)
	zero := func(st day.State) drop.CheckItem { return st.Items[4] }
	ramp := make([]quantity.Force, 60)
	for i := range ramp {
		ramp[i] = quantity.Force(900 - 15*i)
	}
	live.views("idle", 0, ramp...) // 1.2 s in which the mass is taken off
	told(t, today, "the zero moves", func(st day.State) bool {
		return zero(st).State == drop.CheckOpen && strings.Contains(zero(st).Found, "it moves")
	})
	live.views("idle", 1.2, make([]quantity.Force, 150)...)
	told(t, today, "the zero stands", func(st day.State) bool { return zero(st).State == drop.CheckDone })
}

// What happened to the source is told until the next drop is prepared; what lasts is told on.
func TestTroubleEndsWithItsDrop(t *testing.T) {
	today, live, _ := aDay(t)
	event := func(text string) {
		t.Helper()
		live.signals <- day.Signal{Event: text}
		told(t, today, text, func(st day.State) bool { return strings.Contains(strings.Join(st.Trouble, " "), text) })
	}
	onward := func() day.State {
		t.Helper()
		st, err := today.Onward(t.Context())
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
