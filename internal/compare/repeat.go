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

// CheckChart holds the check drops against themselves, in the order they were made.
type CheckChart struct {
	N          int                `json:"n"`
	Drops      []string           `json:"drops"`
	Peaks      []float64          `json:"peaks_N"`
	Centre     float64            `json:"centre_N"`
	Lower      float64            `json:"lower_N"`
	Upper      float64            `json:"upper_N"`
	RangeUpper float64            `json:"range_upper_N"`
	EWMA       []float64          `json:"ewma_N"`
	EWMALower  []float64          `json:"ewma_lower_N"`
	EWMAUpper  []float64          `json:"ewma_upper_N"`
	Violations []message.Sentence `json:"violations"`
	Statement  message.Sentence   `json:"statement"`
	Warnings   []message.Sentence `json:"warnings"`
	// Taken are the days of the drops, Ranges the moving ranges (one fewer than the drops), BrokenRules the violations taken apart.
	Taken       []string         `json:"taken"`
	Ranges      []float64        `json:"ranges_N"`
	BrokenRules []BrokenRule     `json:"broken_rules"`
	Drift       *Drift           `json:"gain_drift"` // null where it cannot be told
	DriftSays   message.Sentence `json:"gain_drift_statement"`
}

// BrokenRule is a rule that the drops First to Drop broke.
type BrokenRule struct {
	Drop  string `json:"drop"` // that completed the pattern
	First string `json:"first_drop"`
	Rule  string `json:"rule"`
	Chart string `json:"chart"` // "single values", "moving range" or "weighted average"
}

// EWMA settings: the weight and width that the textbooks call usual.
const (
	ewmaWeight = 0.2
	ewmaWidth  = 3
)

// ChartChecks makes control charts of the peaks of the check drops: single values with moving range, and the
// exponentially weighted moving average. Fewer than three, or peaks all alike, give no chart but a sentence.
func ChartChecks(entries []Entry) *CheckChart {
	var checks []Entry
	for _, e := range entries {
		if e.Drop.Role == drop.Check && e.Outcome != drop.Void && e.Outcome != "" && e.Row().Peak != nil {
			checks = append(checks, e)
		}
	}
	sort.SliceStable(checks, func(i, j int) bool {
		a, b := checks[i].Drop, checks[j].Drop
		if a.Taken != b.Taken {
			return a.Taken < b.Taken
		}
		return a.Order < b.Order
	})
	c := &CheckChart{N: len(checks), Drops: []string{}, Peaks: []float64{}, EWMA: []float64{}, EWMALower: []float64{}, EWMAUpper: []float64{}, Violations: []message.Sentence{}, Warnings: []message.Sentence{}, Taken: []string{}, Ranges: []float64{}, BrokenRules: []BrokenRule{}}
	for _, e := range checks {
		c.Drops, c.Peaks, c.Taken = append(c.Drops, e.Drop.ID), append(c.Peaks, e.Peak.SI()), append(c.Taken, e.Drop.Taken)
	}
	c.Drift, c.DriftSays = drift(c.Taken, c.Peaks, 0.95)
	if c.N == 0 {
		c.Statement = message.Say("No check drops: nothing shows that the rig stayed the same over the campaign.")
		return c
	}
	base, err := variation.TakeBaseline(c.Peaks)
	if err != nil {
		c.Statement = message.Say("Check drops: ").Say("%s.", err)
		return c
	}
	c.Warnings = append(c.Warnings, message.TellAll(base.Warnings)...)
	single, err := variation.ChartIndividuals(base, c.Peaks, variation.RunRules)
	if err != nil {
		c.Statement = message.Say("Check drops: ").Say("%s.", err)
		return c
	}
	c.Centre, c.Lower, c.Upper, c.RangeUpper, c.Ranges = base.Centre, single.Lower, single.Upper, single.RangeUpper, single.Ranges
	violations := single.Violations
	if w, err := variation.ChartEWMA(base, c.Peaks, ewmaWeight, ewmaWidth); err == nil {
		c.EWMA, c.EWMALower, c.EWMAUpper = w.Z, w.Lower, w.Upper
		violations = append(violations, w.Violations...)
	}
	for _, v := range violations {
		c.Violations = append(c.Violations, message.Say("drop %s: %s", message.Own(c.Drops[v.Index]), v.Rule))
		chart := "single values"
		switch v.Rule {
		case variation.RangeBeyond:
			chart = "moving range"
		case variation.AverageBeyond:
			chart = "weighted average"
		}
		c.BrokenRules = append(c.BrokenRules, BrokenRule{Drop: c.Drops[v.Index], First: c.Drops[v.First], Rule: v.Rule.String(), Chart: chart})
	}
	c.Statement = message.Say("%d check drops around %s, limits %s to %s: ", c.N, quantity.Force(c.Centre), quantity.Force(c.Lower), quantity.Force(c.Upper))
	if len(c.Violations) == 0 {
		c.Statement = c.Statement.Say("no rule is broken.")
	} else {
		c.Statement = c.Statement.Say("%d broken rules; look at the rig before trusting the drops since.", len(c.Violations))
	}
	return c
}
