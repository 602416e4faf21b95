package cli

import (
	"fmt"

	"github.com/hardcatch/hardcatch/internal/foresee"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

type predictCmd struct {
	File     string          `arg:"" help:"Campaign file."`
	Fall     quantity.Length `required:"" help:"Free fall before the specimen comes taut."`
	Length   quantity.Length `help:"Length of the specimen; the campaign's most common."`
	Mass     quantity.Mass   `help:"Mass; the rig's."`
	Knot     string          `help:"Knot, as the drop list names it; nothing tied when left out."`
	Material string          `placeholder:"WORDS" help:"Words of the material, such as 'aramid, new', or a starting set; the campaign's most common."`
	Seed     uint64          `default:"1" help:"The same seed gives the same result."`
	JSON     bool            `name:"json" help:"Print JSON."`
}

// Help is shown below the usage.
func (predictCmd) Help() string {
	return `Example: hardcatch predict trial.hardcatch --length 0.9m --fall 0.5m --knot overhand

The peak of a drop that was not made, from the model that identify fits to the campaign's own records; starting values only where no record of the material counts, and said.`
}

// Run predicts a drop.
func (c *predictCmd) Run(a *look.Access, s *streams) error {
	p, err := foresee.Predict(s.ctx, a, c.File, foresee.PredictQuestion{Length: c.Length, Fall: c.Fall, Mass: c.Mass, Knot: c.Knot, Material: c.Material, Seed: c.Seed})
	if err != nil {
		return err
	}
	if c.JSON {
		return s.json(p)
	}
	if p.Invented {
		s.say("INVENTED SCENARIO: simulated records, no real product.")
	}
	what := p.Textile
	if p.Asked.Knot != "" {
		what += ", " + p.Asked.Knot
	}
	s.say("%s, %s long, %s falling %s", what, p.Asked.Length.Text(3), p.Asked.Mass.Text(3), p.Asked.Fall.Text(3))
	if p.Model == foresee.OwnModel {
		s.say("\nPeak %s, with 95 %% from %s to %s (%s).", p.Peak.Text(3), p.Lo.Down(3), p.Hi.Up(3), p.Says)
	} else {
		s.say("\nPeak %s; %s allow from %s to %s (common practice, no source).", p.Peak.Text(3), p.Says, p.Lo.Down(3), p.Hi.Up(3))
	}
	s.say("  The load cell's reading through CFC 60 if nothing parts; another specimen, the fall height and the force scale are in the band.")
	chance := fmt.Sprintf("between %s and %s", nextPercent(p.Break.Lo), nextPercent(p.Break.Hi))
	if p.Break.P != nil {
		chance = fmt.Sprintf("%s (%s to %s)", nextPercent(*p.Break.P), nextPercent(p.Break.Lo), nextPercent(p.Break.Hi))
	}
	s.say("%s", wrap(fmt.Sprintf("Outcome: %s. It breaks with a probability of %s; %s.", p.Outcome, chance, p.Break.Rests), 94, "  "))
	if len(p.Beyond) > 0 {
		s.heading("EXTRAPOLATES")
		for _, e := range p.Beyond {
			s.say("  %s", wrap(e.String(), 94, "    "))
		}
	}
	s.warned(p.Warnings)
	s.cautions()
	return nil
}
