package cli

import (
	"bytes"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strconv"

	"github.com/hardcatch/hardcatch/internal/foresee"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/plan"
	"github.com/hardcatch/hardcatch/internal/render"
)

type planCmd struct {
	Plan      string `arg:"" help:"Campaign plan in YAML."`
	Out       string `placeholder:"FILE" help:"Make this campaign file, with question, rig and plan."`
	List      string `placeholder:"FILE" help:"Write the run order into this CSV file, as a drop list to fill in."`
	Labels    string `placeholder:"FILE" help:"Write a sheet of specimen labels with QR codes into this HTML file."`
	Order     bool   `help:"Print the whole run order."`
	Overwrite bool   `help:"Overwrite list and labels."`
	JSON      bool   `name:"json" help:"Print JSON."`
}

// Help is shown below the usage.
func (planCmd) Help() string {
	return `Example: hardcatch plan plan.yaml --out trial.hardcatch --list drops.csv --labels labels.html

plan.yaml:
  name: knots
  question: Does an overhand knot halve the strength of our sling?
  rig_file: rig.yaml
  mass: 80 kg
  tower: {height: 8 m, clearance: 0.5 m, connectors: 25 kN, anchor_limit: 40 kN}
  factors:
    material: [polyamide, HMPE]
    length: [0.6 m, 1.2 m]
    knot: [sewn, overhand]
    fall_factor: [1, 2]
  skip:
    - {material: HMPE, fall_factor: 2}
  specimens:
    polyamide: {set: polyamide-webbing, rating: 22 kN}
    HMPE: {set: hmpe-blend-sling, rating: 22 kN, knots: {overhand: 0.5}}
  replicates: 3
  blocks: {day: 2, batch: [A, B]}
  questions:
    - name: knot
      question: Does an overhand knot leave half of the strength of a sewn sling?
      of: strength ratio
      where: {knot: overhand, material: polyamide}
      against: {knot: sewn}
      at_least: 0.5
  check_drops: {specimen: steel link, fall: 0.1 m}
  seed: 20261125

The same seed gives the same order on any machine.`
}

// Run lays the campaign out.
func (c *planCmd) Run(a *look.Access, s *streams) error {
	data, err := s.readInput(c.Plan)
	if err != nil {
		return err
	}
	for _, f := range []string{c.List, c.Labels} {
		if _, err := os.Stat(f); f != "" && err == nil && !c.Overwrite {
			return fmt.Errorf("%s exists already; choose another name, or overwrite it with --overwrite", f)
		}
	}
	beside := func(name string) ([]byte, error) {
		if !filepath.IsAbs(name) {
			name = filepath.Join(filepath.Dir(c.Plan), name)
		}
		return s.readInput(name)
	}
	r, err := foresee.Plan(s.ctx, a, c.Plan, bytes.NewReader(data), foresee.PlanOptions{Out: c.Out, Open: beside})
	if err != nil {
		return err
	}
	if err := c.files(r); err != nil {
		return err
	}
	if c.JSON {
		return s.json(r)
	}
	return c.print(s, r)
}

// files writes what was asked for beside the campaign file.
func (c *planCmd) files(r *foresee.PlanResult) error {
	if c.List != "" {
		list, err := r.List()
		if err == nil {
			err = writeFile(c.List, list, c.Overwrite)
		}
		if err != nil {
			return err
		}
	}
	if c.Labels != "" {
		var b bytes.Buffer
		if err := render.WriteLabels(&b, render.LabelsOf(r)); err != nil {
			return err
		}
		return writeFile(c.Labels, b.Bytes(), c.Overwrite)
	}
	return nil
}

func (c *planCmd) print(s *streams, r *foresee.PlanResult) error {
	if r.Invented {
		s.say("INVENTED SCENARIO: no real product.")
	}
	s.say("%s", r.Name)
	s.say("Question: %s", wrap(r.Question, 90, "  "))
	for _, t := range r.Statements {
		s.say("  %s.", wrap(t, 92, "  "))
	}
	if len(r.Questions) > 0 {
		s.heading("Will it answer what is asked? (simulated campaigns through the analysis that will answer, if the starting assumptions hold)")
		for _, q := range r.Questions {
			s.say("  %s.", wrap(q.Statement.String(), 92, "    "))
		}
	}
	for _, f := range []func(*foresee.PlanResult) error{s.forecastTable, s.benchTable, s.stockTable} {
		if err := f(r); err != nil {
			return err
		}
	}
	if len(r.CannotRun) > 0 {
		s.heading("What stops cells, and what would make them possible (95th percentile, each change alone)")
		for _, f := range r.Forecasts {
			for _, t := range f.Sentences {
				s.say("  cell %d (%s): %s.", f.Cell.Number, f.Cell.Label(r.Factors), wrap(t.String(), 84, "    "))
			}
		}
	}
	if c.Order {
		if err := s.runTable(r); err != nil {
			return err
		}
	}
	s.say("\nForecasts are a model over an assumed spread, not a measurement and no rating.")
	c.next(s, r)
	s.warned(r.Warnings)
	s.cautions()
	return nil
}

// next says what was written, and what to do with it.
func (c *planCmd) next(s *streams, r *foresee.PlanResult) {
	if c.Out != "" {
		s.say("%s: campaign file made; its plan is entry %d of the logbook.", c.Out, r.File.Seq)
	}
	if c.List != "" {
		s.say("%s: run order to fill in. When drops were taken: hardcatch enter FILE %s records/", c.List, c.List)
	}
	if c.Labels != "" {
		s.say("%s: labels to print on A4 and cut.", c.Labels)
	}
	if c.Out == "" {
		s.say("Nothing was kept; --out FILE makes the campaign file.")
	}
}

func (s *streams) forecastTable(r *foresee.PlanResult) error {
	s.heading("Cells (peak at the load cell: 5th, 50th and 95th percentile over the spread)")
	head := []string{"cell"}
	for _, f := range r.Factors {
		head = append(head, f.Name)
	}
	rows := [][]string{append(head, "fall", "5 %", "median", "95 %", "95 % if it held", "break probability", "runs")}
	for _, f := range r.Forecasts {
		row := []string{strconv.Itoa(f.Cell.Number)}
		for _, k := range r.Factors {
			row = append(row, f.Cell.Levels[k.Name])
		}
		runs := "yes"
		if !f.Runs {
			runs = "NO"
		}
		rows = append(rows, append(row, f.Cell.Fall.Text(3), f.Peak.P05.Text(3), f.Peak.P50.Text(3), f.Peak.P95.Text(3), f.Demand.P95.Text(3), chance(f), runs))
	}
	if err := s.table(rows); err != nil {
		return err
	}
	if k := r.Check; k != nil {
		s.say("Check drop, %s: %s to %s (5th to 95th percentile)", k.Cell.Material, k.Peak.P05.Text(3), k.Peak.P95.Text(3))
	}
	return nil
}

// chance prints a break probability as found, with its exact interval where it is neither never nor always.
func chance(f *plan.Forecast) string {
	switch {
	case f.Simulations == 1:
		if f.Broke == 1 {
			return "breaks (no spread)"
		}
		return "holds (no spread)"
	case f.Broke == 0:
		return "under " + outward(100*f.BreakHi, math.Ceil) + " %"
	case f.Broke == f.Simulations:
		return "over " + outward(100*f.BreakLo, math.Floor) + " %"
	}
	return fmt.Sprintf("%.3g %%", 100*f.BreakProb)
}

// benchTable holds every cell against the bench.
func (s *streams) benchTable(r *foresee.PlanResult) error {
	s.heading("Bench")
	rows := [][]string{{"cell", "load cell used", "elongation", "height needed", "energy", "closest limit"}}
	for _, f := range r.Forecasts {
		used := "capacity not given"
		if f.CellLo != nil {
			used = fmt.Sprintf("%.0f to %.0f %%", 100*f.CellLo.SI(), 100*f.CellHi.SI())
		}
		rows = append(rows, []string{strconv.Itoa(f.Cell.Number), used, f.Elongation.Text(3), f.Height.Text(3), f.Energy.Text(3), closest(f)})
	}
	return s.table(rows)
}

// closest is the limit of which a cell uses the largest share.
func closest(f *plan.Forecast) string {
	name, most := "none stated", 0.0
	for _, c := range f.Checks {
		if c.Verdict == plan.TooSmall || c.Least {
			continue
		}
		if used := c.Predicted / c.Value; used > most {
			name, most = fmt.Sprintf("%s (%s)", c.Limit, usedUp(used)), used
		}
	}
	return name
}

func usedUp(used float64) string {
	if used > 100 {
		return "far beyond"
	}
	return fmt.Sprintf("%.0f %% used", 100*used)
}

func (s *streams) stockTable(r *foresee.PlanResult) error {
	s.heading("Specimens")
	rows := [][]string{{"material", "length", "termination", "planned", "spare", "in all"}}
	for _, k := range r.Stock {
		rows = append(rows, []string{k.Material, k.Length.Text(3), k.Knot, strconv.Itoa(k.Planned), strconv.Itoa(k.Spare), strconv.Itoa(k.Planned + k.Spare)})
	}
	return s.table(rows)
}

func (s *streams) runTable(r *foresee.PlanResult) error {
	s.heading("Run order")
	rows := [][]string{{"order", "day", "drop", "specimen", "cell", "batch", "operator"}}
	for _, u := range r.Runs {
		cell := "check"
		if u.Cell > 0 {
			cell = strconv.Itoa(u.Cell)
		}
		rows = append(rows, []string{strconv.Itoa(u.Order), strconv.Itoa(u.Day), u.Drop, u.Specimen, cell, u.Batch, u.Operator})
	}
	return s.table(rows)
}
