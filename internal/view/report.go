package view

import (
	"context"
	"fmt"
	"io"
	"path/filepath"
	"sort"
	"strings"

	"github.com/hardcatch/hardcatch/internal/compare"
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/figure"
	"github.com/hardcatch/hardcatch/internal/limits"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/quantity"
	"github.com/hardcatch/hardcatch/internal/reduce"
	"github.com/hardcatch/hardcatch/internal/report"
	"github.com/hardcatch/hardcatch/internal/store"
)

// ReportOptions say how much of a campaign is printed.
type ReportOptions struct {
	EveryBudget bool // the budget of every drop, not of one
	EveryCheck  bool // every audit check in full
	NoFigures   bool
	NoPhotos    bool
	Lang        string // en, de or fr; "" = English
}

// Report writes a campaign as one self-contained page.
func Report(ctx context.Context, a *look.Access, path string, w io.Writer, o ReportOptions) error {
	in := message.English()
	if o.Lang != "" {
		var err error
		if in, err = message.In(o.Lang); err != nil {
			return fmt.Errorf("report: %w", err)
		}
	}
	return a.View(ctx, path, func(c *look.Entered, s store.Reader) error {
		r, err := results(c)
		if err != nil {
			return err
		}
		d := &report.Document{
			In:    in,
			Title: c.Info.Name, Question: c.Info.Question, Notes: c.Info.Notes, Invented: c.Info.Invented, Made: a.Now().UTC(), Program: "Hardcatch " + a.Version,
			Rig: reportRig(c.Rig), Method: method(c), Warnings: r.Warnings, EveryCheck: o.EveryCheck,
			Provenance: report.Provenance{Head: c.Head.Hash.String(), HeadSeq: c.Head.Seq, File: filepath.Base(path)},
		}
		d.Limits = reportLimits(r.Limits)
		reportCells(c, d, r)
		reportDrops(c, d, r, o)
		if err := reportPlan(ctx, a, c, d); err != nil {
			return err
		}
		if err := reportComparison(c, d, r, in, !o.NoFigures); err != nil {
			return err
		}
		if err := reportTower(ctx, c, s, d, r, o); err != nil {
			return err
		}
		if !o.NoFigures {
			if err := reportFigures(ctx, a, s, c, d, r, in); err != nil {
				return err
			}
		}
		return report.Write(w, d)
	})
}

func reportRig(r drop.Rig) report.Rig {
	g, from := r.G()
	cal := r.LoadCell.Calibration
	out := report.Rig{
		Name: r.Name, Mass: r.Mass, MassU: r.MassU, FallU: r.FallU, Gravity: g, GravitySource: from, Stiffness: r.Stiffness, Frequency: r.NodeFrequency(),
		Damping: r.Damping, AntiAlias: r.AntiAlias, Resolution: r.Resolution, SpeedMethod: r.SpeedMethod, LoadCell: r.LoadCell.Serial, Capacity: r.LoadCell.Capacity,
		Certificate: cal.Certificate, Calibrated: cal.Date, Expires: cal.Expires, ReferenceU: cal.ReferenceU, Notes: r.Notes,
	}
	if len(cal.Readings) == 0 {
		return out
	}
	fit, warnings, err := reduce.FitCalibration(cal)
	if err != nil {
		out.Warnings = []string{err.Error()}
		return out
	}
	out.Warnings = warnings
	degree := len(fit.Fit.C) - 1
	out.Model = fmt.Sprintf("polynomial of degree %d through %d readings", degree, fit.Fit.N)
	if degree == 1 {
		out.Model = fmt.Sprintf("straight line through %d readings", fit.Fit.N)
	}
	out.From, out.To = fit.ForceMin, fit.ForceMax
	out.FitResidual = fmt.Sprintf("%s %s with %d degrees of freedom", quantity.Significant(fit.Fit.ResidualSD/fit.Unit.Factor, 2), cal.Input, fit.Fit.DoF)
	out.LackOfFit = "no lack of fit is seen at the 1 % level"
	if fit.Lack.Significant {
		out.LackOfFit = "this is the wrong model for the readings; see the warnings"
	}
	return out
}

// method describes the latest reduction, and says when drops were reduced in different ways.
func method(c *look.Entered) report.Method {
	var latest *reduce.Reduction
	var at int64
	var filters, rates []string
	for _, d := range c.Drops {
		r := c.Reduction[d.ID]
		if r == nil {
			continue
		}
		if latest == nil || c.RedSeq[d.ID] > at {
			latest, at = r, c.RedSeq[d.ID]
		}
		filters, rates = with(filters, r.Settings.Filter.String()), with(rates, r.Rate.Text(4))
	}
	if latest == nil {
		return report.Method{}
	}
	m := report.Method{
		Version: latest.Version, Filter: strings.Join(filters, "; "), Sampling: strings.Join(rates, ", ") + "; peak interpolated by a parabola",
		Zero: "mean of the quiet stretch before the rise; its uncertainty from block means", Speed: latest.Settings.SpeedMethod, Coverage: latest.Coverage,
	}
	for _, s := range latest.Steps {
		step := report.Step{Name: s.Name, Version: s.Version}
		var keys []string
		for k := range s.Args {
			keys = append(keys, k)
		}
		sort.Strings(keys)
		for _, k := range keys {
			step.Settings = append(step.Settings, report.Fact{Name: strings.ReplaceAll(k, "_", " "), Value: short(s.Args[k])})
		}
		m.Steps = append(m.Steps, step)
	}
	m.More = []report.Fact{{Name: "steps shown", Value: "those of " + latest.Record + "; every drop's are kept in the campaign file"}}
	return m
}

// with appends s when it is not there.
func with(list []string, s string) []string {
	for _, have := range list {
		if have == s {
			return list
		}
	}
	return append(list, s)
}

func short(v any) string {
	if f, ok := v.(float64); ok {
		return quantity.Significant(f, 6)
	}
	return fmt.Sprint(v)
}

func reportCells(c *look.Entered, d *report.Document, r *Results) {
	for _, cell := range r.Cells {
		out := report.Cell{
			N: cell.N, Held: cell.Held, Broke: cell.Broke, Slipped: cell.Slip, Void: cell.Void, Mean: cell.Mean, SD: cell.SD, Lo: cell.Lo, Hi: cell.Hi,
			BrokeMean: cell.BrokeMean, AtLeast: cell.MeanIsLowerBound, BreakLo: cell.BreakLo, BreakHi: cell.BreakHi, Statement: cell.Statement, Warnings: cell.Warnings,
			Limits: reportLimits(cell.Limits),
		}
		var factors []string
		for f := range cell.Levels {
			factors = append(factors, f)
		}
		drop.SortFactors(factors)
		for _, f := range factors {
			out.Levels = append(out.Levels, report.Fact{Name: f, Value: cell.Levels[f]})
		}
		d.Cells = append(d.Cells, out)
	}
	for _, cell := range r.Cells[:min(len(r.Cells), 4)] {
		if len(r.Contrasts) == 0 {
			d.Answers = append(d.Answers, report.Answer{Subject: cell.Key(), Text: cell.Statement})
		}
	}
	if scaleUnknown(r) {
		d.Answers = append(d.Answers, report.Answer{Subject: "Uncertainty", Text: "The force scale of the load cell is not known: every ± in this report leaves it out, and the forces may be wrong by more than any ± says."})
	}
	if s := reachSentence(r); s != "" {
		d.Answers = append(d.Answers, report.Answer{Subject: "Limits", Text: s})
	}
}

func scaleUnknown(r *Results) bool {
	for _, c := range r.Cells {
		for _, d := range c.Drops {
			if d.NoScale && d.Peak != nil {
				return true
			}
		}
	}
	return false
}

// reachSentence counts the limits that the highest valid peak exceeds.
func reachSentence(r *Results) string {
	l := r.Highest()
	if l == nil {
		return ""
	}
	n := map[limits.Verdict]int{}
	text := ""
	for _, k := range r.Limits {
		n[k.Verdict]++
		if k.Verdict == limits.BrokeBelow {
			text = fmt.Sprintf(" Specimens parted below their own rating of %s, the weakest at %s (drop %s).", k.Value.Text(3), quantity.WithU(k.Peak, k.Expanded), k.Drop)
		}
	}
	return fmt.Sprintf("The highest valid peak, %s in drop %s, exceeds %d of the %d product and standard limits listed, is within reach of %d and stays below %d.%s None of the limits is an injury threshold.",
		atLeast(l), l.Drop, n[limits.Exceeds], len(r.Limits), n[limits.WithinReach], n[limits.Below], text)
}

// atLeast prints a verdict's peak, with ≥ where it is a lower bound.
func atLeast(l *LimitVerdict) string {
	text := quantity.WithU(l.Peak, l.Expanded)
	if l.LowerBound {
		text = "≥ " + text
	}
	return text
}

func reportLimits(list []LimitVerdict) []report.Limit {
	var out []report.Limit
	for _, l := range list {
		out = append(out, report.Limit{
			Name: l.Name, Value: l.Value, Kind: string(l.Kind), Edition: l.Edition, Terms: l.Terms, Source: l.Source, Verdict: string(l.Verdict),
			Drop: l.Drop, Peak: l.Peak, Expanded: l.Expanded, LowerBound: l.LowerBound,
		})
	}
	return out
}

func reportDrops(c *look.Entered, d *report.Document, r *Results, o ReportOptions) {
	byID := map[string]drop.Drop{}
	for _, x := range c.Drops {
		byID[x.ID] = x
		if c.Planned(x) {
			continue
		}
		sp := x.Specimen
		d.Specimens = append(d.Specimens, report.Specimen{
			ID: sp.ID, Material: sp.Material, Construction: sp.Construction, Length: sp.Length, Diameter: sp.Diameter, Knot: sp.Knot, Batch: sp.Batch,
			Conditioning: sp.Conditioning, Rating: sp.Rating, Standard: sp.Standard, Prior: x.Prior,
		})
	}
	budgeted := false
	for i, cell := range r.Cells {
		for _, row := range cell.Drops {
			d.Drops = append(d.Drops, reportDrop(c, byID[row.Drop], row, i+1))
			if red := c.Reduction[row.Drop]; red != nil && row.Outcome != drop.Void && (o.EveryBudget || !budgeted) {
				d.Budgets = append(d.Budgets, reportBudget(row.Drop, red))
				budgeted = true
			}
		}
	}
	for _, row := range r.Checks {
		d.CheckDrops = append(d.CheckDrops, reportDrop(c, byID[row.Drop], row, 0))
	}
}

func reportDrop(c *look.Entered, x drop.Drop, row compare.Row, cell int) report.Drop {
	out := report.Drop{
		ID: x.ID, Cell: cell, Specimen: x.Specimen.ID, Outcome: row.Outcome, Decided: row.Decided, Reason: row.Reason, Peak: row.Peak, Expanded: row.Expanded,
		LowerBound: row.LowerBound, Audit: row.Audit, Record: x.Record, SHA256: c.Trace[x.ID].SHA256, Taken: x.Taken, Order: x.Order,
	}
	for i, dec := range c.Decisions[x.ID] {
		out.Decisions = append(out.Decisions, report.Decision{At: c.DecidedAt[x.ID][i], By: dec.By, Outcome: dec.Outcome, Place: dec.Place, Reason: dec.Reason, Withdrawn: dec.Withdrawn})
		out.Place = dec.Place
	}
	r := c.Reduction[x.ID]
	if r == nil {
		out.Warnings = []string{"the record is missing or could not be reduced"}
		return out
	}
	out.K, out.Coverage, out.Rate, out.Filter, out.RigRings, out.Speed = r.PeakK, r.Coverage, r.Rate, r.Settings.Filter.String(), r.Settings.RigFrequency, r.Settings.SpeedMethod
	out.TimeToPeak, out.Elongation, out.Energy = &r.TimeToPeak, &r.MaxElongation, &r.EnergyAbsorbed
	out.Evidence, out.Proposed, out.Warnings = r.Evidence, string(r.Outcome), r.Warnings
	out.Bias = biasWords(r)
	for _, k := range r.Audit {
		out.Checks = append(out.Checks, report.Check{Name: k.Name, Unit: k.Unit, Expected: k.Expected, Found: k.Found, U: k.U, Verdict: string(k.Verdict), Meaning: k.Meaning})
	}
	return out
}

func biasWords(r *reduce.Reduction) []string {
	var out []string
	for _, b := range r.Bias {
		out = append(out, b.Source+": "+b.Text)
	}
	return out
}

func reportBudget(id string, r *reduce.Reduction) report.Budget {
	b := report.Budget{
		Drop: id, Measure: "peak force", Unit: "N", Value: r.Peak.SI(), U: r.PeakU.SI(), DoF: float64(r.PeakDoF), K: r.PeakK, Coverage: r.Coverage,
		Expanded: r.PeakExpanded.SI(), Bias: biasWords(r),
	}
	for _, x := range r.PeakBudget {
		b.Rows = append(b.Rows, report.BudgetRow{Label: x.Label, Kind: x.Kind, Shape: x.Shape, U: x.U, Sensitivity: x.Sensitivity, Contribution: x.Contribution, DoF: float64(x.DoF)})
	}
	return b
}

// reportFigures draws the strip plot and, for each cell, force over time and over elongation on common axes.
func reportFigures(ctx context.Context, a *look.Access, s store.Reader, c *look.Entered, d *report.Document, r *Results, in message.Locale) error {
	if len(r.Cells) == 0 {
		return nil
	}
	limit := linesFor(r, 4, in)
	d.Figures = append(d.Figures, report.Figure{Group: "All peaks", Drawing: stripPlot(r, limit, in), Caption: "Every valid peak with its expanded uncertainty; mean and t interval of those that held."})
	curves := map[string]*reduce.Curves{}
	var top quantity.Force
	var reach quantity.Length
	for i, x := range c.Drops {
		if err := ctx.Err(); err != nil {
			return fmt.Errorf("report: %w", err)
		}
		a.Progress("figures", i+1, len(c.Drops))
		if c.Reduction[x.ID] == nil || x.Role == drop.Check {
			continue
		}
		k, err := curvesOf(ctx, a, s, x)
		if err != nil {
			return err
		}
		curves[x.ID] = k
		if outcome, _ := look.Standing(c.Reduction[x.ID], c.Decisions[x.ID]); outcome != drop.Void {
			top, reach = max(top, k.Reduction.PeakRaw), max(reach, k.Reduction.MaxElongation)
		}
	}
	for i, cell := range r.Cells {
		// The limits stand in the figure of all peaks.
		ft, fe := cellFigures(cell.Cell, curves, nil, in, top, reach)
		if len(ft.Records) == 0 {
			continue
		}
		ft.Note, fe.Note = "", ""                                                           // said under the figure of all peaks
		ft.Width, fe.Width, ft.Depth, fe.Depth = figure.HalfWidth, figure.HalfWidth, 64, 64 // three cells to a page
		group := fmt.Sprintf("Cell %d: %s", i+1, cell.Name())
		d.Figures = append(d.Figures,
			report.Figure{Group: group, Drawing: ft, Caption: "Force over time, aligned at taut.", Half: true},
			report.Figure{Group: group, Drawing: fe, Caption: "Force over elongation; elongation includes rig and anchor.", Half: true})
	}
	return nil
}
