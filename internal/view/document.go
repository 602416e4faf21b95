package view

import (
	"maps"
	"math"
	"slices"
	"strings"
	"time"

	"github.com/hardcatch/hardcatch/internal/compare"
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/figure"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/plan"
	"github.com/hardcatch/hardcatch/internal/quantity"
	"github.com/hardcatch/hardcatch/internal/reduce"
	"github.com/hardcatch/hardcatch/internal/store"
)

// Report is a campaign as it is printed, in the domain's own types. Texts may hold anything; they are escaped. A zero or empty
// value of the rig, the specimens or the method is printed as "not stated". Texts of the program are English; they are said in the
// report's language when it is written.
type Report struct {
	Results                // cells, limits, planned drops, warnings
	In      message.Locale // language and decimal sign; the zero value is English
	Notes   string
	Made    time.Time // printed in UTC
	Program string    // name and version
	File    string    // of the campaign
	HeadSeq int64     // number of entries in its history

	Repeats    *look.Repeats // what came of making every reduction again; nil when it was not done
	InShort    []InShort
	Plan       *PlanReport // nil when the campaign was not planned
	Comparison *ComparisonView
	Scenes     *SceneView // nil without a measured peak
	CheckChart *Drawing   // nil when there is nothing to draw
	Rig        ReportedRig
	Specimens  []drop.Drop // with their earlier drops; those that differ in nothing but ID share a row
	Method     Method
	Figures    []Figure
	Drops      []ReportedDrop // trial drops, in the order to print
	CheckDrops []ReportedDrop
	Budgets    []ReportedDrop   // whose budget of the peak is printed
	Checklists []drop.Checklist // gone through before drops
	Photos     []Photo          // in order
	EveryCheck bool             // print every audit check in full, not only those that do not agree
}

// PlanReport is what was planned, against what was done.
type PlanReport struct {
	plan.Plan
	look.PlanProgress
	Cells    []PlannedCell
	Checks   int                // check drops planned
	CanShow  message.Sentence   // what so many specimens can show at most
	Warnings []message.Sentence // of the feasibility
}

// PlannedCell is a planned cell with what was taken of it and what had been predicted.
type PlannedCell struct {
	Number   int
	Name     string
	Planned  int
	Taken    int // void drops among them
	Void     int
	Forecast *plan.Forecast // nil when it could not be made
}

// InShort is a sentence of the answer in short.
type InShort struct {
	Subject string // cell or contrast, may be empty
	Text    message.Sentence
}

// Fact is a name with its value.
type Fact struct {
	Name  string
	Value string
}

// ReportedRig is the rig with its calibration fitted.
type ReportedRig struct {
	drop.Rig
	Fit      *reduce.Calibration // nil where none is given or it cannot be fitted
	Warnings []string
}

// Method is how records became measures: the latest reduction, and in what other ways drops were reduced.
type Method struct {
	*reduce.Reduction // nil when nothing was reduced
	Filters, Rates    []string
}

// Figure is a drawing with its caption. Figures of one group stand under one heading.
type Figure struct {
	Group   string
	Drawing figure.Drawing
	Caption string
	Half    bool // two side by side
}

// ReportedDrop is one release of the mass on one specimen, with all that was made of it.
type ReportedDrop struct {
	compare.Row
	Departure *look.Departure // from what its record gives when it is reduced again; nil when there is none
	Entry     drop.Drop
	Cell      int               // number of its cell, 0 = none
	Reduction *reduce.Reduction // nil when the record is missing or could not be reduced
	Decisions []Decided         // oldest first
	SHA256    string            // of its record, "" = none is kept
	Place     drop.Place        // of the latest decision
	Warnings  []string
}

// Decided is a decision with its time.
type Decided struct {
	drop.Decision
	At string
}

// Photo is a picture of a specimen or a break.
type Photo struct {
	store.Photo
	Alt  string // what it shows, in words
	JPEG []byte // without metadata
}

// Skipped are the questions of the checklists that were skipped.
func (r *Report) Skipped() []SkippedCheck {
	var out []SkippedCheck
	for _, l := range r.Checklists {
		for _, i := range l.Skipped() {
			out = append(out, SkippedCheck{CheckItem: i, Drop: l.Drop, By: l.By})
		}
	}
	return out
}

// SkippedCheck is a question of the checklist before a drop that was skipped.
type SkippedCheck struct {
	drop.CheckItem
	Drop, By string
}

// EveryDrop are the trial drops, then the check drops.
func (r *Report) EveryDrop() []ReportedDrop {
	return append(append([]ReportedDrop(nil), r.Drops...), r.CheckDrops...)
}

// Kept tells that the drop's record is in the list of records.
func (d ReportedDrop) Kept() bool { return d.Entry.Record != "" || d.SHA256 != "" }

// Checks are the audit checks of the drop's record.
func (d ReportedDrop) Checks() []reduce.Check {
	if d.Reduction == nil {
		return nil
	}
	return d.Reduction.Audit
}

// Evidence is what the record shows of how the drop ended.
func (d ReportedDrop) Evidence() []string {
	if d.Reduction == nil {
		return nil
	}
	return d.Reduction.Evidence
}

// Proposed is the outcome that the record suggests.
func (d ReportedDrop) Proposed() reduce.Proposal {
	if d.Reduction == nil {
		return ""
	}
	return d.Reduction.Outcome
}

// Bias says in what ways the peak reads wrong.
func (d ReportedDrop) Bias() []string {
	var out []string
	if d.Reduction != nil {
		for _, b := range d.Reduction.Bias {
			out = append(out, b.Source+": "+b.Text)
		}
	}
	return out
}

// Distance is how many standard uncertainties lie between found and expected of a check.
func Distance(c reduce.Check) (z float64, ok bool) {
	if c.Expected == nil || c.Found == nil || c.U == nil || !(*c.U > 0) {
		return 0, false
	}
	z = math.Abs(*c.Found-*c.Expected) / *c.U
	return z, !math.IsNaN(z) && !math.IsInf(z, 0)
}

// Facts are the calibration's model, residual and test in words; empty where nothing is fitted.
func (r ReportedRig) Facts() (model, residual, lack string) {
	if r.Fit == nil {
		return "", "", ""
	}
	fit := r.Fit
	model = calibrationModel(len(fit.Fit.C)-1, fit.Fit.N)
	residual = message.Text("%s %s with %d {degree|degrees} of freedom", quantity.Significant(fit.Fit.ResidualSD/fit.Unit.Factor, 2), r.LoadCell.Calibration.Input, fit.Fit.DoF)
	lack = "no lack of fit is seen at the 1 % level"
	if fit.Lack.Significant {
		lack = "this is the wrong model for the readings; see the warnings"
	}
	return model, residual, lack
}

// Settings are a step's arguments in the order of their names.
func Settings(s reduce.Step) []Fact {
	var out []Fact
	for _, k := range slices.Sorted(maps.Keys(s.Args)) {
		out = append(out, Fact{Name: strings.ReplaceAll(k, "_", " "), Value: short(s.Args[k])})
	}
	return out
}
