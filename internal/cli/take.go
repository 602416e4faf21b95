package cli

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"

	"hardcatch/internal/app"
	"hardcatch/internal/quantity"
	"hardcatch/internal/reduce"
)

type takeCmd struct {
	File    string            `arg:"" help:"Campaign file."`
	Source  string            `required:"" help:"Description of the live source: a YAML file."`
	Level   quantity.Force    `default:"500 N" help:"Force that triggers; 0 N to trigger by hand alone."`
	Channel string            `help:"Channel that is the force; the first when not given."`
	Pre     quantity.Duration `default:"1 s" help:"Time kept before the trigger."`
	Post    quantity.Duration `default:"5 s" help:"Time recorded after the trigger."`
	Quiet   quantity.Duration `default:"0 s" help:"End earlier when the force is back below the level for so long; 0 s never."`
	Spool   string            `type:"path" placeholder:"DIR" help:"Folder to which every sample goes first; FILE.spool when not given."`
	Filter  reduce.Filter     `default:"cfc60" help:"Low-pass: cfc60, cfc180-iso, a 3 dB frequency such as '250 Hz', or none."`
	By      string            `help:"Who takes the drops: initials or role."`
}

// Help is shown below the usage.
func (takeCmd) Help() string {
	return `Example: hardcatch take day.hardcatch --source mast.yaml --by ab

The page shows the next planned drop and the checklist, arms, and shows each drop's peak in large figures with the outcome proposed, the audit and the cell; ? lists the keys. Every sample goes to the spool first: after a crash or a loss of power, start again and the drop is finished from there.

When the input is no terminal it is read as one key a line: "1", "a", "m", an empty line for Enter; the answer to a question is a line of its own; "wait" waits for a captured drop, "rest 1s" for a while.`
}

// Run shows the page.
func (c *takeCmd) Run(a *app.App, s *streams) (err error) {
	text, err := s.readInput(c.Source)
	if err != nil {
		return err
	}
	spool := c.Spool
	if spool == "" {
		spool = c.File + ".spool"
	}
	live, err := a.Watch(s.ctx, c.File, filepath.Base(c.Source), text, app.LiveOptions{Channel: c.Channel, Level: c.Level, Pre: c.Pre, Post: c.Post, Quiet: c.Quiet, Spool: spool})
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, live.Close()) }()
	p, err := newTowerPage(s.ctx, a, c.File, c.By, live)
	if err != nil {
		return err
	}
	p.opts.Filter, p.opts.Reader.Channel = &c.Filter, c.Channel
	a.Progress = nil // the page owns the terminal
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
