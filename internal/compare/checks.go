package compare

import (
	"math"
	"slices"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/num/variation"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// CheckChart holds each check drop against the others, in the order they were made.
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
	// FalseAlarm bounds the chance that a steady rig breaks any rule of the whole chart; 0 without a chart.
	FalseAlarm float64 `json:"false_alarm_rate"`
	// LowerEach and UpperEach are the limits that the others set to each drop; Lower and Upper those for one further drop.
	LowerEach []float64 `json:"lower_each_N"`
	UpperEach []float64 `json:"upper_each_N"`
	// Unseen is how far off a single drop may lie without being noticed (N).
	Unseen float64 `json:"unnoticed_up_to_N"`
	// KnownSD is the standard uncertainty of the budgets (N) against which few drops are held as well; null where it is not known or there are enough.
	KnownSD *float64 `json:"known_sd_N"`
}

// BrokenRule is a rule that the drops First to Drop broke.
type BrokenRule struct {
	Drop  string `json:"drop"` // that completed the pattern
	First string `json:"first_drop"`
	Rule  string `json:"rule"`
	Chart string `json:"chart"` // "single values", "moving range", "weighted average" or "lasting change"
}

const (
	// averageWeight is the weight of the newest drop that the textbooks call usual.
	averageWeight = 0.2
	// chartFalseAlarm is the chance that a chart of a steady rig raises any alarm. Common practice, no source.
	chartFalseAlarm = 0.01
)

// ChartChecks holds the peaks of the check drops against each other: single values, moving range, weighted average and lasting changes,
// with limits that the drop in question does not set itself and a chance of 1 % of any false alarm in the whole chart. Where there are few, the
// standard uncertainty of their budgets counts as a known scatter beside their own. Fewer than three, or peaks all alike, give no chart but a sentence.
func ChartChecks(entries []Entry) *CheckChart {
	var checks []Entry
	for _, e := range entries {
		if e.Drop.Role == drop.Check && e.Outcome != drop.Void && e.Outcome != "" && e.LeftOut == "" && e.Row().Peak != nil {
			checks = append(checks, e)
		}
	}
	slices.SortStableFunc(checks, func(a, b Entry) int { return inTime(a.Drop, b.Drop) })
	c := &CheckChart{N: len(checks), Drops: []string{}, Peaks: []float64{}, EWMA: []float64{}, EWMALower: []float64{}, EWMAUpper: []float64{}, Violations: []message.Sentence{}, Warnings: []message.Sentence{}, Taken: []string{}, Ranges: []float64{}, BrokenRules: []BrokenRule{}, LowerEach: []float64{}, UpperEach: []float64{}}
	known := 0.0
	for _, e := range checks {
		c.Drops, c.Peaks, c.Taken = append(c.Drops, e.Drop.ID), append(c.Peaks, e.Peak.SI()), append(c.Taken, e.Drop.Taken)
		known = math.Max(known, e.Expanded.SI()/2) // coverage factor 2
	}
	c.Drift, c.DriftSays = drift(c.Taken, c.Peaks, 0.95)
	if c.N == 0 {
		c.Statement = message.Say("No check drops: nothing shows that the rig stayed the same over the campaign.")
		return c
	}
	x, err := variation.ChartPoints(c.Peaks, known, averageWeight, chartFalseAlarm)
	if err != nil {
		c.Statement = message.Say("Check drops: ").Say("%s.", err)
		return c
	}
	c.Centre, c.Lower, c.Upper, c.RangeUpper, c.Ranges = x.Centre, x.Lower, x.Upper, x.RangeUpper, x.Ranges
	c.EWMA, c.EWMALower, c.EWMAUpper = x.Average, x.AverageLower, x.AverageUpper
	c.LowerEach, c.UpperEach, c.Unseen, c.FalseAlarm = x.LowerEach, x.UpperEach, x.Widest, x.FalseAlarm
	if known > 0 && c.N < variation.FewPoints {
		c.KnownSD = &known
	}
	for _, v := range x.Violations {
		at := c.Drops[v.Index]
		if v.Rule == variation.LastingShift {
			at = c.Drops[v.First] // where it begins
		}
		c.Violations = append(c.Violations, message.Say("drop %s: %s", message.Own(at), v.Rule))
		chart := "single values"
		switch v.Rule {
		case variation.RangeBeyond:
			chart = "moving range"
		case variation.AverageBeyond:
			chart = "weighted average"
		case variation.LastingShift:
			chart = "lasting change"
		}
		c.BrokenRules = append(c.BrokenRules, BrokenRule{Drop: c.Drops[v.Index], First: c.Drops[v.First], Rule: v.Rule.String(), Chart: chart})
	}
	c.Statement = c.say()
	if c.N < variation.FewPoints {
		c.Warnings = append(c.Warnings, message.Say("%d check {drop sets|drops set} limits that are many times as wide as the scatter; take %d or more", c.N, variation.FewPoints))
	}
	if c.KnownSD != nil {
		c.Warnings = append(c.Warnings, message.Say("so few check drops are also held against the uncertainty of measurement; where the reference element itself scatters more than that, a rule broken by it may be a false alarm"))
	}
	return c
}

// tooWide is the share of the peak from which on limits show nothing worth knowing of a rig. Common practice, no source.
const tooWide = 0.1

func (c *CheckChart) say() message.Sentence {
	s := message.Say("%d check {drop|drops} around %s, limits for the next %s to %s: ", c.N, quantity.Force(c.Centre), quantity.Force(math.Max(0, c.Lower)), quantity.Force(c.Upper))
	share := message.Say("%s (%s %%)", quantity.Force(c.Unseen), RoundOutward(100*c.Unseen/c.Centre, math.Ceil))
	switch {
	case len(c.Violations) == 1:
		return s.Say("1 broken rule (false alarms: at most %g %% of such charts); look at the rig before trusting the drops since.", 100*c.FalseAlarm)
	case len(c.Violations) > 1:
		return s.Say("%d broken {rule|rules} (false alarms: at most %g %% of such charts); look at the rig before trusting the drops since.", len(c.Violations), 100*c.FalseAlarm)
	case c.N < variation.FewPoints && c.Unseen > tooWide*c.Centre:
		return s.Say("they could not have shown that the rig changed: only a drop off by more than %s would have been noticed; take %d or more.", share, variation.FewPoints)
	}
	return s.Say("no rule is broken; a single drop off by less than %s may have gone unnoticed.", share)
}
