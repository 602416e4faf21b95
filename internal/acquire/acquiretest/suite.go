package acquiretest

import (
	"context"
	"errors"
	"fmt"
	"math"
	"runtime"
	"strings"
	"testing"
	"time"

	"github.com/hardcatch/hardcatch/internal/acquire"
	"github.com/hardcatch/hardcatch/internal/quantity"
	"github.com/hardcatch/hardcatch/internal/waittest"
)

// Bench is a source with its device at the other end.
type Bench struct {
	Source acquire.Source
	// Clock is the source's, where it is given lines.
	Clock *Watched
	// Send makes the device send text; nil when it does not send lines. The source must have been started and
	// be connected, which Ready waits for.
	Send  func(text string)
	Ready func()
	// Stays tells that the source keeps a connection open on which nothing comes.
	Stays bool
	// Cut and Mend take the connection away and give it back; nil when that cannot be.
	Cut, Mend func()
	// Want is all that a source delivers that ends by itself.
	Want [][]float64
	// Write makes a file appear in pieces, the last after a pause; nil when the source gives no records.
	Write func(name string, pieces ...string)
}

// Lines is the pattern that a bench's device must be described with, at Rate.
const (
	Lines = "{counter},{force N},{temp mV}"
	Rate  = 10000
)

// Patience is the silence after which a bench's source of lines takes its device for gone: longer than a busy machine is silent, as no test waits
// for it: Watched.Ahead lets it pass at once.
const Patience = 30 * time.Second

// Describe completes the description of a bench.
func Describe(t *testing.T, d acquire.Description) *acquire.Description {
	t.Helper()
	if d.Rate == 0 && d.Kind != acquire.Sound && d.Kind != acquire.Folder {
		d.Rate = Rate
	}
	if d.Timeout == 0 && d.Lines != "" {
		d.Timeout = quantity.Duration(Patience.Seconds())
	}
	if err := d.Complete(); err != nil {
		t.Fatal(err)
	}
	return &d
}

// Run holds a source to what every source must do.
func Run(t *testing.T, open func(t *testing.T) *Bench) {
	tests := []struct {
		name  string
		apply func(*Bench) bool
		test  func(*testing.T, *Bench, *live)
	}{
		{"every sample in order", (*Bench).sends, everySample},
		{"losses are exact", (*Bench).sends, losses},
		{"garbage is said", (*Bench).sends, garbage},
		{"cut and mended", func(b *Bench) bool { return b.Cut != nil }, cutAndMended},
		{"ends by itself", func(b *Bench) bool { return b.Want != nil }, endsByItself},
		{"complete files only", func(b *Bench) bool { return b.Write != nil }, completeFiles},
		{"ends with its context", func(*Bench) bool { return true }, endsWithContext},
		{"ends when the sink refuses", func(b *Bench) bool { return b.Write == nil }, sinkRefuses},
	}
	for _, c := range tests {
		t.Run(c.name, func(t *testing.T) {
			before := runtime.NumGoroutine()
			var l *live
			t.Cleanup(func() { // runs after what the bench cleans up
				noLeak(t, before)
				if l != nil && l.Late() { // whoever could still call has gone
					t.Error("the sink was called after Run had returned")
				}
			})
			b := open(t)
			if !c.apply(b) {
				t.Logf("does not apply")
				return
			}
			if d := b.Source.Description(); d == nil || d.Kind == "" {
				t.Fatal("the source does not describe itself")
			}
			l = start(t, b)
			c.test(t, b, l)
		})
	}
}

func (b *Bench) sends() bool { return b.Send != nil }

func noLeak(t *testing.T, before int) {
	t.Helper()
	if waittest.Holds(func() bool { return runtime.NumGoroutine() <= before }) {
		return
	}
	room := make([]byte, 1<<16)
	t.Errorf("%d goroutines ran before, %d run after:\n%s", before, runtime.NumGoroutine(), room[:runtime.Stack(room, true)])
}

// live is a running source.
type live struct {
	Recorder
	cancel context.CancelFunc
	ended  chan error
}

func start(t *testing.T, b *Bench) *live {
	t.Helper()
	ctx, cancel := context.WithCancel(context.Background())
	l := &live{cancel: cancel, ended: make(chan error, 1)}
	go func() { l.ended <- b.Source.Run(ctx, &l.Recorder) }()
	t.Cleanup(func() {
		cancel()
		if l.ended == nil {
			return
		}
		if err := <-l.ended; err != nil && !errors.Is(err, context.Canceled) {
			t.Errorf("the source ended with %v", err)
		}
	})
	if b.Ready != nil {
		b.Ready()
	}
	return l
}

func (l *live) stop() error {
	l.cancel()
	err := <-l.ended
	l.ended = nil
	return err
}

// until waits for a condition.
func (l *live) until(t *testing.T, what string, ok func() bool) {
	t.Helper()
	waittest.Until(t, func() string { return fmt.Sprintf("%s; %d samples, events %v", what, l.Next(), l.Events()) }, func() bool {
		if ok() {
			return true
		}
		select {
		case err := <-l.ended:
			l.ended = nil
			t.Fatalf("the source ended while %s was waited for: %v", what, err)
		default:
		}
		return false
	})
}

func force(i int) float64 { return math.Round(1000*math.Sin(float64(i))) / 8 }

func lines(from, to int) string {
	var b strings.Builder
	for i := from; i < to; i++ {
		fmt.Fprintf(&b, "%d,%g,%d\r\n", i, force(i), i%50)
	}
	return b.String()
}

// check wants the samples from..to with the numbers they were sent with; origin is the counter of sample 0.
func (l *live) check(t *testing.T, origin, to int, lost func(int) bool) {
	t.Helper()
	for i := range to - origin {
		v, ok := l.At(int64(i))
		gone := lost != nil && lost(origin+i)
		switch {
		case gone && ok && !math.IsNaN(v[0]):
			t.Fatalf("sample %d was not sent and is %v", i, v)
		case !gone && (!ok || v[0] != force(origin+i) || v[1] != float64((origin+i)%50)):
			t.Fatalf("sample %d is %v (there: %v), want %g and %d", i, v, ok, force(origin+i), (origin+i)%50)
		}
	}
}

func everySample(t *testing.T, b *Bench, l *live) {
	for at := 0; at < 5000; at += 250 {
		b.Send(lines(at, at+250))
		// As much as a connection holds, and no more: datagrams that nobody takes are lost.
		l.until(t, fmt.Sprintf("%d samples", at+250), func() bool { return l.Next() == int64(at+250) })
	}
	l.check(t, 0, 5000, nil)
	for _, e := range l.Events() {
		if !slow(e) {
			t.Errorf("event %v", e)
		}
	}
	if l.Breaks() {
		t.Error("arrival times or sample numbers go backwards")
	}
}

// slow tells the word that samples arrive at another rate than is stated: they do, on a busy machine, since the next are sent when these have
// come.
func slow(e acquire.Event) bool {
	return e.Kind == acquire.ClockSlip && strings.Contains(e.Text, "samples a second arrive")
}

func losses(t *testing.T, b *Bench, l *live) {
	lost := func(i int) bool { return i > 0 && i < 2999 && (i%37 == 0 || i >= 1000 && i < 1200 || i%101 < 2) }
	var text strings.Builder
	known, last := 0, 0
	for i := range 3000 {
		if lost(i) {
			known++
		} else {
			text.WriteString(lines(i, i+1))
			if i > 0 && !lost(i-1) {
				last = i // one behind a gap is believed when the next has come
			}
		}
		if i%200 == 199 && text.Len() > 0 {
			b.Send(text.String())
			text.Reset()
			l.until(t, fmt.Sprintf("sample %d", last), func() bool { return l.Next() > int64(last) })
		}
	}
	l.until(t, "3000 samples", func() bool { return l.Next() == 3000 })
	l.check(t, 0, 3000, lost)
	if n := l.Count(acquire.Lost); n != int64(known) {
		t.Errorf("%d samples are said to be lost, %d were", n, known)
	}
	for _, e := range l.Events() {
		for i := e.From; i < e.From+e.Count; i++ {
			if !slow(e) && (e.Kind != acquire.Lost || !lost(int(i))) {
				t.Fatalf("event %v", e)
			}
		}
	}
}

func garbage(t *testing.T, b *Bench, l *live) {
	b.Send(lines(0, 100) + "10x,1\r\n\x00\xff\xfe\r\n" + lines(100, 200) + "999999999999,5,5\r\n" + lines(200, 300) + "\r\n")
	l.until(t, "300 samples", func() bool { return l.Next() == 300 })
	l.check(t, 0, 300, nil)
	if n := l.Count(acquire.Garbage); n != 3 {
		t.Errorf("%d lines of garbage are said, 3 were sent: %v", n, l.Events())
	}
	if n := l.Count(acquire.Lost); n != 0 {
		t.Errorf("%d samples are said to be lost", n)
	}
}

func cutAndMended(t *testing.T, b *Bench, l *live) {
	b.Send(lines(0, 500))
	l.until(t, "500 samples", func() bool { return l.Next() == 500 })
	before := b.Clock.Slept()
	b.Cut()
	l.until(t, "the word that the device is gone", func() bool { return l.Has(acquire.Disconnected) })
	b.Mend()
	if !b.Stays {
		b.Clock.Reopened(t, before)
	}
	// The first line after a cut may be cut itself; 100 were not sent.
	for at := 600; at < 1000; at += 100 {
		b.Send(lines(at, at+100))
	}
	l.until(t, "the word that it is back", func() bool { return l.Has(acquire.Reconnected) })
	l.until(t, "1000 samples", func() bool { return l.Next() == 1000 })
	n := l.Count(acquire.Lost)
	if n < 100 || n != 1000-l.Numbers() {
		t.Errorf("%d samples are said to be lost, %d came: %v", n, l.Numbers(), l.Events())
	}
	l.check(t, 0, 500, nil)
	for i := 1000 - 100; i < 1000; i++ {
		if v, ok := l.At(int64(i)); !ok || v[0] != force(i) {
			t.Fatalf("sample %d is %v", i, v)
		}
	}
}

func endsByItself(t *testing.T, b *Bench, l *live) {
	select {
	case err := <-l.ended:
		l.ended = nil
		if err != nil {
			t.Fatal(err)
		}
	case <-time.After(20 * time.Second):
		t.Fatal("the source does not end")
	}
	if l.Next() != int64(len(b.Want[0])) {
		t.Fatalf("%d samples, want %d", l.Next(), len(b.Want[0]))
	}
	for i := range b.Want[0] {
		v, ok := l.At(int64(i))
		for c := range b.Want {
			if !ok || v[c] != b.Want[c][i] {
				t.Fatalf("channel %d sample %d is %v, want %v", c, i, v[c], b.Want[c][i])
			}
		}
	}
}

func completeFiles(t *testing.T, b *Bench, l *live) {
	b.Write("one.csv", "time,force\n", "0,1\n", "1,2\n")
	b.Write("two.csv", "x\n1\n")
	l.until(t, "two records", func() bool { return len(l.Records()) == 2 })
	for _, r := range l.Records() {
		if want := map[string]string{"one.csv": "time,force\n0,1\n1,2\n", "two.csv": "x\n1\n"}[r.Name]; string(r.Data) != want {
			t.Errorf("%s holds %q, want %q", r.Name, r.Data, want)
		}
	}
}

func endsWithContext(t *testing.T, b *Bench, l *live) {
	if b.Send != nil {
		b.Send(lines(0, 100))
		l.until(t, "100 samples", func() bool { return l.Next() == 100 })
	}
	from := time.Now()
	if err := l.stop(); !errors.Is(err, context.Canceled) && b.Want == nil {
		t.Errorf("the source ended with %v", err)
	}
	l.Over()
	if took := time.Since(from); took > 5*time.Second {
		t.Errorf("it took %s to stop", took)
	}
}

func sinkRefuses(t *testing.T, b *Bench, l *live) {
	l.Refuse(errFull)
	if b.Send != nil {
		b.Send(lines(0, 100))
	}
	select {
	case err := <-l.ended:
		l.ended = nil
		if !errors.Is(err, errFull) {
			t.Errorf("the source ended with %v", err)
		}
	case <-time.After(10 * time.Second):
		t.Error("the source goes on though the sink refuses")
	}
}

var errFull = errors.New("the sink is full")
