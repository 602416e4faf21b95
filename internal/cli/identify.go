package cli

import (
	"fmt"
	"strings"

	"github.com/hardcatch/hardcatch/internal/foresee"
	"github.com/hardcatch/hardcatch/internal/identify"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

type identifyCmd struct {
	File  string   `arg:"" help:"Campaign file."`
	Cells []string `sep:"none" placeholder:"WORDS" help:"Only cells whose names hold these words, such as 'polyester, sewn eyes'; may be repeated. Check drops on steel always count."`
	Seed  uint64   `default:"1" help:"The same seed gives the same result."`
	JSON  bool     `name:"json" help:"Print JSON."`
}

// Help is shown below the usage.
func (identifyCmd) Help() string {
	return `Example: hardcatch identify trial.hardcatch
A part:  hardcatch identify trial.hardcatch --cells 'polyester, sewn eyes'

The model's textiles, knots and rig from the campaign's own records: what the records tell, what they leave open and which drop would tell it, and every cell predicted by a model fitted without it.`
}

// Run fits the campaign's own model.
func (c *identifyCmd) Run(a *look.Access, s *streams) error {
	r, err := foresee.Identify(s.ctx, a, c.File, foresee.OwnQuestion{Cells: c.Cells, Seed: c.Seed})
	if err != nil {
		return err
	}
	if c.JSON {
		return s.json(r)
	}
	return s.identified(r)
}

func (s *streams) identified(r *foresee.Own) error {
	if r.Invented {
		s.say("INVENTED SCENARIO: simulated records, no real product.")
	}
	d := r.Diagnostics
	s.say("The campaign's own model: %d drops on %d specimens, %d different falls; %d records left out.", d.Drops, d.Specimens, d.Falls, d.LeftOut)
	s.heading("Parameters (95 %; > and < where the records leave the other side open)")
	rows := [][]string{{"element", "parameter", "value", "interval", "from"}}
	for _, p := range r.Parameters {
		if p.From == identify.FromStarting {
			continue
		}
		from := p.From
		if p.Replaced {
			from += ", instead of " + unitText(p.Start, p.Unit)
		}
		rows = append(rows, []string{p.Element, p.Name, unitText(p.Value, p.Unit), intervalText(p), from})
	}
	if err := s.table(rows); err != nil {
		return err
	}
	s.say("  Not fitted and taken as starting values: set, friction stiffness, first slip and lock of knots; as stated: node mass and damping of the rig.")
	s.heading("Differences that are left (standard deviations)")
	s.say("  specimens' stiffness %.1f %%, knots' slip %.1f %%, from drop to drop %.1f %% and at a fall %.1f %% of the peak", 100*r.Spread.Textile, 100*r.Spread.Slip, 100*r.Spread.Drop, 100*r.Spread.Model)
	if len(r.CannotTell) > 0 {
		s.heading("Cannot be told from these records")
		for _, c := range r.CannotTell {
			s.say("  %s", wrap(fmt.Sprintf("%s: %s. Drop that would tell most: %s.", c.What, c.Reason, c.Drop), 94, "    "))
		}
	}
	if len(r.LeftOut) > 0 {
		s.heading(fmt.Sprintf("Every cell predicted without it: %d of %d inside their 95 %% interval", d.Covered, d.Cells))
		rows := [][]string{{"cell", "held", "measured", "predicted", "95 %", ""}}
		for _, c := range r.LeftOut {
			in := "inside"
			if !c.Inside {
				in = "OUTSIDE"
			}
			rows = append(rows, []string{c.Cell, fmt.Sprint(c.Drops), c.Measured.Text(3), c.Predicted.Text(3), c.Lo.Text(3) + " to " + c.Hi.Text(3), in})
		}
		if err := s.table(rows); err != nil {
			return err
		}
	}
	s.say("\nPosterior: %d draws, worth %.0f independent ones at least; its chains agree to %.3f (1 = wholly).", d.Draws, d.EssMin, d.RhatMax)
	if len(r.Records) > 0 {
		s.heading("Records left out")
		var left look.ByText
		for _, l := range r.Records {
			left.Add(l.Why, l.Drop)
		}
		for why, drops := range left.All() {
			s.say("  %s", wrap(why.String()+": "+strings.Join(drops, ", "), 94, "    "))
		}
	}
	s.warned(r.Warnings)
	s.cautions()
	return nil
}

// unitText prints a value of a unit to three digits.
func unitText(v float64, unit string) string {
	switch unit {
	case "N":
		return quantity.Force(v).Text(3)
	case "N/m":
		return quantity.Stiffness(v).Text(3)
	case "m":
		return quantity.Length(v).Text(3)
	case "s":
		return quantity.Duration(v).Text(3)
	case "kg":
		return quantity.Mass(v).Text(3)
	}
	return quantity.Ratio(v).Text(3)
}

// intervalText is an interval, or the one side that is bounded.
func intervalText(p identify.Parameter) string {
	switch {
	case p.Lo != nil && p.Hi != nil:
		return unitText(*p.Lo, p.Unit) + " to " + unitText(*p.Hi, p.Unit)
	case p.Lo != nil:
		return "> " + unitText(*p.Lo, p.Unit)
	case p.Hi != nil:
		return "< " + unitText(*p.Hi, p.Unit)
	}
	return "open on both sides"
}
