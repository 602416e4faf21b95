package foresee

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/jobs"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/plan"
	"github.com/hardcatch/hardcatch/internal/quantity"
	"github.com/hardcatch/hardcatch/internal/store"
	"github.com/hardcatch/hardcatch/internal/traceio/droplist"
	"github.com/hardcatch/hardcatch/internal/traceio/planfile"
)

// PlanResult is a campaign laid out, with what its drops are likely to do. The JSON names are stable: names are
// added, never changed.
type PlanResult struct {
	Name        string             `json:"name"`
	Question    string             `json:"question"`
	Invented    bool               `json:"invented"`
	Rig         string             `json:"rig"`
	Factors     []plan.Factor      `json:"factors"`
	Fixed       []plan.Factor      `json:"fixed"`
	Replicates  int                `json:"replicates"`
	Days        int                `json:"days"`
	Seed        uint64             `json:"seed"`
	Forecasts   []*plan.Forecast   `json:"cells"`
	Questions   []QuestionChance   `json:"questions"`           // the chances that the plan answers what is asked
	Check       *plan.Forecast     `json:"check_drop_forecast"` // null where the reference element has no model
	Runs        []plan.Run         `json:"runs"`
	Trials      int                `json:"trials"`
	Checks      int                `json:"check_drops"`
	Stock       []plan.Stock       `json:"specimens"`
	Specimens   int                `json:"specimens_used"` // every dropped specimen is retired
	Spares      int                `json:"specimens_spare"`
	Broken      float64            `json:"specimens_broken_expected"` // with nothing stopping a cell
	CannotRun   []int              `json:"cells_that_cannot_run"`     // by number
	HeightNeed  quantity.Length    `json:"height_needed_m"`
	LargestPeak quantity.Force     `json:"largest_peak_p95_N"`
	Statements  []string           `json:"statements"`
	Warnings    []message.Sentence `json:"warnings"`
	Cautions    []string           `json:"cautions"`
	File        *look.Receipt      `json:"campaign_file,omitempty"` // the entry of the plan, when a file was written

	layout *plan.Layout
}

// PlanOptions say what is made of a plan besides the answer.
type PlanOptions struct {
	Out  string                       // campaign file to make, "" = none
	Open func(string) ([]byte, error) // gives the file that the plan's rig_file names
}

// Plan lays a campaign out, simulates every cell, and makes the campaign file when one is named.
func Plan(ctx context.Context, a *look.Access, name string, r io.Reader, o PlanOptions) (*PlanResult, error) {
	p, warnings, err := planfile.Read(name, r, o.Open)
	if err != nil {
		return nil, err
	}
	if p.Name == "" {
		p.Name = strings.TrimSuffix(filepath.Base(name), filepath.Ext(name))
	}
	l, err := plan.NewLayout(p)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	res := &PlanResult{
		Name: p.Name, Question: p.Question, Invented: p.Invented, Rig: p.Rig.Name, Factors: p.Factors, Fixed: p.Fixed, Replicates: p.Replicates, Days: p.Days, Seed: p.Seed,
		Runs: l.Runs, Stock: l.Stocks(), CannotRun: []int{}, Statements: []string{}, Warnings: message.TellAll(warnings), Cautions: drop.Cautions(), layout: l,
	}
	if res.Fixed == nil {
		res.Fixed = []plan.Factor{}
	}
	if res.Forecasts, err = Forecasts(ctx, a, l); err != nil {
		if errors.Is(err, context.Canceled) {
			return nil, fmt.Errorf("stopped by you before anything was written: %w", err)
		}
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	if res.Check, err = p.CheckForecast(ctx); err != nil {
		return nil, fmt.Errorf("%s: check_drops: %w", name, err)
	}
	if res.Questions, err = QuestionChances(ctx, a, l); err != nil {
		return nil, fmt.Errorf("%s: questions: %w", name, err)
	}
	res.sumUp()
	if o.Out != "" {
		if err := writePlan(ctx, a, o.Out, l, res); err != nil {
			return nil, err
		}
	}
	return res, nil
}

// Forecasts simulates the cells on all cores.
func Forecasts(ctx context.Context, a *look.Access, l *plan.Layout) ([]*plan.Forecast, error) {
	out := make([]*plan.Forecast, len(l.Cells))
	count := 0
	err := jobs.Local(ctx, len(l.Cells), func() func(context.Context, int) error {
		return func(ctx context.Context, i int) (err error) {
			out[i], err = l.Plan.Forecast(ctx, l.Cells[i])
			return err
		}
	}, func(int) bool {
		count++
		a.Progress("cells", count, len(l.Cells))
		return true
	})
	return out, err
}

// sumUp counts, and says in sentences what the table says.
func (r *PlanResult) sumUp() {
	for _, run := range r.Runs {
		if run.Role == drop.Check {
			r.Checks++
		} else {
			r.Trials++
		}
	}
	for _, s := range r.Stock {
		r.Specimens += s.Planned
		r.Spares += s.Spare
	}
	for _, f := range r.Forecasts {
		r.Broken += f.BreakProb * float64(r.Replicates)
		r.HeightNeed = max(r.HeightNeed, f.Height)
		r.LargestPeak = max(r.LargestPeak, f.Peak.P95)
		if !f.Runs {
			r.CannotRun = append(r.CannotRun, f.Cell.Number)
		}
	}
	r.Statements = append(r.Statements,
		fmt.Sprintf("%s, %s each: %s on %s, in an order drawn with the seed %d", look.Plural(len(r.Forecasts), "cell", "cells"), look.Plural(r.Replicates, "specimen", "specimens"), look.Plural(r.Trials, "drop", "drops"), look.Plural(r.Days, "day", "days"), r.Seed),
		fmt.Sprintf("%s and %s as spares; every dropped specimen is retired, and about %.0f of %d will break if the starting assumptions hold", look.Plural(r.Specimens, "specimen is used up", "specimens are used up"), look.Plural(r.Spares, "more", "more"), r.Broken, r.Specimens),
	)
	switch n := len(r.CannotRun); n {
	case 0:
		r.Statements = append(r.Statements, "no stated limit of the bench stops a cell")
	default:
		names := make([]string, n)
		for i, c := range r.CannotRun {
			names[i] = strconv.Itoa(c)
		}
		r.Statements = append(r.Statements, fmt.Sprintf("%s cannot be run as planned (number %s); what would be within the limits stands below", look.Plural(n, "cell", "cells"), look.Listed(names, 20)))
	}
	for _, q := range unanswered(r.Questions) {
		r.Warnings = append(r.Warnings, message.Say("question %s is most likely left open by this plan; more specimens, or falls nearer to what is asked, would answer it oftener", message.Own(q.ID)))
	}
	r.Gather()
	if r.Check != nil {
		for _, w := range r.Check.Warnings {
			r.Warnings = append(r.Warnings, message.Say("check drop: %s", w))
		}
		if !r.Check.Runs {
			r.Warnings = append(r.Warnings, message.Say("the check drop cannot be run as planned: %s", message.Join("; ", r.Check.Sentences...)))
		}
	}
}

// Gather turns the warnings of the cells into one line for each text.
func (r *PlanResult) Gather() {
	var warned look.ByText
	for _, f := range r.Forecasts {
		for _, w := range f.Warnings {
			warned.Add(w, fmt.Sprint(f.Cell.Number))
		}
	}
	for w, cells := range warned.All() {
		switch n := len(cells); {
		case n == len(r.Forecasts):
			r.Warnings = append(r.Warnings, w)
		case n == 1:
			r.Warnings = append(r.Warnings, message.Say("cell %s: %s", cells[0], w))
		default:
			r.Warnings = append(r.Warnings, message.Say("%d {cell|cells} (%s): %s", n, message.Listed(cells, 8), w))
		}
	}
}

// writePlan makes the campaign file with question, rig and plan. The drops are entered when they have been taken.
func writePlan(ctx context.Context, a *look.Access, path string, l *plan.Layout, res *PlanResult) error {
	text, err := json.Marshal(l)
	if err != nil {
		return fmt.Errorf("the plan cannot be written: %w", err)
	}
	c := store.Campaign{Name: l.Plan.Name, Question: l.Plan.Question, Notes: l.Plan.Notes, Invented: l.Plan.Invented, Created: a.Now().UTC()}
	s, err := a.Files.Create(ctx, path, c)
	return look.Within(s, err, func(s store.Store) error {
		return s.Update(ctx, func(tx store.Tx) error {
			if _, err := tx.SetRig(ctx, l.Plan.Rig); err != nil {
				return err
			}
			for _, q := range l.Plan.Questions {
				if _, err := tx.Ask(ctx, q); err != nil {
					return err
				}
			}
			rec, err := tx.SetPlan(ctx, text)
			r := look.ReceiptOf(rec)
			res.File = &r
			return err
		})
	})
}

// List writes the run order as a drop list, to be filled in at the tower.
func (r *PlanResult) List() ([]byte, error) {
	remarks := []string{"Run order of the campaign: " + oneLine(r.Question), fmt.Sprintf("Planned with seed %d. Fill in taken and record, and outcome where it was seen; lines without them count as not taken yet.", r.Seed)}
	for i, d := range r.layout.DayOrder() {
		remarks = append(remarks, fmt.Sprintf("day %d: order %d to %d", i+1, d[0], d[1]))
	}
	var b bytes.Buffer
	err := droplist.Write(&b, r.layout.Drops(), remarks...)
	return b.Bytes(), err
}

// Labelled are the runs whose specimens get a label, by cell and replicate.
func (r *PlanResult) Labelled() []plan.Run {
	runs := slices.DeleteFunc(slices.Clone(r.Runs), func(run plan.Run) bool { return run.Role == drop.Check })
	slices.SortFunc(runs, func(a, b plan.Run) int {
		if a.Cell != b.Cell {
			return a.Cell - b.Cell
		}
		return a.Replicate - b.Replicate
	})
	return runs
}

// LevelsOf are the levels of a run's cell, in words.
func (r *PlanResult) LevelsOf(run plan.Run) string {
	return r.layout.Cells[run.Cell-1].Label(r.Factors)
}

func oneLine(s string) string { return string(bytes.Join(bytes.Fields([]byte(s)), []byte(" "))) }
