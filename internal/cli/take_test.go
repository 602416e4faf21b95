package cli

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/hardcatch/hardcatch/internal/acquire/simdev"
	"github.com/hardcatch/hardcatch/internal/app"
	"github.com/hardcatch/hardcatch/internal/arrest"
	"github.com/hardcatch/hardcatch/internal/day"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/quantity"
	"github.com/hardcatch/hardcatch/internal/store"
	"github.com/hardcatch/hardcatch/internal/store/sqlstore"
	"github.com/hardcatch/hardcatch/internal/traceio"
	"github.com/hardcatch/hardcatch/internal/traceio/csvtrace"
	"github.com/hardcatch/hardcatch/internal/view"
	"github.com/hardcatch/hardcatch/internal/waittest"
)

// hand is a capture that a test works by hand.
type hand struct {
	mu      sync.Mutex
	orders  []string
	signals chan day.Signal
}

func (h *hand) say(o string) error {
	h.mu.Lock()
	defer h.mu.Unlock()
	h.orders = append(h.orders, o)
	return nil
}
func (h *hand) Arm() error                 { return h.say("arm") }
func (h *hand) Disarm() error              { return h.say("disarm") }
func (h *hand) Fire() error                { return h.say("fire") }
func (h *hand) Finish() error              { return h.say("finish") }
func (h *hand) Close() error               { return h.say("close") }
func (h *hand) Signals() <-chan day.Signal { return h.signals }
func (h *hand) last() string {
	h.mu.Lock()
	defer h.mu.Unlock()
	return strings.Join(h.orders, " ")
}
func shown(at float64, f quantity.Force) day.Signal {
	return day.Signal{View: &day.LiveView{State: "idle", At: quantity.Duration(at), Span: 0.02, Min: f - 5, Max: f + 5, Last: f}}
}

// heldRecord is 100 kg over 0.9 m on a simulated lanyard, in N.
func heldRecord(t *testing.T, seed uint64, strength quantity.Force) []byte {
	t.Helper()
	x, ok := arrest.StartingSet("polyester-webbing")
	if !ok {
		t.Fatal("no starting set")
	}
	x.Length, x.BreakRamp, x.Strength = 0.9, 0.0006, strength
	c := arrest.Case{Mass: 100, Fall: 0.9, Until: 4, Chain: []arrest.Element{{Kind: arrest.KindRig, Rig: &arrest.Rig{Stiffness: 2e6, NodeMass: 0.5, DampingRatio: 0.03}}, {Kind: arrest.KindTextile, Name: "lanyard", Textile: &x}}}
	r, err := simdev.Cell{Capacity: 50000, Sensitivity: 0.002, Noise: 5}.Take(context.Background(), simdev.Drop{Case: c, Rate: 5000, Before: 0.6, Seed: seed})
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	b.WriteString("t [s],F [N]\n")
	for i, n := range r.Counts {
		fmt.Fprintf(&b, "%.4f,%.2f\n", float64(i)/5000, float64(n)*r.PerCount/0.002*50000)
	}
	return b.Bytes()
}

const takeRig = `name: mast
mass: 100 kg
frequency: 300 Hz
load_cell:
  capacity: 50 kN
  calibration: {certificate: C, date: 2026-01-01, expires: 2026-12-31, input: N, reference_u: 0.1 %, readings: [{applied: 0 N, shown: 0}, {applied: 25 kN, shown: 25000}, {applied: 50 kN, shown: 50001}]}
`

const takePlan = `drop,specimen,material,construction,length,fall,order,role
d1,s1,polyester,sewn sling,0.9 m,0.9 m,1,
d2,s2,polyester,sewn sling,0.9 m,0.9 m,2,
d3,s3,polyester,sewn sling,0.9 m,0.9 m,3,
`

func newPage(t *testing.T) (*towerPage, *hand, *look.Access) {
	t.Helper()
	formats := traceio.NewRegistry()
	formats.Register(csvtrace.Format{})
	formats.Register(csvtrace.First())
	a := &look.Access{Files: sqlstore.Files{}, Formats: formats, Now: func() time.Time { return time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC) }}
	path := filepath.Join(t.TempDir(), "day.hardcatch")
	_, e1 := app.Begin(t.Context(), a, path, "day", "Does it hold?", "")
	_, e2 := app.SetRig(t.Context(), a, path, "rig.yaml", strings.NewReader(takeRig))
	_, e3 := app.Enter(t.Context(), a, path, "plan.csv", strings.NewReader(takePlan), nil, app.EnterOptions{Planned: true})
	h := &hand{signals: make(chan day.Signal, 100)}
	p, e4 := newTowerPage(t.Context(), a, path, h, day.TakeInput{By: "ab"})
	if err := errors.Join(e1, e2, e3, e4); err != nil {
		t.Fatal(err)
	}
	return p, h, a
}

// signal lets the day hear one thing, as following the capture does.
func (p *towerPage) signal(s day.Signal) {
	if s.View != nil {
		p.force.add(*s.View)
	}
	p.day.Hear(p.ctx, s)
	p.look()
}

func (p *towerPage) keys(keys ...string) {
	for _, k := range keys {
		if p.ask != nil && len([]rune(k)) > 1 && k != "enter" && k != "esc" && k != "backspace" {
			for _, r := range k {
				p.key(string(r))
			}
			p.key("enter")
			continue
		}
		p.key(k)
	}
}

func shows(t *testing.T, p *towerPage, want ...string) {
	t.Helper()
	text := strings.Join(p.screen(100), "\n")
	flat := strings.Join(strings.Fields(text), " ")
	for _, w := range want {
		if !strings.Contains(flat, w) {
			t.Fatalf("%q is not on the page:\n%s", w, text)
		}
	}
	for _, l := range p.screen(100) {
		if len([]rune(l)) > 100 {
			t.Errorf("a line of %d characters: %s", len([]rune(l)), l)
		}
	}
}

func TestADayOnThePage(t *testing.T) {
	p, h, a := newPage(t)
	shows(t, p, "NEXT DROP d1 SPECIMEN s1 (3 to go, 0 taken)", "2 [ ? ] Nobody under the mass", "no check drop of today")
	p.keys("a")
	shows(t, p, "not armed: answer area clear, nobody under the mass")
	for i := range 60 {
		p.signal(shown(float64(i)*0.02, 40))
	}
	// What the program affirms by itself it takes back when that no longer holds; what a person said stays.
	shows(t, p, "5 [done ] Zero stable")
	for i := range 60 {
		p.signal(shown(1.2+float64(i)*0.02, quantity.Force(40+20*i)))
	}
	p.keys("a")
	shows(t, p, "5 [ ? ] Zero stable", "it moves")
	for i := range 60 {
		p.signal(shown(2.4+float64(i)*0.02, 40))
	}
	p.keys("1", "2", "3", "4", "k", "6 battery empty", "k", "7")
	shows(t, p, "6 [SKIPPED] Camera runs: battery empty", "? Skip which question")
	p.keys("esc", "k", "7 no time", "a")
	if h.last() != "arm" || p.state.Phase != day.Armed {
		t.Fatalf("%s: %s", h.last(), p.message())
	}
	shows(t, p, "ARMED: drop d1", "KEEP CLEAR", "[m] trigger by hand")
	v, err := view.DropIn(t.Context(), a, p.file, "d1")
	if err != nil || len(v.Checklists) != 1 || len(v.Checklists[0].Skipped()) != 2 {
		t.Fatalf("%+v %v", v.Checklists, err)
	}
	kept := false
	drop := func(name string, record []byte) {
		p.signal(day.Signal{Drop: &day.Captured{Name: name, Original: store.Bytes(record), Remarks: []string{"3 samples were lost"}, Keep: func() error { kept = true; return nil }}})
	}
	p.keys("e")
	shows(t, p, "nothing is being recorded yet")
	p.keys("m")
	drop("one.csv", heldRecord(t, 1, 0))
	if !kept || h.last() != "arm fire" {
		t.Errorf("kept %v, %s", kept, h.last())
	}
	shows(t, p, "DROP d1 SPECIMEN s1 PROPOSED: HELD", "Audit: AGREES", "the first of its cell that held", "While recording: 3 samples were lost", "Next: drop d2", "█████", "[Enter] CONFIRM")
	p.keys("enter")
	shows(t, p, "DECIDED: HELD")
	p.keys("u", "enter")
	shows(t, p, "to take a decision back, say who you are and why", "DECIDED: HELD")
	p.keys("u", "pressed too soon")
	shows(t, p, "PROPOSED: HELD", "drop d1: the last decision is taken back")
	// A key means one thing: Enter confirms and does not go on.
	p.keys("enter", "enter")
	shows(t, p, "DECIDED: HELD", "drop d1 is decided")
	p.keys("n")
	shows(t, p, "NEXT DROP d2")

	// A break, with its place; then void, taken back.
	arm := func() {
		for i, item := range p.state.Items {
			if item.State == "" {
				p.keys("k", fmt.Sprint(i+1, " practice"))
			}
		}
		p.keys("a")
		if p.state.Phase != day.Armed {
			t.Fatal(p.message())
		}
	}
	arm()
	drop("two.csv", heldRecord(t, 2, 9000))
	shows(t, p, "PROPOSED: BROKE", "its arrest force is at least this")
	p.keys("b", "s frayed first")
	shows(t, p, "DECIDED: BROKE (STITCHING)")
	p.keys("v")
	shows(t, p, "drop d2 is decided; press u first", "DECIDED: BROKE")
	p.keys("u", "looked again", "v", "swung")
	shows(t, p, "DECIDED: VOID: SWUNG")
	// Whatever key is pressed, once or twice, a void drop stays void.
	for _, k := range []string{"enter", "c", "h", "s", "1", "2", "7"} {
		p.keys(k, k)
		shows(t, p, "DECIDED: VOID: SWUNG")
	}
	p.keys("u", "esc", "u", "enter")
	shows(t, p, "DECIDED: VOID: SWUNG")
	p.keys("u", "not so", "v", "2", "enter")
	shows(t, p, "DECIDED: VOID: THE MASS TOUCHED THE GUIDE", "it is void and counts nowhere", "0 broke, 0 slipped), 1 void")
	p.keys("u", "not so", "1")
	shows(t, p, "PROPOSED: BROKE", "key 1 does nothing here")
	p.keys("v", "enter")
	shows(t, p, "a void drop needs a reason")
	p.keys("b", "s frayed first", "n")
	arm()
	drop("three.csv", heldRecord(t, 3, 0))
	p.keys("enter", "n")
	shows(t, p, "NOTHING PLANNED IS LEFT. 3 drops have a record.")
	p.keys("a")
	shows(t, p, "nothing planned is left")
	p.keys("q")
	r, err := view.ResultsOf(t.Context(), a, p.file)
	if err != nil || len(r.Planned) != 0 || r.Cells[0].Held != 2 || r.Cells[0].Broke != 1 {
		t.Errorf("%+v %v", r, err)
	}
	if !p.quit {
		t.Error("did not quit")
	}
}

// The record that a cut-off run left belongs to the drop that was awaited then, though another is shown now.
func TestFoundDropBelongsToTheAwaitedOne(t *testing.T) {
	p, h, a := newPage(t)
	p.keys("l", "1", "2", "3", "4", "6", "7", "k", "5 practice", "a")
	if p.state.Phase != day.Armed || p.state.Next.Drop.ID != "d2" {
		t.Fatal(p.message())
	}
	again, err := newTowerPage(t.Context(), a, p.file, h, day.TakeInput{By: "ab"})
	if err != nil {
		t.Fatal(err)
	}
	shows(t, again, "NEXT DROP d1")
	again.signal(day.Signal{Drop: &day.Captured{Original: store.Bytes(heldRecord(t, 6, 0)), Found: message.Say("found in the spool")}})
	shows(t, again, "Enter = d2")
	again.keys("enter")
	shows(t, again, "DROP d2")
}

// A drop from the spool of a run that was cut off, and one that nobody awaited, are asked for and never lost.
func TestFoundDropsAreAskedFor(t *testing.T) {
	p, _, a := newPage(t)
	rec := heldRecord(t, 5, 0)
	kept := 0
	found := func(name, why string) {
		p.signal(day.Signal{Drop: &day.Captured{Name: name, Original: store.Bytes(rec), Found: message.Told(why), Keep: func() error { kept++; return nil }}})
	}
	found("old.csv", "found in the spool, the capture was cut off")
	found("older.csv", "")
	shows(t, p, "A record old.csv: found in the spool", "Enter = d1")
	p.keys("nosuch")
	shows(t, p, "nosuch", "A record old.csv")
	p.keys("enter")
	// One that nobody awaited does not ask: the next key would be its answer. r does, and no drop is proposed.
	shows(t, p, "DROP d1", "older.csv captured at 09:00:00 while no drop was awaited")
	if p.ask != nil {
		t.Fatal(p.ask.text)
	}
	p.keys("r", "enter")
	shows(t, p, "no drop is proposed for it; write the drop's name")
	p.keys("r", "d3")
	if v, err := view.DropIn(t.Context(), a, p.file, "d3"); err != nil || v.Planned || v.Trace == nil || kept != 2 {
		t.Errorf("%+v %v, kept %d", v, err, kept)
	}
	shows(t, p, "has the same record, byte for byte")
	found("third.csv", "found in the spool")
	p.keys("-", "enter")
	if kept != 2 || p.ask != nil {
		t.Errorf("kept %d", kept)
	}
}

func TestPageKeepsWorkingWhenTheSourceDoesNot(t *testing.T) {
	p, h, _ := newPage(t)
	for range 5 {
		p.signal(day.Signal{Event: "lost: 12 samples were lost"})
	}
	shows(t, p, "! source: lost: 12 samples")
	p.keys("1", "2", "3", "4", "5", "6", "7", "l")
	shows(t, p, "NEXT DROP d2")
	p.keys("n")
	shows(t, p, "NEXT DROP d2", "key n does nothing here")
	p.keys("l", "l")
	shows(t, p, "NEXT DROP d1")
	p.signal(day.Signal{Ended: errors.New("the plug is out")})
	shows(t, p, "the source has ended: the plug is out")
	for i := range p.state.Items {
		p.keys("k", fmt.Sprint(i+1, " practice"))
	}
	p.keys("a")
	shows(t, p, "not armed: the source has ended")
	p.keys("?")
	shows(t, p, "take the last decision back", "no injury thresholds")
	p.keys("?", "x")
	shows(t, p, "key x does nothing here")
	if strings.Contains(h.last(), "arm") {
		t.Error(h.last())
	}
}

func TestFigures(t *testing.T) {
	block := blockText("≥12.34", 2)
	for i, l := range block {
		if len([]rune(l)) != len([]rune(block[0])) {
			t.Errorf("row %d is %d wide, row 0 %d", i, len([]rune(l)), len([]rune(block[0])))
		}
	}
	for r, g := range digits {
		for _, row := range g {
			if len(row) != len(g[0]) {
				t.Errorf("figure %q is uneven", r)
			}
		}
	}
	for width, rows := range map[int]int{100: 7, 60: 7, 40: 7, 20: 1} {
		for _, l := range figures(12345, "", width) {
			if len([]rune(l)) > width {
				t.Errorf("%d wide: %q", width, l)
			}
		}
		if got := len(figures(12345, "", width)); got != rows {
			t.Errorf("%d rows at %d", got, width)
		}
	}
	if got := figures(12345, "≥", 20)[0]; got != "  ≥12.35 kN" && got != "  ≥12.34 kN" {
		t.Error(got)
	}
}

func TestFoldAndFit(t *testing.T) {
	got := fold("  one two three four", 12)
	if strings.Join(got, "|") != "  one two|    three|    four" {
		t.Errorf("%q", got)
	}
	if got := fold("  "+strings.Repeat("x", 30), 12); len(got) < 3 || len(got[0]) != 12 {
		t.Errorf("%q", got)
	}
	lines := make([]string, 50)
	for i := range lines {
		lines[i] = fmt.Sprint(i)
	}
	from := 99
	out := fit(lines, []string{"force", "keys"}, 24, &from)
	if len(out) != 24 || out[23] != "keys" || from != 29 || out[0] != "29" || !strings.Contains(out[21], "29 more lines") {
		t.Errorf("%d %d %q", len(out), from, out)
	}
	if out = fit(lines[:3], []string{"keys"}, 24, &from); len(out) != 24 || out[2] != "2" || out[3] != "" || out[23] != "keys" || from != 0 {
		t.Errorf("%q", out)
	}
}

// The zero rises by 30 N a second over one second: slope of the straight line by least squares, by construction.
func TestQuiet(t *testing.T) {
	var q day.QuietWatch
	if q.Seen() != nil {
		t.Error("nothing was seen")
	}
	for i := range 80 {
		at := float64(i) * 0.02
		q.Add(*shown(at, quantity.Force(40+30*at)).View)
	}
	s := q.Seen()
	if s == nil || abs(s.Drift.SI()-30) > 1e-6 || abs(s.For.SI()-1) > 0.021 || abs(s.Noise.SI()-5) > 1e-9 || abs(s.Mean.SI()-(40+30*(1.58-s.For.SI()/2))) > 1e-6 {
		t.Errorf("%+v", s)
	}
}

func abs(v float64) float64 { return max(v, -v) }

// A script of keys does the same: one key a line, answers on lines of their own.
func TestPageByLines(t *testing.T) {
	p, h, a := newPage(t)
	h.signals <- day.Signal{Event: "lost: 2 samples were lost"}
	keys := "# checklist\n1\n2\n3\n4\n6\nk\n5 practice\nk\n7 first drop of the day\na\nwait\n\nu\nno\nv\nswung\nu\nno\nc\nn\nq\n1\n"
	var out, errs bytes.Buffer
	go func() {
		waittest.Holds(func() bool { return h.last() != "" })
		h.signals <- day.Signal{Drop: &day.Captured{ID: "x-1", Original: store.Bytes(heldRecord(t, 1, 0))}}
	}()
	p.follow()
	if err := p.byLines(t.Context(), strings.NewReader(keys), &streams{out: &out, err: &errs}); err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"NEXT DROP d1", "! source: lost", "ARMED: drop d1", "PROPOSED: HELD", "DECIDED: HELD", "DECIDED: VOID: SWUNG", "NEXT DROP d2"} {
		if !strings.Contains(out.String(), want) {
			t.Errorf("%q was not printed", want)
		}
	}
	v, err := view.DropIn(t.Context(), a, p.file, "d1")
	if err != nil || v.Outcome != "held" || !v.Decided || len(v.Decisions) != 5 || v.Trace.Name != "d1.csv" {
		t.Errorf("%+v %v", v, err)
	}
	// The same capture handed over again after a crash is known.
	kept := false
	p.signal(day.Signal{Drop: &day.Captured{ID: "x-1", Original: store.Bytes("other bytes"), Found: message.Say("found in the spool"), Keep: func() error { kept = true; return nil }}})
	if !kept || p.ask != nil || !strings.Contains(p.message(), "the spool still held drop d1") {
		t.Errorf("kept %v: %s", kept, p.message())
	}
	p.quit = false
	if err := p.byLines(t.Context(), strings.NewReader("rest x\n"), &streams{out: &out, err: &errs}); err == nil || !strings.Contains(err.Error(), "rest 1s") {
		t.Error(err)
	}
}
