package cli

import (
	"github.com/hardcatch/hardcatch/internal/app"
	"github.com/hardcatch/hardcatch/internal/look"
)

type settleCmd struct {
	File    string `arg:"" help:"Campaign file."`
	Finding string `arg:"" help:"Finding, as hardcatch doctor names it."`
	Reason  string `required:"" help:"Why it may be passed over; kept for ever."`
	By      string `required:"" help:"Who says so: initials or role."`
	Reopen  bool   `help:"Take that back: the finding is open again."`
	JSON    bool   `name:"json" help:"Print JSON."`
}

// Help is shown below the usage.
func (settleCmd) Help() string {
	return `Example: hardcatch settle trial.hardcatch day-without-check:2026-03-03 --reason "the same cell was checked in the press" --by "bench"

What a finding left out counts again, and it is said no more beside results; name and reason stay in the logbook.`
}

// Run enters the reason.
func (c *settleCmd) Run(a *look.Access, s *streams) error {
	r, err := app.Settle(s.ctx, a, c.File, c.Finding, c.By, c.Reason, c.Reopen)
	if err != nil {
		return err
	}
	if c.JSON {
		return s.json(r)
	}
	done := "settled"
	if c.Reopen {
		done = "open again"
	}
	s.say("finding %s: %s, entry %d", c.Finding, done, r.Seq)
	return nil
}
