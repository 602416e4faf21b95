package cli

import (
	"bytes"
	"fmt"
	"slices"
	"strconv"

	"github.com/hardcatch/hardcatch/internal/arrest"
	"github.com/hardcatch/hardcatch/internal/foresee"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/quantity"
	"github.com/hardcatch/hardcatch/internal/reduce"
)

type simulateCmd struct {
	Case      string             `arg:"" help:"Fall and chain in YAML."`
	CSV       string             `name:"csv" help:"Write the force over time into this file, as a record."`
	SVG       string             `name:"svg" help:"Draw the force over time into this file."`
	Rate      quantity.Frequency `default:"10 kHz" help:"Sample rate of the record."`
	Filter    *reduce.Filter     `help:"Also reduce the fall as a record through this low-pass, to compare with a measurement."`
	Overwrite bool               `help:"Overwrite files."`
	JSON      bool               `name:"json" help:"Print JSON."`
}

// Help is shown below the usage.
func (simulateCmd) Help() string {
	return `Example: hardcatch simulate case.yaml --csv trace.csv

case.yaml:
  mass: 100 kg
  fall: 0.9 m
  until: 1.5 s
  chain:
    - rig:     {stiffness: 2 MN/m, damping_ratio: 0.03, node_mass: 0.5 kg}
    - textile: {name: lanyard, length: 0.9 m, material: polyester-webbing}
    - knot:    {F0: 0.5 kN, FL: 8.5 kN, slip: 45 mm, power: 2, lock: 3 MN/m, efficiency: 0.6}`
}

// Run simulates the fall.
func (c *simulateCmd) Run(a *look.Access, s *streams) error {
	data, err := s.readInput(c.Case)
	if err != nil {
		return err
	}
	r, err := foresee.Simulate(s.ctx, a, c.Case, bytes.NewReader(data), foresee.SimulateOptions{Rate: c.Rate, Filter: c.Filter, Sampled: c.CSV != "" || c.SVG != ""})
	if err != nil {
		return err
	}
	if c.CSV != "" {
		if err := writeFile(c.CSV, r.CSV(), c.Overwrite); err != nil {
			return err
		}
	}
	if c.SVG != "" {
		if err := writeFile(c.SVG, r.SVG("Force over time: "+c.Case), c.Overwrite); err != nil {
			return err
		}
	}
	if c.JSON {
		return s.json(r)
	}
	return s.simulation(r)
}

// loads prints which force counts for what, and whether the forces are the largest that the fall asks for.
func (s *streams) loads(l arrest.Loads) {
	least := ""
	if !l.Certainty.Passed() {
		least = "at least "
	}
	s.say("in the chain, for strengths: %s%s; at the load cell through CFC %d, for arrest forces: %s%s; unfiltered: %s%s (%s)",
		least, l.Chain, arrest.FilterClass, least, l.Filtered, least, l.Cell, l.Certainty)
}

// dropSeries prints the drops on one specimen, where there are several.
func (s *streams) dropSeries(r *foresee.Simulation) error {
	if r.Series == nil {
		return nil
	}
	s.heading("Drops on this one specimen")
	rows := [][]string{{"drop", "peak", "in the chain", "outcome", "textile", "force over strength", "strength after", "left", "stiffness"}}
	for i, d := range append(slices.Clone(r.Earlier), r) {
		row := []string{strconv.Itoa(i + 1), d.PeakForce.String(), d.PeakChain.String(), mark(d.Outcome, true)}
		if len(d.Wear) == 0 {
			rows = append(rows, append(row, "", "", "", "", ""))
		}
		for _, w := range d.Wear {
			rows = append(rows, append(row, w.Element, w.Load.Text(3), w.After.String(), fmt.Sprintf("%.0f %%", 100*w.Left.SI()), fmt.Sprintf("x %.3g", w.Stiffness.SI())))
			row = []string{"", "", "", ""}
		}
	}
	if err := s.table(rows); err != nil {
		return err
	}
	s.say("  %s", r.Series.Say())
	return nil
}

func (s *streams) simulation(r *foresee.Simulation) error {
	s.say("peak %s at %s after taut (in the chain %s), lowest %s below taut: %s", r.PeakForce, r.PeakTime, r.PeakChain, r.Lowest.Text(4), mark(r.Outcome, true))
	s.loads(r.Loads())
	if r.Broke != nil {
		s.say("%s parted at %s, %s after taut", r.Broke.Element, r.Broke.Force, r.Broke.T)
	}
	if r.Reason != "" {
		s.say("%s", r.Reason)
	}
	s.heading("Elements")
	rows := [][]string{{"element", "kind", "peak", "elongation", "slip", "values"}}
	for _, e := range r.Elements {
		from := "as given"
		if e.StartingSet != "" {
			from = "starting values of " + e.StartingSet + ", no rating"
		}
		rows = append(rows, []string{e.Name, string(e.Kind), e.Peak.String(), e.Elongation.Text(4), e.Slip.Text(3), from})
	}
	if err := s.table(rows); err != nil {
		return err
	}
	s.heading("Events (times from the first taut)")
	rows = [][]string{{"time", "what", "element"}}
	for _, e := range r.Events {
		rows = append(rows, []string{fmt.Sprintf("%.6f s", e.T.SI()), string(e.Kind), e.Element})
	}
	if err := s.table(rows); err != nil {
		return err
	}
	s.heading("Energy")
	e := r.Energy
	if err := s.table([][]string{{"in", "kinetic", "stored", "viscous", "friction", "slip", "break", "residual"},
		{e.In.Text(4), e.Kinetic.Text(4), e.Stored.Text(4), e.Viscous.Text(4), e.Friction.Text(4), e.Slip.Text(4), e.Break.Text(4), e.Residual.Text(2)}}); err != nil {
		return err
	}
	if b := r.Body; b != nil {
		s.heading("Torso")
		s.say("  peak %.3g g at %s", b.PeakG, b.PeakTime)
		for _, l := range b.Above {
			s.say("  above %.3g g for %s", l.G, l.Duration)
		}
	}
	if r.Recorded != nil {
		s.heading("As a record through " + r.Recorded.Settings.Filter.String())
		s.say("  peak %s, sampled at %s", r.Recorded.Peak, r.Recorded.Rate)
	}
	if err := s.dropSeries(r); err != nil {
		return err
	}
	s.say("\nMethod %s, %d steps. This is a model, not a measurement.", r.Method, r.Steps)
	s.warned(r.Warnings)
	s.cautions()
	return nil
}
