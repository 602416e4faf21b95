package cli

import (
	"fmt"
	"strings"

	"github.com/hardcatch/hardcatch/internal/foresee"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

type mapCmd struct {
	File      string             `arg:"" optional:"" help:"Campaign file, whose drops stand on the map."`
	Material  string             `help:"Starting set of the material; the campaign's, else polyester-webbing."`
	Knot      string             `help:"Knot with its material, such as figure-eight-HMPE-8-mm."`
	Absorber  bool               `help:"With an energy absorber."`
	Mass      quantity.Mass      `help:"Mass; the rig's, else 100 kg."`
	Fall      quantity.Length    `default:"0.9 m" help:"Free fall of the place asked for."`
	Length    quantity.Length    `help:"Length of the specimen; the campaign's most common, else 0.9 m."`
	Rig       quantity.Stiffness `help:"Stiffness of the rig; the campaign's, else 2 MN/m."`
	Across    string             `placeholder:"QUANTITY" help:"Quantity across, with or without a range: fall-factor, fall-height, slack, length, mass or rig-stiffness (default fall-factor:0:2)."`
	Up        string             `placeholder:"QUANTITY" help:"Quantity up (default length:0.3 m:3 m)."`
	Limit     []string           `sep:"none" placeholder:"NAME" help:"Limit to draw, by its name in hardcatch limits; may be repeated. Left out, six of them and a small chock."`
	Own       string             `placeholder:"NAME:FORCE" help:"A rating of your own, such as \"small chock:12 kN\"."`
	SVG       string             `name:"svg" help:"Draw the map into this file."`
	CSV       string             `name:"csv" help:"Write the grid of the map into this file."`
	Overwrite bool               `help:"Overwrite files."`
	JSON      bool               `name:"json" help:"Print JSON."`
}

// Help is shown below the usage.
func (mapCmd) Help() string {
	return `Example: hardcatch map trial.hardcatch --svg map.svg
Without a campaign: hardcatch map --material aramid-cord --across "slack:0 m:1 m" --up "length:0.3 m:2 m"

The peak that the model predicts with starting values, not ratings: where limits are reached, where the specimen is predicted to part, and what no drop has tried.`
}

// Run computes the map.
func (c *mapCmd) Run(a *look.Access, s *streams) error {
	q, err := c.question()
	if err != nil {
		return err
	}
	var m *foresee.Map
	if c.File == "" {
		m, err = foresee.AskMap(s.ctx, a, q)
	} else {
		m, err = foresee.MapOf(s.ctx, a, c.File, q)
	}
	if err != nil {
		return err
	}
	if c.SVG != "" {
		if err := writeFile(c.SVG, m.Figure(0, message.English()).SVG("map"), c.Overwrite); err != nil {
			return err
		}
	}
	if c.CSV != "" {
		data, err := m.CSV()
		if err != nil {
			return err
		}
		if err := writeFile(c.CSV, data, c.Overwrite); err != nil {
			return err
		}
	}
	if c.JSON {
		return s.json(m)
	}
	return s.peakMap(m)
}

func (c *mapCmd) question() (q foresee.MapQuestion, err error) {
	q.WhatIf = foresee.WhatIf{Mass: c.Mass, Fall: c.Fall, Length: c.Length, Material: c.Material, Knot: c.Knot, Rig: c.Rig, Absorber: c.Absorber}
	if q.Across, err = readAxis("across", c.Across); err != nil {
		return q, err
	}
	if q.Up, err = readAxis("up", c.Up); err != nil {
		return q, err
	}
	q.Limits = c.Limit
	if c.Own != "" {
		name, force, ok := strings.Cut(c.Own, ":")
		q.Own = &foresee.OwnLimit{Name: name}
		if !ok {
			return q, fmt.Errorf("--own %q: write a name and a force, such as \"small chock:12 kN\"", c.Own)
		}
		if err := q.Own.Value.UnmarshalText([]byte(strings.TrimSpace(force))); err != nil {
			return q, fmt.Errorf("--own: %w", err)
		}
	}
	return q, nil
}

// readAxis reads QUANTITY or QUANTITY:FROM:TO.
func readAxis(flag, text string) (a foresee.MapAxis, err error) {
	parts := strings.Split(text, ":")
	a.Quantity = foresee.MapQuantity(strings.TrimSpace(parts[0]))
	if len(parts) == 1 {
		return a, nil
	}
	if len(parts) != 3 {
		return a, fmt.Errorf("--%s %q: write a quantity with its range, such as \"length:0.3 m:3 m\"", flag, text)
	}
	for i, to := range []*float64{&a.From, &a.To} {
		if *to, err = a.Quantity.Read(strings.TrimSpace(parts[i+1])); err != nil {
			return a, fmt.Errorf("--%s: %w", flag, err)
		}
	}
	return a, nil
}

func (s *streams) peakMap(m *foresee.Map) error {
	if m.Invented {
		s.say("INVENTED SCENARIO: simulated records, no real product.")
	}
	s.say("%s", m.Title())
	s.heading(fmt.Sprintf("Peak force in kN, %s across, %s down (* predicted to part)", m.Across.Quantity.Name(), m.Up.Quantity.Name()))
	rows := [][]string{{""}}
	for _, c := range m.Table[0].Cells {
		rows[0] = append(rows[0], m.Across.Quantity.Text(c.Across, 3))
	}
	for _, r := range m.Table {
		row := []string{m.Up.Quantity.Text(r.Up, 3)}
		for _, c := range r.Cells {
			text := fmt.Sprintf("%.2f", c.Peak.SI()/1000)
			if c.Parts {
				text += "*"
			}
			row = append(row, text)
		}
		rows = append(rows, row)
	}
	if err := s.table(rows); err != nil {
		return err
	}
	s.heading("In words")
	for _, t := range m.Statements {
		s.say("  %s", wrap(t, 92, "    "))
	}
	if err := s.againstModel(m); err != nil {
		return err
	}
	s.say("\n%s", wrap(message.Text("%d {drop|drops} computed. In the middle of %d {cell|cells} the map was compared with a drop computed there: off by at most %.2g %%. This is a model with starting values, not ratings and no measurement.",
		m.Reading.Drops, m.Reading.Cells, 100*m.Reading.Worst.SI()), 96, ""))
	s.warned(m.Warnings)
	s.cautions()
	return nil
}

// againstModel lists the drops of the campaign.
func (s *streams) againstModel(m *foresee.Map) error {
	if m.Campaign == "" {
		return nil
	}
	s.heading("Measured against predicted")
	if len(m.Drops) == 0 {
		s.say("  No drop of this campaign matches: %s.", m.Dropped.Rule)
		return nil
	}
	rows := [][]string{{"drop", "specimen", "outcome", "fall", "length", "measured", "predicted", "difference", "on the map"}}
	for _, d := range m.Drops {
		measured, off := quantity.WithU(d.Measured, d.Expanded), fmt.Sprintf("%+.1f ± %.1f %%", 100*d.Difference.SI(), 100*d.Expanded.SI()/d.Predicted.SI())
		if d.LowerBound {
			measured, off = "≥ "+measured, "≥ "+off
		}
		predicted, shown := d.Predicted.String(), "yes"
		if d.Parts {
			predicted += ", predicted to part"
		}
		if !d.Shown {
			shown = d.Why.String()
		}
		specimen := d.Specimen
		if d.Conditioning != "" {
			specimen += ", " + d.Conditioning
		}
		rows = append(rows, []string{d.Drop, specimen, mark(d.Outcome, true), d.Fall.Text(3), d.Length.Text(3), measured, predicted, off, shown})
	}
	if err := s.table(rows); err != nil {
		return err
	}
	s.say("  These are %s.", wrap(m.Dropped.Rule.String(), 88, "    "))
	return nil
}
