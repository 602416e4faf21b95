package cli

import (
	"github.com/hardcatch/hardcatch/internal/app"
	"github.com/hardcatch/hardcatch/internal/look"
)

type withdrawCmd struct {
	onDrop
	Reason string `help:"Why; kept for ever."`
}

// Help is shown below the usage.
func (withdrawCmd) Help() string {
	return `Example: hardcatch withdraw trial.hardcatch d17 --reason "the mass was 80 kg after all" --by "bench"

What stood before the last decision stands again; with no decision before, the drop is undecided again. Nothing is deleted: the logbook holds the decision and that it was taken back. Withdrawn twice, the decision stands again. It needs a name and a reason, as a result changes.`
}

// Run takes the decision back.
func (c *withdrawCmd) Run(a *look.Access, s *streams) error {
	r, d, err := app.Withdraw(s.ctx, a, c.File, c.Drop, c.By, c.Reason)
	if err != nil {
		return err
	}
	if c.JSON {
		return s.json(map[string]any{"receipt": r, "decision": d})
	}
	now := "undecided again"
	if !d.Withdrawn {
		now = "again " + settled(d)
	}
	s.say("drop %s: the last decision is taken back, %s; entry %d", c.Drop, now, r.Seq)
	return nil
}
