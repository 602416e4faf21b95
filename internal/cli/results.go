package cli

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"github.com/hardcatch/hardcatch/internal/compare"
	"github.com/hardcatch/hardcatch/internal/limits"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/quantity"
	"github.com/hardcatch/hardcatch/internal/reduce"
	"github.com/hardcatch/hardcatch/internal/view"
)

type resultsCmd struct {
	File string `arg:"" help:"Campaign file."`
	JSON bool   `name:"json" help:"Print JSON."`
}

// Help is shown below the usage.
func (resultsCmd) Help() string { return `Example: hardcatch results trial.hardcatch --json` }

// Run shows the results.
func (c *resultsCmd) Run(a *look.Access, s *streams) error {
	r, err := view.ResultsOf(s.ctx, a, c.File)
	if err != nil {
		return err
	}
	if c.JSON {
		return s.json(r)
	}
	return s.results(r, c.File)
}

// unplanned names drops that the plan does not have.
func unplanned(p *look.PlanProgress) string {
	if len(p.Extra) == 0 {
		return ""
	}
	return fmt.Sprintf("; not in the plan: %s", look.Listed(p.Extra, mostNamed))
}

// results prints them; path is the campaign file, to go on with.
func (s *streams) results(r *view.Results, path string) error {
	s.campaign(r.Invented, r.Campaign, r.Question)
	if err := s.answers(r.Answers, false); err != nil {
		return err
	}
	if len(r.Answers) > 0 {
		s.say("  By which rule, when it was asked, kind by kind: hardcatch answer %s", path)
		s.say("")
	}
	if r.Rig != "" {
		s.say("Rig: %s", r.Rig)
	}
	if n := len(r.Planned); n > 0 {
		s.say("Planned, not taken: %s", wrap(fmt.Sprintf("%d (%s)", n, look.Listed(r.Planned, mostNamed)), 90, "  "))
	}
	if len(r.Cells) == 0 {
		s.say("\nNo drops yet. Next: hardcatch enter %s drops.csv records/", path)
	}
	if p := r.Plan; p != nil {
		s.say("By the plan: %d of %d {drop|drops} {[1]is|are} taken%s", p.Taken, p.Planned, unplanned(p))
	}
	if len(r.Contrasts) > 0 {
		s.heading("Like for like")
		s.say("  %s", wrap(r.Exploratory.String(), 92, "  "))
		for _, k := range r.Contrasts {
			s.say("  %s: %s", k.Factor, wrap(k.Statement.String(), 90, "    "))
		}
	}
	for _, f := range []func(*view.Results) error{s.cellTable, s.dropTable, s.checkTable} {
		if err := f(r); err != nil {
			return err
		}
	}
	if len(r.Findings) > 0 {
		s.heading("Audit findings")
		for _, f := range r.Findings {
			void := ""
			if f.Voided {
				void = " (voided)"
			}
			s.say("  %s%s: %s %s: %s", f.Drop, void, f.Name, f.Verdict, wrap(f.Meaning, 90, "      "))
		}
	}
	if len(r.FallsHeld) > 0 {
		s.heading("Falls held, by specimens that were dropped again")
		for _, x := range r.FallsHeld {
			s.say("  %s.", x.Said)
		}
	}
	s.limits(r)
	s.cautions()
	s.warned(r.Warnings)
	return nil
}

// cellTable prints one line a cell and then the statements, numbered alike.
func (s *streams) cellTable(r *view.Results) error {
	if len(r.Cells) == 0 {
		return nil
	}
	factors := view.Factors(r.Cells)
	s.heading("Cells (peaks of those that held; ≥ marks cells in which some broke, so that the arrest force is at least this)")
	head := append(append([]string{"#"}, factors...), "n", "held", "broke", "slipped", "void", "mean kN", "sd", "95 % interval", "broke at", "break probability")
	if len(r.Planned) > 0 {
		head = append(head, "planned")
	}
	rows := [][]string{head}
	for i, c := range r.Cells {
		row := []string{strconv.Itoa(i + 1)}
		for _, f := range factors {
			row = append(row, c.Levels[f])
		}
		mean := kn(c.Mean)
		if c.MeanIsLowerBound && c.Mean != nil {
			mean = "≥ " + mean
		}
		interval := "-"
		if c.Lo != nil {
			lo := max(*c.Lo, 0)
			interval = kn(&lo) + " to " + kn(c.Hi)
		}
		prob := "-"
		if c.BreakLo != nil {
			prob = compare.RoundOutward(100**c.BreakLo, math.Floor) + " to " + compare.RoundOutward(100**c.BreakHi, math.Ceil) + " %"
		}
		row = append(row, strconv.Itoa(c.N), strconv.Itoa(c.Held), strconv.Itoa(c.Broke), strconv.Itoa(c.Slip), strconv.Itoa(c.Void), mean, kn(c.SD), interval, kn(c.BrokeMean), prob)
		if len(r.Planned) > 0 {
			row = append(row, strconv.Itoa(c.Planned))
		}
		rows = append(rows, row)
	}
	if err := s.table(rows); err != nil {
		return err
	}
	s.say("")
	for i, c := range r.Cells {
		s.say("  %d. %s", i+1, wrap(c.Statement.String(), 94, "     "))
	}
	return nil
}

func kn(f *quantity.Force) string {
	if f == nil {
		return "-"
	}
	return strconv.FormatFloat(f.SI()/1000, 'f', 2, 64)
}

func (s *streams) dropTable(r *view.Results) error {
	if len(r.Cells) == 0 {
		return nil
	}
	s.heading("Drops (≥: the specimen let go or the record does not show the peak, the arrest force is at least this; ± expanded uncertainty, 95 %)")
	rows := [][]string{{"cell", "drop", "specimen", "outcome", "peak", "audit", "reason"}}
	for i, c := range r.Cells {
		for _, d := range c.Drops {
			rows = append(rows, append([]string{strconv.Itoa(i + 1)}, dropCells(d)...))
		}
	}
	return s.table(rows)
}

func dropCells(d compare.Row) []string {
	peak := "-"
	if d.Peak != nil {
		peak = quantity.WithU(*d.Peak, *d.Expanded)
		if d.LowerBound {
			peak = "≥ " + peak
		}
		if d.Rebuilt != nil {
			lo, hi := reduce.Outward(*d.Rebuilt)
			peak = fmt.Sprintf("%s to %s, rebuilt from momentum (%s)", lo, hi, peak)
		}
		if d.NoScale {
			peak += " (force scale not known)"
		}
	}
	reason := d.Reason
	if d.Outcome != "void" {
		reason = ""
	}
	return []string{d.Drop, d.Specimen, mark(d.Outcome, d.Decided), peak, d.Audit, reason}
}

func (s *streams) checkTable(r *view.Results) error {
	if len(r.Checks) == 0 {
		return nil
	}
	s.heading("Check drops")
	rows := [][]string{{"drop", "element", "outcome", "peak", "audit", "reason"}}
	for _, d := range r.Checks {
		rows = append(rows, dropCells(d))
	}
	return s.table(rows)
}

// limitLine names a limit, with what is missing where it cannot be told.
func limitLine(k view.LimitVerdict) string {
	out := fmt.Sprintf("%s %s (%s", k.Name, k.Value.Text(3), k.Edition)
	switch {
	case k.Verdict != limits.CannotTell:
	case k.MoreDrops == nil:
		out += fmt.Sprintf("; cell %d", k.Cell)
	case *k.MoreDrops == 1:
		out += fmt.Sprintf("; about 1 more drop in cell %d", k.Cell)
	default:
		out += message.Text("; about %d more {drop|drops} in cell %d", *k.MoreDrops, k.Cell)
	}
	return out + ")"
}

// limits prints how the next specimen of each cell stands to the limits.
func (s *streams) limits(r *view.Results) {
	if len(r.Limits) == 0 {
		return
	}
	l := r.Highest()
	if l == nil {
		return
	}
	peak := quantity.WithU(l.Peak, l.Expanded)
	if l.LowerBound {
		peak = "≥ " + peak
	}
	s.heading(fmt.Sprintf("Limits and the next specimen (stays below: %g %% of the specimens of each cell, %g %% confidence)", 100*l.Content, 100*l.Confidence))
	s.say("  The highest valid peak is %s, drop %s.", peak, l.Drop)
	var order []string
	cells := map[string][]string{}
	for i, c := range r.Cells {
		t := c.NextSpecimen.String()
		if cells[t] == nil {
			order = append(order, t)
		}
		cells[t] = append(cells[t], strconv.Itoa(i+1))
	}
	for _, t := range order {
		word := "cell"
		if len(cells[t]) > 1 {
			word = "cells"
		}
		s.say("  %s", wrap(fmt.Sprintf("%s %s: %s", word, strings.Join(cells[t], ", "), t), 94, "    "))
	}
	for _, v := range []limits.Verdict{limits.Exceeds, limits.WithinReach, limits.CannotTell, limits.Below} {
		var names []string
		for _, k := range r.Limits {
			if k.Verdict == v {
				names = append(names, limitLine(k))
			}
		}
		if len(names) > 0 {
			s.say("  %s: %s", v, wrap(strings.Join(names, "; "), 94, "    "))
		}
	}
	for _, k := range r.Limits {
		if k.Verdict == limits.BrokeBelow {
			s.say("  broke below: the specimen of drop %s parted at %s, its rating is %s", k.Drop, quantity.WithU(k.Peak, k.Expanded), k.Value.Text(3))
		}
	}
	s.say("  Sources: hardcatch limits. These are product and standard limits, not injury thresholds.")
}
