package render

import (
	"slices"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/reduce"
	"github.com/hardcatch/hardcatch/internal/view"
)

type auditRow struct {
	view.ReportedDrop
	Verdicts []string // by check
}

type findingRow struct {
	Drop string
	Void bool
	reduce.Check
}

func (v *page) audit() {
	for _, d := range v.EveryDrop() {
		for _, c := range d.Checks() {
			if !slices.Contains(v.CheckNames, c.Name) {
				v.CheckNames = append(v.CheckNames, c.Name)
			}
		}
	}
	for _, d := range v.EveryDrop() {
		row := auditRow{ReportedDrop: d, Verdicts: make([]string, len(v.CheckNames))}
		for i, name := range v.CheckNames {
			row.Verdicts[i] = none
			for _, c := range d.Checks() {
				if c.Name == name {
					row.Verdicts[i] = v.brief(c)
				}
			}
		}
		if len(d.Checks()) > 0 {
			v.AuditRows = append(v.AuditRows, row)
		}
		for _, c := range d.Checks() {
			if v.EveryCheck || c.Verdict == reduce.Doubtful || c.Verdict == reduce.Disagrees {
				v.FindingRows = append(v.FindingRows, findingRow{d.Drop, d.Outcome == drop.Void, c})
			}
		}
	}
}

// brief is a verdict with the distance in standard uncertainties where there is one.
func (s say) brief(c reduce.Check) string {
	mark := s.in.Text(c.Verdict)
	switch c.Verdict {
	case reduce.Agrees:
		mark = "✓"
	case reduce.NotPossible:
		return none
	}
	// A check that agrees at more than 3 standard uncertainties asks for no more than expected, not for the
	// same: the distance says nothing there.
	if z, ok := view.Distance(c); ok && (c.Verdict != reduce.Agrees || z <= 3) {
		mark += " " + s.in.Number(decimals(z, 1))
	}
	return mark
}
