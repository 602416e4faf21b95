package view

import (
	"context"

	"github.com/hardcatch/hardcatch/internal/compare"
	"github.com/hardcatch/hardcatch/internal/doctor"
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/question"
	"github.com/hardcatch/hardcatch/internal/reduce"
	"github.com/hardcatch/hardcatch/internal/store"
)

// Results is what a campaign shows so far. The JSON names are stable: names are added, never changed.
type Results struct {
	Campaign string `json:"campaign"`
	Question string `json:"question"`
	Invented bool   `json:"invented"`
	Rig      string `json:"rig"`
	// Answers are what the drops say to the questions that were asked, before any table.
	Answers []question.Answer `json:"answers"`
	Cells   []CellResult      `json:"cells"`
	Limits  []LimitVerdict    `json:"limits"`
	// FallsHeld are the specimens that were dropped again: of how many falls each is known to hold.
	FallsHeld []compare.FallsHeld `json:"falls_held"`
	// Contrasts set levels of one factor against each other over the cells that differ in nothing else.
	Contrasts   []compare.Contrast `json:"contrasts"`
	Exploratory message.Sentence   `json:"exploratory"` // said of the contrasts: they were not asked beforehand
	Checks      []compare.Row      `json:"check_drops"`
	Planned     []string           `json:"planned"` // drops planned, not taken, in run order
	Findings    []AuditFinding     `json:"audit_findings"`
	Doctor      []doctor.Finding   `json:"doctor_findings"` // what would make a number wrong, as entered
	Warnings    []message.Sentence `json:"warnings"`
	Cautions    []string           `json:"cautions"`
	Plan        *look.PlanProgress `json:"plan,omitempty"` // where the campaign was planned
	Head        string             `json:"head"`           // hash of the logbook these results stand on

	stale  []string    // drops reduced before the rig was last changed
	warned look.ByText // drops by the warnings of their reductions
	cutOff []cutOff    // drops whose records were at the end of their range
}

// gather turns the warnings of reductions into one line for each text.
func (r *Results) gather() {
	if n := len(r.stale); n > 0 {
		r.Warnings = append(r.Warnings, message.Say("%d {drop was|drops were} (%s) reduced before the rig was last changed; make the reductions again with: hardcatch redo FILE", n, message.Listed(r.stale, 8)))
	}
	for w, ids := range r.warned.All() {
		if len(ids) == 1 {
			r.Warnings = append(r.Warnings, message.Say("drop %s: %s", message.Own(ids[0]), w))
			continue
		}
		r.Warnings = append(r.Warnings, message.Say("%d {drop|drops} (%s): %s", len(ids), message.Listed(ids, 8), w))
	}
}

// CellResult is a cell with how its next specimen stands to each limit.
type CellResult struct {
	compare.Cell
	Limits []LimitVerdict `json:"limits"`
	// NextSpecimen says how high the peaks of further specimens may be.
	NextSpecimen message.Sentence `json:"next_specimen"`
}

// AuditFinding is a check that does not agree.
type AuditFinding struct {
	Drop string `json:"drop"`
	reduce.Check
	Voided bool `json:"voided"`
}

// ResultsOf sums a campaign up.
func ResultsOf(ctx context.Context, a *look.Access, path string) (out *Results, err error) {
	err = a.View(ctx, path, func(c *look.Entered, _ store.Reader) error {
		now, err := c.Now()
		if err != nil {
			return err
		}
		out = results(now)
		return nil
	})
	return out, err
}

func results(now *look.Moment) *Results {
	c := now.Entered
	out := &Results{
		Campaign: c.Info.Name, Question: c.Info.Question, Invented: c.Info.Invented, Rig: c.Rig.Name, Answers: c.Answers(), Exploratory: exploratory(c), Cells: []CellResult{}, Limits: []LimitVerdict{},
		Checks: []compare.Row{}, Planned: []string{}, Findings: []AuditFinding{}, Doctor: c.Findings, Warnings: []message.Sentence{}, Cautions: drop.Cautions(), Head: c.Head.Hash.String(),
		Plan: look.ProgressOf(c.Plan, c.Taken()), cutOff: cutOffs(c),
	}
	byID := map[string]drop.Drop{}
	var entries []compare.Entry
	for _, d := range c.Drops {
		e := c.Entry(d)
		entries = append(entries, e)
		byID[d.ID] = d
		if e.Planned {
			continue
		}
		if d.Role == drop.Check {
			out.Checks = append(out.Checks, e.Row())
		}
		findings(c, d, e, out)
	}
	for _, d := range look.InRunOrder(c.Drops) {
		if c.Planned(d) {
			out.Planned = append(out.Planned, d.ID)
		}
	}
	for _, cell := range now.Cells {
		out.Cells = append(out.Cells, CellResult{Cell: cell, Limits: judge(cell.Drops, byID), NextSpecimen: sampleOf(cell.Drops).Say()})
		out.Warnings = append(out.Warnings, cell.Warnings...)
	}
	out.FallsHeld = compare.FallsHeldBy(entries)
	out.Limits = together(out.Cells)
	if scaleUnknown(out) {
		out.Warnings = append(out.Warnings, message.Say("the force scale of the load cell is not known: every ± leaves it out, and limits are judged with %g %% added (common practice, no source); give calibration readings in the rig file", 100*compare.UnknownScale))
	}
	out.Warnings = append(out.Warnings, doctorWarnings(c.Findings)...)
	out.Warnings = append(out.Warnings, judgements(c)...)
	out.Contrasts = compare.LikeForLike(now.Cells, planned(c))
	out.gather()
	return out
}

// judgements is what the judgements of all drops that are not void say together.
func judgements(c *look.Entered) []message.Sentence {
	var list []reduce.Dated
	for _, d := range c.Drops {
		if r := c.Reduction[d.ID]; r != nil && c.Entry(d).Outcome != drop.Void {
			list = append(list, reduce.Dated{Day: d.Taken, Judgement: r.Judgement})
		}
	}
	return reduce.Together(list)
}

// findings collects what a drop's audit and state have against it.
func findings(c *look.Entered, d drop.Drop, e compare.Entry, out *Results) {
	r := c.Reduction[d.ID]
	if r == nil {
		if e.Outcome != drop.Void {
			out.Warnings = append(out.Warnings, message.Say("drop %s has no reduction: its record is missing or could not be read; enter it again, or void the drop with a reason", message.Own(d.ID)))
		}
		return
	}
	if c.RedSeq[d.ID] < c.RigSeq {
		out.stale = append(out.stale, d.ID)
	}
	for _, k := range r.Audit {
		if k.Verdict == reduce.Disagrees || k.Verdict == reduce.Doubtful {
			out.Findings = append(out.Findings, AuditFinding{Drop: d.ID, Check: k, Voided: e.Outcome == drop.Void})
		}
	}
	if e.Decided && e.Outcome != drop.Void && r.Outcome != reduce.Undecided && string(e.Outcome) != string(r.Outcome) {
		out.Warnings = append(out.Warnings, message.Say("drop %s: a person decided %s where the record suggests %s (%s)", message.Own(d.ID), e.Outcome, r.Outcome, message.Own(e.Reason)))
	}
	if e.Outcome != drop.Void {
		for _, w := range r.Warnings {
			out.warned.Add(message.Told(w), d.ID)
		}
		for _, s := range r.Covers() {
			out.warned.Add(s, d.ID)
		}
		if s, near := ceiling(r, d.ID, out.cutOff); near {
			out.warned.Add(s, d.ID)
		}
	}
}

// Factors are those of which any of the cells has a level, in the order in which they are shown.
func Factors(cells []CellResult) []string {
	rows := make([]map[string]string, len(cells))
	for i, c := range cells {
		rows[i] = c.Levels
	}
	return drop.Factors(rows...)
}
