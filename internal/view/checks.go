package view

import (
	"context"
	"fmt"
	"math"
	"slices"

	"github.com/hardcatch/hardcatch/internal/compare"
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/figure"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// ChecksView is what the check drops say about the rig. The JSON names are stable: names are added, never changed.
type ChecksView struct {
	Chart       *compare.CheckChart     `json:"chart"`
	Drops       []CheckDrop             `json:"drops"` // in the order made, void and undecided ones too
	Planned     []string                `json:"planned"`
	Repeat      []compare.Repeatability `json:"repeatability"`
	Certificate string                  `json:"certificate"`
	From        string                  `json:"calibrated_on"`
	Until       string                  `json:"holds_until"`
	Expiry      Expiry                  `json:"calibration_expiry"` // today
	// After are the drops of the campaign, check drops or not, that were taken after the certificate had ended.
	After    []string           `json:"taken_after_expiry"`
	Warnings []message.Sentence `json:"warnings"`
	Cautions []string           `json:"cautions"`

	Wide, Narrow *Drawing `json:"-"` // the chart for a desk and for a phone; nil when there is nothing to draw
}

// CheckDrop is a check drop with what it has against it.
type CheckDrop struct {
	compare.Row
	Taken    string          `json:"taken"`
	Element  string          `json:"element"` // what was dropped on
	Fall     quantity.Length `json:"fall_m"`
	Charted  bool            `json:"charted"`
	Rules    []string        `json:"broken_rules"`
	Operator string          `json:"operator"`
}

// Checks sums up the check drops as they are now.
func Checks(ctx context.Context, s *look.Campaign, in message.Locale) (*ChecksView, error) {
	v, err := look.Remembered(ctx, s, "checks "+in.Lang(), func(st *look.Moment) (*ChecksView, error) { return checks(st, in) })
	if err != nil {
		return nil, err
	}
	out := *v
	st, err := s.Moment(ctx)
	if err != nil {
		return nil, err
	}
	// Today is no part of the logbook.
	out.Expiry = Expiry{State: "not stated"}
	if st.Rig != nil {
		out.Expiry = expiryOn(st.Rig.LoadCell.Calibration, s.Access.Now())
	}
	return &out, nil
}

func checks(st *look.Moment, in message.Locale) (*ChecksView, error) {
	entries := st.Entered.Entries()
	cells, err := compare.Cells(entries, look.Confidence)
	if err != nil {
		return nil, err
	}
	v := &ChecksView{Chart: compare.ChartChecks(entries), Drops: []CheckDrop{}, Planned: []string{}, Repeat: compare.AnalyseRepeatability(entries, cells), After: []string{}, Warnings: []message.Sentence{}, Cautions: drop.Cautions()}
	var cal drop.CalibrationData
	if st.Rig != nil {
		cal = st.Rig.LoadCell.Calibration
		v.Certificate, v.From, v.Until = cal.Certificate, cal.Date, cal.Expires
	}
	elements := map[string]bool{}
	for _, e := range entries {
		if on, err := cal.StandingOn(e.Drop.Taken); err == nil && on.Over() && !e.Planned {
			v.After = append(v.After, e.Drop.ID)
		}
		if e.Drop.Role != drop.Check {
			continue
		}
		if e.Planned {
			v.Planned = append(v.Planned, e.Drop.ID)
			continue
		}
		d := CheckDrop{Row: e.Row(), Taken: e.Drop.Taken, Element: e.Drop.Specimen.ID, Fall: e.Drop.Fall, Operator: e.Drop.Operator, Rules: []string{}, Charted: slices.Contains(v.Chart.Drops, e.Drop.ID)}
		for _, r := range v.Chart.BrokenRules {
			if r.Drop == e.Drop.ID {
				d.Rules = append(d.Rules, r.Rule)
			}
		}
		if d.Charted {
			elements[fmt.Sprintf("%s from %s", d.Element, d.Fall.Text(3))] = true
		}
		v.Drops = append(v.Drops, d)
	}
	// In the order of the chart; what is not charted follows.
	slices.SortStableFunc(v.Drops, func(a, b CheckDrop) int { return v.place(a) - v.place(b) })
	if len(elements) > 1 {
		v.Warnings = append(v.Warnings, message.Say("the check drops are of %d kinds (element and fall): a chart of unlike drops shows their difference and not the rig's; keep one reference element and one fall", len(elements)))
	}
	if len(v.Chart.Drops) > 0 {
		v.Wide, v.Narrow = drawn(v.chart(in, figure.FullWidth), "checks"), drawn(v.chart(in, 270), "checks-narrow")
	}
	return v, nil
}

func (v *ChecksView) place(d CheckDrop) int {
	if i := slices.Index(v.Chart.Drops, d.Drop); i >= 0 {
		return i
	}
	return len(v.Chart.Drops)
}

func (v *ChecksView) chart(in message.Locale, width float64) figure.ControlChart {
	c := v.Chart
	f := figure.ControlChart{
		Frame:  figure.Frame{Title: in.Say("Check drops over the days"), Width: width, In: in},
		Centre: quantity.Force(c.Centre), Lower: quantity.Force(c.Lower), Upper: quantity.Force(c.Upper), Ranges: c.Ranges, RangeUpper: quantity.Force(c.RangeUpper),
		Average: c.EWMA, AverageLo: c.EWMALower, AverageHi: c.EWMAUpper, From: v.From, Until: v.Until, Unlisted: true,
	}
	if c.Upper == 0 {
		f.Centre, f.Lower, f.Upper = quantity.Force(math.NaN()), quantity.Force(math.NaN()), quantity.Force(math.NaN())
	}
	for i, d := range c.Drops {
		f.Points = append(f.Points, figure.CheckPoint{Name: d, Day: c.Taken[i], Peak: quantity.Force(c.Peaks[i])})
	}
	charts := map[string]int{"moving range": 1, "weighted average": 2}
	for _, r := range c.BrokenRules {
		f.Broken = append(f.Broken, figure.BrokenRule{First: slices.Index(c.Drops, r.First), Last: slices.Index(c.Drops, r.Drop), Text: in.Word(r.Rule), Chart: charts[r.Chart]})
	}
	return f
}
