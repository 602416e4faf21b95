package day_test

import (
	"strings"
	"testing"

	"github.com/hardcatch/hardcatch/internal/app"
	"github.com/hardcatch/hardcatch/internal/day"
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/foresee"
	"github.com/hardcatch/hardcatch/internal/quantity"
	"github.com/hardcatch/hardcatch/internal/waittest"
)

const foreseenPlan = `name: a plan (invented)
question: Does it hold?
invented: true
rig_file: rig.yaml
tower: {height: 8 m, clearance: 0.5 m, rigging: 0.4 m, connectors: 40 kN, anchor_limit: 40 kN}
factors:
  knot: [sewn, overhand]
fixed: {material: polyester, length: 0.9 m, fall: 0.9 m}
specimens:
  polyester: {set: polyester-webbing, rating: 22 kN, knots: {overhand: 0.6}}
replicates: 1
simulations: 200
seed: 5
`

// The question about the load cell is answered by the plan's forecast for the very drop that is next, the same figure that the command plan
// gives of its cell, before any drop was taken; the next drop gets its own.
func TestTheNextDropIsForeseen(t *testing.T) {
	d := newDay(t, "")
	d.path += ".planned"
	ctx := t.Context()
	p, err := foresee.Plan(ctx, d.Access, "plan.yaml", strings.NewReader(foreseenPlan), foresee.PlanOptions{Out: d.path, Open: func(string) ([]byte, error) { return []byte(rigFile), nil }})
	if err != nil {
		t.Fatal(err)
	}
	list, err := p.List()
	if err != nil {
		t.Fatal(err)
	}
	if _, err := app.Enter(ctx, d.Access, d.path, "plan.csv", strings.NewReader(string(list)), nil, app.EnterOptions{Planned: true}); err != nil {
		t.Fatal(err)
	}
	x, err := day.New(ctx, d.Access, d.path, &obedient{}, day.TakeInput{By: "ab"}, nil)
	if err != nil {
		t.Fatal(err)
	}
	seen := map[string]bool{}
	for k := range 2 {
		waittest.Until(t, waittest.For("the forecast"), func() bool { return x.Moment().Expected != nil })
		st := x.Moment()
		e, cell := st.Expected, 0
		for _, r := range p.Runs {
			if r.Drop == st.Next.Drop.ID {
				cell = r.Cell
			}
		}
		if f := p.Forecasts[cell-1]; e.P50 != f.Peak.P50 || e.P95 != f.Peak.P95 || e.BreakProb != f.BreakProb || e.Simulations != 200 {
			t.Errorf("%s: %+v, the plan gives %+v", st.Next.Drop.ID, e, f)
		}
		seen[st.Next.Drop.Specimen.Knot] = true
		for i := range 15 { // a quiet second
			x.Hear(ctx, day.Signal{View: &day.LiveView{State: "idle", At: quantity.Duration(10*k) + 0.1*quantity.Duration(i), Min: -5, Max: 5}})
		}
		for _, item := range x.Moment().Items {
			if item.Key == drop.LoadCellReady && (item.State != drop.CheckDone || !strings.Contains(item.Found, e.P95.Text(3)+" (forecast of the plan, 95th percentile)")) {
				t.Errorf("%q: %s", item.State, item.Found)
			}
		}
		if _, err := x.Onward(ctx); err != nil {
			t.Fatal(err)
		}
	}
	if len(seen) != 2 {
		t.Errorf("knots foreseen: %v", seen)
	}
}
