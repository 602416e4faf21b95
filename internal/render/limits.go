package render

import (
	"fmt"
	"slices"
	"sort"

	"github.com/hardcatch/hardcatch/internal/limits"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/view"
)

type limitGroup struct {
	Verdict limits.Verdict
	Limits  []sourcedLimit
}

// sourcedLimit is a limit with the number of its source in the list below the table.
type sourcedLimit struct {
	view.LimitVerdict
	Number int
}

// numberedText is what is said of the cell of a number.
type numberedText struct {
	Number int
	Text   message.Sentence
}

type limitRow struct {
	view.LimitVerdict
	Signs []string // by cell
}

func (v *page) limits() {
	order := []limits.Verdict{limits.BrokeBelow, limits.Exceeds, limits.WithinReach, limits.CannotTell, limits.Below}
	for _, l := range v.Report.Limits {
		if !slices.Contains(order, l.Verdict) {
			order = append(order, l.Verdict)
		}
	}
	for _, verdict := range order {
		g := limitGroup{Verdict: verdict}
		for _, l := range v.Report.Limits {
			if l.Verdict == verdict {
				g.Limits = append(g.Limits, sourcedLimit{l, v.source(l.Source)})
			}
		}
		sort.SliceStable(g.Limits, func(i, j int) bool { return g.Limits[i].Value < g.Limits[j].Value })
		if len(g.Limits) > 0 {
			v.LimitGroups = append(v.LimitGroups, g)
		}
	}
	if len(v.Report.Limits) > 0 {
		l := v.Report.Limits[0]
		v.LimitsAgainst = v.in.Say("%s of drop %s", v.peak(&l.Peak, &l.Expanded, l.LowerBound), l.Drop)
	}
	for i, c := range v.Report.Cells {
		if len(c.NextSpecimen) > 0 {
			v.NextSpecimens = append(v.NextSpecimens, numberedText{i + 1, c.NextSpecimen})
		}
	}
	v.limitsByCell()
}

// source numbers the sources of limits in order of first use, from 1.
func (v *page) source(s string) int {
	for i, known := range v.Sources {
		if known == s {
			return i + 1
		}
	}
	v.Sources = append(v.Sources, s)
	return len(v.Sources)
}

// limitsByCell makes the table of limits that not every cell is shown to stay below.
func (v *page) limitsByCell() {
	type key struct {
		name, edition string
		kind          limits.Kind
	}
	var rows []limitRow
	touched := []bool{}
	for c, cell := range v.Report.Cells {
		v.LimitCells = append(v.LimitCells, fmt.Sprint(c+1))
		for _, l := range cell.Limits {
			at := -1
			for i, r := range rows {
				if (key{r.Name, r.Edition, r.Kind}) == (key{l.Name, l.Edition, l.Kind}) && r.Value == l.Value {
					at = i
				}
			}
			if at < 0 {
				at = len(rows)
				rows = append(rows, limitRow{LimitVerdict: l, Signs: make([]string, len(v.Report.Cells))})
				touched = append(touched, false)
			}
			rows[at].Signs[c] = limitSign(l.Verdict)
			touched[at] = touched[at] || l.Verdict != limits.Below
		}
	}
	for i, r := range rows {
		if touched[i] {
			v.LimitRows = append(v.LimitRows, r)
		}
	}
	sort.SliceStable(v.LimitRows, func(i, j int) bool { return v.LimitRows[i].Value < v.LimitRows[j].Value })
}

func limitSign(verdict limits.Verdict) string {
	switch verdict {
	case limits.Exceeds:
		return "▲"
	case limits.WithinReach:
		return "≈"
	case limits.CannotTell:
		return "?"
	case limits.Below:
		return "·"
	case limits.BrokeBelow:
		return "▽"
	}
	return string(verdict)
}
