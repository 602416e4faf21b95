package compare

import (
	"math"
	"slices"
	"sort"

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
	P          float64 `json:"p"` // chance of so large a difference between groups that do not differ
	// Flags are groups whose mean (h) or scatter (k) stands out.
	Flags     []message.Sentence `json:"flags"`
	Statement message.Sentence   `json:"statement"`
	Warnings  []message.Sentence `json:"warnings"`
}

// AnalyseRepeatability pools the logarithms of the peaks of all cells in which every specimen held, each against the mean of its cell,
// and takes them apart by day and by operator. A group that no cell shares with another says nothing and is left out.
func AnalyseRepeatability(entries []Entry, cells []Cell) []Repeatability {
	out := []Repeatability{}
	for _, by := range []struct {
		name string
		of   func(drop.Drop) string
	}{{"day", func(d drop.Drop) string { return d.Taken }}, {"operator", func(d drop.Drop) string { return d.Operator }}} {
		groups := residuals(entries, cells, by.of)
		if len(groups) < 2 {
			continue
		}
		a, err := variation.AnalyseOneWay(groups)
		if err != nil {
			continue
		}
		r := Repeatability{By: by.name, Groups: a.Groups, N: a.N, WithinSD: math.Sqrt(a.WithinVariance), BetweenSD: math.Sqrt(a.BetweenVariance), P: a.P, Flags: []message.Sentence{}, Warnings: message.TellAll(a.Warnings)}
		r.TogetherSD = math.Hypot(r.WithinSD, r.BetweenSD)
		if s, err := variation.AnalysePrecision(groups, 0.005); err == nil {
			for _, g := range s.PerGroup {
				if g.HFlagged {
					r.Flags = append(r.Flags, message.Say("%s %s: its mean stands out (h = %s, critical %s)", by.name, message.Own(g.Name), quantity.Significant(g.H, 3), quantity.Significant(s.HCritical, 3)))
				}
				if g.KFlagged {
					r.Flags = append(r.Flags, message.Say("%s %s: its scatter stands out (k = %s, critical %s)", by.name, message.Own(g.Name), quantity.Significant(g.K, 3), quantity.Significant(g.KCritical, 3)))
				}
			}
		}
		pct := func(v float64) string { return quantity.Significant(100*v, 2) + " %" }
		r.Statement = message.Say("Peaks of one cell scatter by %s within a %s and by %s more between %ss (%d peaks, %d %ss): ", pct(r.WithinSD), by.name, pct(r.BetweenSD), by.name, r.N, r.Groups, by.name)
		if r.P <= SignificanceLevel {
			r.Statement = r.Statement.Say("the %ss differ by more than chance would explain (p = %s).", by.name, probability(r.P))
		} else {
			r.Statement = r.Statement.Say("chance alone may explain the difference between %ss (p = %s).", by.name, probability(r.P))
		}
		r.Warnings = append(r.Warnings, message.Say("cell means are taken out beforehand, so that the scatter within is a little too small in small cells"))
		out = append(out, r)
	}
	return out
}

func residuals(entries []Entry, cells []Cell, of func(drop.Drop) string) []variation.Group {
	group := map[string]string{}
	for _, e := range entries {
		group[e.Drop.ID] = of(e.Drop)
	}
	values := map[string][]float64{}
	for _, c := range cells {
		if c.MeanIsLowerBound || c.averaged < 2 {
			continue
		}
		var peaks []float64
		var names []string
		for _, r := range c.Drops {
			if g := group[r.Drop]; r.Outcome == drop.Held && r.Peak != nil && g != "" {
				peaks, names = append(peaks, math.Log(r.Peak.SI())), append(names, g)
			}
		}
		if len(peaks) < 2 || len(slices.Compact(slices.Sorted(slices.Values(names)))) < 2 {
			continue
		}
		mean := 0.0
		for _, p := range peaks {
			mean += p / float64(len(peaks))
		}
		for i, p := range peaks {
			values[names[i]] = append(values[names[i]], p-mean)
		}
	}
	var out []variation.Group
	for name, v := range values {
		out = append(out, variation.Group{Name: name, Values: v})
	}
	sort.Slice(out, func(i, j int) bool { return out[i].Name < out[j].Name })
	return out
}
