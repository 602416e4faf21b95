package day_test

import (
	"context"
	"math"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/hardcatch/hardcatch/internal/day"
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/quantity"
	"github.com/hardcatch/hardcatch/internal/reduce"
	"github.com/hardcatch/hardcatch/internal/store"
)

// practised answers every question before the drop that is prepared, the zero by a reason.
func practised(t *testing.T, x *day.Day) {
	t.Helper()
	for i, item := range x.Moment().Items {
		if item.State == drop.CheckOpen {
			if _, err := x.Toggle(i+1, "practice"); err != nil {
				t.Fatal(err)
			}
		}
	}
}

func hears(x *day.Day, id string, record []byte) day.State {
	x.Hear(context.Background(), day.Signal{Drop: &day.Captured{ID: id, Name: id + ".csv", Original: store.Bytes(record)}})
	return x.Moment()
}

// 80 kg were hung where 100 kg were entered, so that the audit disagrees: what the record proposes is not confirmed by one key, nor
// entered without a reason; and once it is void, nothing but a name with a reason brings it back.
func TestNoKeyDecidesAgainstTheAudit(t *testing.T) {
	x, _ := armed(t)
	// A lanyard over which 80 kg fell, reduced as 100 kg: all forces are 0.8 of those that momentum asks for.
	var light strings.Builder
	for i, l := range strings.Split(strings.TrimSpace(string(record(t, 1, 1, 0))), "\n") {
		if at, f, ok := strings.Cut(l, ","); ok && i > 0 {
			light.WriteString(at + "," + scaled(t, f, 0.8) + "\n")
			continue
		}
		light.WriteString(l + "\n")
	}
	st := hears(x, "w-1", []byte(light.String()))
	if st.Taken == nil || st.Taken.Audit != reduce.Disagrees {
		t.Fatalf("the audit does not disagree: %+v", st.Taken)
	}
	for _, o := range []drop.Outcome{"", drop.Held, drop.Broke, drop.Slipped} {
		if st, err := x.Decide(t.Context(), o, drop.Unsaid, ""); err == nil || st.Settled != "" || !strings.Contains(err.Error(), "look at it first") {
			t.Errorf("%q is entered without a look: %v", o, err)
		}
	}
	if st, err := x.Decide(t.Context(), drop.Void, drop.Unsaid, "80 kg hung"); err != nil || st.Settled != "void" {
		t.Fatal(err)
	}
	for _, o := range []drop.Outcome{"", drop.Held, drop.Broke, drop.Void} {
		if st, err := x.Decide(t.Context(), o, drop.Unsaid, "so"); err == nil || st.Settled != "void" {
			t.Errorf("%q un-voids the drop", o)
		}
	}
	if st, err := x.Withdraw(t.Context(), " "); err == nil || st.Settled != "void" {
		t.Error("taken back without a reason")
	}
	if st, err := x.Withdraw(t.Context(), "the entry is mended"); err != nil || st.Settled != "" {
		t.Errorf("%+v %v", st.Settled, err)
	}
}

// A void drop counts in its cell no more, as soon as it is void, and again once that is taken back.
func TestNothingIsStaleAfterADecision(t *testing.T) {
	x, _ := armed(t)
	st := hears(x, "w-1", record(t, 1, 1, 0))
	cell := func() [2]int { c := x.Moment().Taken.Cell; return [2]int{c.N, c.Void} }
	if cell() != [2]int{1, 0} || st.By != "ab" {
		t.Errorf("%v, by %q", cell(), st.By)
	}
	if st, err := x.Decide(t.Context(), drop.Void, drop.Unsaid, "it swung"); err != nil || cell() != [2]int{0, 1} || !strings.Contains(st.Taken.Cell.Text.String(), "void") || st.Taken.Cell.Standing != nil {
		t.Errorf("void, it counts as %v: %s %v", cell(), st.Taken.Cell.Text, err)
	}
	if st, err := x.Withdraw(t.Context(), "it did not"); err != nil || cell() != [2]int{1, 0} || len(st.Taken.Warnings) != 0 {
		t.Errorf("%v %v %v", cell(), st.Taken.Warnings, err)
	}
}

// 830 N that swing by 410 N have no slope over a second, and yet they move. Only the program says that the zero stands; with a second of
// quiet, or with a reason, it is armed.
func TestNothingIsArmedWhileTheMassMoves(t *testing.T) {
	d, live := newDay(t, plan), &obedient{}
	x, err := day.New(t.Context(), d.Access, d.path, live, day.TakeInput{By: "ab"}, nil)
	if err != nil {
		t.Fatal(err)
	}
	at := 0.0
	views := func(n int, f func(at float64) float64) {
		for range n {
			v := quantity.Force(f(at))
			x.Hear(t.Context(), day.Signal{View: &day.LiveView{State: "idle", At: quantity.Duration(at), Min: v - 3, Max: v + 3, Last: v}})
			at += 0.02
		}
	}
	swing := func(at float64) float64 { return 830 + 410*math.Cos(2*math.Pi*at) }
	still := func(float64) float64 { return 20 }
	for k := range 7 {
		if k != 4 {
			if _, err := x.Toggle(k+1, "practice"); err != nil {
				t.Fatal(err)
			}
		}
	}
	views(120, swing)
	st, err := x.Arm(t.Context())
	if zero := st.Items[4]; err == nil || st.Phase != day.Preparing || zero.State != drop.CheckOpen || !strings.Contains(zero.Found, "it moves") {
		t.Fatalf("armed while 830 N swing by 410 N: %+v %v", st.Items[4], err)
	}
	if _, err := x.Toggle(5, ""); err == nil || x.Moment().Items[4].State != drop.CheckOpen {
		t.Error("a person ticks that the zero stands")
	}
	views(48, still) // 0.94 s between the first of them and the last
	if _, err = x.Arm(t.Context()); err == nil {
		t.Error("armed after less than a second of quiet")
	}
	views(4, still)
	if st, err = x.Arm(t.Context()); err != nil || st.Items[4].State != drop.CheckDone {
		t.Errorf("not armed after a second of quiet: %+v %v", st.Items[4], err)
	}
	if _, err = x.Disarm(); err != nil {
		t.Fatal(err)
	}
	views(60, swing)
	if _, err = x.Toggle(5, "the wind moves it"); err != nil {
		t.Fatal(err)
	}
	if st, err = x.Arm(t.Context()); err != nil || st.Items[4].Reason != "the wind moves it" {
		t.Errorf("%+v %v", st.Items[4], err)
	}
}

// A fall that comes while nothing is armed, or while a decision waits, belongs to no drop: it is kept and said. The capture watches from
// the first moment on, and after a drop as soon as the mass hangs quietly, so that no rebound is taken for a fall.
func TestAFallThatNobodyAwaitedIsKept(t *testing.T) {
	d, live := newDay(t, plan), &obedient{}
	live.signals = make(chan day.Signal)
	x, err := day.New(t.Context(), d.Access, d.path, live, day.TakeInput{By: "ab"}, nil)
	if err != nil {
		t.Fatal(err)
	}
	done := make(chan bool)
	var shown []string
	go func() {
		defer close(done)
		x.Follow(context.Background(), func(v day.LiveView) { shown = append(shown, v.State) })
	}()
	live.signals <- day.Signal{View: &day.LiveView{State: "armed", Min: 1, Max: 2}}
	told(t, x, "it watches", func(day.State) bool { return slices.Equal(live.given(), []string{"arm"}) })
	live.signals <- day.Signal{Drop: &day.Captured{ID: "s-1", Name: "s-1.csv", Original: store.Bytes(record(t, 1, 1, 0))}}
	st := told(t, x, "it is kept", func(s day.State) bool { return len(s.Found) == 1 })
	if f := st.Found[0]; !f.Stray || f.Likely != "" || st.Taken != nil || st.Phase != day.Preparing || !strings.Contains(st.Message.String(), "while no drop was awaited") {
		t.Errorf("%+v", st)
	}
	practised(t, x)
	live.signals <- day.Signal{View: &day.LiveView{State: "triggered", At: 1, Min: 600, Max: 900}}
	told(t, x, "it records", func(day.State) bool {
		st, err := x.Arm(context.Background())
		if err == nil { // the view has not come yet
			_, err = x.Disarm()
		}
		return err != nil && strings.Contains(st.Message.String(), "is being recorded")
	})
	views := func(from float64, n int, f func(i int) quantity.Force) {
		for i := range n {
			live.signals <- day.Signal{View: &day.LiveView{State: "done", At: quantity.Duration(from + 0.02*float64(i)), Min: f(i) - 4, Max: f(i) + 4}}
		}
	}
	views(2, 1, func(int) quantity.Force { return 981 })
	told(t, x, "armed", func(s day.State) bool {
		_, err := x.Arm(context.Background())
		return err == nil || s.Phase == day.Armed
	})
	live.signals <- day.Signal{Drop: &day.Captured{ID: "d-1", Name: "d-1.csv", Original: store.Bytes(record(t, 2, 1, 0))}}
	told(t, x, "it is read", func(s day.State) bool { return s.Phase == day.Reading })
	before := len(live.given())
	views(3, 100, func(i int) quantity.Force { return quantity.Force(3000 + 2500*math.Cos(float64(i)/5)) })
	if n := len(live.given()); n != before {
		t.Error("it watches while the mass still bounces")
	}
	views(5, 60, func(int) quantity.Force { return 981 })
	told(t, x, "it watches again", func(day.State) bool { return len(live.given()) == before+1 })
	live.signals <- day.Signal{Drop: &day.Captured{ID: "s-2", Name: "s-2.csv", Original: store.Bytes(record(t, 3, 1, 0))}}
	st = told(t, x, "it is kept, too", func(s day.State) bool { return len(s.Found) == 2 })
	if st.Phase != day.Reading || st.Taken.Drop.ID == "" || st.Settled != "" {
		t.Errorf("%+v", st)
	}
	close(live.signals)
	<-done
	if shown[0] != "idle" {
		t.Errorf("nothing is armed, and the page says %s", shown[0])
	}
}

// scaled is a number of a record, times a factor.
func scaled(t *testing.T, text string, by float64) string {
	t.Helper()
	v, err := strconv.ParseFloat(text, 64)
	if err != nil && text != "F [N]" {
		t.Fatal(err)
	}
	return strconv.FormatFloat(v*by, 'f', 2, 64)
}
