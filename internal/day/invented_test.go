package day_test

import (
	"bytes"
	"strings"
	"testing"

	"github.com/hardcatch/hardcatch/internal/app"
	"github.com/hardcatch/hardcatch/internal/render"
	"github.com/hardcatch/hardcatch/internal/view"

	"github.com/hardcatch/hardcatch/internal/day"
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/store"
)

// banner tells whether results and report say that the campaign is invented.
func (d *towerDay) banner() bool {
	d.t.Helper()
	r, err := view.ResultsOf(d.t.Context(), d.Access, d.path)
	var page bytes.Buffer
	if err == nil {
		err = render.ReportOf(d.t.Context(), d.Access, d.path, &page, view.ReportOptions{NoFigures: true})
	}
	if err != nil {
		d.t.Fatal(err)
	}
	if in := strings.Contains(page.String(), "Invented scenario"); in != r.Invented {
		d.t.Errorf("the results say %v, the report %v", r.Invented, in)
	}
	return r.Invented
}

// A drop of a rehearsal is invented whatever the campaign's name, and stays so when the plan is entered again.
func TestInventedStaysInvented(t *testing.T) {
	for name, c := range map[string]*day.Captured{
		"by its source": {ID: "r-1", Invented: true, Original: store.Bytes(record(t, 1, 1, 0))},
		"by its head":   {ID: "r-1", Original: store.Bytes(append([]byte("# Invented scenario: a rehearsal made this\n"), record(t, 1, 1, 0)...))},
		"by none":       {ID: "r-1", Original: store.Bytes(record(t, 1, 1, 0))},
	} {
		d := newDay(t, plan)
		x, err := day.New(t.Context(), d.Access, d.path, &obedient{}, day.TakeInput{By: "ab"}, nil)
		if err != nil {
			t.Fatal(err)
		}
		practised(t, x)
		if _, err := x.Arm(t.Context()); err != nil {
			t.Fatal(err)
		}
		if d.banner() {
			t.Errorf("%s: invented before the first drop", name)
		}
		x.Hear(t.Context(), day.Signal{Drop: c})
		st, want := x.Moment(), name != "by none"
		if st.Taken == nil || st.Taken.Drop.Invented() != want || d.banner() != want {
			t.Errorf("%s: %+v", name, st)
		}
		d.plan(plan)
		if d.banner() != want {
			t.Errorf("%s: the plan entered again makes it %v", name, !want)
		}
	}
}

// A rig that is invented raises the banner too, and what was taken on it stays invented when another rig is entered.
func TestAnInventedRigMarksItsDrops(t *testing.T) {
	d := newDay(t, plan)
	rig := func(text string) {
		if _, err := app.SetRig(t.Context(), d.Access, d.path, "rig.yaml", strings.NewReader(text)); err != nil {
			t.Fatal(err)
		}
	}
	rig(rigFile + "invented: true\n")
	if !d.banner() {
		t.Error("an invented rig raises no banner")
	}
	if r := d.take(drop.Drop{ID: "d9", Specimen: drop.Specimen{ID: "s9", Material: "polyester", Length: 0.9}, Fall: 0.9}, record(t, 1, 1, 0)); !r.Drop.Invented() {
		t.Error("a drop on an invented rig is none")
	}
	rig(rigFile)
	if !d.banner() {
		t.Error("another rig makes invented drops real")
	}
}
