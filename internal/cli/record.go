package cli

import (
	"fmt"

	"github.com/hardcatch/hardcatch/internal/look"
)

type recordCmd struct {
	File      string `arg:"" help:"Campaign file."`
	Drop      string `arg:"" help:"Drop."`
	Out       string `help:"File to write; standard output when not given."`
	Overwrite bool   `help:"Overwrite the file."`
}

// Help is shown below the usage.
func (recordCmd) Help() string {
	return `Example: hardcatch record trial.hardcatch d17 --out d17.csv`
}

// Run gives the bytes back.
func (c *recordCmd) Run(a *look.Access, s *streams) error {
	t, b, err := a.Record(s.ctx, c.File, c.Drop)
	if err != nil {
		return err
	}
	if c.Out != "" {
		if err := writeFile(c.Out, b, c.Overwrite); err != nil {
			return err
		}
		s.say("%s: %d bytes of %s, SHA-256 %s", c.Out, len(b), t.Name, t.SHA256)
		return nil
	}
	if _, err := s.out.Write(b); err != nil {
		return fmt.Errorf("%w: %w", errWrite, err)
	}
	return nil
}
