package cli

import (
	"context"
	"fmt"
	"math"

	"github.com/hardcatch/hardcatch/internal/jobs"
	"github.com/hardcatch/hardcatch/internal/quantity"
	"github.com/hardcatch/hardcatch/internal/reduce"
	"github.com/hardcatch/hardcatch/internal/reduce/selfcal"
)

// Shares of a stated 95 % that need no remark; what lies outside for certain is said.
const leastCovered, mostCovered = 0.92, 0.98

// coverageSeed makes the runs the same each time.
const coverageSeed = 1

// mostCoverageRuns bounds what a person may ask for.
const mostCoverageRuns = 10000

// measureCoverage computes arrests like that of a record and reduces them again, on all cores.
func measureCoverage(ctx context.Context, w *reduce.WholeReduction, runs int) (*selfcal.Result, error) {
	if runs < 20 || runs > mostCoverageRuns {
		return nil, fmt.Errorf("%d arrests are too few or too many to measure a coverage with; ask for 20 to %d, 200 is usual", runs, mostCoverageRuns)
	}
	p, err := selfcal.NewPlan(w, coverageSeed)
	if err != nil {
		return nil, err
	}
	made := make([]selfcal.Run, runs)
	err = jobs.Local(ctx, runs, func() func(context.Context, int) error {
		return func(ctx context.Context, i int) error {
			made[i] = p.Run(i)
			return ctx.Err()
		}
	}, nil)
	if err != nil {
		return nil, err
	}
	return p.Sum(made), nil
}

// coverage prints how often the intervals held the truth.
func (s *streams) coverage(c *selfcal.Result) error {
	s.heading("Measured coverage")
	s.say("  %s", wrap(fmt.Sprintf("%d arrests like this one were computed (%s; peak %s, %s long) with gain, mass and height drawn within what is stated, the record's own noise was laid on them, and they were reduced again. %g %% is stated.", c.Runs, c.Model, c.Peak.Text(3), c.Duration.Text(3), 100*c.Coverage), 98, "  "))
	rows := [][]string{{"measure", "held the truth", "95 % between", "median error", "median U", ""}}
	for _, m := range c.Measures {
		u, off, word := withUnit(m.MedianU, m.Unit), fmt.Sprintf("%+.2g %%", 100*m.MedianOff), ""
		if m.Bounds == m.Told {
			u, off = "–", "–"
			word = "bounds"
		}
		between := "–"
		if m.Between != nil {
			between = fmt.Sprintf("%.1f to %.1f %%", 100*m.Between[0], 100*m.Between[1])
			switch {
			case m.Between[1] < leastCovered:
				word = "too seldom: do not rely on this U"
			case m.Bounds < m.Told && m.Between[0] > mostCovered:
				word = "U is larger than it need be"
			}
		}
		rows = append(rows, []string{m.Name, fmt.Sprintf("%d of %d, %.1f %%", m.Covered, m.Told, 100*m.Share), between, off, u, word})
	}
	if err := s.table(rows); err != nil {
		return err
	}
	if c.Refused > 0 {
		s.say("  %d of the computed records were refused and count nowhere", c.Refused)
	}
	return nil
}

func withUnit(v float64, unit string) string {
	if math.IsNaN(v) {
		return "–"
	}
	return quantity.Significant(v, 3) + " " + unit
}
