package render

import (
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/reduce"
	"github.com/hardcatch/hardcatch/internal/view"
)

type dropRow struct {
	view.ReportedDrop
	Condition int
	Record    int // number of its record in the list of records, 0 = none
}

// drops numbers the conditions under which peaks were measured, so that each peak can state its own.
func (v *page) drops() {
	condition := func(d view.ReportedDrop) int {
		if d.Peak == nil {
			return 0
		}
		text := v.condition(d)
		for i, c := range v.Conditions {
			if c == text {
				return i + 1
			}
		}
		v.Conditions = append(v.Conditions, text)
		return len(v.Conditions)
	}
	records := 0
	row := func(d view.ReportedDrop) dropRow {
		r := dropRow{ReportedDrop: d, Condition: condition(d)}
		if d.Kept() {
			records++
			r.Record = records
		}
		return r
	}
	for _, d := range v.Report.Drops {
		v.DropRows = append(v.DropRows, row(d))
	}
	for _, d := range v.Report.CheckDrops {
		v.CheckRows = append(v.CheckRows, row(d))
	}
	for _, d := range v.EveryDrop() {
		if d.Outcome == drop.Void {
			v.Voided = append(v.Voided, d)
		}
		for _, k := range d.Decisions {
			v.decide(d, k)
		}
		if d.Kept() {
			v.Records = append(v.Records, d)
		}
	}
}

// sharedWarning is a warning that many drops have, printed once.
type sharedWarning struct {
	Text  string
	Drops []string
}

// manyDrops is how many drops make a warning stand once for all.
const manyDrops = 4

// evidence takes out what many drops have in common.
func (v *page) evidence() {
	drops := map[string][]string{}
	for _, d := range v.EveryDrop() {
		for _, w := range d.Warnings {
			drops[w] = append(drops[w], d.Drop)
		}
	}
	said := map[string]bool{}
	for _, d := range v.EveryDrop() {
		var own []string
		for _, w := range d.Warnings {
			switch {
			case len(drops[w]) < manyDrops:
				own = append(own, w)
			case !said[w]:
				said[w] = true
				v.Shared = append(v.Shared, sharedWarning{w, drops[w]})
			}
		}
		d.Warnings = own
		if len(d.Evidence())+len(d.Bias())+len(d.Warnings) > 0 {
			v.Evidence = append(v.Evidence, d)
		}
	}
}

func (s say) condition(d view.ReportedDrop) string {
	filter, speed, rate, ringing := s.in.Say("not stated"), s.in.Say("not stated"), s.in.Say("not stated"), s.in.Say("not stated")
	if r := d.Reduction; r != nil {
		filter, rate, ringing = s.in.Text(r.Settings.Filter), s.stated(r.Rate.SI(), r.Rate), s.stated(r.Settings.RigFrequency.SI(), r.Settings.RigFrequency)
		if r.Settings.SpeedMethod != "" {
			speed = s.in.Text(r.Settings.SpeedMethod)
		}
	}
	return s.in.Say("sample rate %s; filter %s; rig frequency %s; impact speed %s", rate, filter, ringing, speed)
}

// decisionRow is decisions that differ in nothing but drop and time. The decisions on a drop that has more
// than one keep rows of their own, in their order.
type decisionRow struct {
	Drops    []string
	Proposed reduce.Proposal
	Last     string // time of the last
	single   bool
	view.Decided
}

func (v *page) decide(d view.ReportedDrop, k view.Decided) {
	for i := range v.DecisionRows {
		r := &v.DecisionRows[i]
		same := r.Decided
		same.At, same.Drop = k.At, k.Drop
		if same == k && r.Proposed == d.Proposed() && len(d.Decisions) == 1 && r.single {
			r.Drops = append(r.Drops, d.Drop)
			r.At, r.Last = min(r.At, k.At), max(r.Last, r.At, k.At)
			return
		}
	}
	v.DecisionRows = append(v.DecisionRows, decisionRow{Drops: []string{d.Drop}, Proposed: d.Proposed(), Last: k.At, single: len(d.Decisions) == 1, Decided: k})
}
