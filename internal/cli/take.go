package cli

import (
	"context"
	"errors"
	"fmt"
	"os"

	"github.com/hardcatch/hardcatch/internal/day"
	"github.com/hardcatch/hardcatch/internal/traceio"
)

type takeCmd struct {
	File   string `arg:"" help:"Campaign file."`
	Source string `required:"" help:"Description of the live source: a YAML file."`
	liveFlags
}

// Help is shown below the usage.
func (takeCmd) Help() string {
	return `Example: hardcatch take day.hardcatch --source mast.yaml --by ab

The page shows the next planned drop and the checklist, arms, and shows each drop's peak in large figures with the outcome proposed, the audit and the cell; ? lists the keys. Every sample goes to the spool first: after a crash or a loss of power, start again and the drop is finished from there.

When the input is no terminal it is read as one key a line: "1", "a", "m", an empty line for Enter; the answer to a question is a line of its own; "wait" waits for a captured drop, "rest 1s" for a while.`
}

// Run shows the page.
func (c *takeCmd) Run(b *day.Bench, s *streams) (err error) {
	live, spool, err := c.watch(b, s, c.File, c.Source)
	if err != nil {
		return err
	}
	b.Watcher = nil // the page owns the terminal
	p, err := newTowerPage(s.ctx, b.Access, c.File, live, day.TakeInput{Filter: &c.Filter, Reader: traceio.Reading{Channel: c.Channel}, By: c.By})
	if err != nil {
		return errors.Join(err, live.Close())
	}
	p.follow()
	defer func() {
		err = errors.Join(err, live.Close())
		<-p.followed // a drop that is being entered is entered
	}()
	if terminal(os.Stdin) && terminal(s.tty) {
		err = p.onTerminal(s.ctx, os.Stdin, s.tty)
	} else {
		err = p.byLines(s.ctx, os.Stdin, s)
	}
	if errors.Is(err, context.Canceled) {
		return fmt.Errorf("stopped; what was captured is in the campaign or in %s: %w", spool, err)
	}
	return err
}
