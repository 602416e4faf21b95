package cli

import (
	"path/filepath"
	"strings"

	"github.com/hardcatch/hardcatch/internal/app"
	"github.com/hardcatch/hardcatch/internal/look"
)

type beginCmd struct {
	File     string `arg:"" help:"Campaign file to make, for example trial.hardcatch."`
	Question string `required:"" help:"The question that the campaign is to answer."`
	Name     string `help:"Name of the campaign; the file's name when not given."`
	Notes    string `help:"Remarks kept with the campaign."`
	JSON     bool   `name:"json" help:"Print JSON."`
}

// Help is shown below the usage.
func (beginCmd) Help() string {
	return `Example: hardcatch begin trial.hardcatch --question "Does an overhand knot halve the strength of our sling?"`
}

// Run makes the file.
func (c *beginCmd) Run(a *look.Access, s *streams) error {
	name := c.Name
	if name == "" {
		name = strings.TrimSuffix(filepath.Base(c.File), ".hardcatch")
	}
	made, err := app.Begin(s.ctx, a, c.File, name, c.Question, c.Notes)
	if err != nil {
		return err
	}
	if c.JSON {
		return s.json(made)
	}
	s.say("%s: campaign %q made. Next: hardcatch rig %s rig.yaml", c.File, made.Name, c.File)
	return nil
}
