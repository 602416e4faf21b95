package acquire_test

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/hardcatch/hardcatch/internal/acquire"
	"github.com/hardcatch/hardcatch/internal/acquire/acquiretest"
	"github.com/hardcatch/hardcatch/internal/acquire/spool"
)

const childEnv = "HARDCATCH_CAPTURE_UNTIL_KILLED"

func TestMain(m *testing.M) {
	if dir := os.Getenv(childEnv); dir != "" {
		if err := captureUntilKilled(dir); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
		os.Exit(0)
	}
	os.Exit(m.Run())
}

// stream is what the child captures: a quiet line that jumps to 1 kN at sample 400 and stays there.
func stream(first int64, n int) [][]float64 {
	v := [][]float64{make([]float64, n), make([]float64, n)}
	for k := range n {
		i := first + int64(k)
		v[0][k], v[1][k] = float64(i%7), float64(i)/3
		if i >= 400 {
			v[0][k] += 1000
		}
	}
	return v
}

var untilKilled = acquire.Trigger{Level: level(500), Pre: 0.03, Post: 3600}

// captureUntilKilled takes a drop that does not end, and acknowledges on standard output what is secured.
func captureUntilKilled(dir string) error {
	d := &acquire.Description{Name: "child", Kind: acquire.TCP, Address: "x", Rate: 10000, Lines: "{counter},{force N},{temp mV}"}
	if err := d.Complete(); err != nil {
		return err
	}
	clock := acquire.WallClock{}
	p := func(ctx context.Context, out acquire.Sink, clock acquire.Clock) error {
		for at := int64(0); ; at += 20 {
			if err := out.Samples(&acquire.Block{First: at, Values: stream(at, 20), Arrived: clock.Now()}); err != nil {
				return err
			}
			if err := clock.Sleep(ctx, 500*time.Microsecond); err != nil {
				return err
			}
		}
	}
	s, err := acquire.Open(acquiretest.Source{D: d, Clock: clock, Play: p, Hold: true}, acquire.Settings{Spool: dir, Clock: clock, Trigger: untilKilled, Commit: 2 * time.Millisecond, Segment: 30 * time.Millisecond})
	if err != nil {
		return err
	}
	ctx := context.Background()
	go func() {
		if err := s.Arm(ctx); err != nil {
			return
		}
		for {
			fmt.Println(s.Secured(), s.State())
			time.Sleep(time.Millisecond) // Waits for time: the pace of its acknowledgements.
		}
	}()
	return s.Run(ctx)
}

// life starts a child, kills it after it has acknowledged some samples of the drop, and returns the last
// acknowledgement.
func life(t *testing.T, dir string, wanted int64, more time.Duration) int64 {
	t.Helper()
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(self)
	cmd.Env = append(os.Environ(), childEnv+"="+dir)
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	cmd.Stderr = os.Stderr
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	in := bufio.NewReader(out)
	acknowledged, killed := int64(0), false
	for {
		line, err := in.ReadString('\n')
		if err != nil {
			break
		}
		number, state, _ := strings.Cut(strings.TrimSpace(line), " ")
		if n, err := strconv.ParseInt(number, 10, 64); err == nil {
			acknowledged = n
		}
		if !killed && state == string(acquire.Triggered) && acknowledged >= wanted {
			killed = true
			go func() {
				time.Sleep(more) // Waits for time: the moment of the kill.
				_ = cmd.Process.Kill()
			}()
		}
	}
	var exit *exec.ExitError
	if err := cmd.Wait(); !errors.As(err, &exit) || !killed {
		t.Fatalf("the child ended with %v, want that it was killed", err)
	}
	return acknowledged
}

// The process is killed in the middle of a drop again and again; the next one finds the spool, finishes the drop, and
// has every sample that was acknowledged.
func TestKilledInTheMiddleOfADrop(t *testing.T) {
	lives := 100
	if testing.Short() {
		lives = 10
	}
	r := rand.New(rand.NewPCG(3, 5))
	total := int64(0)
	for n := range lives {
		dir := t.TempDir()
		acknowledged := life(t, dir, 420+r.Int64N(1500), time.Duration(r.IntN(8000))*time.Microsecond)
		x := recovered(t, dir)
		if x.Trigger != 400 || x.First != 100 || x.By != "level" || !x.Recovered || !strings.Contains(x.Ended, "cut off") {
			t.Fatalf("life %d: trigger %d first %d by %s ended %s", n, x.Trigger, x.First, x.By, x.Ended)
		}
		if end := x.First + int64(x.Len()); end < acknowledged {
			t.Fatalf("life %d: %d samples were acknowledged, %d are left", n, acknowledged, end)
		}
		want := stream(x.First, x.Len())
		for c := range want {
			for i := range want[c] {
				if x.values[c][i] != want[c][i] {
					t.Fatalf("life %d: channel %d sample %d is %v, want %v", n, c, i, x.values[c][i], want[c][i])
				}
			}
		}
		total += acknowledged
	}
	t.Logf("%d lives, %d samples acknowledged", lives, total)
}

// recovered opens a spool as the next capture does, takes its one drop, and lets the spool forget it.
func recovered(t *testing.T, dir string) kept {
	t.Helper()
	clock := acquire.WallClock{}
	idle := acquiretest.Source{D: describe(t), Clock: clock, Play: func(ctx context.Context, _ acquire.Sink, _ acquire.Clock) error {
		<-ctx.Done()
		return ctx.Err()
	}}
	s, err := acquire.Open(idle, acquire.Settings{Spool: dir, Clock: clock, Trigger: acquire.Trigger{Post: 1}})
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(t.Context())
	ended := make(chan error, 1)
	go func() { ended <- s.Run(ctx) }()
	if _, n, _ := s.Recovered(); n != 1 {
		t.Fatalf("%d drops were found in the spool", n)
	}
	x := keep(t, <-s.Drops())
	if err := s.Taken(ctx, x.ID); err != nil {
		t.Fatal(err)
	}
	cancel()
	if err := <-ended; err != nil {
		t.Fatal(err)
	}
	if list, err := spool.Segments(dir); err != nil || len(list) != 0 {
		t.Fatalf("the spool still holds %v (%v)", list, err)
	}
	return x
}

// oneDrop arms a session, takes its first drop and ends it.
func oneDrop(t *testing.T, s *acquire.Capture) *acquire.Drop {
	t.Helper()
	ctx, cancel := context.WithCancel(t.Context())
	ended := make(chan error, 1)
	go func() { ended <- s.Run(ctx) }()
	if err := s.Arm(ctx); err != nil {
		t.Fatal(err)
	}
	x := <-s.Drops()
	cancel()
	if err := <-ended; err != nil {
		t.Fatal(err)
	}
	return x
}

// What nobody took is handed over again, under the same name.
func TestNotTakenIsHandedOverAgain(t *testing.T) {
	dir := t.TempDir()
	clock := acquire.WallClock{}
	open := func() *acquire.Capture {
		s, err := acquire.Open(acquiretest.Source{D: describe(t), Clock: clock, Play: play(10000, nil), Hold: true}, acquire.Settings{Spool: dir, Clock: clock, Trigger: acquire.Trigger{Level: level(500), Pre: 0.1, Post: 0.3}})
		if err != nil {
			t.Fatal(err)
		}
		return s
	}
	s := open()
	first := oneDrop(t, s)
	again := recovered(t, dir)
	if again.ID != first.ID || again.Len() != first.Len() || again.Ended != "time" || again.Trigger != first.Trigger {
		t.Errorf("%s (%d samples, %s) comes again as %s (%d samples, %s)", first.ID, first.Len(), first.Ended, again.ID, again.Len(), again.Ended)
	}
}

// A spool torn at any byte gives back the drop up to the last complete frame, and says what was torn.
func TestSpoolTornAnywhere(t *testing.T) {
	dir := t.TempDir()
	_ = life(t, dir, 3000, 0) // several segments
	list, err := spool.Segments(dir)
	if err != nil || len(list) == 0 {
		t.Fatal(list, err)
	}
	last := list[len(list)-1]
	whole, err := os.ReadFile(last.Path)
	if err != nil {
		t.Fatal(err)
	}
	r := rand.New(rand.NewPCG(1, 1))
	before := 0
	cuts := []int{0, 1, len(whole)}
	for range 20 {
		cuts = append(cuts, r.IntN(len(whole)))
	}
	for _, cut := range cuts {
		to := t.TempDir()
		for _, s := range list {
			text, err := os.ReadFile(s.Path)
			if err != nil {
				t.Fatal(err)
			}
			if s == last {
				text = text[:cut]
			}
			if err := os.WriteFile(filepath.Join(to, filepath.Base(s.Path)), text, 0o644); err != nil {
				t.Fatal(err)
			}
		}
		x := recovered(t, to)
		want := stream(x.First, x.Len())
		for i := range want[0] {
			if x.values[0][i] != want[0][i] {
				t.Fatalf("cut at %d: sample %d is %v, want %v", cut, i, x.values[0][i], want[0][i])
			}
		}
		if cut == 0 {
			before = x.Len()
		}
		if x.Len() < before {
			t.Errorf("cut at %d: %d samples, fewer than the %d of the segments before", cut, x.Len(), before)
		}
	}
}
