package view

import (
	"context"
	"fmt"
	"path/filepath"

	"github.com/hardcatch/hardcatch/internal/compare"
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/figure"
	"github.com/hardcatch/hardcatch/internal/jobs"
	"github.com/hardcatch/hardcatch/internal/limits"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/quantity"
	"github.com/hardcatch/hardcatch/internal/reduce"
	"github.com/hardcatch/hardcatch/internal/store"
)

// ReportOptions say how much of a campaign is printed.
type ReportOptions struct {
	EveryBudget bool // the budget of every drop, not of one
	EveryCheck  bool // every audit check in full
	NoFigures   bool
	NoPhotos    bool
	NoRepeat    bool   // print without making every reduction again, as for a look on a page
	Lang        string // en, de or fr; "" = English
}

// ReportOf gathers all that a report of the campaign says.
func ReportOf(ctx context.Context, a *look.Access, path string, o ReportOptions) (out *Report, err error) {
	in := message.English()
	if o.Lang != "" {
		if in, err = message.In(o.Lang); err != nil {
			return nil, fmt.Errorf("report: %w", err)
		}
	}
	err = a.View(ctx, path, func(c *look.Entered, s store.Reader) error {
		now, err := c.Now()
		if err != nil {
			return err
		}
		r := results(now)
		out = &Report{
			Results: *r, In: in, Notes: c.Info.Notes, Made: a.Now().UTC(), Program: "Hardcatch " + a.Version, File: filepath.Base(path), HeadSeq: c.Head.Seq,
			Rig: fittedRig(c.Rig), Method: methodOf(c), EveryCheck: o.EveryCheck,
		}
		out.answers()
		curves := map[string]*reduce.Curves{} // of the records that were read for the repeat
		if !o.NoRepeat {
			keep := curves
			if o.NoFigures {
				keep = nil
			}
			if out.Repeats, err = repeated(ctx, a, path, s, keep); err != nil {
				return err
			}
			for _, x := range out.Repeats.Differ {
				out.Warnings = append(out.Warnings, x.Says())
			}
		}
		out.drops(c, o)
		if err := out.plan(ctx, a, c); err != nil {
			return err
		}
		if err := out.compare(&Campaign{now, r}, !o.NoFigures); err != nil {
			return err
		}
		if err := out.besideScenes(r, in, !o.NoFigures); err != nil {
			return err
		}
		if err := out.tower(ctx, c, s, o); err != nil || o.NoFigures {
			return err
		}
		rs, err := s.Reductions(ctx)
		if err != nil {
			return err
		}
		kept := map[string]store.Reduction{}
		for _, x := range rs {
			kept[x.Value.Drop] = x.Value
		}
		own, err := a.Files.OpenReadOnly(ctx, path)
		return look.Within(own, err, func(own store.Store) error { return out.figures(ctx, a, own, kept, curves, c, r) })
	})
	return out, err
}

func fittedRig(r drop.Rig) ReportedRig {
	out := ReportedRig{Rig: r}
	if len(r.LoadCell.Calibration.Readings) == 0 {
		return out
	}
	fit, warnings, err := reduce.FitCalibration(r.LoadCell.Calibration)
	if err != nil {
		out.Warnings = []string{err.Error()}
		return out
	}
	out.Fit, out.Warnings = fit, warnings
	return out
}

// methodOf is the latest reduction, with the filters and sample rates of all.
func methodOf(c *look.Entered) Method {
	var m Method
	var at int64
	for _, d := range c.Drops {
		r := c.Reduction[d.ID]
		if r == nil {
			continue
		}
		if m.Reduction == nil || c.RedSeq[d.ID] > at {
			m.Reduction, at = r, c.RedSeq[d.ID]
		}
		m.Filters, m.Rates = with(m.Filters, r.Settings.Filter.String()), with(m.Rates, r.Rate.Text(4))
	}
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

// answers are the sentences of the answer in short that no table of the first page says.
func (d *Report) answers() {
	if len(d.Contrasts) == 0 {
		for _, cell := range d.Cells[:min(len(d.Cells), 4)] {
			d.InShort = append(d.InShort, InShort{Subject: cell.Key(), Text: cell.Statement})
		}
	}
	if scaleUnknown(&d.Results) {
		d.InShort = append(d.InShort, InShort{Subject: "Uncertainty", Text: message.Say("The force scale of the load cell is not known: every ± in this report leaves it out, and the forces may be wrong by more than any ± says.")})
	}
	if s := reachSentence(&d.Results); len(s) > 0 {
		d.InShort = append(d.InShort, InShort{Subject: "Limits", Text: s})
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

// reachSentence counts the limits by what can be said of the next specimen of each cell.
func reachSentence(r *Results) message.Sentence {
	l := r.Highest()
	if l == nil {
		return nil
	}
	n := map[limits.Verdict]int{}
	var parted message.Sentence
	for _, k := range r.Limits {
		n[k.Verdict]++
		if k.Verdict == limits.BrokeBelow {
			parted = message.Say(" Specimens parted below their own rating of %s, the weakest at %s (drop %s).", k.Value.Text(3), quantity.WithU(k.Peak, k.Expanded), message.Own(k.Drop))
		}
	}
	return message.Say("Of the %d product and standard limits listed, peaks exceed %d (the highest is %s in drop %s) and %d are within reach. Of %d it is shown that %g %% of the specimens of every cell stay below them (%g %% confidence); of %d it cannot be told.%s None of the limits is an injury threshold.",
		len(r.Limits), n[limits.Exceeds], atLeast(l), message.Own(l.Drop), n[limits.WithinReach], n[limits.Below], 100*l.Content, 100*l.Confidence, n[limits.CannotTell], parted)
}

// atLeast prints a verdict's peak, with ≥ where it is a lower bound.
func atLeast(l *LimitVerdict) string {
	text := quantity.WithU(l.Peak, l.Expanded)
	if l.LowerBound {
		text = "≥ " + text
	}
	return text
}

// drops are those that were taken, each with all that was made of it.
func (d *Report) drops(c *look.Entered, o ReportOptions) {
	byID := map[string]drop.Drop{}
	for _, x := range c.Drops {
		byID[x.ID] = x
		if !c.Planned(x) {
			d.Specimens = append(d.Specimens, x)
		}
	}
	for i, cell := range d.Cells {
		for _, row := range cell.Drops {
			x := d.reportedDrop(c, byID[row.Drop], row, i+1)
			d.Drops = append(d.Drops, x)
			if x.Reduction != nil && row.Outcome != drop.Void && (o.EveryBudget || len(d.Budgets) == 0) {
				d.Budgets = append(d.Budgets, x)
			}
		}
	}
	for _, row := range d.Checks {
		d.CheckDrops = append(d.CheckDrops, d.reportedDrop(c, byID[row.Drop], row, 0))
	}
}

func (d *Report) reportedDrop(c *look.Entered, x drop.Drop, row compare.Row, cell int) ReportedDrop {
	out := ReportedDrop{Departure: d.Repeats.Of(x.ID), Row: row, Entry: x, Cell: cell, Reduction: c.Reduction[x.ID], SHA256: c.Trace[x.ID].SHA256}
	for i, dec := range c.Decisions[x.ID] {
		out.Decisions = append(out.Decisions, Decided{dec, c.DecidedAt[x.ID][i]})
		out.Place = dec.Place
	}
	if out.Reduction == nil {
		out.Warnings = []string{"the record is missing or could not be reduced"}
		return out
	}
	out.Warnings = out.Reduction.Warnings
	if out.Departure != nil {
		out.Warnings = append([]string{out.Departure.Says().String()}, out.Warnings...)
	}
	return out
}

// repeated makes the reductions that stand in s again. The records, which never change under their hash, are read through connections of
// their own, so that all cores may read at once. Where there is a map for them, the curves of each record are put into it.
func repeated(ctx context.Context, a *look.Access, path string, s store.Reader, curves map[string]*reduce.Curves) (out *look.Repeats, err error) {
	rs, err := s.Reductions(ctx)
	if err != nil {
		return nil, err
	}
	kept, err := a.Files.OpenReadOnly(ctx, path)
	return out, look.Within(kept, err, func(kept store.Store) error {
		records, err := a.RecordsOf(ctx, kept, rs)
		if err != nil {
			return err
		}
		made := make([]*reduce.Curves, len(rs))
		var seen func(int, *reduce.WholeReduction)
		if curves != nil {
			seen = func(i int, w *reduce.WholeReduction) {
				made[i] = w.Curves(shownBefore, shownAfter)
				made[i].Reduction = nil // the one that is kept will stand there
			}
		}
		out, err = a.Repeat(ctx, records, rs, seen)
		for i, r := range rs {
			if made[i] != nil {
				curves[r.Value.Drop] = made[i]
			}
		}
		return err
	})
}

// Repeated says whether the numbers of the report were made again from the records before it was printed, and what came of it.
func (d *Report) Repeated() []message.Sentence {
	r := d.Repeats
	if r == nil {
		return []message.Sentence{message.Say("The reductions were not made again for this look: hardcatch report, the saved report and hardcatch prove --repeat do it.")}
	}
	out := []message.Sentence{message.Say("Before this report was printed every reduction was made again from its record: %d of %d came out to the same bits.", r.Same, r.Kept)}
	if n := len(r.Differ); n > 0 {
		ids := make([]string, n)
		for i, x := range r.Differ {
			ids[i] = x.Drop
		}
		out = append(out, message.Say("%d did not, of the drops marked ≠: %s. What differs stands with the warnings.", n, message.Listed(ids, 8)))
	}
	if n := len(r.Other); n > 0 {
		out = append(out, message.Say("%d were made by another version of this program, which alone can make them again; first: %s", n, r.Other[0]))
	}
	return out
}

// figures, with s for the records on connections of its own, draws the strip plot and, for each cell, force over time and over elongation on common axes.
// curves are those that are made already; the others are made here.
func (d *Report) figures(ctx context.Context, a *look.Access, s store.Reader, kept map[string]store.Reduction, curves map[string]*reduce.Curves, c *look.Entered, r *Results) error {
	in := d.In
	if len(r.Cells) == 0 {
		return nil
	}
	limit := linesFor(r, 4, in)
	d.Figures = append(d.Figures, Figure{Group: "All peaks", Drawing: stripPlot(r, limit, in), Caption: "Every valid peak with its expanded uncertainty; mean and t interval of those that held."})
	var top quantity.Force
	var reach quantity.Length
	var drawn []drop.Drop
	for _, x := range c.Drops {
		if c.Reduction[x.ID] != nil && x.Role != drop.Check {
			drawn = append(drawn, x)
		}
	}
	made, done := make([]*reduce.Curves, len(drawn)), 0
	err := jobs.Local(ctx, len(drawn), func() func(context.Context, int) error {
		return func(ctx context.Context, i int) error {
			if made[i] = curves[drawn[i].ID]; made[i] == nil {
				w, err := a.WholeOf(ctx, s, kept[drawn[i].ID])
				if err != nil {
					return err
				}
				made[i] = w.Curves(shownBefore, shownAfter)
			}
			made[i].Reduction = c.Reduction[drawn[i].ID] // which is there already
			return nil
		}
	}, func(int) bool {
		done++
		a.Progress("figures", done, len(drawn))
		return true
	})
	if err != nil {
		return fmt.Errorf("report: %w", err)
	}
	for i, x := range drawn {
		curves[x.ID] = made[i]
		if outcome, _ := look.Standing(c.Reduction[x.ID], c.Decisions[x.ID]); outcome != drop.Void {
			top, reach = max(top, made[i].Reduction.PeakRaw), max(reach, made[i].Reduction.MaxElongation)
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
			Figure{Group: group, Drawing: ft, Caption: "Force over time, aligned at taut.", Half: true},
			Figure{Group: group, Drawing: fe, Caption: "Force over elongation; elongation includes rig and anchor.", Half: true})
	}
	return nil
}

func calibrationModel(degree, readings int) string {
	if degree == 1 {
		return fmt.Sprintf("straight line through %d readings", readings)
	}
	return fmt.Sprintf("polynomial of degree %d through %d readings", degree, readings)
}
