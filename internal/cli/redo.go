package cli

import (
	"errors"

	"github.com/hardcatch/hardcatch/internal/app"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/reduce"
)

type redoCmd struct {
	File   string         `arg:"" help:"Campaign file."`
	Filter *reduce.Filter `help:"Another low-pass for all drops: cfc60, cfc180-iso, '250 Hz', none."`
	JSON   bool           `name:"json" help:"Print JSON."`
}

// Help is shown below the usage.
func (redoCmd) Help() string {
	return `Example: hardcatch redo trial.hardcatch --filter cfc180

Earlier reductions are kept in the logbook.`
}

// Run reduces again.
func (c *redoCmd) Run(a *look.Access, s *streams) error {
	r, err := app.Redo(s.ctx, a, c.File, c.Filter)
	if err != nil {
		return err
	}
	if c.JSON {
		if err := s.json(r); err != nil {
			return err
		}
	} else {
		s.say("%d reductions are new, %d came out as before", r.Reduced, r.Unchanged)
	}
	s.remark("problem:", r.Problems)
	if n := len(r.Problems); n > 0 {
		return errors.New(message.Text("%d {drop|drops} could not be reduced; see the problems above", n))
	}
	return nil
}
