package day_test

import (
	"context"
	"errors"
	"io"
	"slices"
	"strings"
	"sync"
	"testing"

	"github.com/hardcatch/hardcatch/internal/day"
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/store"
)

// obedient is a capture that does what it is told and gives nothing.
type obedient struct {
	mu      sync.Mutex
	orders  []string
	signals chan day.Signal
}

func (o *obedient) say(what string) error {
	o.mu.Lock()
	defer o.mu.Unlock()
	o.orders = append(o.orders, what)
	return nil
}

// given are the orders so far.
func (o *obedient) given() []string {
	o.mu.Lock()
	defer o.mu.Unlock()
	return slices.Clone(o.orders)
}
func (o *obedient) Arm() error                 { return o.say("arm") }
func (o *obedient) Disarm() error              { return o.say("disarm") }
func (o *obedient) Fire() error                { return o.say("fire") }
func (o *obedient) Finish() error              { return o.say("finish") }
func (o *obedient) Close() error               { return nil }
func (o *obedient) Signals() <-chan day.Signal { return o.signals }

// slow is a record that can be read only when the test lets it.
type slow struct {
	store.Bytes
	begun, let chan struct{}
}

func (s slow) Open() (io.ReadCloser, error) {
	s.begun <- struct{}{}
	<-s.let
	return s.Bytes.Open()
}

// armed is a day whose first drop is awaited.
func armed(t *testing.T) (*day.Day, *obedient) {
	t.Helper()
	d, live := newDay(t, plan), &obedient{}
	x, err := day.New(t.Context(), d.Access, d.path, live, day.TakeInput{By: "ab"}, nil)
	if err != nil {
		t.Fatal(err)
	}
	for i, item := range x.Moment().Items {
		if item.State == drop.CheckOpen {
			if _, err := x.Toggle(i+1, map[bool]string{true: "practice"}[item.Key == drop.ZeroStable]); err != nil {
				t.Fatal(err)
			}
		}
	}
	if st, err := x.Arm(t.Context()); err != nil || st.Phase != day.Armed {
		t.Fatalf("%+v %v", st, err)
	}
	return x, live
}

// While a record is entered the day can be looked at, and obeys no order.
func TestDayCanBeLookedAtWhileARecordIsEntered(t *testing.T) {
	x, _ := armed(t)
	s := slow{record(t, 1, 1, 0), make(chan struct{}), make(chan struct{})}
	heard := make(chan struct{})
	go func() {
		defer close(heard)
		x.Hear(context.Background(), day.Signal{Drop: &day.Captured{Original: s}})
	}()
	<-s.begun
	if st := x.Moment(); !st.Entering || st.Phase != day.Armed {
		t.Errorf("%+v", st)
	}
	if st, err := x.Disarm(); err == nil || !strings.Contains(st.Message.String(), "wait: the record is being reduced") {
		t.Errorf("%+v %v", st, err)
	}
	close(s.let)
	<-s.begun // it is read once more to be stored
	<-heard
	if st := x.Moment(); st.Entering || st.Phase != day.Reading || st.Taken == nil || st.Taken.Peak == nil {
		t.Errorf("%+v", st)
	}
}

// A record that cannot be read waits to be told its drop, and the day goes on.
func TestDayKeepsARecordThatCannotBeRead(t *testing.T) {
	x, _ := armed(t)
	x.Hear(t.Context(), day.Signal{Drop: &day.Captured{ID: "r-1", Original: broken{}}})
	st := x.Moment()
	if st.Entering || st.Phase != day.Preparing || len(st.Found) != 1 || !strings.Contains(st.Message.String(), "NOT in the campaign yet") || !strings.Contains(st.Message.String(), "the disk is gone") {
		t.Errorf("%+v", st)
	}
}

type broken struct{}

func (broken) Open() (io.ReadCloser, error) { return nil, errors.New("the disk is gone") }

// A record is ended by hand only while one is taken.
func TestDayEndsARecord(t *testing.T) {
	x, live := armed(t)
	if _, err := x.Finish(); err == nil || !strings.Contains(err.Error(), "nothing is being recorded") {
		t.Errorf("%v", err)
	}
	x.Hear(t.Context(), day.Signal{View: &day.LiveView{State: "triggered"}})
	if _, err := x.Finish(); err != nil || !slices.Equal(live.orders, []string{"arm", "finish"}) {
		t.Errorf("%v %v", live.orders, err)
	}
}

func TestSlowDisksDoNotHideALoss(t *testing.T) {
	var shown []string
	for _, e := range []string{"behind: 1", "lost: 7 samples", "behind: 2", "behind: 3", "behind: 4"} {
		shown = day.Trouble(shown, e)
	}
	if !slices.Equal(shown, []string{"lost: 7 samples", "behind: 4"}) {
		t.Errorf("%q", shown)
	}
	for _, e := range []string{"a", "b", "c"} {
		shown = day.Trouble(shown, e)
	}
	if !slices.Equal(shown, []string{"a", "b", "c"}) {
		t.Errorf("%q", shown)
	}
}
