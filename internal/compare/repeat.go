package compare

import (
	"math"
	"slices"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/num/variation"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// Repeatability tells how far peaks of one cell scatter within a day (or operator), and how much more between days.
// All standard deviations are relative to the peak.
type Repeatability struct {
	By     string `json:"by"` // "day" or "operator"
	Groups int    `json:"groups"`
	N      int    `json:"n"`
	// WithinSD is s_r, BetweenSD s_L, TogetherSD s_R = sqrt(s_r^2 + s_L^2).
	WithinSD   float64 `json:"s_r"`
	BetweenSD  float64 `json:"s_L"`
	TogetherSD float64 `json:"s_R"`
	WithinDoF  int     `json:"within_dof"` // degrees of freedom of s_r: peaks - cells - groups + 1 where the design hangs together
	P          float64 `json:"p"`          // chance of so large a difference between groups that do not differ
	// Flags are groups whose mean (h) or scatter (k) stands out.
	Flags     []message.Sentence `json:"flags"`
	Statement message.Sentence   `json:"statement"`
	Warnings  []message.Sentence `json:"warnings"`
}

// AnalyseRepeatability takes the logarithms of the peaks of all cells in which every specimen held apart into cell, day (then operator) and scatter
// (variation.AnalyseTwoWay). A cell of one group only says nothing about groups and is left out.
func AnalyseRepeatability(entries []Entry, cells []Cell) []Repeatability {
	out := []Repeatability{}
	for _, by := range []struct {
		name string
		of   func(drop.Drop) string
	}{{"day", func(d drop.Drop) string { return d.Taken }}, {"operator", func(d drop.Drop) string { return d.Operator }}} {
		values, groups := crossed(entries, cells, by.of)
		if len(groups) < 2 {
			continue
		}
		a, err := variation.AnalyseTwoWay(values, 0.005)
		if err != nil {
			continue
		}
		r := Repeatability{By: by.name, Groups: a.Groups, N: a.N, WithinDoF: a.WithinDoF, WithinSD: math.Sqrt(a.WithinVariance), BetweenSD: math.Sqrt(a.BetweenVariance), P: a.P, Flags: []message.Sentence{}, Warnings: message.TellAll(a.Warnings)}
		r.TogetherSD = math.Hypot(r.WithinSD, r.BetweenSD)
		for i, g := range a.PerGroup {
			if g.HFlagged {
				r.Flags = append(r.Flags, message.Say("%s %s: its mean stands out (h = %s, critical %s)", by.name, message.Own(groups[i]), quantity.Significant(g.H, 3), quantity.Significant(a.HCritical, 3)))
			}
			if g.KFlagged {
				r.Flags = append(r.Flags, message.Say("%s %s: its scatter stands out (k = %s, critical %s)", by.name, message.Own(groups[i]), quantity.Significant(g.K, 3), quantity.Significant(g.KCritical, 3)))
			}
		}
		pct := func(v float64) string { return quantity.Significant(100*v, 2) + " %" }
		r.Statement = message.Say("Peaks of one cell scatter by %s within a %s and by %s more between %ss (%d {peak|peaks}, %d %ss): ", pct(r.WithinSD), by.name, pct(r.BetweenSD), by.name, r.N, r.Groups, by.name)
		if r.P <= SignificanceLevel {
			r.Statement = r.Statement.Say("the %ss differ by more than chance would explain (p = %s).", by.name, probability(r.P))
		} else {
			r.Statement = r.Statement.Say("chance alone may explain the difference between %ss (p = %s).", by.name, probability(r.P))
		}
		if r.WithinDoF < fewDegrees {
			r.Warnings = append(r.Warnings, message.Say("the scatter within a %s rests on %d {degree|degrees} of freedom only (peaks less cells and %ss): it is known poorly", by.name, r.WithinDoF, by.name))
		}
		out = append(out, r)
	}
	return out
}

// fewDegrees is the number below which a standard deviation is unsure by a quarter and more: 1/sqrt(2 x 8).
const fewDegrees = 8

// crossed are the log peaks by cell and group, with the names of the groups in their order.
func crossed(entries []Entry, cells []Cell, of func(drop.Drop) string) ([]variation.Crossed, []string) {
	group := map[string]string{}
	for _, e := range entries {
		group[e.Drop.ID] = of(e.Drop)
	}
	var values []variation.Crossed
	var name, groups []string // the group of each value, and all
	cell := 0
	for _, c := range cells {
		if c.MeanIsLowerBound || c.averaged < 2 {
			continue
		}
		var peaks []float64
		var names []string
		for _, r := range c.Drops {
			if g := group[r.Drop]; r.Outcome == drop.Held && r.Peak != nil && !r.Again && g != "" {
				peaks, names = append(peaks, math.Log(r.Peak.SI())), append(names, g)
			}
		}
		if len(peaks) < 2 || len(slices.Compact(slices.Sorted(slices.Values(names)))) < 2 {
			continue
		}
		for i, p := range peaks {
			values, name = append(values, variation.Crossed{Cell: cell, Value: p}), append(name, names[i])
		}
		cell++
	}
	groups = slices.Compact(slices.Sorted(slices.Values(name)))
	for i := range values {
		values[i].Group = slices.Index(groups, name[i])
	}
	return values, groups
}
