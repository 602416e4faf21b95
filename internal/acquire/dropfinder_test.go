package acquire

import (
	"fmt"
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"
)

func at(v float64) *float64 { return &v }

// found runs a signal through a finder that is armed from the start, in blocks of the lengths given, and tells what
// it found. 1 kHz.
func found(t interface {
	Helper()
	Fatal(...any)
}, signal []float64, tr Trigger, cut func() int) []string {
	t.Helper()
	d := &Description{Kind: TCP, Address: "x", Rate: 1000, Lines: "{counter},{a}"}
	if err := d.Complete(); err != nil {
		t.Fatal(err)
	}
	m, err := newDropFinder(d, tr, spooled{run: "r"})
	if err != nil {
		t.Fatal(err)
	}
	m.obey(orderArm, time.Time{})
	for i := 0; i < len(signal); {
		if math.IsNaN(signal[i]) { // lost: no block holds it
			i++
			continue
		}
		j := i
		for most := i + cut(); j < len(signal) && j < most && !math.IsNaN(signal[j]); {
			j++
		}
		m.feed(&Block{First: int64(i), Values: [][]float64{signal[i:j]}})
		i = j
	}
	var list []string
	for _, x := range m.ready {
		list = append(list, fmt.Sprintf("%s at %d, %d to %d, %s", x.By, x.Trigger, x.First, x.First+int64(x.Len()), x.Ended))
		absent := int64(0)
		for _, v := range signal[x.First : x.First+int64(x.Len())] {
			if math.IsNaN(v) {
				absent++
			}
		}
		if x.absent != absent {
			t.Fatal(fmt.Sprintf("%s counts %d samples that did not come, want %d", x.ID, x.absent, absent))
		}
	}
	return list
}

func TestTriggers(t *testing.T) {
	step := func(n int, parts ...float64) (s []float64) {
		for _, v := range parts {
			for range n {
				s = append(s, v)
			}
		}
		return s
	}
	all := func() int { return 1 << 30 }
	for _, c := range []struct {
		name   string
		signal []float64
		tr     Trigger
		want   []string
	}{
		{"level", step(100, 0, 10, 0, 0), Trigger{Level: at(5), Pre: 0.05, Post: 0.2}, []string{"level at 100, 50 to 300, time"}},
		{"loaded from the start", step(100, 10, 10, 0, 10, 0, 0), Trigger{Level: at(5), Pre: 0.05, Post: 0.1}, []string{"level at 300, 250 to 400, time"}},
		{"within the hysteresis", step(100, 4.8, 10, 0, 10, 0), Trigger{Level: at(5), Post: 0.1}, []string{"level at 300, 300 to 400, time"}},
		{"a smaller hysteresis", step(100, 4.8, 10, 0, 10, 0), Trigger{Level: at(5), Hysteresis: 0.1, Post: 0.1}, []string{"level at 100, 100 to 200, time"}},
		{"falling", step(100, 10, 1, 10), Trigger{Level: at(5), Falling: true, Pre: 0.02, Post: 0.1}, []string{"level at 100, 80 to 200, time"}},
		{"negative level", step(100, 0, -10, 0), Trigger{Level: at(-5), Falling: true, Post: 0.1}, []string{"level at 100, 100 to 200, time"}},
		{"only once", step(100, 0, 10, 0, 10, 0), Trigger{Level: at(5), Post: 0.05}, []string{"level at 100, 100 to 150, time"}},
		{"again", step(100, 0, 10, 0, 10, 0), Trigger{Level: at(5), Post: 0.05, Again: true}, []string{"level at 100, 100 to 150, time", "level at 300, 300 to 350, time"}},
		{"hold-off", step(100, 0, 10, 0, 10, 0, 10, 0), Trigger{Level: at(5), Post: 0.05, Again: true, HoldOff: 0.2}, []string{"level at 100, 100 to 150, time", "level at 500, 500 to 550, time"}},
		{"quiet", step(100, 0, 10, 0, 10, 0, 0, 0), Trigger{Level: at(5), Post: 2, Quiet: 0.15}, []string{"level at 100, 100 to 550, quiet"}},
		{"slope", step(100, 0, 0.5, 2), Trigger{Slope: 1000, Post: 0.01}, []string{"slope at 200, 200 to 210, time"}},
		{"slope over a longer time", step(10, 0, 1, 2, 3, 4, 5, 6), Trigger{Slope: 100, Over: 0.03, Post: 0.01}, []string{"slope at 30, 30 to 40, time"}},
		{"no pre-trigger there yet", step(10, 0, 10, 10), Trigger{Level: at(5), Pre: 1, Post: 0.01}, []string{"level at 10, 0 to 20, time"}},
		{"neither", step(10, 0, 10, 0), Trigger{Post: 0.01}, nil},
	} {
		for name, cut := range map[string]func() int{"whole": all, "one by one": func() int { return 1 }, "sevens": func() int { return 7 }} {
			if got := found(t, c.signal, c.tr, cut); fmt.Sprint(got) != fmt.Sprint(c.want) {
				t.Errorf("%s, %s: %q, want %q", c.name, name, got, c.want)
			}
		}
	}
}

// How a stream is cut into blocks changes nothing, whatever is lost in it; and each drop knows how much of it did not come.
func TestBlocksDoNotMatter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		signal := rapid.SliceOfN(rapid.Custom(func(t *rapid.T) float64 {
			return []float64{0, 0, 0, 3, 6, 6, 9, math.NaN()}[rapid.IntRange(0, 7).Draw(t, "v")]
		}), 1, 200).Draw(t, "signal")
		tr := Trigger{Level: at(5), Pre: 0.007, Post: 0.02, Quiet: 0.004, Again: rapid.Bool().Draw(t, "again"), HoldOff: 0.003}
		whole := found(t, signal, tr, func() int { return 1 << 30 })
		cut := found(t, signal, tr, func() int { return rapid.IntRange(1, 9).Draw(t, "cut") })
		if fmt.Sprint(whole) != fmt.Sprint(cut) {
			t.Fatalf("whole %q, cut %q", whole, cut)
		}
	})
}

func TestTriggersThatCannotBe(t *testing.T) {
	d := &Description{Kind: TCP, Address: "x", Rate: 1000, Lines: "{counter},{a}"}
	if err := d.Complete(); err != nil {
		t.Fatal(err)
	}
	for name, tr := range map[string]Trigger{
		"no time after": {Level: at(5)}, "another channel": {Channel: "b", Post: 1}, "negative time": {Pre: -1, Post: 1}, "NaN": {Level: at(math.NaN()), Post: 1},
		"negative slope": {Slope: -1, Post: 1}, "hours": {Post: 7200},
	} {
		if _, err := newDropFinder(d, tr, spooled{run: "r"}); err == nil {
			t.Errorf("%s: %+v was taken", name, tr)
		}
	}
}

// The view of 20 ms holds least, largest and last number of each channel.
func TestViews(t *testing.T) {
	d := &Description{Kind: TCP, Address: "x", Rate: 1000, Lines: "{counter},{a}"}
	if err := d.Complete(); err != nil {
		t.Fatal(err)
	}
	w := newViewer(d)
	var got []View
	feed := func(first int64, v ...float64) {
		w.add(&Block{First: first, Values: [][]float64{v}}, Armed, func(v View) { got = append(got, v) })
	}
	v := make([]float64, 30)
	for i := range v {
		v[i] = float64(i)
	}
	v[3], v[4] = math.NaN(), -7
	feed(0, v...)
	feed(50, 1) // 30 to 50 were lost
	feed(60, 2)
	if len(got) != 3 || got[0].Ranges[0] != (Range{-7, 19, 19, true}) || got[0].Missing != 0 || got[1].First != 20 || got[1].Samples != 10 || got[1].Missing != 10 || got[1].Ranges[0] != (Range{20, 29, 29, true}) ||
		got[2].First != 40 || got[2].Samples != 1 || got[2].Ranges[0] != (Range{1, 1, 1, true}) {
		t.Errorf("%+v", got)
	}
}
