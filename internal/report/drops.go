package report

import (
	"github.com/hardcatch/hardcatch/internal/drop"
)

type dropRow struct {
	Drop
	Condition int
	Record    int // number of its record in the list of records, 0 = none
}

// drops numbers the conditions under which peaks were measured, so that each peak can state its own.
func (v *view) drops() {
	condition := func(d Drop) int {
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
	row := func(d Drop) dropRow {
		r := dropRow{Drop: d, Condition: condition(d)}
		if d.kept() {
			records++
			r.Record = records
		}
		return r
	}
	for _, d := range v.Document.Drops {
		v.DropRows = append(v.DropRows, row(d))
	}
	for _, d := range v.Document.CheckDrops {
		v.CheckRows = append(v.CheckRows, row(d))
	}
	for _, d := range v.everyDrop() {
		if d.Outcome == drop.Void {
			v.Voided = append(v.Voided, d)
		}
		for _, k := range d.Decisions {
			v.decide(d, k)
		}
		if d.kept() {
			v.Records = append(v.Records, d)
		}
	}
}

// kept tells that the drop's record is in the list of records.
func (d Drop) kept() bool { return d.Record != "" || d.SHA256 != "" }

// sharedWarning is a warning that many drops have, printed once.
type sharedWarning struct {
	Text  string
	Drops []string
}

// manyDrops is how many drops make a warning stand once for all.
const manyDrops = 4

// evidence takes out what many drops have in common.
func (v *view) evidence() {
	drops := map[string][]string{}
	for _, d := range v.everyDrop() {
		for _, w := range d.Warnings {
			drops[w] = append(drops[w], d.ID)
		}
	}
	said := map[string]bool{}
	for _, d := range v.everyDrop() {
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
		if len(d.Evidence)+len(d.Bias)+len(d.Warnings) > 0 {
			v.Evidence = append(v.Evidence, d)
		}
	}
}

func (v *view) everyDrop() []Drop {
	return append(append([]Drop(nil), v.Document.Drops...), v.Document.CheckDrops...)
}

func (s say) condition(d Drop) string {
	filter, speed := s.in.Say("not stated"), s.in.Say("not stated")
	if d.Filter != "" {
		filter = s.words(d.Filter)
	}
	if d.Speed != "" {
		speed = s.words(d.Speed)
	}
	return s.in.Say("sample rate %s; filter %s; rig frequency %s; impact speed %s", s.stated(d.Rate.SI(), d.Rate), filter, s.stated(d.RigRings.SI(), d.RigRings), speed)
}

// decisionRow is decisions that differ in nothing but drop and time. The decisions on a drop that has more
// than one keep rows of their own, in their order.
type decisionRow struct {
	Drops    []string
	Proposed string
	Last     string // time of the last
	single   bool
	Decision
}

func (v *view) decide(d Drop, k Decision) {
	for i := range v.DecisionRows {
		r := &v.DecisionRows[i]
		same := r.Decision
		same.At = k.At
		if same == k && r.Proposed == d.Proposed && len(d.Decisions) == 1 && r.single {
			r.Drops = append(r.Drops, d.ID)
			r.At, r.Last = min(r.At, k.At), max(r.Last, r.At, k.At)
			return
		}
	}
	v.DecisionRows = append(v.DecisionRows, decisionRow{Drops: []string{d.ID}, Proposed: d.Proposed, Last: k.At, single: len(d.Decisions) == 1, Decision: k})
}
