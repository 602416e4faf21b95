package day_test

import (
	"bytes"
	"context"
	"fmt"
	"math"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/hardcatch/hardcatch/internal/acquire/simdev"
	"github.com/hardcatch/hardcatch/internal/app"
	"github.com/hardcatch/hardcatch/internal/arrest"
	"github.com/hardcatch/hardcatch/internal/day"
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/quantity"
	"github.com/hardcatch/hardcatch/internal/reduce"
	"github.com/hardcatch/hardcatch/internal/render"
	"github.com/hardcatch/hardcatch/internal/store"
	"github.com/hardcatch/hardcatch/internal/store/sqlstore"
	"github.com/hardcatch/hardcatch/internal/traceio"
	"github.com/hardcatch/hardcatch/internal/traceio/csvtrace"
	"github.com/hardcatch/hardcatch/internal/view"
)

const rigFile = `name: mast
mass: 100 kg
frequency: 300 Hz
load_cell:
  capacity: 50 kN
  calibration: {certificate: C, date: 2026-01-01, expires: 2026-12-31, input: N, reference_u: 0.1 %, readings: [{applied: 0 N, shown: 0}, {applied: 25 kN, shown: 25000}, {applied: 50 kN, shown: 50001}]}
`

// day is a campaign with a rig and a plan, on 2026-03-02.
type towerDay struct {
	*day.Bench
	t    testing.TB
	path string
}

func newDay(t testing.TB, plan string) *towerDay {
	t.Helper()
	now := time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC)
	formats := traceio.NewRegistry()
	formats.Register(csvtrace.Format{})
	formats.Register(csvtrace.First())
	d := &towerDay{t: t, path: filepath.Join(t.TempDir(), "day.hardcatch")}
	d.Bench = &day.Bench{Access: &look.Access{Files: sqlstore.Files{}, Formats: formats, Now: func() time.Time { return now }, Version: "test"}}
	ctx := t.Context()
	if _, err := app.Begin(ctx, d.Access, d.path, "day", "Does it hold?", ""); err != nil {
		t.Fatal(err)
	}
	if _, err := app.SetRig(ctx, d.Access, d.path, "rig.yaml", strings.NewReader(rigFile)); err != nil {
		t.Fatal(err)
	}
	if plan != "" {
		d.plan(plan)
	}
	return d
}

func (d *towerDay) plan(list string) *app.EnterResult {
	d.t.Helper()
	r, err := app.Enter(d.t.Context(), d.Access, d.path, "plan.csv", strings.NewReader(list), nil, app.EnterOptions{Planned: true})
	if err != nil {
		d.t.Fatal(err)
	}
	return r
}

func (d *towerDay) next() look.Next {
	d.t.Helper()
	n, err := day.NextDrop(d.t.Context(), d.Access, d.path, nil)
	if err != nil {
		d.t.Fatal(err)
	}
	return n
}

func (d *towerDay) take(x drop.Drop, record []byte) *day.Taken {
	d.t.Helper()
	r, err := day.Take(d.t.Context(), d.Access, d.path, day.TakeInput{Drop: x, Name: x.ID + ".csv", Original: store.Bytes(record)})
	if err != nil {
		d.t.Fatal(err)
	}
	return r
}

// record is a drop of 100 kg over 0.9 m on a simulated polyester lanyard, in N. A strength of 0 never parts.
func record(t testing.TB, seed uint64, stiffer float64, strength quantity.Force) []byte {
	t.Helper()
	x, ok := arrest.StartingSet("polyester-webbing")
	if !ok {
		t.Fatal("no starting set")
	}
	x.Length, x.BreakRamp, x.Strength = 0.9, 0.0006, strength
	x.E1, x.E2 = x.E1*quantity.Force(stiffer), x.E2*quantity.Force(stiffer)
	cell := simdev.Cell{Capacity: 50000, Sensitivity: 0.002, Noise: 5}
	c := arrest.Case{Mass: 100, Fall: 0.9, Until: 4, Chain: []arrest.Element{{Kind: arrest.KindRig, Rig: &arrest.Rig{Stiffness: 2e6, NodeMass: 0.5, DampingRatio: 0.03}}, {Kind: arrest.KindTextile, Name: "lanyard", Textile: &x}}}
	r, err := cell.Take(context.Background(), simdev.Drop{Case: c, Rate: 5000, Before: 0.6, Seed: seed})
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

const plan = `drop,specimen,material,length,fall,order,role
d1,s1,polyester,0.9 m,0.9 m,3,
d2,s2,polyester,0.9 m,0.9 m,1,
d3,s3,polyester,0.9 m,0.9 m,2,
d4,s4,aramid,0.9 m,0.9 m,,
`

func TestADayFromThePlan(t *testing.T) {
	d := newDay(t, "")
	if r := d.plan(plan); r.Planned != 4 || r.Added != 4 || len(r.Problems) != 0 {
		t.Fatalf("%+v", r)
	}
	ctx := t.Context()
	before, err := view.ResultsOf(ctx, d.Access, d.path)
	if err != nil || len(before.Planned) != 4 || len(before.Warnings) != 0 || len(before.Cells) != 2 || before.Cells[1].Planned != 3 {
		t.Fatalf("%+v %v", before, err)
	}
	n := d.next()
	if n.Drop.ID != "d2" || n.Left != 4 || n.Taken != 0 {
		t.Fatalf("%+v", n)
	}
	var peaks []float64
	for i, want := range []string{"d3", "d1", "d4"} {
		r := d.take(*n.Drop, record(t, uint64(i), 1+0.02*float64(i), 0))
		if r.Problem != nil || r.Outcome != "held" || r.Peak == nil || r.Audit != reduce.Agrees || r.Drop.Taken != "2026-03-02" {
			t.Fatalf("%+v", r)
		}
		if r.Cell.N != i+1 || r.Cell.Planned != 2-i || r.Cell.Levels["material"] != "polyester" || len(r.Cell.Levels) != 1 {
			t.Errorf("cell %+v", r.Cell)
		}
		if n = r.Next; n.Drop.ID != want || n.Left != 3-i {
			t.Errorf("next %+v, want %s", n, want)
		}
		peaks = append(peaks, r.Peak.SI())
		if i == 2 && (r.Cell.Standing.Others != 2 || r.Cell.Standing.Rank != 1 || math.Abs(r.Cell.Mean.SI()-(peaks[0]+peaks[1]+peaks[2])/3) > 1e-6) {
			t.Errorf("%+v of %v", r.Cell.Standing, peaks)
		}
	}
	// The plan added again changes nothing of what was taken.
	if r := d.plan(plan); r.Revised != 0 || r.Unchanged != 4 {
		t.Errorf("%+v", r)
	}
	r, err := view.ResultsOf(ctx, d.Access, d.path)
	if err != nil || len(r.Planned) != 1 || r.Planned[0] != "d4" || len(r.Warnings) != 0 {
		t.Errorf("%+v %v", r, err)
	}
	v, err := app.Prove(ctx, d.Access, d.path, true, nil)
	if err != nil || !v.Holds || v.Repeated != 3 || v.Planned != 1 {
		t.Errorf("%+v %v", v, err)
	}
	// The answer of Take is what the whole campaign gives.
	for _, c := range r.Cells {
		if c.Levels["material"] == "polyester" && (c.N != 3 || math.Abs(c.Mean.SI()-(peaks[0]+peaks[1]+peaks[2])/3) > 1e-6) {
			t.Errorf("%+v", c)
		}
	}
	if shown, err := view.DropIn(ctx, d.Access, d.path, "d4"); err != nil || !shown.Planned {
		t.Errorf("%+v %v", shown, err)
	}
}

func TestTakeABreakAndAnOutlier(t *testing.T) {
	d := newDay(t, plan)
	x := func(id string) drop.Drop {
		return drop.Drop{ID: id, Fall: 0.9, Specimen: drop.Specimen{ID: "s" + id, Material: "polyester", Length: 0.9}}
	}
	if r := d.take(x("n1"), record(t, 1, 1, 9000)); r.Outcome != "broke" || !r.LowerBound || r.Cell.Standing != nil || !strings.Contains(r.Cell.Text.String(), "broke is proposed") {
		t.Errorf("%+v", r)
	}
	for i := range 3 {
		d.take(x(fmt.Sprint("h", i)), record(t, uint64(10+i), 1+0.01*float64(i), 0))
	}
	r := d.take(x("odd"), record(t, 20, 1.6, 0))
	if r.Cell.Standing == nil || !r.Cell.Standing.Outside || !strings.Contains(r.Cell.Text.String(), "OUTLIER") || r.Cell.N != 5 || r.Cell.Broke != 1 {
		t.Errorf("%+v %+v", r.Cell, r.Cell.Standing)
	}
	// The same specimen again, and the same record again.
	again := x("odd2")
	again.Specimen.ID = "sodd"
	r = d.take(again, record(t, 20, 1.6, 0))
	if w := strings.Join(message.Texts(r.Warnings), "\n"); !strings.Contains(w, "specimen sodd was dropped before, in drop odd") || !strings.Contains(w, "drop odd has the same record") {
		t.Error(w)
	}
}

func TestTakeKeepsWhatCannotBeReduced(t *testing.T) {
	d := newDay(t, plan)
	list := drop.NewChecklist("d2")
	for i := range list.Items {
		list.Items[i].State = drop.CheckDone
	}
	*list.Item(drop.CameraRuns) = drop.CheckItem{Key: drop.CameraRuns, State: drop.CheckSkipped, Reason: "battery empty"}
	in := day.TakeInput{Drop: *d.next().Drop, Name: "d2.csv", Original: store.Bytes("nothing to read\nhere\n"), List: &list, Remarks: []string{"3 lines lost"}, By: "ab"}
	r, err := day.Take(t.Context(), d.Access, d.path, in)
	if err != nil || !strings.Contains(r.Problem.String(), "no rows of numbers") || r.Peak != nil || r.Next.Drop.ID != "d3" || r.Effect != "added" {
		t.Fatalf("%+v %v", r, err)
	}
	_, kept, err := d.Record(t.Context(), d.path, "d2")
	if err != nil || !bytes.Equal(kept, in.Original.(store.Bytes)) {
		t.Errorf("%q %v", kept, err)
	}
	v, err := view.DropIn(t.Context(), d.Access, d.path, "d2")
	if err != nil || len(v.Checklists) != 1 || v.Checklists[0].Skipped()[0].Reason != "battery empty" || v.Drop.Operator != "ab" {
		t.Errorf("%+v %v", v, err)
	}
	var page bytes.Buffer
	if err := render.ReportOf(t.Context(), d.Access, d.path, &page, view.ReportOptions{}); err != nil || !strings.Contains(page.String(), "gone through before 1 drop. What was skipped") || !strings.Contains(page.String(), "battery empty") {
		t.Error(err)
	}
	entries, err := d.Logbook(t.Context(), d.path)
	if err != nil || !strings.Contains(entries[len(entries)-1].Payload, "3 lines lost") {
		t.Errorf("%+v %v", entries[len(entries)-1], err)
	}
	// The same again, as after a restart that finds the spool, changes no record; another record is refused.
	in.List = nil
	if r, err = day.Take(t.Context(), d.Access, d.path, in); err != nil || r.Effect != "unchanged" {
		t.Errorf("%+v %v", r, err)
	}
	in.Original = store.Bytes(record(t, 1, 1, 0))
	if _, err = day.Take(t.Context(), d.Access, d.path, in); err == nil || !strings.Contains(err.Error(), "drop d2 has the record d2.csv already") {
		t.Error(err)
	}
	// Without a rig the record is kept too.
	bare := newDay(t, "")
	bare.path = filepath.Join(t.TempDir(), "bare.hardcatch")
	if _, err := app.Begin(t.Context(), bare.Access, bare.path, "bare", "Does it hold?", ""); err != nil {
		t.Fatal(err)
	}
	if r := bare.take(drop.Drop{ID: "x", Fall: 0.9, Specimen: drop.Specimen{ID: "s"}}, in.Original.(store.Bytes)); !strings.Contains(r.Problem.String(), "there is no rig yet") || r.Effect != "added" {
		t.Errorf("%+v", r)
	}
}

func TestWithdrawBringsBackWhatStoodBefore(t *testing.T) {
	d := newDay(t, plan)
	ctx := t.Context()
	d.take(*d.next().Drop, record(t, 1, 1, 0))
	outcome := func() string {
		v, err := view.DropIn(ctx, d.Access, d.path, "d2")
		if err != nil {
			t.Fatal(err)
		}
		return fmt.Sprint(v.Outcome, " ", v.Decided)
	}
	decide := func(o drop.Outcome, reason string) {
		if _, err := app.Decide(ctx, d.Access, d.path, drop.Decision{Drop: "d2", Outcome: o, Reason: reason, By: "ab"}); err != nil {
			t.Fatal(err)
		}
	}
	withdraw := func(want string) {
		t.Helper()
		if _, _, err := app.Withdraw(ctx, d.Access, d.path, "d2", "cd", "not so"); err != nil {
			t.Fatal(err)
		}
		if got := outcome(); got != want {
			t.Errorf("%s, want %s", got, want)
		}
	}
	if _, _, err := app.Withdraw(ctx, d.Access, d.path, "d2", "", ""); err == nil || !strings.Contains(err.Error(), "no decision to withdraw") {
		t.Error(err)
	}
	decide(drop.Slipped, "seen")
	// A result does not change without a name and a reason.
	for _, by := range []string{"", "ab"} {
		if _, err := app.Decide(ctx, d.Access, d.path, drop.Decision{Drop: "d2", Outcome: drop.Held, Reason: map[string]string{"": "looked again"}[by], By: by}); err == nil || !strings.Contains(err.Error(), "who you are and why") {
			t.Errorf("by %q the decision was changed: %v", by, err)
		}
		if _, _, err := app.Withdraw(ctx, d.Access, d.path, "d2", by, map[string]string{"": "looked again"}[by]); err == nil || !strings.Contains(err.Error(), "who you are and why") {
			t.Errorf("by %q the decision was taken back: %v", by, err)
		}
	}
	if got := outcome(); got != "slipped true" {
		t.Error(got)
	}
	decide(drop.Void, "release stuck")
	withdraw("slipped true")
	withdraw("void true")
	withdraw("slipped true")
	decide(drop.Held, "as proposed")
	withdraw("slipped true")
	// Nothing stood before the only decision on a drop; a planned one is planned again.
	if _, err := app.Decide(ctx, d.Access, d.path, drop.Decision{Drop: "d3", Outcome: drop.Void, Reason: "lost"}); err != nil {
		t.Fatal(err)
	}
	if n := d.next(); n.Drop.ID != "d1" {
		t.Errorf("next is %s", n.Drop.ID)
	}
	if _, r, err := app.Withdraw(ctx, d.Access, d.path, "d3", "ab", "found"); err != nil || !r.Withdrawn {
		t.Errorf("%+v %v", r, err)
	}
	if n := d.next(); n.Drop.ID != "d3" {
		t.Errorf("next is %s", n.Drop.ID)
	}
	var page bytes.Buffer
	if err := render.ReportOf(ctx, d.Access, d.path, &page, view.ReportOptions{NoFigures: true}); err != nil || !strings.Contains(page.String(), "cd") {
		t.Error(err)
	}
}

func TestProposeChecklist(t *testing.T) {
	d := newDay(t, plan+"c1,steel,steel,0.9 m,0.9 m,,check\n")
	ctx := t.Context()
	propose := func(in day.ChecklistInput) drop.Checklist {
		t.Helper()
		in.Drop = *d.next().Drop
		c, err := day.ProposeChecklist(ctx, d.Access, d.path, in)
		if err != nil {
			t.Fatal(err)
		}
		return c
	}
	state := func(c drop.Checklist, k drop.CheckKey, want drop.CheckState, found string) {
		t.Helper()
		if i := c.Item(k); i.State != want || !strings.Contains(i.Found, found) {
			t.Errorf("%s: %q, %q; want %q, %q", k, i.State, i.Found, want, found)
		}
	}
	c := propose(day.ChecklistInput{})
	state(c, drop.LoadCellReady, drop.CheckOpen, "no peak so far")
	state(c, drop.ZeroStable, drop.CheckOpen, "no live source")
	state(c, drop.CheckDropDone, drop.CheckOpen, "no check drop of today")
	state(c, drop.NobodyUnder, drop.CheckOpen, "")
	c = propose(day.ChecklistInput{Predicted: 41000, Quiet: &day.Quiet{For: 1, Mean: 20, Noise: 3, Drift: 100}})
	state(c, drop.LoadCellReady, drop.CheckOpen, "82 % of the capacity")
	state(c, drop.ZeroStable, drop.CheckOpen, "it moves") // more than 0.2 % of 41 kN = 82 N in a second
	d.take(*d.next().Drop, record(t, 1, 1, 0))
	check := drop.Drop{ID: "c1", Fall: 0.9, Role: drop.Check, Specimen: drop.Specimen{ID: "steel", Material: "steel", Length: 0.9}}
	if r := d.take(check, record(t, 2, 1, 0)); r.Peak == nil {
		t.Fatal(r.Problem)
	}
	c = propose(day.ChecklistInput{Quiet: &day.Quiet{For: 1, Mean: 20, Noise: 3, Drift: 5}})
	state(c, drop.LoadCellReady, drop.CheckDone, "largest of its cell so far")
	state(c, drop.ZeroStable, drop.CheckDone, "over 1")
	state(c, drop.CheckDropDone, drop.CheckDone, "drop c1, today")
	d.Now = func() time.Time { return time.Date(2027, 1, 1, 9, 0, 0, 0, time.UTC) }
	c = propose(day.ChecklistInput{})
	state(c, drop.LoadCellReady, drop.CheckOpen, "expired on 2026-12-31")
	state(c, drop.CheckDropDone, drop.CheckOpen, "no check drop of today")
}
