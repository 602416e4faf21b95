package web_test

import (
	"bufio"
	"bytes"
	"context"
	"encoding/csv"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"net"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"github.com/hardcatch/hardcatch/internal/app"
	"github.com/hardcatch/hardcatch/internal/day"
)

// device is a logger that sends lines of four channels at 50 kHz over TCP, as fast as the clock goes.
type device struct {
	l      net.Listener
	order  atomic.Int32 // what the force does next: stepUp, stepDown, letGo
	when   chan moments
	failed chan error
}

// moments are when the first sample of an order, and the last of the record that it triggers, were handed to the wire.
type moments struct{ first, last time.Time }

const (
	deviceRate = 50000
	stepUp     = 1
	stepDown   = 2
	letGo      = 3

	stepForce = 2000.0  // N, in idle
	peakForce = 12000.0 // N, of a half sine of 80 ms
	postTime  = 5       // s, as serve records by default
)

func newDevice(b *testing.B) *device {
	b.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		b.Fatal(err)
	}
	d := &device{l: l, when: make(chan moments, 4), failed: make(chan error, 1)}
	go func() { d.failed <- d.send() }()
	b.Cleanup(func() {
		if err := l.Close(); err != nil {
			b.Error(err)
		}
		if err := <-d.failed; err != nil && !errors.Is(err, net.ErrClosed) && !strings.Contains(err.Error(), "broken pipe") && !strings.Contains(err.Error(), "reset") {
			b.Error(err)
		}
	})
	return d
}

func (d *device) source() string {
	return fmt.Sprintf("name: bench\nkind: tcp\naddress: %q\nrate: %d Hz\nlines: \"{counter},{force N},{a V},{b V},{c V}\"\nmodulus: 4294967296\n", d.l.Addr(), deviceRate)
}

// send plays until the connection ends. Samples leave every 2 ms.
func (d *device) send() error {
	c, err := d.l.Accept()
	if err != nil {
		return err
	}
	rng := rand.New(rand.NewPCG(1, 2))
	start := time.Now()
	level, began, next, last := 0.0, int64(-1), int64(0), int64(-1)
	var m moments
	var out []byte
	for {
		time.Sleep(2 * time.Millisecond) // Waits for time: the pace of the device.
		order := d.order.Swap(0)
		switch order {
		case stepUp:
			level = stepForce
		case stepDown:
			level = 0
		case letGo:
			began, last = next, -1
		}
		due := int64(time.Since(start).Seconds() * deviceRate)
		out = out[:0]
		triggered, ended := false, false
		for ; next < due; next++ {
			f := 30 + level + 5*rng.NormFloat64()
			if began >= 0 {
				t := float64(next-began) / deviceRate
				switch {
				case t < 0.08:
					f += peakForce * math.Sin(math.Pi*t/0.08)
				case t > 0.5 && t < 4.5:
					f += 981
				}
				if last < 0 && f > 500 {
					last, triggered = next+postTime*deviceRate, true
				}
			}
			ended = ended || next == last
			out = strconv.AppendInt(out, next, 10)
			out = strconv.AppendFloat(append(out, ','), f, 'f', 3, 64)
			for range 3 {
				out = strconv.AppendFloat(append(out, ','), 0.001*rng.Float64(), 'f', 5, 64)
			}
			out = append(out, '\r', '\n')
		}
		now := time.Now()
		if _, err := c.Write(out); err != nil {
			return err
		}
		if order == stepUp || triggered {
			m.first = now
		}
		if order == stepUp || ended {
			m.last = now
			d.when <- m
		}
		if ended {
			began = -1
		}
	}
}

// served is the program with a live source, as a process of its own.
type served struct {
	url string
	pid int
}

func serve(b *testing.B, campaign, source string) served {
	b.Helper()
	dir := b.TempDir()
	program := filepath.Join(dir, "hardcatch")
	if text, err := exec.Command("go", "build", "-o", program, "github.com/hardcatch/hardcatch/cmd/hardcatch").CombinedOutput(); err != nil {
		b.Fatalf("%v\n%s", err, text)
	}
	file := filepath.Join(dir, "source.yaml")
	if err := os.WriteFile(file, []byte(source), 0o600); err != nil {
		b.Fatal(err)
	}
	c := exec.Command(program, "serve", campaign, "--source", file, "--by", "ab", "--spool", filepath.Join(dir, "spool"))
	c.Stderr = os.Stderr
	out, err := c.StdoutPipe()
	if err != nil {
		b.Fatal(err)
	}
	if err := c.Start(); err != nil {
		b.Fatal(err)
	}
	b.Cleanup(func() {
		if err := c.Process.Signal(os.Interrupt); err != nil {
			b.Error(err)
		}
		if err := c.Wait(); err != nil {
			b.Log(err)
		}
	})
	lines := bufio.NewScanner(out)
	if !lines.Scan() {
		b.Fatal("the program does not say its address")
	}
	return served{strings.TrimSuffix(lines.Text(), "/"), c.Process.Pid}
}

// used is the processor time so far of a process and of all that it has started, as Linux tells it in hundredths of a
// second.
func used(b *testing.B, pid int) (sum time.Duration) {
	b.Helper()
	all, err := filepath.Glob("/proc/[0-9]*/stat")
	if err != nil {
		b.Fatal(err)
	}
	children, took := map[int][]int{}, map[int]time.Duration{}
	for _, file := range all {
		text, err := os.ReadFile(file)
		if err != nil {
			continue // it has ended meanwhile
		}
		id, err := strconv.Atoi(filepath.Base(filepath.Dir(file)))
		if err != nil {
			b.Fatal(err)
		}
		var n [14]int
		for i, f := range strings.Fields(string(text[bytes.LastIndexByte(text, ')')+1:]))[1:13] {
			if n[i+1], err = strconv.Atoi(f); err != nil {
				b.Fatal(err)
			}
		}
		// ppid, utime and stime of proc(5), counted from behind the name.
		children[n[1]], took[id] = append(children[n[1]], id), time.Duration(n[11]+n[12])*10*time.Millisecond
	}
	for line := []int{pid}; len(line) > 0; line = line[1:] {
		sum += took[line[0]]
		line = append(line, children[line[0]]...)
	}
	return sum
}

func (s served) order(b *testing.B, what, body string) (st day.State) {
	b.Helper()
	res, err := http.Post(s.url+"/api/live/"+what, "application/json", strings.NewReader(body))
	if err != nil {
		b.Fatal(err)
	}
	err = json.NewDecoder(res.Body).Decode(&st)
	if cerr := res.Body.Close(); err != nil || cerr != nil || res.StatusCode != http.StatusOK {
		b.Fatal(what, res.StatusCode, err, cerr)
	}
	return st
}

// shown gives when, by the browser's clock, a page has painted what an expression waits for.
func shown(b *testing.B, ctx context.Context, watch, expression string) <-chan time.Time {
	b.Helper()
	at := make(chan time.Time, 1)
	ready := make(chan bool)
	go func() {
		defer close(at)
		// The debugger answers once the promise is made, and again when it is kept.
		if _, err := chromedp.Run(ctx, chromedp.Evaluate[bool](fmt.Sprintf(`(() => { const test = () => %s;
  window.shown = new Promise((yes) => { let o = new MutationObserver(() => { if (!o || !test()) return; o.disconnect(); o = null; requestAnimationFrame(() => yes(performance.timeOrigin + performance.now())); });
  o.observe(document.querySelector(%q), {subtree: true, childList: true, characterData: true, attributes: true}); }); return true; })()`, expression, watch))); err != nil {
			b.Error(err)
			close(ready)
			return
		}
		close(ready)
		ms, err := chromedp.Run(ctx, chromedp.Evaluate[float64](`window.shown`, chromedp.EvalAwaitPromise))
		if err != nil {
			b.Error(err)
			return
		}
		at <- time.UnixMicro(int64(ms * 1000))
	}()
	<-ready
	return at
}

// spread are the median and the largest of times.
func spread(all []time.Duration) (median, worst float64) {
	slices.Sort(all)
	return float64(all[len(all)/2].Microseconds()) / 1000, float64(all[len(all)-1].Microseconds()) / 1000
}

// campaignWith is a campaign of n drops of which the last ten are still to be taken.
func campaignWith(b *testing.B, n int) string {
	b.Helper()
	const open = 10
	a := newApp()
	path := campaignOf(b, n-open, pulses{rate: 2000, seconds: 1.5})
	if _, err := app.SetRig(b.Context(), a, path, "rig.yaml", strings.NewReader(liveRig)); err != nil {
		b.Fatal(err)
	}
	var list bytes.Buffer
	w := csv.NewWriter(&list)
	rows := [][]string{{"drop", "specimen", "material", "knot", "conditioning", "length", "fall", "order", "role"}}
	for i := range open {
		rows = append(rows, []string{fmt.Sprintf("p%d", i+1), fmt.Sprintf("sp%d", i+1), "polyamide", "sewn", "new", "0.9 m", "0.9 m", strconv.Itoa(i + 1), ""})
	}
	if err := w.WriteAll(rows); err != nil {
		b.Fatal(err)
	}
	if r, err := app.Enter(b.Context(), a, path, "plan.csv", &list, nil, app.EnterOptions{Planned: true}); err != nil || r.Planned != open {
		b.Fatal(err, r)
	}
	return path
}

// BenchmarkLive measures the live page in headless Chromium at 50 kHz x 4 channels over TCP, in campaigns of 12 and of 500
// drops: from a step on the wire to the number on the screen (30 steps), from the trigger to the provisional peak and
// from the last sample of the record to the peak (5 drops, 1 s before and 5 s after the trigger), and what the program
// and the browser take of one core meanwhile. Run it with -benchtime 1x.
func BenchmarkLive(b *testing.B) {
	for _, n := range []int{12, 500} {
		b.Run(fmt.Sprintf("%d-drops", n), func(b *testing.B) {
			ctx := browser(b)
			if ctx == nil {
				return
			}
			d := newDevice(b)
			s := serve(b, campaignWith(b, n), d.source())
			see(b, ctx, chromedp.EmulateViewport(1280, 900), chromedp.Navigate(s.url+"/live"))
			until(b, ctx, `document.querySelector("#f-max").textContent !== "–"`)
			off := time.Duration(js[float64](b, ctx, `performance.timeOrigin + performance.now() - Date.now()`) * 1e6)
			for b.Loop() {
				b.ReportMetric(0, "ns/op")
				benchSteps(b, ctx, d, off)
				benchLoad(b, s, chromedp.FromContext(ctx).Browser.Process().Pid)
				benchDrops(b, ctx, d, s, off)
			}
		})
	}
}

func benchSteps(b *testing.B, ctx context.Context, d *device, off time.Duration) {
	b.Helper()
	var all []time.Duration
	for i := range 30 {
		at := shown(b, ctx, "#f-max", `parseFloat(document.querySelector("#f-max").textContent) > 1.5`)
		time.Sleep(time.Duration(100+17*i) * time.Millisecond) // Waits for time: another place between two views each time.
		d.order.Store(stepUp)
		m := <-d.when
		all = append(all, (<-at).Add(-off).Sub(m.first))
		d.order.Store(stepDown)
		until(b, ctx, `parseFloat(document.querySelector("#f-max").textContent) < 0.5`)
	}
	median, worst := spread(all)
	b.ReportMetric(median, "ms/step-median")
	b.ReportMetric(worst, "ms/step-worst")
}

func benchLoad(b *testing.B, s served, browser int) {
	b.Helper()
	if runtime.GOOS != "linux" {
		b.Log("what a process takes of a core is read on Linux only")
		return
	}
	const long = 10 * time.Second
	program, page, from := used(b, s.pid), used(b, browser), time.Now()
	time.Sleep(long) // Waits for time: what is taken of a core is measured over it.
	of := func(now, before time.Duration) float64 {
		return 100 * (now - before).Seconds() / time.Since(from).Seconds()
	}
	b.ReportMetric(of(used(b, s.pid), program), "%core-program")
	b.ReportMetric(of(used(b, browser), page), "%core-browser")
}

func benchDrops(b *testing.B, ctx context.Context, d *device, s served, off time.Duration) {
	b.Helper()
	var early, full []time.Duration
	for range 5 {
		for k := 1; k <= 7; k++ {
			s.order(b, "check", fmt.Sprintf(`{"item":%d,"skip":"bench"}`, k))
		}
		if st := s.order(b, "arm", "{}"); st.Phase != day.Armed {
			b.Fatal(st.Message)
		}
		until(b, ctx, fmt.Sprintf(phaseIs, "armed"))
		at := shown(b, ctx, "main", `(p => p && !p.hidden && parseFloat(p.textContent.slice(1)) > 11.5)(document.querySelector("#prov"))`)
		d.order.Store(letGo)
		when := <-at
		big := shown(b, ctx, "main", `!!document.querySelector("#big")`)
		m := <-d.when
		early, full = append(early, when.Add(-off).Sub(m.first)), append(full, (<-big).Add(-off).Sub(m.last))
		s.order(b, "onward", "{}")
		until(b, ctx, fmt.Sprintf(phaseIs, "preparing"))
	}
	median, worst := spread(early)
	b.ReportMetric(median, "ms/provisional-median")
	b.ReportMetric(worst, "ms/provisional-worst")
	median, worst = spread(full)
	b.ReportMetric(median, "ms/peak-median")
	b.ReportMetric(worst, "ms/peak-worst")
}
