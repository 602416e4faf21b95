package report

import (
	"github.com/hardcatch/hardcatch/internal/drop"
)

type auditRow struct {
	Drop
	Verdicts []string // by check
}

type findingRow struct {
	Drop string
	Void bool
	Check
}

func (v *view) audit() {
	for _, d := range v.everyDrop() {
		for _, c := range d.Checks {
			if !contains(v.CheckNames, c.Name) {
				v.CheckNames = append(v.CheckNames, c.Name)
			}
		}
	}
	for _, d := range v.everyDrop() {
		row := auditRow{Drop: d, Verdicts: make([]string, len(v.CheckNames))}
		for i, name := range v.CheckNames {
			row.Verdicts[i] = none
			for _, c := range d.Checks {
				if c.Name == name {
					row.Verdicts[i] = v.brief(c)
				}
			}
		}
		if len(d.Checks) > 0 {
			v.AuditRows = append(v.AuditRows, row)
		}
		for _, c := range d.Checks {
			if v.EveryCheck || c.Verdict == Doubtful || c.Verdict == Disagrees {
				v.FindingRows = append(v.FindingRows, findingRow{d.ID, d.Outcome == drop.Void, c})
			}
		}
	}
}

// brief is a verdict with the distance in standard uncertainties where there is one.
func (s say) brief(c Check) string {
	mark := s.words(c.Verdict)
	switch c.Verdict {
	case Agrees:
		mark = "✓"
	case NotPossible:
		return none
	}
	// A check that agrees at more than 3 standard uncertainties asks for no more than expected, not for the
	// same: the distance says nothing there.
	if z, ok := c.ratio(); ok && (c.Verdict != Agrees || z <= 3) {
		mark += " " + s.in.Number(decimals(z, 1))
	}
	return mark
}
