package cli

import (
	"github.com/hardcatch/hardcatch/internal/app"
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/look"
)

// onDrop is what every command has that enters something about one drop.
type onDrop struct {
	File string `arg:"" help:"Campaign file."`
	Drop string `arg:"" help:"Drop."`
	By   string `help:"Who does it: initials or role."`
	JSON bool   `name:"json" help:"Print JSON."`
}

type decideCmd struct {
	onDrop
	Outcome string `arg:"" help:"held, broke, slipped or void."`
	Reason  string `required:"" help:"Why; kept for ever."`
	Place   string `help:"Where it broke: body, knot, stitching, edge, connector."`
}

// Help is shown below the usage.
func (decideCmd) Help() string {
	return `Example: hardcatch decide trial.hardcatch d17 void --reason "the release stuck" --by "bench"

The latest decision stands; earlier ones are kept and nothing is deleted. To change a decision needs --by.`
}

// Run enters the decision.
func (c *decideCmd) Run(a *look.Access, s *streams) error {
	outcome, err := drop.ParseOutcome(c.Outcome)
	if err != nil {
		return err
	}
	place, err := drop.ParsePlace(c.Place)
	if err != nil {
		return err
	}
	r, err := app.Decide(s.ctx, a, c.File, drop.Decision{Drop: c.Drop, Outcome: outcome, Place: place, Reason: c.Reason, By: c.By})
	if err != nil {
		return err
	}
	if c.JSON {
		return s.json(r)
	}
	s.say("drop %s: %s, entry %d", c.Drop, outcome, r.Seq)
	return nil
}
