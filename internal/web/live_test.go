package web_test

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/hardcatch/hardcatch/internal/acquire"
	"github.com/hardcatch/hardcatch/internal/acquire/simdev"
	"github.com/hardcatch/hardcatch/internal/app"
	"github.com/hardcatch/hardcatch/internal/arrest"
	"github.com/hardcatch/hardcatch/internal/day"
	"github.com/hardcatch/hardcatch/internal/waittest"
)

const liveRig = `name: mast
mass: 100 kg
frequency: 300 Hz
load_cell:
  capacity: 50 kN
  calibration: {certificate: C, date: 2026-01-01, expires: 2026-12-31, input: N, reference_u: 0.1 %, readings: [{applied: 0 N, shown: 0}, {applied: 25 kN, shown: 25000}, {applied: 50 kN, shown: 50001}]}
`

const livePlan = `drop,specimen,material,construction,length,fall,order,role
d1,s1,polyester,sewn sling,0.9 m,0.9 m,1,
d2,s2,polyester,sewn sling,0.9 m,0.9 m,2,
`

// simulated is a load cell that shows 20 N until a drop is let go.
type simulated struct {
	d     *acquire.Description
	force []float64 // N, at 5 kHz
	drops chan int  // let go; samples that are lost after the arrest
}

func (p *simulated) Description() *acquire.Description { return p.d }

func (p *simulated) Run(ctx context.Context, out acquire.Sink) error {
	next, at, lose := int64(0), len(p.force), 0
	tick := time.NewTicker(5 * time.Millisecond) // ten times as fast as the rate says
	defer tick.Stop()
	for {
		select {
		case <-ctx.Done():
			return ctx.Err()
		case lose = <-p.drops:
			at = 0
			continue
		case <-tick.C:
		}
		if lose > 0 && at > 9000 {
			if err := out.Event(acquire.Event{Kind: acquire.Lost, From: next, Count: int64(lose)}); err != nil {
				return err
			}
			next, at, lose = next+int64(lose), at+lose, 0
		}
		b := acquire.NewBlock(1, 250)
		b.First, b.Arrived = next, time.Now()
		for range 250 {
			f := 20.0
			if at < len(p.force) {
				f = p.force[at]
				at++
			}
			b.Values[0] = append(b.Values[0], f)
			next++
		}
		if err := out.Samples(b); err != nil {
			return err
		}
	}
}

// liveServer is a server at a simulated rig with two planned drops of 100 kg over 0.9 m.
func liveServer(t *testing.T) (started, *simulated) {
	t.Helper()
	x, ok := arrest.StartingSet("polyester-webbing")
	if !ok {
		t.Fatal("no starting set")
	}
	x.Length, x.BreakRamp = 0.9, 0.0006
	c := arrest.Case{Mass: 100, Fall: 0.9, Until: 4, Chain: []arrest.Element{{Kind: arrest.KindRig, Rig: &arrest.Rig{Stiffness: 2e6, NodeMass: 0.5, DampingRatio: 0.03}}, {Kind: arrest.KindTextile, Name: "lanyard", Textile: &x}}}
	r, err := simdev.Cell{Capacity: 50000, Sensitivity: 0.002, Noise: 5}.Take(t.Context(), simdev.Drop{Case: c, Rate: 5000, Before: 0.6, Seed: 3})
	if err != nil {
		t.Fatal(err)
	}
	p := &simulated{drops: make(chan int)}
	for _, n := range r.Counts {
		p.force = append(p.force, float64(n)*r.PerCount/0.002*50000)
	}
	a := newApp()
	path := filepath.Join(t.TempDir(), "day.hardcatch")
	_, e1 := app.Begin(t.Context(), a, path, "day", "Does it hold?", "")
	_, e2 := app.SetRig(t.Context(), a, path, "rig.yaml", strings.NewReader(liveRig))
	_, e3 := app.Enter(t.Context(), a, path, "plan.csv", strings.NewReader(livePlan), nil, app.EnterOptions{Planned: true})
	if err := errors.Join(e1, e2, e3); err != nil {
		t.Fatal(err)
	}
	b := &day.Bench{Access: a, Clock: acquire.WallClock{}, Sources: func(d *acquire.Description, _ acquire.Clock) (acquire.Source, error) {
		p.d = d
		return p, nil
	}}
	text := []byte("name: mast\nkind: simulated\nrate: 5 kHz\nchannels:\n  - {name: force, unit: N}\n")
	live, err := day.Watch(t.Context(), b, path, "mast.yaml", text, day.TriggerOptions{Level: "500 N", Trigger: acquire.Trigger{Pre: 0.5, Post: 4}, Spool: filepath.Join(t.TempDir(), "spool")})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := live.Close(); err != nil {
			t.Error(err)
		}
	})
	s := start(t, path)
	if err := s.srv.Watch(context.Background(), live, day.TakeInput{By: "ab"}); err != nil {
		t.Fatal(err)
	}
	return s, p
}

// order asks for something and gives the day's state and the status.
func (s started) order(t *testing.T, what, body string) (st day.State, status int) {
	t.Helper()
	res, err := http.Post(s.url+"/api/live/"+what, "application/json", strings.NewReader(body))
	if err != nil {
		t.Fatal(err)
	}
	data, err := io.ReadAll(res.Body)
	if cerr := res.Body.Close(); err != nil || cerr != nil {
		t.Fatal(err, cerr)
	}
	if res.StatusCode == http.StatusOK {
		if err := json.Unmarshal(data, &st); err != nil {
			t.Fatal(err)
		}
	}
	return st, res.StatusCode
}

func (s started) page(t *testing.T, path string) string {
	t.Helper()
	res, err := http.Get(s.url + path)
	if err != nil {
		t.Fatal(err)
	}
	data, err := io.ReadAll(res.Body)
	if cerr := res.Body.Close(); err != nil || cerr != nil {
		t.Fatal(err, cerr)
	}
	return string(data)
}

// phase waits until the day stands there.
func (s started) phase(t *testing.T, want day.Phase) (st day.State) {
	t.Helper()
	waittest.Until(t, func() string { return fmt.Sprintf("%s; the day stays at %s: %s", want, st.Phase, st.Message) }, func() bool {
		if err := json.NewDecoder(bytes.NewReader([]byte(s.page(t, "/api/live")))).Decode(&st); err != nil {
			t.Fatal(err)
		}
		return st.Phase == want
	})
	return st
}

// A drop by the API: the list must be answered before arming; the peak, the cell and what was lost are told.
func TestLiveDropByTheAPI(t *testing.T) {
	t.Parallel()
	s, p := liveServer(t)
	if _, code := s.order(t, "arm", "{}"); code != http.StatusUnprocessableEntity {
		t.Errorf("armed with open questions: %d", code)
	}
	if text := s.page(t, "/live"); !strings.Contains(text, "not armed: answer area clear") {
		t.Error("the page does not say why it was not armed")
	}
	st, _ := s.order(t, "check", `{"item":1}`)
	for i := 2; i <= 7; i++ {
		if st.Items[i-1].State == "" {
			st, _ = s.order(t, "check", `{"item":`+string(rune('0'+i))+`,"skip":"practice"}`)
		}
	}
	if st.Items[1].State != "skipped" || st.Items[1].Reason != "practice" {
		t.Errorf("%+v", st.Items)
	}
	if _, code := s.order(t, "decide", `{"outcome":"held"}`); code != http.StatusUnprocessableEntity {
		t.Errorf("decided before the drop: %d", code)
	}
	if _, code := s.order(t, "arm", "{}"); code != http.StatusOK {
		t.Fatal(code)
	}
	p.drops <- 7
	st = s.phase(t, day.Reading)
	if st.Taken.Peak == nil || st.Taken.Drop.ID != "d1" || st.Taken.Outcome != "held" || st.Taken.Cell == nil || !strings.Contains(strings.Join(st.Trouble, " "), "7 samples were lost") {
		t.Fatalf("%+v", st)
	}
	text := s.page(t, "/live")
	for _, want := range []string{`id="big"`, "7 samples were lost", "Proposed:", `id="cell"`, `role="alert"`} {
		if !strings.Contains(text, want) {
			t.Errorf("the page lacks %s", want)
		}
	}
	if _, code := s.order(t, "decide", `{"outcome":"void"}`); code != http.StatusUnprocessableEntity {
		t.Errorf("voided without a reason: %d", code)
	}
	// The audit disagrees with a record that lacks samples: it is not confirmed without a look.
	if _, code := s.order(t, "decide", `{}`); code != http.StatusUnprocessableEntity || !strings.Contains(text, `id="lookfirst"`) || strings.Contains(text, `data-press="c"`) {
		t.Errorf("confirmed by one key: %d", code)
	}
	if st, _ = s.order(t, "decide", `{"outcome":"held","reason":"7 samples lack after the peak"}`); st.Settled != "held" {
		t.Errorf("%+v", st)
	}
	if st, _ = s.order(t, "withdraw", `{"reason":"the wrong key"}`); st.Settled != "" {
		t.Errorf("%+v", st)
	}
	if st, _ = s.order(t, "onward", `{}`); st.Phase != day.Preparing || st.Next.Drop.ID != "d2" {
		t.Errorf("%+v", st)
	}
}

// Without a source the page says how to give one, and orders are refused.
func TestLiveWithoutASource(t *testing.T) {
	t.Parallel()
	s := shared(t)
	if text := s.page(t, "/live"); !strings.Contains(text, "--source source.yaml") {
		t.Error("the page does not say how to give a source")
	}
	if _, code := s.order(t, "arm", "{}"); code != http.StatusConflict {
		t.Error(code)
	}
}

// Orders at the tower are refused to other sites' pages.
func TestLiveOrdersAreGuarded(t *testing.T) {
	t.Parallel()
	s, _ := liveServer(t)
	for _, path := range []string{"/live/arm", "/live/check", "/live/fire", "/api/live/arm", "/api/live/decide"} {
		req, err := http.NewRequestWithContext(t.Context(), http.MethodPost, s.url+path, strings.NewReader("{}"))
		if err != nil {
			t.Fatal(err)
		}
		req.Header.Set("Origin", "http://elsewhere.example")
		req.Header.Set("Content-Type", "application/json")
		res, err := http.DefaultClient.Do(req)
		if err != nil {
			t.Fatal(err)
		}
		if err := res.Body.Close(); err != nil || res.StatusCode != http.StatusForbidden {
			t.Errorf("%s: %d %v", path, res.StatusCode, err)
		}
	}
}

// The order of a form leads back to the page, and a question answered so is answered.
func TestLiveByForm(t *testing.T) {
	t.Parallel()
	s, _ := liveServer(t)
	res, err := http.PostForm(s.url+"/live/check", url.Values{"item": {"6"}, "skip": {"battery empty"}, "by": {"cd"}})
	if err != nil {
		t.Fatal(err)
	}
	if err := res.Body.Close(); err != nil || res.StatusCode != http.StatusOK || res.Request.URL.Path != "/live" {
		t.Errorf("%d %s %v", res.StatusCode, res.Request.URL, err)
	}
	if st := s.phase(t, day.Preparing); st.Items[5].State != "skipped" || st.Items[5].Reason != "battery empty" {
		t.Errorf("%+v", st.Items[5])
	}
	res, err = http.PostForm(s.url+"/live/check", url.Values{"item": {"nine"}})
	if err != nil {
		t.Fatal(err)
	}
	if err := res.Body.Close(); err != nil || res.StatusCode != http.StatusUnprocessableEntity {
		t.Errorf("%d %v", res.StatusCode, err)
	}
}
